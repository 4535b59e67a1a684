//! Journeys through the page of compared shots.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers, Rect, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use stillmark::app::pages::compare::viewport::{earlier, later};
use stillmark::app::pages::compare::{Compare, CompareMode};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::compare::Position;

use crate::journey::{Journey, demonstration, samples};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_compare", name, journey);
}

/// The page on the demonstration's two last lateral shots of L4 with a stage.
fn begin(folder: &Path) -> Journey {
    begin_at(demonstration(folder))
}

fn begin_at(file: PathBuf) -> Journey {
    let mut journey = Journey::begin(vec![file]);
    for _ in 0..3 {
        journey.key(Modifiers::NONE, Key::PageDown);
    }
    journey.key(Modifiers::NONE, Key::F6);
    journey.window.run();
    journey
}

fn page(journey: &Journey) -> &Compare {
    &journey.window.state().state.pages.compare
}

fn shots(journey: &Journey) -> [&str; 2] {
    page(journey).shots.as_ref().unwrap().each_ref().map(String::as_str)
}

fn room(journey: &Journey, name: &str) -> Rect {
    journey
        .window
        .get_by(|node| node.role() == Role::Canvas && node.label().is_some_and(|l| l.starts_with(name)))
        .rect()
}

#[test]
fn two_shots_stand_beside_each_other_and_share_zoom_and_pointer() {
    alone("two_shots_stand_beside_each_other_and_share_zoom_and_pointer", |folder| {
        let mut journey = begin(folder);
        assert_eq!(page(&journey).mode, CompareMode::SideBySide);
        assert_eq!(shots(&journey), ["l4-right-lateral-stylet", "l4-right-lateral-final-1"]);
        assert!(journey.shows("Change") && journey.shows("Depth"));
        // The same place of the body lies at the same place of both rooms.
        let same = |journey: &Journey| {
            let state = &journey.window.state().state;
            let registered = state.pages.compare.registered.as_ref().unwrap().as_ref().unwrap();
            let middle = BodyPoint::new(0.5, 0.5);
            let a = earlier(state).unwrap().to_canvas(registered.from().to_image(middle));
            let b = later(state).unwrap().to_canvas(registered.to().to_image(middle));
            (a.distance(b), b)
        };
        let (apart, at) = same(&journey);
        assert!(apart < 6.0, "{apart}");
        let before = later(&journey.window.state().state).unwrap().zoom;
        journey.key(Modifiers::NONE, Key::Plus);
        let after = later(&journey.window.state().state).unwrap().zoom;
        assert!((after / before - 1.25).abs() < 1e-9 && same(&journey).0 < 8.0);
        journey.key(Modifiers::NONE, Key::Minus);
        let room = room(&journey, "Earlier image");
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let pos = room.min + vec2(at.x as f32, at.y as f32);
        journey.window.hover_at(pos);
        journey.window.run();
        journey.press("Swap");
        assert_eq!(shots(&journey), ["l4-right-lateral-final-1", "l4-right-lateral-stylet"]);
        journey.press("Same C-arm position");
        assert_eq!(page(&journey).position, Position::Shared);
        assert!(journey.shows("the rotation component is left out"));
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.shows("Change"));
    });
}

/// A key that closes a list closes nothing else, and no control of the next page has the keyboard because it stands where
/// the one before stood.
#[test]
fn escape_closes_the_open_list_and_not_the_page() {
    alone("escape_closes_the_open_list_and_not_the_page", |folder| {
        let mut journey = begin(folder);
        let shown = |journey: &Journey| journey.window.state().state.pages.shown;
        let page = shown(&journey);
        journey.press("Earlier shot");
        assert!(journey.window.ctx.any_popup_open());
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.window.ctx.any_popup_open());
        assert_eq!(shown(&journey), page);
        let back = journey.window.get_by_label("Back to image");
        back.focus();
        journey.window.run();
        journey.key(Modifiers::NONE, Key::Enter);
        assert_ne!(shown(&journey), page);
        assert!(!journey.window.get_by_label("Save").accesskit_node().is_focused());
    });
}

