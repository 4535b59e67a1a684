//! Journeys of somebody who opens stills for the first time: what is asked, what the first click does, what lies where.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::marking::prompt::prompt;
use stillmark::app::session::document::Document;
use stillmark::app::session::mode::Hand;
use stillmark::measure::mark::{MarkKind, View};

use crate::journey::{Journey, one_picture};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_first", name, journey);
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

/// Several copies of one still.
fn stills(folder: &Path, count: usize) -> Vec<PathBuf> {
    let (picture, _) = one_picture(folder);
    copies(&picture, folder, count)
}

fn copies(picture: &Path, folder: &Path, count: usize) -> Vec<PathBuf> {
    (0..count)
        .map(|n| {
            let copy = folder.join(format!("copy-{n}.png"));
            std::fs::copy(picture, &copy).unwrap();
            copy
        })
        .collect()
}

#[test]
fn the_view_is_asked_before_any_mark_and_answered_with_one_key() {
    alone("the_view_is_asked_before_any_mark_and_answered_with_one_key", |folder| {
        let mut journey = Journey::begin(stills(folder, 2));
        journey.key(Modifiers::NONE, Key::Escape);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!document(&journey).is_labeling());
        assert!(journey.shows("Which view is this?"));
        // A means AP here and adds no points; a click says what is missing.
        let middle = stillmark::geom::point::Point::new(100.0, 100.0);
        journey.click_picture(middle);
        assert!(journey.shows("First set the view"));
        assert!(journey.marks().is_empty());
        journey.key(Modifiers::NONE, Key::A);
        assert_eq!(document(&journey).shot().unwrap().view, View::Ap);
        assert!(matches!(document(&journey).hand(), Hand::Next(_)));
        assert!(journey.shows("Where is the patient’s right in the AP images?"));
        assert!(journey.window.query_all_by_label("Which view is this?").next().is_none());
    });
}

#[test]
fn a_click_that_ends_labeling_counts_and_the_image_stays() {
    alone("a_click_that_ends_labeling_counts_and_the_image_stays", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture, stills(folder, 1).remove(0)]);
        journey.key(Modifiers::NONE, Key::E);
        assert!(document(&journey).is_labeling());
        assert!(journey.shows("To mark it, click the middle of the posterior wall."));
        let (wall, other) = (places[7], places[3]);
        let before = [wall, other].map(|p| journey.screen(p));
        journey.click_picture(wall);
        assert!(!document(&journey).is_labeling());
        assert_eq!(document(&journey).hand(), Hand::Wall { second: true }, "the click was the first wall");
        let after = [wall, other].map(|p| journey.screen(p));
        for (a, b) in before.into_iter().zip(after) {
            assert!((a - b).length() < 0.5, "{a:?} {b:?}");
        }
    });
}

#[test]
fn the_scale_entered_last_is_offered_with_its_value_and_used_only_on_request() {
    alone("the_scale_entered_last_is_offered_with_its_value_and_used_only_on_request", |folder| {
        let mut journey = Journey::begin(stills(folder, 3));
        let scales = |journey: &Journey| -> Vec<Option<f64>> {
            document(journey).case().shots.iter().map(|shot| shot.mm_per_px).collect()
        };
        journey.key(Modifiers::NONE, Key::E);
        journey.key(Modifiers::ALT, Key::H);
        assert_eq!(scales(&journey), [None; 3], "nothing was entered yet");
        journey.key(Modifiers::NONE, Key::Escape);
        journey.key(Modifiers::NONE, Key::H);
        journey.window.get_by_label("Scale, mm/pixel").type_text("0.21");
        journey.window.run();
        journey.key(Modifiers::NONE, Key::Enter);
        assert_eq!(scales(&journey), [Some(0.21), None, None]);
        journey.key(Modifiers::NONE, Key::Escape);
        journey.key(Modifiers::NONE, Key::PageDown);
        journey.key(Modifiers::NONE, Key::E);
        assert!(journey.shows("Use 0.210 mm/pixel"));
        assert_eq!(scales(&journey), [Some(0.21), None, None], "it is only offered");
        journey.key(Modifiers::ALT, Key::H);
        assert_eq!(scales(&journey), [Some(0.21), Some(0.21), None]);
        assert!(!journey.shows("Use 0.210 mm/pixel"));
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(scales(&journey), [Some(0.21), None, None]);
    });
}

