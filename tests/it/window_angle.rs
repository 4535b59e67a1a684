//! Journeys: what is asked of the view once the marks are placed, the other line, and the numbers that a true view would
//! show.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::Path;

use eframe::egui::{Key, Modifiers};
use stillmark::app::display::first_numbers::first_numbers;
use stillmark::measure::mark::{MarkKind, Side};
use stillmark::measure::true_view::choice::Basis;
use stillmark::measure::verdict::{State, Verdict};
use stillmark::scene::words::true_view::HEADING;

use crate::journey::{Journey, one_picture};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_angle", name, journey);
}

/// A still marked in the guide's order, named as a final lateral.
fn marked(folder: &Path) -> Journey {
    let (picture, places) = one_picture(folder);
    let mut journey = Journey::begin(vec![picture]);
    journey.it_is_a_lateral();
    journey.mark_all(&places);
    journey
}

fn told(journey: &Journey) -> Option<(bool, bool)> {
    let document = journey.window.state().state.editor.document.as_ref().unwrap();
    document.shot().unwrap().cannot_tell.map(|told| (told.depth, told.height))
}

#[test]
fn the_view_is_asked_about_by_button_and_by_key() {
    alone("the_view_is_asked_about_by_button_and_by_key", |folder| {
        let mut journey = marked(folder);
        assert!(journey.shows("Does any border show twice?"));
        journey.press("Shows once");
        assert_eq!(told(&journey), Some((false, false)));
        assert!(!journey.shows("Does any border show twice?"));
        assert!(journey.shows("Where was the X-ray tube?"));
        journey.press("Patient’s left");
        let tube = |journey: &Journey| {
            journey.window.state().state.editor.document.as_ref().unwrap().case().tube.lateral
        };
        assert_eq!(tube(&journey), Some(Side::Left));
        assert!(!journey.shows("Where was the X-ray tube?"), "asked once a case");
        // Taken back, one step after the other, and answered by the keyboard.
        journey.key(Modifiers::CTRL, Key::Z);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!((told(&journey), tube(&journey)), (None, None));
        journey.key(Modifiers::SHIFT, Key::U);
        assert_eq!(told(&journey), Some((true, true)));
        journey.press("Not known");
        assert!(!journey.shows("Where was the X-ray tube?"));
        assert_eq!(tube(&journey), None);
        // The answer can be taken back where it is told.
        assert!(journey.shows("You cannot tell whether a border shows twice."));
        journey.press("Ask again");
        assert_eq!(told(&journey), None);
        assert!(journey.shows("Does any border show twice?"));
    });
}

/// A lateral of which nobody can tell whether its borders show twice leaves its own height open, while both views together
/// call it inside: the verdict above goes by the numbers below it, and no warning speaks of a number that is not shown.
#[test]
fn the_verdict_goes_by_the_height_of_both_views_where_that_is_shown() {
    alone("the_verdict_goes_by_the_height_of_both_views_where_that_is_shown", |folder| {
        // A copy: what is answered is kept beside the case.
        let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images");
        std::fs::create_dir_all(folder.join("images")).unwrap();
        for image in std::fs::read_dir(samples.join("images")).unwrap().flatten() {
            std::fs::copy(image.path(), folder.join("images").join(image.file_name())).unwrap();
        }
        let case = folder.join("demonstration.case.json");
        std::fs::copy(samples.join("demonstration.case.json"), &case).unwrap();
        let mut journey = Journey::begin(vec![case]);
        journey.key(Modifiers::SHIFT, Key::U);
        assert_eq!(told(&journey), Some((true, true)));
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        let shot = document.shot().unwrap();
        let looked = document.looked(&shot.id).unwrap();
        let own: Vec<_> = looked.reading.verdicts().iter().map(|verdict| verdict.state).collect();
        assert!(own.contains(&State::Undecided), "by itself it is open: {own:?}");
        assert!(
            first_numbers(document, shot, looked)
                .iter()
                .all(|number| number.verdict.is_none_or(|verdict| verdict.state == State::Inside))
        );
        assert!(journey.shows("Inside the target") && !journey.shows("Too close to call"));
        assert!(!journey.shows("too large for its target range"));
    });
}

#[test]
fn the_other_line_has_a_button_and_a_key() {
    alone("the_other_line_has_a_button_and_a_key", |folder| {
        let mut journey = marked(folder);
        let wall = {
            let marks = journey.marks();
            let plates = [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate];
            plates.map(|kind| marks.slots(kind)[0].unwrap())
        };
        let other = |p: stillmark::geom::point::Point| stillmark::geom::point::Point::new(p.x + 6.0, p.y);
        journey.press("Mark the other line");
        assert!(journey.shows("posterior wall's second contour"));
        journey.click_picture(other(wall[0]));
        journey.click_picture(other(wall[1]));
        assert_eq!(journey.marks().slots(MarkKind::PosteriorWallSecond).iter().flatten().count(), 2);
        assert!(!journey.shows("Does any border show twice?"), "the other line is the answer");
        // By key, from a border in hand.
        journey.press("Mid superior endplate, placed");
        journey.key(Modifiers::NONE, Key::D);
        assert!(journey.shows("superior endplate's second contour"));
    });
}

/// The large numbers and the verdicts beside them are of one kind: what a true view would show, where that is known.
#[test]
fn numbers_and_verdicts_agree() {
    alone("numbers_and_verdicts_agree", |_| {
        let mut journey = Journey::begin(Vec::new());
        journey.press("Open demonstration");
        let mut judged = 0;
        let shots: Vec<String> = {
            let document = journey.window.state().state.editor.document.as_ref().unwrap();
            document.case().shots.iter().map(|shot| shot.id.clone()).collect()
        };
        for id in shots {
            let state = &mut journey.window.state_mut().state;
            let show = stillmark::app::command::shots::ShotsCommand::Show(id.clone());
            stillmark::app::session::update::update(state, stillmark::app::command::Command::Shots(show));
            journey.window.run();
            let document = journey.window.state().state.editor.document.as_ref().unwrap();
            let shot = document.shot().unwrap();
            let Some(looked) = document.looked(&shot.id) else { continue };
            for number in first_numbers(document, shot, looked) {
                let Some((verdict, band)) = number.verdict.and_then(|v| Some((v, v.band?))) else { continue };
                let stillmark::measure::verdict::VerdictRule::Band(rule) = verdict.rule else { continue };
                let again = Verdict::on_band(rule, band, number.quantity.value, number.quantity.sd());
                assert_eq!(
                    (verdict.nominal, verdict.state, verdict.p_inside),
                    (again.nominal, again.state, again.p_inside),
                    "{id}: {:?}",
                    number.named
                );
                judged += usize::from(verdict.basis == Basis::TrueView);
            }
            if !stillmark::scene::words::true_view::direct(&looked.reading).is_empty() {
                let open = stillmark::app::marking::view_questions::contours_open(shot, &looked.reading);
                let words = if open { "The ± assumes that every border shows once" } else { HEADING };
                assert!(journey.shows(words), "{id}");
            }
        }
        assert!(judged >= 4, "{judged} verdicts by what a true view would show");
    });
}