/// Greys of the two ends of a blend differ, and what lies between is between.
#[test]
fn shots_are_blended_by_slider_and_keys() {
    alone("shots_are_blended_by_slider_and_keys", |folder| {
        let mut journey = begin(folder);
        journey.press("Blend");
        assert!(page(&journey).laid.layers().is_some() && journey.shows("matched near the body"));
        journey.window.get_by_role_and_label(
            Role::Canvas,
            "Blend: l4-right-lateral-stylet on l4-right-lateral-final-1",
        );
        journey.window.get_by_label("Blend: later shot");
        assert!((page(&journey).share - 0.5).abs() < 1e-9);
        journey.key(Modifiers::NONE, Key::ArrowRight);
        assert!((page(&journey).share - 0.55).abs() < 1e-9);
        journey.key(Modifiers::SHIFT, Key::ArrowLeft);
        assert!((page(&journey).share - 0.54).abs() < 1e-9);
        for _ in 0..20 {
            journey.key(Modifiers::NONE, Key::ArrowLeft);
        }
        assert!(page(&journey).share.abs() < 1e-9);
    });
}

#[test]
fn shots_alternate_at_a_rate_until_stopped() {
    alone("shots_alternate_at_a_rate_until_stopped", |folder| {
        let mut journey = begin(folder);
        journey.press("Alternate");
        assert!(journey.shows("shown: the later") && !page(&journey).alternating);
        journey.press("Show other");
        assert!(journey.shows("shown: the earlier"));
        journey.key(Modifiers::NONE, Key::ArrowRight);
        assert!(journey.shows("shown: the later"));
        assert!(page(&journey).rate_hz <= 2.0);
        journey.press("Alternate automatically");
        assert!(page(&journey).alternating);
        let mut seen = [false; 2];
        for _ in 0..20 {
            journey.window.input_mut().time = journey.window.input_mut().time.map(|time| time + 0.6);
            journey.window.step();
            seen[usize::from(page(&journey).later_shown)] = true;
        }
        assert_eq!(seen, [true; 2]);
        journey.press("Stop");
        assert!(!page(&journey).alternating);
        // Another way of showing ends it too.
        journey.press("Alternate automatically");
        journey.key(Modifiers::NONE, Key::Num2);
        assert!(!page(&journey).alternating && page(&journey).mode == CompareMode::Blend);
    });
}

#[test]
fn a_line_between_the_shots_is_dragged_and_moved_by_keys() {
    alone("a_line_between_the_shots_is_dragged_and_moved_by_keys", |folder| {
        let mut journey = begin(folder);
        journey.press("Split");
        journey.window.get_by_label("Position of the split");
        let room = journey.window.get_by_role(Role::Canvas).rect();
        let before = page(&journey).showing;
        journey.window.hover_at(room.center());
        journey.window.run();
        journey.button(room.center(), true, Modifiers::NONE);
        for share in [0.45, 0.3, 0.25] {
            journey.window.hover_at(room.min + room.size() * vec2(share, 0.5));
            journey.window.run();
        }
        journey.button(room.min + room.size() * vec2(0.25, 0.5), false, Modifiers::NONE);
        assert!((page(&journey).line - 0.25).abs() < 0.01, "{}", page(&journey).line);
        assert_eq!(page(&journey).showing, before, "the picture stays");
        journey.key(Modifiers::NONE, Key::ArrowRight);
        assert!((page(&journey).line - 0.30).abs() < 0.01);
        // Away from the line a drag moves the picture.
        let from = room.min + room.size() * vec2(0.7, 0.5);
        journey.window.hover_at(from);
        journey.window.run();
        journey.button(from, true, Modifiers::NONE);
        for by in [10.0, 20.0] {
            journey.window.hover_at(from + vec2(by, 0.0));
            journey.window.run();
        }
        journey.button(from + vec2(20.0, 0.0), false, Modifiers::NONE);
        assert!(page(&journey).showing.is_some() && (page(&journey).line - 0.30).abs() < 0.01);
        journey.press("Zoom to body");
        assert_eq!(page(&journey).showing, None);
    });
}

