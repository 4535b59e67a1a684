//! Journeys through the page with all shots: a folder of stills of which nobody has said anything, and which of them is final.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use eframe::egui::{
    Event, Key, Modifiers, MouseWheelSource, MouseWheelUnit, PointerButton, Rect, TouchPhase, vec2,
};
use egui_kittest::kittest::Queryable as _;
use stillmark::app::pages::Page;
use stillmark::app::pages::overview::Overview;
use stillmark::app::session::document::Document;
use stillmark::measure::mark::{Stage, View};

use crate::journey::{Journey, one_picture};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_overview", name, journey);
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

fn page(journey: &Journey) -> &Overview {
    &journey.window.state().state.pages.overview
}

fn shown(journey: &Journey) -> Page {
    journey.window.state().state.pages.shown
}

/// Copies of one still, saved ten seconds after each other; of the last two the second was saved first.
fn stills(folder: &Path, count: u64) -> Vec<PathBuf> {
    let (picture, _) = one_picture(folder);
    let begun = SystemTime::UNIX_EPOCH + Duration::from_secs(1_770_000_000);
    (0..count)
        .map(|n| {
            let copy = folder.join(format!("still-{n}.png"));
            std::fs::copy(&picture, &copy).unwrap();
            let place = if n + 2 >= count { 2 * count - 3 - n } else { n };
            let file = std::fs::File::options().write(true).open(&copy).unwrap();
            file.set_modified(begun + Duration::from_secs(10 * place)).unwrap();
            copy
        })
        .collect()
}

/// Where the shot with this name stands on the page.
fn cell(journey: &Journey, name: &str) -> Rect {
    journey.window.query_all_by_label_contains(&format!("{name}, ")).next().unwrap().rect()
}

fn click(journey: &mut Journey, name: &str, modifiers: Modifiers) {
    let at = cell(journey, name).center();
    journey.window.hover_at(at);
    journey.window.run();
    // A press that is held too long is no click, so no frames are drawn between the two.
    for pressed in [true, false] {
        let button = Event::PointerButton { pos: at, button: PointerButton::Primary, pressed, modifiers };
        journey.window.event_modifiers(button, modifiers);
    }
    journey.window.run();
}

fn selected(journey: &Journey) -> Vec<&str> {
    document(journey).chosen().into_iter().map(|shot| shot.id.as_str()).collect()
}

#[test]
fn many_stills_open_large_with_their_order_and_the_last_one_named() {
    alone("many_stills_open_large_with_their_order_and_the_last_one_named", |folder| {
        let journey = Journey::begin(stills(folder, 6));
        assert_eq!(shown(&journey), Page::Overview);
        assert!(journey.shows("View not set: 6, in order of file time; copying can change it"));
        assert!(journey.shows("Which shots are final?"));
        // By hand: the fifth of six was saved last.
        let last: Vec<_> = journey.window.query_all_by_label_contains("last saved").collect();
        assert_eq!(last.len(), 1);
        assert!(journey.shows("still-4, View not set: not marked, last saved"));
        let image = cell(&journey, "still-0");
        assert!(image.width() >= 200.0 && image.height() >= 180.0, "{image:?}");
        drop(journey);
        let few = Journey::begin(stills(folder, 4));
        assert_eq!(shown(&few), Page::Picture, "four are told apart in the row below the image");
    });
}

#[test]
fn shots_are_labeled_where_they_are_compared_and_nothing_moves_for_it() {
    alone("shots_are_labeled_where_they_are_compared_and_nothing_moves_for_it", |folder| {
        let mut journey = Journey::begin(stills(folder, 6));
        click(&mut journey, "still-1", Modifiers::NONE);
        click(&mut journey, "still-2", Modifiers::CTRL);
        assert_eq!(selected(&journey), ["still-1", "still-2"]);
        let before = cell(&journey, "still-2");
        journey.key(Modifiers::NONE, Key::A);
        assert!(document(&journey).chosen().iter().all(|shot| shot.shows(View::Ap)));
        assert_eq!(cell(&journey, "still-2"), before, "a label moves nothing");
        click(&mut journey, "still-4", Modifiers::NONE);
        journey.key(Modifiers::SHIFT, Key::E);
        let shot = document(&journey).shot().unwrap();
        assert_eq!((shot.id.as_str(), shot.stage), ("still-4", Some(Stage::Final)));
        assert!(shot.shows(View::Lateral));
        journey.press("Order by view and time");
        let order: Vec<_> = page(&journey).order.iter().map(|part| (part.view, part.shots.len())).collect();
        assert_eq!(order, [(Some(View::Lateral), 1), (Some(View::Ap), 2), (None, 3)]);
        journey.key(Modifiers::CTRL, Key::Z);
        assert!(!document(&journey).shot().unwrap().view_set, "one step back");
        journey.key(Modifiers::CTRL, Key::Y);
        journey.key(Modifiers::NONE, Key::Enter);
        assert_eq!(shown(&journey), Page::Picture);
        assert!(!document(&journey).is_labeling());
        assert!(journey.shows("Click the middle of the posterior wall."));
    });
}

