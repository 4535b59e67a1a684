//! How large the image is, and how long the usual work takes by count of actions: a script drives the window as a
//! person would, with 1.2 s for a click, 0.3 s for a key and 0.2 s for a notch of the wheel.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::Path;

use eframe::egui::{Key, Modifiers, vec2};
use stillmark::geom::point::Point;
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::{MarkKind, MarkRef};

use crate::journey::{Journey, demonstration, one_picture, samples, walk};

const CLICK_S: f64 = 1.2;
const KEY_S: f64 = 0.3;

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("actions", name, journey);
}

/// A person at the window, whose actions are counted.
struct Person {
    journey: Journey,
    seconds: f64,
}

impl Person {
    fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.seconds += KEY_S;
        self.journey.key(modifiers, key);
    }

    fn click(&mut self, at: Point) {
        let seen = self.journey.screen(at);
        assert!(self.journey.canvas().contains(seen), "{at:?} is not in sight");
        self.seconds += CLICK_S;
        self.journey.click_picture(at);
    }
}

fn share(journey: &Journey) -> f64 {
    journey.window.state().image_share()
}

/// Height of the marked body on the screen, as a share of the canvas's height.
fn body_share(journey: &Journey) -> f64 {
    let marks = journey.marks();
    let ends = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate]
        .into_iter()
        .flat_map(|kind| marks.slots(kind).to_vec())
        .flatten()
        .map(|p| f64::from(journey.screen(p).y));
    let (low, high) = ends.fold((f64::MAX, f64::MIN), |(low, high), y| (low.min(y), high.max(y)));
    (high - low) / f64::from(journey.canvas().height())
}

/// At least half of a small window and six tenths of a usual one are image while a lateral is marked; the body fills
/// close to half of the canvas's height.
#[test]
fn the_image_is_most_of_the_window() {
    alone("the_image_is_most_of_the_window", |folder| {
        let case = demonstration(folder);
        for (size, least) in [
            (vec2(1024.0, 700.0), 0.50),
            (vec2(1280.0, 800.0), 0.50),
            (vec2(1920.0, 1080.0), 0.60),
            (vec2(2560.0, 1440.0), 0.60),
        ] {
            let mut journey = Journey::sized(vec![case.clone()], size);
            assert!(share(&journey) >= least, "read at {size:?}: {:.3}", share(&journey));
            assert!(body_share(&journey) >= 0.45, "{size:?}: {:.3}", body_share(&journey));
            // One key shows the whole image, another brings the body back.
            journey.key(Modifiers::NONE, Key::F);
            assert!(body_share(&journey) < 0.3, "{:.3}", body_share(&journey));
            journey.key(Modifiers::NONE, Key::Z);
            assert!(body_share(&journey) >= 0.45);
            // While a mark is asked for.
            journey.press("Tip, placed");
            assert!(share(&journey) >= least, "marking at {size:?}: {:.3}", share(&journey));
        }
    });
}

/// A window that is made larger shows the body as large as before.
#[test]
fn the_body_follows_the_window() {
    alone("the_body_follows_the_window", |folder| {
        let mut journey = Journey::sized(vec![demonstration(folder)], vec2(1024.0, 700.0));
        journey.window.set_size(vec2(1920.0, 1080.0));
        journey.window.run();
        assert!(body_share(&journey) >= 0.45, "{:.3}", body_share(&journey));
    });
}

/// All marks of a read shot stand beside it, together with its matched pair, in a small window.
#[test]
fn every_mark_is_in_sight_beside_a_read_shot_with_a_pair() {
    alone("every_mark_is_in_sight_beside_a_read_shot_with_a_pair", |_| {
        let mut journey = Journey::begin(vec![samples().join("demonstration.case.json")]);
        show(&mut journey, "l4-right-lateral-final");
        assert!(journey.shows("Matched automatically with"));
        let bottom = 800.0 - 64.0;
        for mark in [
            "Posterior-superior corner, placed",
            "Mid superior endplate",
            "Anterior-superior corner, placed",
            "Anterior wall, mid-height",
            "Anterior-inferior corner, placed",
            "Mid inferior endplate",
            "Posterior-inferior corner, placed",
            "Posterior wall, mid-height",
            "Tip, placed",
        ] {
            use egui_kittest::kittest::Queryable as _;
            let found = journey.window.query_all_by_label_contains(mark).next();
            let rect = found.unwrap_or_else(|| panic!("{mark} is not listed")).rect();
            assert!(rect.bottom() <= bottom && rect.top() >= 40.0, "{mark} is at {rect:?}");
        }
    });
}

