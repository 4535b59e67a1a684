//! Journeys through the page of compared shots.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::Path;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers, Rect, vec2};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::pages::compare::place::{earlier, later};
use stillmark::app::pages::compare::{Compare, Mode};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::compare::Position;

use crate::journey::{Journey, demonstration};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_compare", name, journey);
}

/// The page on the demonstration's two last lateral shots of L4 with a stage.
fn begin(folder: &Path) -> Journey {
    let mut journey = Journey::begin(vec![demonstration(folder)]);
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
        assert_eq!(page(&journey).mode, Mode::SideBySide);
        assert_eq!(shots(&journey), ["l4-right-lateral-stylet", "l4-right-lateral-final-1"]);
        assert!(journey.shows("What changed") && journey.shows("Depth"));
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
        let room = room(&journey, "Earlier picture");
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let pos = room.min + vec2(at.x as f32, at.y as f32);
        journey.window.hover_at(pos);
        journey.window.run();
        journey.press("Swap");
        assert_eq!(shots(&journey), ["l4-right-lateral-final-1", "l4-right-lateral-stylet"]);
        journey.press("These share one C-arm position");
        assert_eq!(page(&journey).position, Position::Shared);
        assert!(journey.shows("the view's part is left out"));
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.shows("What changed"));
    });
}
