//! Journeys through a whole case: from a folder of twelve pictures to a complete plan, once by keyboard alone and
//! once by mouse alone.
//!
//! The pictures are drawn here: two bodies seen from the side, from the front and down the pedicle, with a tip at
//! each stage. Six of them show both bodies at work, so they become two shots each: eighteen shots in all, nine for
//! each body, as the plan expects.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use stillmark::app::marking::guide::{Step, StepPart};
use stillmark::app::session::document::Document;
use stillmark::app::session::mode::Hand;
use stillmark::case::plan::is_to_sort;
use stillmark::geom::point::Point;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::{Level, MarkKind, Side, Stage, View};

use crate::journey::{Journey, alone};
use crate::support::stillmark_cli;

/// One picture of the folder: what it shows, and whether both bodies are at work in it.
struct Still {
    view: View,
    stage: Stage,
    level: Level,
    both: bool,
}

/// The twelve pictures in the order in which they were taken.
fn stills() -> Vec<Still> {
    let one = |view, stage, level| Still { view, stage, level, both: false };
    let two = |view, stage| Still { view, stage, level: Level::L4, both: true };
    vec![
        one(View::Pedicle, Stage::Docking, Level::L4),
        one(View::Pedicle, Stage::Docking, Level::L5),
        two(View::Ap, Stage::Pedicle),
        two(View::Lateral, Stage::Pedicle),
        two(View::Ap, Stage::PosteriorWall),
        two(View::Lateral, Stage::PosteriorWall),
        two(View::Ap, Stage::Stylet),
        two(View::Lateral, Stage::Stylet),
        one(View::Ap, Stage::Final, Level::L4),
        one(View::Lateral, Stage::Final, Level::L4),
        one(View::Ap, Stage::Final, Level::L5),
        one(View::Lateral, Stage::Final, Level::L5),
    ]
}

/// How far down the picture a body stands.
fn shift(level: Level) -> f64 {
    if level == Level::L5 { 130.0 } else { 0.0 }
}

/// Where a guided mark lies; `None` for marks that are left out. Places lie on a grid of 10 pixels.
fn place(step: Step, view: View, stage: Stage, level: Level) -> Option<Point> {
    let at = |x: f64, y: f64| Some(Point::new(x, y + shift(level)));
    match (view, step.kind, step.part) {
        (View::Pedicle, MarkKind::Pedicle, StepPart::Nth(0)) => at(200.0, 60.0),
        (View::Pedicle, MarkKind::Pedicle, StepPart::Nth(1)) => at(200.0, 140.0),
        (View::Pedicle, MarkKind::Pedicle, StepPart::Nth(2)) => at(160.0, 100.0),
        (View::Pedicle, MarkKind::Pedicle, _) => at(240.0, 100.0),
        (View::Pedicle, ..) => at(220.0, 80.0),
        // From the side the front of the spine is on the left.
        (View::Lateral, MarkKind::SuperiorEndPlate, StepPart::First) => at(250.0, 50.0),
        (View::Lateral, MarkKind::SuperiorEndPlate, StepPart::Last) => at(110.0, 50.0),
        (View::Lateral, MarkKind::InferiorEndPlate, StepPart::First) => at(250.0, 150.0),
        (View::Lateral, MarkKind::InferiorEndPlate, StepPart::Last) => at(110.0, 150.0),
        (View::Lateral, MarkKind::Tip, _) => match stage {
            Stage::Docking | Stage::Pedicle => at(290.0, 80.0),
            Stage::PosteriorWall => at(240.0, 90.0),
            Stage::Stylet => at(220.0, 90.0),
            // 0.4 of the depth, half the height.
            Stage::Final => at(194.0, 100.0),
        },
        // From the front, the patient's right on the left of the picture.
        (View::Ap, MarkKind::SuperiorEndPlate, StepPart::First) => at(100.0, 50.0),
        (View::Ap, MarkKind::SuperiorEndPlate, StepPart::Last) => at(260.0, 50.0),
        (View::Ap, MarkKind::InferiorEndPlate, StepPart::First) => at(100.0, 150.0),
        (View::Ap, MarkKind::InferiorEndPlate, StepPart::Last) => at(260.0, 150.0),
        (View::Ap, MarkKind::RightPedicle, StepPart::Nth(0)) => at(110.0, 80.0),
        (View::Ap, MarkKind::RightPedicle, _) => at(140.0, 80.0),
        (View::Ap, MarkKind::Tip, _) => match stage {
            Stage::Docking | Stage::Pedicle => at(120.0, 80.0),
            Stage::PosteriorWall => at(150.0, 90.0),
            Stage::Stylet => at(170.0, 90.0),
            Stage::Final => at(180.0, 100.0),
        },
        _ => None,
    }
}