fn show(journey: &mut Journey, id: &str) {
    for _ in 0..40 {
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        let place = |id: &str| document.case().shots.iter().position(|shot| shot.id == id);
        let shown = document.shown.as_deref().and_then(place);
        if shown == place(id) {
            return;
        }
        journey.key(Modifiers::NONE, if shown > place(id) { Key::PageUp } else { Key::PageDown });
    }
    panic!("{id} is not reached");
}

/// Nothing moves under the pointer: a notice, the strip of the redactions and that of the scale leave canvas and zoom
/// as they are.
#[test]
fn nothing_moves_the_image() {
    alone("nothing_moves_the_image", |folder| {
        let case = demonstration(folder);
        let mut journey = Journey::begin(vec![case]);
        let before = (journey.canvas(), journey.screen(Point::new(400.0, 400.0)));
        for key in [Key::W, Key::H] {
            journey.key(Modifiers::NONE, key);
            assert_eq!((journey.canvas(), journey.screen(Point::new(400.0, 400.0))), before, "{key:?}");
            journey.key(Modifiers::NONE, Key::Escape);
        }
        journey.window.state_mut().state.say(stillmark::app::session::notice::Weight::Note, "A notice.");
        journey.window.run();
        assert!(journey.shows("A notice."));
        assert_eq!((journey.canvas(), journey.screen(Point::new(400.0, 400.0))), before);
    });
}

/// Whoever goes to another shot reads its numbers from the top, however far down the list a mark was selected before.
#[test]
fn the_next_shots_numbers_are_in_sight() {
    alone("the_next_shots_numbers_are_in_sight", |_| {
        use egui_kittest::kittest::Queryable as _;
        let case = samples().join("demonstration.case.json");
        let mut journey = Journey::sized(vec![case], vec2(1024.0, 700.0));
        show(&mut journey, "l4-right-lateral-final");
        journey.press("Tip, placed");
        journey.key(Modifiers::NONE, Key::Escape);
        show(&mut journey, "l4-right-ap-final");
        let found = journey.window.query_all_by_label_contains("Inside the target").next();
        let rect = found.unwrap().rect();
        assert!(rect.top() >= 40.0, "{rect:?}");
    });
}

/// The first lateral of a case by hand: its view, level, side and stage set by keys, its nine marks clicked.
#[test]
fn a_lateral_marked_by_hand_takes_about_twelve_seconds_of_actions() {
    alone("a_lateral_marked_by_hand_takes_about_twelve_seconds_of_actions", |folder| {
        let (picture, places) = one_picture(folder);
        let mut person = Person { journey: Journey::begin(vec![picture]), seconds: 0.0 };
        for key in [Key::Num4, Key::R, LATERAL, Key::F] {
            person.key(Modifiers::NONE, key);
        }
        // Corner by corner, instead of the two clicks that would propose the outline.
        person.key(Modifiers::SHIFT, Key::C);
        for at in &places {
            person.click(*at);
        }
        let journey = &person.journey;
        assert_eq!(journey.marks().placed().count(), 9);
        assert!(journey.shows("Depth") && journey.shows("Height"));
        // Nine clicks and five keys: 9 × 1.2 + 5 × 0.3 = 12.3 s.
        assert!(person.seconds <= 12.3 + 1e-9, "{:.1} s", person.seconds);
    });
}

/// The key that sets a lateral view.
const LATERAL: Key = Key::E;

/// One scale for nine shots: set on one, used for all alike with one key.
#[test]
fn a_scale_for_nine_shots_takes_less_than_four_seconds() {
    alone("a_scale_for_nine_shots_takes_less_than_four_seconds", |folder| {
        let file = demonstration(folder);
        let mut case = open_case(&file).unwrap().case;
        // A cropped image is not alike.
        case.shots.retain(|shot| !shot.id.ends_with("cropped"));
        let shown = case.shots[0].clone();
        for n in case.shots.len()..9 {
            let mut shot = shown.clone();
            shot.id = format!("more-{n}");
            case.shots.push(shot);
        }
        for shot in case.shots.iter_mut().skip(1) {
            (shot.mm_per_px, shot.mm_per_px_sd, shot.scale_from) = (None, None, None);
        }
        let file = folder.join("nine.case.json");
        save_case(&file, &case, &Over::Nothing).unwrap();
        let mut person = Person { journey: Journey::begin(vec![file]), seconds: 0.0 };
        person.key(Modifiers::SHIFT, Key::S);
        let document = person.journey.window.state().state.editor.document.as_ref().unwrap();
        let scaled = document.case().shots.iter().filter(|shot| shot.mm_per_px == shown.mm_per_px).count();
        assert_eq!(scaled, 9);
        assert!(person.seconds <= 4.0);
    });
}

