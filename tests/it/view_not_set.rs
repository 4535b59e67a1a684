//! A shot whose view nobody has set: it counts as none, in every list and table, and stays so when it is saved.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::{Key, Modifiers};
use serde_json::Value;
use stillmark::app::session::document::Document;
use stillmark::case::document::Shot;
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::{Level, Side, Stage, View};

use crate::journey::Journey;
use crate::support::{case_of, folder, lateral_shot, stillmark_cli, write_picture};

/// A final lateral and AP of L4 from the right that could be read and matched, but for the view of the lateral.
fn open_lateral() -> Vec<Shot> {
    let open = lateral_shot("open", "open.png");
    let mut front = Shot::new("front", "front.png", View::Ap);
    (front.level, front.side, front.stage) = (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
    vec![Shot { view_set: false, ..open }, front]
}

#[test]
fn the_command_line_takes_it_as_no_view() {
    let folder = folder();
    let file = folder.path().join("open.case.json");
    save_case(&file, &case_of("Open", open_lateral()), &Over::Nothing).unwrap();
    for name in ["open.png", "front.png"] {
        write_picture(&folder.path().join(name), 640, 480).unwrap();
    }
    let cli = |arguments: &[&str]| {
        let arguments: Vec<PathBuf> = arguments.iter().map(PathBuf::from).chain([file.clone()]).collect();
        stillmark_cli(arguments).unwrap()
    };

    let run = cli(&["read"]);
    for line in [
        "open: L4 right, view not set, final",
        "The view of this shot is not set, so nothing is read from it",
        "unlabeled (level, side, view or stage not set): open",
    ] {
        assert!(run.out.contains(line), "{line}\n{}", run.out);
    }
    assert!(!run.out.contains("lateral, final") && !run.out.contains("matched pair"), "{}", run.out);
    assert_eq!(run.status, Some(1), "a shot has no reading");

    let all: Value = serde_json::from_str(&cli(&["read", "--json"]).out).unwrap();
    let reading = &all[0]["readings"][0];
    assert_eq!((&reading["view_set"], &reading["depth"]), (&false.into(), &Value::Null));
    assert_eq!(reading["issues"][0]["code"], "view_not_set");
    assert_eq!(
        (reading["issues"].as_array().unwrap().len(), &reading["issues"][0]["blocks"]),
        (1, &true.into())
    );
    assert_eq!(all[0]["pairs"], Value::Array(Vec::new()));
    assert!(all[0]["readings"][1].get("view_set").is_none(), "where it is set, nothing is said of it");

    let table = cli(&["read", "--csv"]).out;
    let mut lines = table.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let view = lines.next().unwrap().iter().position(|name| *name == "view").unwrap();
    assert_eq!(lines.map(|line| line[view]).collect::<Vec<_>>(), ["", "ap"]);

    let compared =
        stillmark_cli(["compare".as_ref(), file.as_os_str(), "open".as_ref(), "front".as_ref()]).unwrap();
    assert_eq!(compared.status, Some(2));
    assert!(compared.err.contains("the view of “open” is not set"), "{}", compared.err);
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

fn open_views(journey: &Journey) -> Vec<bool> {
    document(journey).case().shots.iter().map(|shot| !shot.view_set).collect()
}

#[test]
fn a_saved_case_asks_again_for_the_views_that_were_left_open() {
    let alone = |journey: &dyn Fn(&Path)| {
        crate::journey::alone(
            "view_not_set",
            "a_saved_case_asks_again_for_the_views_that_were_left_open",
            journey,
        );
    };
    alone(&|folder| {
        let stills = folder.join("stills");
        std::fs::create_dir(&stills).unwrap();
        for name in ["one.png", "two.png"] {
            write_picture(&stills.join(name), 320, 240).unwrap();
        }
        let file = folder.join("left-open.case.json");
        let mut journey = Journey::begin(Vec::new());
        journey.answer(&stills);
        journey.key(Modifiers::CTRL, Key::O);
        // Level, side and stage of both, and the view of the first only.
        journey.key(Modifiers::CTRL, Key::A);
        for key in [Key::Num4, Key::R, Key::F] {
            journey.key(Modifiers::NONE, key);
        }
        assert_eq!(open_views(&journey), [true, true], "a level says nothing of the view");
        journey.key(Modifiers::NONE, Key::ArrowRight);
        journey.key(Modifiers::NONE, Key::ArrowLeft);
        journey.key(Modifiers::NONE, Key::A);
        assert_eq!(open_views(&journey), [false, true]);
        journey.key(Modifiers::CTRL, Key::Z);
        assert_eq!(open_views(&journey), [true, true], "a step back takes the view back");
        journey.key(Modifiers::NONE, Key::A);
        // A copy is as open as its shot.
        journey.key(Modifiers::NONE, Key::ArrowRight);
        journey.key(Modifiers::CTRL, Key::D);
        assert_eq!(open_views(&journey), [false, true, true]);
        assert!(journey.shows("Labels missing: 2"));
        journey.answer(&file);
        journey.key(Modifiers::CTRL, Key::S);
        assert_eq!(open_case(&file).unwrap().case.shots.iter().filter(|shot| shot.view_set).count(), 1);

        let mut again = Journey::begin(vec![file.clone()]);
        assert_eq!(open_views(&again), [false, true, true]);
        assert!(!again.shows("Which view is this?"), "the first shot is an AP");
        again.key(Modifiers::NONE, Key::PageDown);
        assert!(again.shows("Which view is this?"));
        assert!(again.shows("The marks are listed once the view is set."));
        // A click on the image asks for the view instead of placing a corner.
        let middle = again.canvas().center();
        again.button(middle, true, Modifiers::NONE);
        again.button(middle, false, Modifiers::NONE);
        assert!(again.shows("Which view is this?"));
        assert!(document(&again).shot().unwrap().marks.is_empty());
        again.key(Modifiers::NONE, Key::E);
        again.key(Modifiers::NONE, Key::Escape);
        assert_eq!(open_views(&again), [false, false, true]);
        assert!(document(&again).hand().places(), "now its first mark is asked for");
    });
}