#[test]
fn the_difference_says_what_dark_and_bright_mean_and_a_body_that_is_not_marked_why_it_cannot_be() {
    let name = "the_difference_says_what_dark_and_bright_mean_and_a_body_that_is_not_marked_why_it_cannot_be";
    alone(name, |folder| {
        let mut journey = begin(folder);
        journey.press("Difference");
        assert!(page(&journey).laid.layers().is_some() && journey.shows("Mid-gray: no difference"));
        // On the picture again: a corner is removed.
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(page(&journey).laid.layers().is_none(), "nothing is kept for later");
        journey.press("Posterior-superior corner, placed");
        journey.key(Modifiers::NONE, Key::Delete);
        journey.key(Modifiers::NONE, Key::F6);
        assert!(journey.shows("cannot be registered") && journey.shows("No change can be measured"));
        journey.press("Undo");
        assert!(page(&journey).laid.layers().is_some());
    });
}

/// The demonstration's marks err by the stated half millimetre, so that its pictures have something to say; the change counts
/// by them only as long as the user wants that.
#[test]
fn the_pictures_refine_what_marks_say_and_are_taken_only_when_asked() {
    alone("the_pictures_refine_what_marks_say_and_are_taken_only_when_asked", |folder| {
        let mut journey = begin(folder);
        let change = |journey: &Journey| {
            let found = page(journey).found.clone().unwrap().unwrap();
            found.change.along.unwrap().quantity.value
        };
        let by_marks = change(&journey);
        journey.press("Refine registration");
        assert!(journey.shows("The refinement is reliable") && journey.shows("The images shift the body by"));
        assert!((change(&journey) - by_marks).abs() < 1e-12, "found is not taken");
        journey.press("Apply");
        let refined = change(&journey);
        // The marks of the demonstration lie closer than they did; what is refined still moves the change by half a percent point.
        assert!((refined - by_marks).abs() > 0.005, "{by_marks} {refined}");
        assert!(journey.shows("the readings of the shots remain those of the marks"));
        journey.press("Back to the marks");
        assert!((change(&journey) - by_marks).abs() < 1e-12);
        journey.press("Swap");
        assert!(page(&journey).refining.is_none(), "these two have not been asked for");
    });
}

/// Every bone mark of the earlier shot shifted by 4 mm, eight times the stated error: nothing to be taken.
#[test]
fn a_refinement_that_cannot_be_trusted_says_why_and_cannot_be_taken() {
    alone("a_refinement_that_cannot_be_trusted_says_why_and_cannot_be_taken", |folder| {
        let file = demonstration(folder);
        let mut case: serde_json::Value = serde_json::from_slice(&std::fs::read(&file).unwrap()).unwrap();
        let shots = case["shots"].as_array_mut().unwrap();
        let shot = shots.iter_mut().find(|shot| shot["id"] == "l4-right-lateral-stylet").unwrap();
        let shift = 4.0 / shot["mm_per_px"].as_f64().unwrap();
        for (name, points) in shot["marks"].as_object_mut().unwrap() {
            if matches!(name.as_str(), "tip" | "cannula" | "electrodes") {
                continue;
            }
            for point in points.as_array_mut().unwrap() {
                point[0] = (point[0].as_f64().unwrap() + shift).into();
            }
        }
        std::fs::write(&file, serde_json::to_vec(&case).unwrap()).unwrap();
        let mut journey = begin_at(file);
        journey.press("Refine registration");
        assert!(journey.shows("The refinement is rejected"));
        assert!(!journey.shows("Apply"));
    });
}

#[test]
fn other_shots_are_chosen_from_lists() {
    alone("other_shots_are_chosen_from_lists", |folder| {
        let mut journey = begin(folder);
        journey.press("Earlier shot");
        journey.press("● l4-right-lateral-pedicle (L4 right, lateral, transpedicular)");
        assert_eq!(shots(&journey), ["l4-right-lateral-pedicle", "l4-right-lateral-final-1"]);
        journey.press("Show overlays");
        journey.press("No marks");
        assert!(!page(&journey).whose.has(0) && !page(&journey).whose.has(1));
    });
}

