//! Journeys through the page of figures: a figure, a question set, the report, what is written down for it.

use std::path::Path;

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::pages::Page;
use stillmark::case::document::figure_spec::FigureKind;
use stillmark::measure::mark::{Level, Side};

use crate::journey::{Journey, demonstration};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_figure", name, journey);
}

fn shots(journey: &Journey) -> Vec<String> {
    journey.window.state().state.pages.figure.shots.clone()
}

fn drawn(journey: &Journey) -> Option<String> {
    journey.window.state().state.pages.figure.drawn.as_ref().map(|drawn| drawn.words.clone())
}

/// Three actions: the page, the kind, and saving with a name.
#[test]
fn a_figure_of_before_and_after_takes_few_actions_and_each_is_taken_back() {
    alone("a_figure_of_before_and_after_takes_few_actions_and_each_is_taken_back", |folder| {
        let file = demonstration(folder);
        let mut journey = Journey::begin(vec![file]);
        journey.key(Modifiers::NONE, Key::F8);
        assert_eq!(journey.window.state().state.pages.shown, Page::Figure);
        assert_eq!(shots(&journey), ["l4-right-lateral-pedicle"]);
        assert!(drawn(&journey).unwrap().contains("L4 right, lateral, transpedicular"));
        journey.press("Before | after");
        assert_eq!(shots(&journey).len(), 2);
        assert!(drawn(&journey).unwrap().contains("From the first to the second: depth"));
        let figure = folder.join("figure.svg");
        journey.answer(&figure);
        journey.press("Save the figure");
        let written = std::fs::read_to_string(&figure).unwrap();
        assert!(written.starts_with("<svg ") && journey.shows("Saved figure.svg."));
        journey.press("Letters");
        journey.press("Dark");
        journey.key(Modifiers::CTRL, Key::Z);
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(journey.window.state().state.pages.figure.spec.letters);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(journey.window.state().state.pages.figure.spec.kind, FigureKind::Shot);
        assert_eq!(shots(&journey), ["l4-right-lateral-pedicle"]);
        assert!(!journey.unsaved(), "looking at a figure is no change of the case");
        journey.key(Modifiers::CTRL | Modifiers::SHIFT, Key::Z);
        assert_eq!(shots(&journey).len(), 2);
        journey.key(Modifiers::NONE, Key::Escape);
        assert_eq!(journey.window.state().state.pages.shown, Page::Picture);
    });
}

#[test]
fn what_is_written_down_stands_in_the_report() {
    alone("what_is_written_down_stands_in_the_report", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::F8);
        for (field, text) in [
            ("Your reference", "Shelf 12"),
            ("L4, patient's right: lesion time, s", "900"),
            ("L4, patient's right: remarks", "Calm."),
        ] {
            let node = journey.window.get_all_by_label(field).last().unwrap();
            node.scroll_to_me();
            journey.window.run();
            journey.window.get_all_by_label(field).last().unwrap().focus();
            journey.window.run();
            journey.window.get_all_by_label(field).last().unwrap().type_text(text);
            journey.window.run();
            journey.key(Modifiers::NONE, Key::Tab);
        }
        let record = |journey: &Journey| {
            let case = journey.window.state().state.editor.document.as_ref().unwrap().case().clone();
            (case.reference.clone(), case.record(Level::L4, Side::Right).cloned())
        };
        let (reference, body) = record(&journey);
        let body = body.unwrap();
        assert_eq!(reference.as_deref(), Some("Shelf 12"));
        assert_eq!((body.lesion_s, body.remarks.as_deref()), (Some(900.0), Some("Calm.")));
        let report = folder.join("report.pdf");
        journey.answer(&report);
        journey.press("Save the report");
        assert!(std::fs::read(&report).unwrap().starts_with(b"%PDF-"));
        let questions = folder.join("questions.pdf");
        journey.answer(&questions);
        journey.press("Save questions");
        assert!(std::fs::read(&questions).unwrap().starts_with(b"%PDF-"));
        // The case's own file is never replaced.
        journey.answer(&folder.join("images/l4-right-lateral-final.png"));
        journey.press("Save the figure");
        assert!(journey.shows("would overwrite its source"));
        journey.press("Undo");
        assert_eq!(record(&journey).1.unwrap().remarks, None);
    });
}

#[test]
fn a_template_is_kept_and_used() {
    alone("a_template_is_kept_and_used", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::F8);
        journey.press("Slide 16:9");
        journey.press("Dark");
        let node = journey.window.get_all_by_label("Name").last().unwrap();
        node.scroll_to_me();
        journey.window.run();
        journey.window.get_all_by_label("Name").last().unwrap().focus();
        journey.window.run();
        journey.window.get_all_by_label("Name").last().unwrap().type_text("for talks");
        journey.window.run();
        journey.press("Keep");
        journey.press("Light");
        journey.press("for talks");
        let state = &journey.window.state().state;
        assert_eq!(state.pages.figure.spec.ground.key(), "dark");
        assert_eq!(state.editor.document.as_ref().unwrap().case().figures.len(), 1);
        assert!(journey.unsaved());
        journey.press("Forget");
        assert!(journey.window.state().state.editor.document.as_ref().unwrap().case().figures.is_empty());
    });
}