/// The second line of a wall: one key on the border in hand, then its two ends.
#[test]
fn the_second_line_of_a_wall_takes_three_seconds() {
    alone("the_second_line_of_a_wall_takes_three_seconds", |folder| {
        let case = demonstration(folder);
        let shot = open_case(&case).unwrap().case.shots[0].clone();
        let places = walk(&shot.marks);
        let mut person = Person { journey: Journey::begin(vec![case]), seconds: 0.0 };
        // The wall is in hand after its mark was clicked.
        person.journey.click_picture(places[7]);
        person.key(Modifiers::NONE, Key::D);
        let (top, bottom) = (places[0], places[6]);
        person.click(Point::new(top.x + 6.0, top.y + 12.0));
        person.click(Point::new(bottom.x + 6.0, bottom.y - 12.0));
        let second = person.journey.marks().slots(MarkKind::PosteriorWallSecond).len();
        assert_eq!(second, 2);
        assert!(person.seconds <= 3.0, "{:.1} s", person.seconds);
    });
}

/// A click that is not on the image places nothing and says so; numbers select nothing while no mark is asked for.
#[test]
fn what_cannot_be_meant_is_said_and_does_nothing() {
    alone("what_cannot_be_meant_is_said_and_does_nothing", |folder| {
        let (picture, _) = one_picture(folder);
        let mut journey = Journey::begin(vec![picture]);
        journey.it_is_a_lateral();
        journey.key(Modifiers::NONE, Key::F);
        let canvas = journey.canvas();
        let beside = canvas.left_center() + vec2(6.0, 0.0);
        journey.window.hover_at(beside);
        journey.window.run();
        journey.button(beside, true, Modifiers::NONE);
        journey.button(beside, false, Modifiers::NONE);
        assert!(journey.marks().is_empty());
        assert!(journey.shows("That click is outside the image."));
        drop(journey);

        let mut journey = Journey::begin(vec![demonstration(folder)]);
        journey.key(Modifiers::NONE, Key::Num3);
        assert!(journey.shows("Numbers select marks only while a mark is asked for."));
        assert!(!journey.window.state().state.editor.document.as_ref().unwrap().hand().places());
    });
}

/// A case opens again with the shot it was left at, and the demonstration with a lateral of the final stage.
#[test]
fn cases_open_where_they_were_left() {
    alone("cases_open_where_they_were_left", |_| {
        let file = samples().join("demonstration.case.json");
        let mut journey = Journey::begin(vec![file.clone()]);
        let shown =
            |journey: &Journey| journey.window.state().state.editor.document.as_ref().unwrap().shown.clone();
        assert_eq!(shown(&journey).as_deref(), Some("l4-right-lateral-final"));
        journey.key(Modifiers::NONE, Key::PageUp);
        let left = shown(&journey);
        journey.key(Modifiers::CTRL, Key::W);
        let open = stillmark::app::command::file::FileCommand::OpenPaths(vec![file]);
        let _ = stillmark::app::session::update::update(
            &mut journey.window.state_mut().state,
            stillmark::app::command::Command::File(open),
        );
        let places = journey.window.state().state.places();
        assert!(left.is_some_and(|shot| places.contains(&shot)), "{places}");
    });
}

/// A shot whose marks are all there needs no click to be read, and a mark is corrected with two actions.
#[test]
fn a_mark_is_corrected_with_a_click_and_keys() {
    alone("a_mark_is_corrected_with_a_click_and_keys", |folder| {
        let case = demonstration(folder);
        let shot = open_case(&case).unwrap().case.shots[0].clone();
        let places = walk(&shot.marks);
        let mut person = Person { journey: Journey::begin(vec![case]), seconds: 0.0 };
        person.click(places[0]);
        person.key(Modifiers::NONE, Key::ArrowRight);
        let at = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
        let moved = person.journey.marks().point(at).unwrap().x - places[0].x;
        assert!((moved - 1.0).abs() < 1e-6, "{moved}");
        assert!(person.seconds <= 2.0);
    });
}