#[test]
fn without_proposals_marking_begins_with_the_first_corner() {
    alone("without_proposals_marking_begins_with_the_first_corner", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        journey.key(Modifiers::SHIFT, Key::Q);
        journey.key(Modifiers::SHIFT, Key::E);
        journey.key(Modifiers::NONE, Key::Num4);
        journey.key(Modifiers::NONE, Key::R);
        assert!(!document(&journey).is_labeling(), "all is set");
        journey.mark_all(&places);
        assert_eq!(journey.marks().placed().count(), 9);
        let shot = document(&journey).shot().unwrap().clone();
        assert!(shot.stage.is_some() && shot.level.is_some() && shot.side.is_some());
    });
}

/// At 1280 × 800: a question or a step is said whole, in the room of its line.
#[test]
fn nothing_of_the_line_below_the_image_is_cut() {
    alone("nothing_of_the_line_below_the_image_is_cut", |folder| {
        let (picture, places) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        let check = |journey: &Journey| {
            let sentence = prompt(document(journey)).sentence;
            let line = journey.window.get_by_label(&sentence).rect();
            let canvas = journey.canvas();
            assert!(line.top() >= canvas.bottom() - 0.5, "“{sentence}” begins above its line");
            assert!(line.height() <= 34.0, "“{sentence}” is {} high", line.height());
            assert!(
                line.left() >= canvas.left() - 0.5 && line.right() <= canvas.right() + 0.5,
                "“{sentence}”"
            );
        };
        journey.key(Modifiers::NONE, Key::Escape);
        check(&journey);
        journey.it_is_a_lateral();
        for at in &places {
            check(&journey);
            journey.click_picture(*at);
        }
        assert!(prompt(document(&journey)).sentence.starts_with("Does any border show twice?"));
        check(&journey);
        journey.press("Shows once");
        check(&journey);
        // An AP from its first question to the last one.
        journey.key(Modifiers::CTRL, Key::D);
        journey.press("Delete all marks");
        journey.key(Modifiers::NONE, Key::S);
        journey.key(Modifiers::NONE, Key::A);
        journey.key(Modifiers::NONE, Key::Escape);
        for _ in 0..20 {
            check(&journey);
            if !document(&journey).hand().places() {
                break;
            }
            journey.click_picture(places[0]);
        }
        check(&journey);
    });
}

#[test]
fn a_notice_lies_beside_the_image() {
    alone("a_notice_lies_beside_the_image", |folder| {
        let journey = Journey::begin(stills(folder, 4));
        let dismiss = journey.window.get_by_label("Dismiss").rect();
        assert!(!journey.canvas().intersects(dismiss), "{dismiss:?}");
        let words = journey.window.query_all_by_label_contains("4 images were added").next().unwrap().rect();
        assert!(!journey.canvas().intersects(words), "{words:?}");
        assert!(journey.shows("Esc ends labeling"));
    });
}

#[test]
fn burned_in_text_is_redacted_in_all_shots_at_once() {
    alone("burned_in_text_is_redacted_in_all_shots_at_once", |folder| {
        let picture = crate::window_frames::written_on(folder);
        let mut journey = Journey::begin(copies(&picture, folder, 3));
        let covers = |journey: &Journey| -> Vec<usize> {
            document(journey).case().shots.iter().map(|shot| shot.covers.len()).collect()
        };
        journey.key(Modifiers::NONE, Key::E);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(journey.shows("So do regions in 2 other shots."));
        journey.press("Redact in all shots");
        let all = covers(&journey);
        assert!(all.iter().all(|count| *count > 0 && *count == all[0]), "{all:?}");
        assert!(journey.shows("redacted in 3 shots."));
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(covers(&journey), [0; 3], "one step back");
    });
}

#[test]
fn the_unmarked_are_told_from_the_marked_where_a_partner_is_selected() {
    use stillmark::case::document::Shot;
    use stillmark::measure::mark::Marks;
    use stillmark::ui::widgets::with_progress;

    let mut shot = Shot::new("a", "a.png", View::Lateral);
    assert_eq!(with_progress(&shot, "a".to_owned()), "○ a, not marked");
    shot.marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 0.0)])
        .with(MarkKind::InferiorEndPlate, &[(0.0, 7.0), (9.0, 7.0)])
        .with(MarkKind::Tip, &[(4.0, 4.0)]);
    assert_eq!(with_progress(&shot, "a".to_owned()), "● a");
}