#[test]
fn candidates_are_compared_alone_and_the_arrows_go_from_one_to_the_next() {
    alone("candidates_are_compared_alone_and_the_arrows_go_from_one_to_the_next", |folder| {
        let mut journey = Journey::begin(stills(folder, 6));
        click(&mut journey, "still-0", Modifiers::NONE);
        click(&mut journey, "still-3", Modifiers::CTRL);
        let small = cell(&journey, "still-3");
        journey.key(Modifiers::NONE, Key::O);
        assert!(page(&journey).only);
        assert!(journey.window.query_all_by_label_contains("still-1, ").next().is_none());
        let large = cell(&journey, "still-3");
        // Two beside each other instead of three.
        assert!(large.width() > 1.4 * small.width(), "{small:?} {large:?}");
        journey.key(Modifiers::NONE, Key::ArrowRight);
        assert_eq!(document(&journey).shown.as_deref(), Some("still-3"));
        assert_eq!(selected(&journey).len(), 2, "both stay in sight");
        journey.key(Modifiers::NONE, Key::O);
        // A row further down, as many shots on as stand beside each other.
        journey.key(Modifiers::NONE, Key::Home);
        assert_eq!(document(&journey).shown.as_deref(), Some("still-0"));
        let columns = page(&journey).grid.columns;
        journey.key(Modifiers::NONE, Key::ArrowDown);
        let at = page(&journey).order[0].shots[columns].clone();
        assert_eq!(document(&journey).shown.as_ref(), Some(&at));
        journey.key(Modifiers::NONE, Key::End);
        assert_eq!(document(&journey).shown.as_deref(), Some("still-4"), "the last saved");
    });
}

#[test]
fn all_images_are_zoomed_about_the_same_place() {
    alone("all_images_are_zoomed_about_the_same_place", |folder| {
        let mut journey = Journey::begin(stills(folder, 5));
        assert_eq!(page(&journey).zoom, None);
        journey.key(Modifiers::NONE, Key::Plus);
        assert_eq!(page(&journey).zoom, Some(1.25));
        journey.press("Whole image");
        assert_eq!(page(&journey).zoom, None);
        journey.key(Modifiers::NONE, Key::Z);
        assert_eq!(page(&journey).framing, stillmark::app::pages::overview::Framing::Body);
        journey.key(Modifiers::SHIFT, Key::F5);
        assert_eq!(shown(&journey), Page::Picture, "the key of the page leads back");
        journey.key(Modifiers::SHIFT, Key::F5);
        assert_eq!(shown(&journey), Page::Overview);
    });
}

/// Passes in which a list that scrolls smoothly and a tooltip that fades in come to rest.
const STEPS: usize = 40;

fn wheel(journey: &mut Journey, name: &str, lines: f32) {
    journey.window.hover_at(cell(journey, name).center());
    journey.window.run_steps(STEPS);
    journey.window.event(Event::MouseWheel {
        unit: MouseWheelUnit::Line,
        delta: vec2(0.0, lines),
        phase: TouchPhase::Move,
        source: MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    });
    journey.window.run_steps(STEPS);
}

/// It did both at once where more shots were listed than the window holds.
#[test]
fn the_wheel_zooms_where_all_shots_are_in_sight_and_scrolls_where_they_are_not() {
    alone("the_wheel_zooms_where_all_shots_are_in_sight_and_scrolls_where_they_are_not", |folder| {
        let mut few = Journey::begin(stills(folder, 5));
        let before = cell(&few, "still-0");
        wheel(&mut few, "still-0", 1.0);
        assert!(page(&few).zoom.is_some_and(|zoom| zoom > 1.1), "{:?}", page(&few).zoom);
        assert_eq!(cell(&few, "still-0"), before);
        drop(few);
        let mut many = Journey::begin(stills(folder, 40));
        let before = cell(&many, "still-0");
        wheel(&mut many, "still-0", -3.0);
        assert_eq!(page(&many).zoom, None);
        assert!(cell(&many, "still-0").top() < before.top() - 20.0, "{before:?}");
    });
}

#[test]
fn a_button_beside_the_image_leads_to_the_overview() {
    alone("a_button_beside_the_image_leads_to_the_overview", |folder| {
        let mut journey = Journey::begin(stills(folder, 2));
        assert_eq!(shown(&journey), Page::Picture);
        journey.press("Shot overview");
        assert_eq!(shown(&journey), Page::Overview);
    });
}

/// Three of three people measured a stylet first that they took for the probe.
#[test]
fn a_reading_says_which_instrument_it_is_of() {
    alone("a_reading_says_which_instrument_it_is_of", |folder| {
        let (picture, places) = one_picture(folder);
        let other = folder.join("other.png");
        std::fs::copy(&picture, &other).unwrap();
        let mut journey = Journey::begin(vec![picture, other]);
        journey.key(Modifiers::NONE, Key::Escape);
        journey.it_is_a_lateral();
        journey.by_hand();
        journey.mark_all(&places);
        assert!(journey.shows("This may not be the final lateral: no stage is set."));
        journey.key(Modifiers::NONE, Key::S);
        journey.key(Modifiers::NONE, Key::Y);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(
            journey.shows(
                "Stylet shot: measured at the stylet’s tip, not the probe’s. The final shot may differ."
            )
        );
        journey.key(Modifiers::NONE, Key::S);
        journey.key(Modifiers::NONE, Key::F);
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(journey.shows("1 shot is not fully labeled; one of them may be a later lateral."));
    });
}
