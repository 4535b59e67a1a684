//! Journeys through a presentation: before and after, questions with their answers, and the way back.

use std::path::Path;

use eframe::egui::{self, Key, Modifiers};
use stillmark::app::pages::Page;

use crate::journey::{Journey, demonstration};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_present", name, journey);
}

fn shown(journey: &Journey) -> Page {
    journey.window.state().state.pages.shown
}

/// The words of the slide that is on the screen.
fn slide(journey: &Journey) -> String {
    let presenting = &journey.window.state().state.pages.presenting;
    presenting.slide().expect("a slide").as_ref().expect("it can be drawn").words.clone()
}

/// One key for the figure, one for each step, one back.
#[test]
fn before_and_after_are_presented_from_the_figure_and_the_way_leads_back_to_it() {
    alone("before_and_after_are_presented_from_the_figure_and_the_way_leads_back_to_it", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::F8);
        journey.press("Before | after");
        journey.press("Letters");
        journey.key(Modifiers::NONE, Key::F11);
        assert_eq!(shown(&journey), Page::Presenting);
        let both = slide(&journey);
        assert!(both.contains("transpedicular") && both.contains("posterior wall"), "{both}");
        assert!(both.contains("Not a medical device"), "wherever a number is shown, the caution stands");
        journey.key(Modifiers::NONE, Key::PageDown);
        let first = slide(&journey);
        assert!(first != both && first.contains("transpedicular"), "each shot follows alone: {first}");
        journey.key(Modifiers::NONE, Key::Space);
        assert_ne!(slide(&journey), first);
        journey.key(Modifiers::NONE, Key::ArrowRight);
        assert!(journey.shows("This is the last slide."));
        journey.key(Modifiers::NONE, Key::PageUp);
        assert_eq!(slide(&journey), first);
        // Keys of the image mean nothing here.
        journey.key(Modifiers::NONE, Key::D);
        assert!(!journey.unsaved());
        journey.key(Modifiers::NONE, Key::Escape);
        assert_eq!(shown(&journey), Page::Figure);
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(journey.window.state().state.pages.figure.spec.letters, "its steps are still there");
    });
}

#[test]
fn a_question_is_presented_without_its_answer_until_that_is_asked_for() {
    alone("a_question_is_presented_without_its_answer_until_that_is_asked_for", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::SHIFT, Key::F11);
        assert_eq!(shown(&journey), Page::Presenting);
        let asked = slide(&journey);
        assert!(asked.contains("1. How deep does the tip lie"), "{asked}");
        assert!(!asked.contains('%') && !asked.contains('±'), "the question tells nothing: {asked}");
        journey.press("Answer");
        let answered = slide(&journey);
        assert!(answered.contains('%') && answered.contains('±'), "{answered}");
        journey.key(Modifiers::NONE, Key::A);
        assert_eq!(slide(&journey), asked);
        // A presenter's remote control has two keys: the answer comes first, then the next question.
        journey.key(Modifiers::NONE, Key::PageDown);
        assert_eq!(slide(&journey), answered);
        journey.key(Modifiers::NONE, Key::PageDown);
        let second = slide(&journey);
        assert!(second.contains("2. ") && !second.contains('±'), "{second}");
        journey.key(Modifiers::NONE, Key::PageUp);
        assert_eq!(slide(&journey), asked);
        journey.press("End presentation");
        assert_eq!(shown(&journey), Page::Picture);
    });
}

#[test]
fn compared_shots_are_presented_as_they_are_shown_and_a_click_leads_on() {
    alone("compared_shots_are_presented_as_they_are_shown_and_a_click_leads_on", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::F6);
        journey.key(Modifiers::NONE, Key::Num2);
        journey.key(Modifiers::NONE, Key::F11);
        let laid = slide(&journey);
        assert!(laid.contains("Earlier:") && laid.contains("Later:") && laid.contains("depth"), "{laid}");
        let middle = egui::pos2(640.0, 300.0);
        journey.window.hover_at(middle);
        journey.window.run();
        // Down and up at once: what is held long is no click.
        for pressed in [true, false] {
            let (button, modifiers) = (egui::PointerButton::Primary, Modifiers::NONE);
            journey.window.event(egui::Event::PointerButton { pos: middle, button, pressed, modifiers });
        }
        journey.window.run();
        assert_ne!(slide(&journey), laid);
        assert!(
            journey.window.output().platform_output.cursor_icon == egui::CursorIcon::None,
            "the ring is the pointer"
        );
        journey.key(Modifiers::NONE, Key::F11);
        assert_eq!(shown(&journey), Page::Compare);
    });
}

#[test]
fn the_window_fills_the_screen_only_while_something_is_presented() {
    alone("the_window_fills_the_screen_only_while_something_is_presented", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        assert!(!journey.window.state().fills_screen());
        journey.key(Modifiers::NONE, Key::F11);
        assert!(journey.window.state().fills_screen());
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.window.state().fills_screen());
        // What is marked on a simulated shot, or read blind, is not for an audience.
        journey.key(Modifiers::NONE, Key::F12);
        journey.key(Modifiers::NONE, Key::F11);
        assert_eq!(shown(&journey), Page::Practice);
        assert!(journey.shows("can be presented"));
    });
}