/// The whole demonstration's L4: five moments with both views, one lateral alone.
#[test]
fn the_run_of_a_body_is_shown_as_a_way_lines_and_words() {
    alone("the_run_of_a_body_is_shown_as_a_way_lines_and_words", |_| {
        let mut journey = Journey::begin(vec![samples().join("demonstration.case.json")]);
        journey.key(Modifiers::NONE, Key::F7);
        let page = |journey: &Journey| journey.window.state().state.pages.tip_path.way.clone().unwrap();
        assert_eq!(page(&journey).name(), "L4 right");
        assert!(journey.shows("Tip path as seen in the saved frames"));
        assert!(journey.shows("Lateral drawing of the body") && journey.shows("Tip path: 1 at"));
        assert!(journey.shows("Depth by shot: 1"));
        assert!(journey.shows("1 to 2:") && journey.shows("A straight line through the last two"));
        assert!(page(&journey).run.unwrap().pairs.len() >= 4);
        journey.press("Body and entry side");
        journey.press("L5 left");
        assert_eq!(page(&journey).name(), "L5 left");
    });
}

#[test]
fn a_curve_is_drawn_turned_and_measured() {
    alone("a_curve_is_drawn_turned_and_measured", |folder| {
        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::PageDown);
        journey.key(Modifiers::NONE, Key::F7);
        journey.press("Projected stylet path");
        let curve = |journey: &Journey| {
            let page = &journey.window.state().state.pages.tip_path.curve;
            (page.shape, page.course.clone().unwrap().unwrap(), page.clicks.clone(), page.circle)
        };
        let (shape, course, ..) = curve(&journey);
        assert!(course.end.is_some() && journey.shows("As drawn it ends at a depth of"));
        assert!(journey.shows("The next shot, l4-right-lateral-stylet, shows the tip"));
        assert!(journey.shows("it does not predict where an instrument will go"));
        // Clicked along the drawn course itself, the circle has the radius it was drawn with.
        let room = journey.canvas();
        for i in [4, 16, 28, 44] {
            let state = &journey.window.state().state;
            let (transform, _) = stillmark::app::pages::tip_path::curve::transform(state).unwrap();
            let p = transform.to_canvas(course.course[i]);
            #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
            let pos = room.min + vec2(p.x as f32, p.y as f32);
            journey.window.hover_at(pos);
            journey.window.run();
            journey.button(pos, true, Modifiers::NONE);
            journey.button(pos, false, Modifiers::NONE);
        }
        let (.., clicks, circle) = curve(&journey);
        assert_eq!(clicks.len(), 4);
        let (_, radius) = circle.unwrap();
        assert!((radius / shape.radius_mm - 1.0).abs() < 0.02, "{radius}");
        journey.press("Use this radius");
        assert!((curve(&journey).0.radius_mm - radius).abs() <= 0.05 + 1e-9);
        journey.press("Clear points");
        assert!(curve(&journey).2.is_empty() && journey.shows("0 so far"));
        journey.window.get_by_role_and_label(Role::Slider, "Rotation about the cannula");
    });
}

/// What is saved is what the page shows: the file the command line writes for the same two shots shown in the same way.
#[test]
fn a_comparison_is_saved_as_it_is_shown() {
    alone("a_comparison_is_saved_as_it_is_shown", |folder| {
        let mut journey = begin(folder);
        let [from, to] = shots(&journey).map(str::to_owned);
        let saved = folder.join("comparison.svg");
        journey.answer(&saved);
        journey.press("Save the comparison");
        assert!(journey.shows("comparison.svg"));
        let written = std::fs::read_to_string(&saved).unwrap();
        let by_command = folder.join("command.svg");
        let case = folder.join("demonstration.case.json");
        let mut arguments = vec!["compare", case.to_str().unwrap(), &from, &to];
        arguments.extend(["--picture", by_command.to_str().unwrap()]);
        if journey.window.state().state.display.mode == stillmark::scene::drawing::theme::Mode::Dark {
            arguments.push("--dark");
        }
        let run = crate::support::stillmark_cli(arguments).unwrap();
        assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
        assert_eq!(written, std::fs::read_to_string(&by_command).unwrap());
        // Never over the case.
        journey.answer(&case);
        journey.press("Save the comparison");
        assert!(stillmark::io::store::save::open_case(&case).is_ok());
    });
}