/// Draws the twelve pictures into a folder. Their names say the opposite of their order; their files' times, one a
/// minute, say it.
fn draw(folder: &Path) -> PathBuf {
    let folder = folder.join("images");
    std::fs::create_dir(&folder).unwrap();
    let start = SystemTime::UNIX_EPOCH + Duration::from_secs(1_770_115_325);
    for (i, still) in stills().iter().enumerate() {
        let inside = |x: f64, y: f64| -> bool {
            let bone = |level: Level| match still.view {
                View::Pedicle => {
                    level == still.level
                        && ((x - 200.0) / 40.0).hypot((y - 100.0 - shift(level)) / 40.0) < 1.0
                }
                View::Lateral => (110.0..250.0).contains(&x) && (50.0..150.0).contains(&(y - shift(level))),
                View::Ap => (100.0..260.0).contains(&x) && (50.0..150.0).contains(&(y - shift(level))),
            };
            [Level::L4, Level::L5].into_iter().any(bone)
        };
        let grey = |x: u32, y: u32| {
            image::Luma([if inside(f64::from(x) + 0.5, f64::from(y) + 0.5) { 90_u8 } else { 190 }])
        };
        let path = folder.join(format!("still-{:02}.png", 12 - i));
        image::GrayImage::from_fn(360, 320, grey).save(&path).unwrap();
        let minutes = u64::try_from(i).unwrap();
        let file = std::fs::File::options().write(true).open(&path).unwrap();
        file.set_modified(start + Duration::from_secs(60 * minutes)).unwrap();
    }
    folder
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

/// The drawn pictures show nothing that an outline could be proposed from: every mark is made by hand.
fn by_hand(journey: &mut Journey) {
    let document = journey.window.state_mut().state.editor.document.as_mut();
    document.unwrap().proposals.switch_off();
}

/// One key, and the frame in which it is heard.
fn tap(journey: &mut Journey, modifiers: Modifiers, key: Key) {
    journey.window.key_press_modifiers(modifiers, key);
    journey.window.step();
}

/// What the whole case must have become, whichever way it was made.
fn check_complete(journey: &mut Journey, file: &Path) {
    journey.window.run();
    // The levels in full say so.
    journey.key(Modifiers::NONE, Key::F2);
    assert!(journey.shows("Complete: every stage"));
    journey.key(Modifiers::NONE, Key::F2);
    assert!(journey.shows("L4, patient's right: 9 of 9 views read"));
    assert!(journey.shows("L5, patient's right: 9 of 9 views read"));
    assert!(document(journey).plan().is_complete());
    let case = open_case(file).unwrap().case;
    assert_eq!(case.shots.len(), 18);
    assert!(!case.shots.iter().any(is_to_sort));
    let order: Vec<_> = case.shots.iter().map(|shot| shot.taken.clone().unwrap()).collect();
    assert!(order.is_sorted(), "in the order of time: {order:?}");
    assert_eq!(order[0], "file time 2026-02-03 10:42:05 UTC", "and shown as what it is");
    let run = stillmark_cli(["read".as_ref(), "--json".as_ref(), file.as_os_str()]).unwrap();
    assert_eq!(run.status, Some(0), "every shot has a reading: {}", run.err);
    let json: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(json[0]["plan"]["complete"], true);
    assert_eq!(json[0]["pairs"].as_array().unwrap().len(), 8);
    // By hand: the tip of the final lateral lies 56 of 140 px from the posterior wall.
    let readings = json[0]["readings"].as_array().unwrap();
    let last = readings.iter().find(|r| r["view"] == "lateral" && r["stage"] == "final").unwrap();
    assert!((last["depth"]["value"].as_f64().unwrap() - 0.4).abs() < 0.004, "{}", last["depth"]);
}

/// The key that says something of the chosen shots.
const fn view_key(view: View) -> Key {
    match view {
        View::Lateral => Key::E,
        View::Ap => Key::A,
        View::Pedicle => Key::P,
    }
}

const fn stage_key(stage: Stage) -> Key {
    match stage {
        Stage::Docking => Key::D,
        Stage::Pedicle => Key::I,
        Stage::PosteriorWall => Key::W,
        Stage::Stylet => Key::Y,
        Stage::Final => Key::F,
    }
}

const fn level_key(level: Level) -> Key {
    if matches!(level, Level::L5) { Key::Num5 } else { Key::Num4 }
}

/// Goes on with Tab until the control with this name has the focus.
fn tab_to(journey: &mut Journey, name: &str) {
    for _ in 0..120 {
        tap(journey, Modifiers::NONE, Key::Tab);
        journey.window.step();
        let there = journey
            .window
            .query_by_label_contains(name)
            .is_some_and(|node| node.accesskit_node().is_focused());
        if there {
            return;
        }
    }
    panic!("Tab does not come to “{name}”");
}

/// Moves the crosshair to a place and puts the mark there.
fn mark_by_keys(journey: &mut Journey, to: Point) {
    if document(journey).crosshair.is_none() {
        tap(journey, Modifiers::NONE, Key::ArrowRight);
    }
    for (axis, less, more) in [(0, Key::ArrowLeft, Key::ArrowRight), (1, Key::ArrowUp, Key::ArrowDown)] {
        for (stride, held) in [(50.0, Modifiers::CTRL), (10.0, Modifiers::SHIFT), (1.0, Modifiers::NONE)] {
            loop {
                let at = document(journey).crosshair.unwrap();
                let missing = if axis == 0 { to.x - at.x } else { to.y - at.y };
                if missing.abs() <= 0.5 * stride + 1e-9 {
                    break;
                }
                tap(journey, held, if missing < 0.0 { less } else { more });
            }
        }
    }
    tap(journey, Modifiers::NONE, Key::Enter);
}

/// What the guide asks for next on the shown shot: its place, or nothing where it is to be left out; `None` once
/// nothing is asked for.
fn asked(journey: &Journey) -> Option<Option<Point>> {
    let shot = document(journey).shot().unwrap();
    match document(journey).hand() {
        Hand::Next(step) => Some(place(step, shot.view, shot.stage.unwrap(), shot.level.unwrap())),
        _ => None,
    }
}

#[test]
fn a_folder_becomes_a_complete_plan_by_keyboard_alone() {
    alone("window_case", "a_folder_becomes_a_complete_plan_by_keyboard_alone", |folder| {
        let pictures = draw(folder);
        let mut journey = Journey::begin(Vec::new());
        journey.answer(&pictures);
        journey.key(Modifiers::CTRL, Key::O);
        assert_eq!(document(&journey).case().shots.len(), 12);
        // Many stills are seen large first; their labels can be set there, too.
        assert!(journey.shows("View not set: 12, in order of file time; copying can change it"));
        journey.key(Modifiers::NONE, Key::Escape);
        by_hand(&mut journey);
        assert!(journey.shows("Labels missing: 12"));

        // Everything is L4 right, then one by one what is not.
        journey.key(Modifiers::CTRL, Key::A);
        assert!(journey.shows("Label 12 selected shots"));
        for key in [Key::Num4, Key::R] {
            journey.key(Modifiers::NONE, key);
        }
        journey.key(Modifiers::CTRL, Key::Z);
        let sides =
            |journey: &Journey| document(journey).case().shots.iter().map(|s| s.side).collect::<Vec<_>>();
        assert_eq!(sides(&journey), [None; 12], "what is said of many is one step back");
        journey.key(Modifiers::NONE, Key::R);
        assert_eq!(sides(&journey), [Some(Side::Right); 12]);
        journey.key(Modifiers::NONE, Key::ArrowRight);
        journey.key(Modifiers::NONE, Key::ArrowLeft);
        // The first two are both views down the pedicle, at docking.
        journey.key(Modifiers::SHIFT, Key::ArrowRight);
        for key in [Key::P, Key::D] {
            journey.key(Modifiers::NONE, key);
        }
        for (i, still) in stills().iter().enumerate() {
            if i > 0 {
                journey.key(Modifiers::NONE, Key::ArrowRight);
            }
            for key in [level_key(still.level), view_key(still.view), stage_key(still.stage)] {
                journey.key(Modifiers::NONE, key);
            }
            if still.both {
                journey.key(Modifiers::CTRL, Key::D);
                journey.key(Modifiers::NONE, level_key(Level::L5));
            }
        }
        journey.key(Modifiers::NONE, Key::Escape);
        assert!(!journey.shows("Unlabeled"));
        assert_eq!(document(&journey).case().shots.len(), 18);

        // The degenerated disc, reached with Tab.
        tab_to(&mut journey, "Disc L4-L5");
        journey.key(Modifiers::NONE, Key::Space);
        assert_eq!(document(&journey).case().discs, ["L4-L5"]);
        journey.key(Modifiers::NONE, Key::F2);
        assert!(journey.shows("Still needed: 18 views not read yet."));
        journey.key(Modifiers::NONE, Key::F2);
        // Off the control, so that the arrows are the picture's again.
        journey.key(Modifiers::NONE, Key::Escape);

        for _ in 0..18 {
            tap(&mut journey, Modifiers::NONE, Key::U);
            while let Some(place) = asked(&journey) {
                match place {
                    Some(at) => mark_by_keys(&mut journey, at),
                    None => tap(&mut journey, Modifiers::NONE, Key::N),
                }
            }
        }
        let file = folder.join("keyboard.case.json");
        journey.answer(&file);
        journey.key(Modifiers::CTRL, Key::S);
        check_complete(&mut journey, &file);
    });
}

/// Clicks what is named so in the list, which may have to be scrolled first.
fn click_containing(journey: &mut Journey, words: &str) {
    journey.window.get_by_label_contains(words).scroll_to_me();
    journey.window.run();
    journey.window.get_by_label_contains(words).click();
    journey.window.run();
}

#[test]
fn a_folder_becomes_a_complete_plan_by_mouse_alone() {
    alone("window_case", "a_folder_becomes_a_complete_plan_by_mouse_alone", |folder| {
        let mut journey = Journey::begin(Vec::new());
        journey.drop_files(&[draw(folder)]);
        assert_eq!(document(&journey).case().shots.len(), 12);
        by_hand(&mut journey);
        journey.press("Back to image");
        click_containing(&mut journey, "Disc L4-L5");
        journey.key(Modifiers::NONE, Key::F2);
        assert!(journey.shows("Still needed: L4, L5 without shots."));
        journey.key(Modifiers::NONE, Key::F2);

        journey.press("Select all");
        journey.press("Level L4");
        journey.press("Side right");
        for (i, still) in stills().iter().enumerate() {
            // The list names each shot after its picture.
            click_containing(&mut journey, &format!("still-{:02},", 12 - i));
            if still.level == Level::L5 {
                journey.press("Level L5");
            }
            journey.press(match still.view {
                View::Lateral => "View lateral",
                View::Ap => "View AP",
                View::Pedicle => "View en face pedicle",
            });
            journey.press(match still.stage {
                Stage::Docking => "Stage docking",
                Stage::Pedicle => "Stage transpedicular",
                Stage::PosteriorWall => "Stage at the posterior wall",
                Stage::Stylet => "Stage stylet",
                Stage::Final => "Stage final",
            });
            if still.both {
                journey.press("Shot");
                journey.press("Duplicate");
                journey.press("Level L5");
            }
        }
        journey.press("Done");
        assert_eq!(document(&journey).case().shots.len(), 18);
        assert!(document(&journey).case().shots.iter().all(|shot| !is_to_sort(shot)));

        // Half by half, shot by shot.
        for half in ["L4, patient's right", "L5, patient's right"] {
            click_containing(&mut journey, half);
            let listed: Vec<String> = document(&journey)
                .listed()
                .into_iter()
                .map(|i| document(&journey).case().shots[i].id.clone())
                .collect();
            assert_eq!(listed.len(), 9);
            for id in listed {
                click_containing(&mut journey, &format!("{id}, "));
                while let Some(place) = asked(&journey) {
                    match place {
                        Some(at) => journey.click_picture(at),
                        None => journey.press("Skip"),
                    }
                }
            }
        }
        let file = folder.join("mouse.case.json");
        journey.answer(&file);
        // The one in the line of commands; the next line offers it too.
        journey.window.get_all_by_label("Save").next().unwrap().click();
        journey.window.run();
        check_complete(&mut journey, &file);
    });
}

#[test]
fn rows_show_what_is_missing_and_shots_are_chosen_copied_and_taken_out() {
    alone("window_case", "rows_show_what_is_missing_and_shots_are_chosen_copied_and_taken_out", |folder| {
        let pictures = draw(folder);
        let mut journey = Journey::begin(vec![pictures.join("still-12.png"), pictures.join("still-11.png")]);
        journey.press("Dismiss");
        // What they show is asked first; here it is set above the image instead.
        journey.key(Modifiers::NONE, Key::Escape);
        let ids = |journey: &Journey| -> Vec<String> {
            document(journey).case().shots.iter().map(|shot| shot.id.clone()).collect()
        };
        // Both at once, above the picture.
        journey.key(Modifiers::CTRL, Key::A);
        assert!(journey.shows("2 selected"));
        journey.press("Level: not set");
        journey.press("L4");
        journey.press("Side: not set");
        journey.press("right");
        assert!(document(&journey).case().shots.iter().all(|shot| shot.level == Some(Level::L4)));
        assert!(journey.shows("L4, patient's right: 0 of 9 views read"));
        journey.press("Stage: not set");
        journey.press("final");
        // The list stays as it was while they were labeled; a click lists the body.
        assert!(!journey.shows("missing: AP, final"));
        journey.press("L4 right");
        // A free place asks for its picture and says what it shows.
        assert!(journey.shows("missing: AP, final"));
        journey.answer(&pictures.join("still-10.png"));
        journey.press("missing: AP, final");
        assert!(!journey.shows("missing: AP, final"));
        let added = document(&journey).shot().unwrap();
        assert_eq!((added.view, added.stage, added.level), (View::Ap, Some(Stage::Final), Some(Level::L4)));
        // The other probe of the same picture.
        journey.key(Modifiers::CTRL | Modifiers::SHIFT, Key::D);
        assert_eq!(document(&journey).shot().unwrap().side, Some(Side::Left));
        assert!(journey.shows("L4, patient's left: 0 of 9 views read"));
        assert_eq!(ids(&journey).len(), 4);
        // Taken out together and brought back by one step.
        journey.press("All shots: 4");
        click_containing(&mut journey, "still-12,");
        journey.key(Modifiers::SHIFT, Key::PageDown);
        journey.key(Modifiers::CTRL, Key::Delete);
        assert_eq!(ids(&journey).len(), 2);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(ids(&journey).len(), 4);
        // The rows fold to their first line.
        assert!(journey.shows("still-11,"));
        journey.key(Modifiers::NONE, Key::F5);
        assert!(!journey.shows("still-11,") && journey.shows("All shots: 4"));
    });
}
