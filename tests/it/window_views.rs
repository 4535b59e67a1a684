//! Journeys through AP and pedicle views, pairs, carried marks and the case's settings.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::path::{Path, PathBuf};

use eframe::egui::{Key, Modifiers};
use stillmark::app::session::document::Document;
use stillmark::app::session::mode::Hand;
use stillmark::case::document::{Case, Shot};
use stillmark::case::readings::ShotReading;
use stillmark::geom::point::Point;
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::issue::IssueCode;
use stillmark::measure::mark::{Level, MarkKind, MarkRef, Marks, PatientRight, Side, Stage, View};

use crate::journey::{Journey, samples};

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_views", name, journey);
}

/// A lateral body, its back on the left, at 1 mm to a pixel: 34 by 28 mm.
fn lateral() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(150.0, 150.0), (184.0, 150.0)])
        .with(MarkKind::InferiorEndPlate, &[(150.0, 178.0), (184.0, 178.0)])
        .with(MarkKind::Tip, &[(164.0, 164.0)])
}

/// An AP body of 50 by 30 mm, the patient's right on the left.
fn ap() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(150.0, 150.0), (200.0, 150.0)])
        .with(MarkKind::InferiorEndPlate, &[(150.0, 180.0), (200.0, 180.0)])
        .with(MarkKind::RightPedicle, &[(156.0, 158.0), (164.0, 158.0)])
        .with(MarkKind::LeftPedicle, &[(194.0, 158.0), (186.0, 158.0)])
        .with(MarkKind::SpinousProcess, &[(171.0, 170.0), (179.0, 170.0)])
        .with(MarkKind::Tip, &[(172.0, 165.0)])
}

fn shot(id: &str, view: View, stage: Stage, marks: Marks) -> Shot {
    let mut shot = Shot::new(id, "still.png", view);
    shot.level = Some(Level::L4);
    shot.side = Some(Side::Right);
    shot.stage = Some(stage);
    shot.mm_per_px = Some(1.0);
    shot.marks = marks;
    shot
}

/// A window on a case of these shots, all of one picture; the first is shown.
fn begin(folder: &Path, shots: Vec<Shot>) -> (Journey, PathBuf) {
    let demonstration = open_case(&samples().join("demonstration.case.json")).unwrap().case;
    std::fs::copy(samples().join(&demonstration.shots[0].image), folder.join("still.png")).unwrap();
    let case = Case { title: Some("Demonstration V".to_owned()), shots: shots.into(), ..Case::default() };
    let file = folder.join("views.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    (Journey::begin(vec![file.clone()]), file)
}

fn document(journey: &Journey) -> &Document {
    journey.window.state().state.editor.document.as_ref().unwrap()
}

fn reading(journey: &Journey) -> &ShotReading {
    let document = document(journey);
    &document.looked(document.shown.as_deref().unwrap()).unwrap().reading
}

/// Brings the crosshair to a place with the arrow keys, and places the mark with Enter.
fn place_by_keys(journey: &mut Journey, at: (f64, f64)) {
    if document(journey).crosshair.is_none() {
        journey.key(Modifiers::NONE, Key::ArrowRight);
    }
    for (stride, held) in
        [(50.0, Modifiers::CTRL), (10.0, Modifiers::SHIFT), (1.0, Modifiers::NONE), (0.1, Modifiers::ALT)]
    {
        for (axis, less, more) in [(0, Key::ArrowLeft, Key::ArrowRight), (1, Key::ArrowUp, Key::ArrowDown)] {
            loop {
                let cross = document(journey).crosshair.unwrap();
                let missing = if axis == 0 { at.0 - cross.x } else { at.1 - cross.y };
                if missing.abs() <= 0.5 * stride + 1e-9 {
                    break;
                }
                journey.key(held, if missing < 0.0 { less } else { more });
            }
        }
    }
    journey.key(Modifiers::NONE, Key::Enter);
}

/// By hand: the tip lies 22 of 50 from the entry side's wall, so 44 % across, and 15 of 30 below the superior end
/// plate; the pedicles' medial borders have their midpoint at 25, so the offset is −6 %.
#[test]
fn an_ap_is_marked_by_keyboard_alone() {
    alone("an_ap_is_marked_by_keyboard_alone", |folder| {
        let (mut journey, _) = begin(folder, vec![shot("ap", View::Ap, Stage::Final, Marks::new())]);
        assert!(journey.shows("If unknown, click the left end of the superior endplate (as displayed)."));
        for at in [
            Some((150.0, 150.0)),
            None,
            Some((200.0, 150.0)),
            Some((200.0, 180.0)),
            None,
            Some((150.0, 180.0)),
            None,
            Some((156.0, 158.0)),
            Some((164.0, 158.0)),
            None,
            None,
            Some((186.0, 158.0)),
            Some((194.0, 158.0)),
            None,
            Some((172.0, 165.0)),
        ] {
            match at {
                Some(at) => place_by_keys(&mut journey, at),
                None => journey.key(Modifiers::NONE, Key::N),
            }
        }
        let ShotReading::Ap(read) = reading(&journey) else { panic!("an AP") };
        let tip = read.tip.as_ref().unwrap();
        let offset = read.midline_by.best().unwrap().1.value;
        assert!((tip.along.value - 0.44).abs() < 0.005 && (tip.height.value - 0.5).abs() < 0.005);
        assert!((offset + 0.06).abs() < 0.005, "{offset}");
        assert!(journey.shows("Short of the midline 6 %") && journey.shows("by the pedicles"));
        assert!(!journey.shows("Medial border 8"), "the rest is folded");
        journey.key(Modifiers::NONE, Key::C);
        assert!(journey.shows("Medial border") && journey.shows("±: 95 % interval"));
    });
}

/// By hand: the pedicle is 40 wide and 60 high about (170, 165); the docking point is 10 to the right and 15 up.
#[test]
fn a_pedicle_view_is_marked_by_mouse() {
    alone("a_pedicle_view_is_marked_by_mouse", |folder| {
        let (mut journey, _) = begin(folder, vec![shot("dock", View::Pedicle, Stage::Docking, Marks::new())]);
        // In the guide's order: superior, lateral, inferior, medial border, docking point.
        for (x, y) in [(170.0, 135.0), (190.0, 165.0), (170.0, 195.0), (150.0, 165.0), (180.0, 150.0)] {
            journey.click_picture(Point::new(x, y));
        }
        let ShotReading::Pedicle(read) = reading(&journey) else { panic!("a pedicle") };
        assert!((read.lateral_offset.as_ref().unwrap().value - 0.5).abs() < 0.02);
        assert!((read.superior_offset.as_ref().unwrap().value - 0.5).abs() < 0.02);
        journey.key(Modifiers::NONE, Key::C);
        for words in [
            "From center 71 %",
            "Quadrant superolateral quadrant",
            "Clock about",
            "probability of being inside",
        ] {
            assert!(journey.shows(words), "{words}");
        }
    });
}

#[test]
fn a_pair_is_shown_and_its_partner_chosen_and_refused() {
    alone("a_pair_is_shown_and_its_partner_chosen_and_refused", |folder| {
        let mut far = shot("ap-l5", View::Ap, Stage::Final, ap());
        far.level = Some(Level::L5);
        let shots = vec![
            shot("lat", View::Lateral, Stage::Final, lateral()),
            shot("ap-one", View::Ap, Stage::Final, ap()),
            shot("ap-two", View::Ap, Stage::Final, ap()),
            far,
        ];
        let (mut journey, file) = begin(folder, shots);
        assert!(journey.shows("Matched automatically with"));
        journey.key(Modifiers::NONE, Key::C);
        for words in ["Depth 41 %", "Mediolateral 44 %", "Medial breach check", "Axial drawing of the body"] {
            assert!(journey.shows(words), "{words}");
        }
        journey.press("Partner of lat");
        journey.press("● ap-two (L4 right, AP, final)");
        assert!(journey.shows("Matched manually with"));
        journey.press("Partner of lat");
        journey.press("● ap-l5 (L5 right, AP, final)");
        assert!(journey.shows("show different levels (L4 and L5)"));
        assert!(journey.shows("Matched manually with"), "the pairing stays as it was");
        journey.key(Modifiers::CTRL, Key::S);
        assert!(journey.shows("Saved to views.case.json at "));
        assert_eq!(open_case(&file).unwrap().case.shots[0].pair_with.as_deref(), Some("ap-two"));
        journey.press("Partner of lat");
        journey.press("Automatic");
        assert!(journey.shows("Matched automatically with"));
    });
}

#[test]
fn marks_are_carried_with_two_clicks_and_confirmed() {
    alone("marks_are_carried_with_two_clicks_and_confirmed", |folder| {
        let shots = vec![
            shot("new", View::Lateral, Stage::Final, Marks::new()),
            shot("marked", View::Lateral, Stage::Stylet, lateral()),
        ];
        let (mut journey, _) = begin(folder, shots);
        journey.press("Copy marks from");
        journey.press("marked, stylet");
        assert!(journey.shows("Two clicks copy the marks of “marked” here."));
        journey.click_picture(Point::new(160.0, 170.0));
        assert!(journey.shows("Click the anterior-superior corner."));
        journey.click_picture(Point::new(194.0, 170.0));
        let corner = MarkRef { kind: MarkKind::InferiorEndPlate, index: 1 };
        let carried = journey.marks().point(corner).unwrap();
        assert!(carried.distance(Point::new(194.0, 198.0)) < 0.2, "{carried:?}");
        assert!(journey.shows("Draft: confirm the marks to get a reading"));

        // A single mark may be moved before it is confirmed, and the tip is the shot's own.
        // The copied marks lie lower in this image than in the other; they are brought into sight by themselves.
        let shown = journey.screen(carried);
        assert!(journey.canvas().contains(shown), "{shown:?} is out of sight");
        journey.window.hover_at(shown);
        journey.window.run();
        journey.button(shown, true, Modifiers::NONE);
        let to = journey.screen(Point::new(carried.x + 12.0, carried.y));
        journey.window.hover_at(to);
        journey.window.run();
        journey.button(to, false, Modifiers::NONE);
        assert!(journey.marks().point(corner).unwrap().x > carried.x + 10.0);
        journey.key(Modifiers::CTRL, Key::Z);
        journey.press("Tip, missing");
        journey.click_picture(Point::new(174.0, 184.0));
        assert!(!reading(&journey).is_read(), "a draft is not read");
        journey.key(Modifiers::CTRL, Key::Enter);
        assert!(reading(&journey).is_read() && journey.shows("Depth 41 %"));

        for _ in 0..3 {
            journey.key(Modifiers::CTRL, Key::Z);
        }
        assert!(journey.marks().is_empty() && !journey.unsaved(), "the two clicks are one step back");
    });
}

#[test]
fn the_patients_right_is_asked_once_and_changed_later() {
    alone("the_patients_right_is_asked_once_and_changed_later", |folder| {
        let mut bare = ap();
        for kind in [MarkKind::RightPedicle, MarkKind::LeftPedicle] {
            bare.set(kind, Vec::new());
        }
        let shots = vec![
            shot("one", View::Ap, Stage::Final, bare.clone()),
            shot("two", View::Ap, Stage::Stylet, bare),
            shot("three", View::Ap, Stage::Final, ap()),
        ];
        let (mut journey, file) = begin(folder, shots);
        assert!(journey.shows("Where is the patient’s right") && journey.shows("Only the height is read"));
        journey.key(Modifiers::NONE, Key::Q);
        assert!(!journey.shows("Where is the patient’s right") && journey.shows("Short of the midline 6 %"));
        journey.key(Modifiers::NONE, Key::PageDown);
        assert!(!journey.shows("Where is the patient’s right"), "Set it once");

        // Another answer later contradicts the pedicles of the third shot, which is told with what to do.
        journey.key(Modifiers::NONE, Key::F4);
        journey.press("on image right");
        journey.press("Close");
        journey.key(Modifiers::NONE, Key::PageDown);
        let issues: Vec<IssueCode> = reading(&journey).issues().iter().map(|issue| issue.code).collect();
        assert!(issues.contains(&IssueCode::SideContradicts), "{issues:?}");
        journey.press("Reverse the case setting");
        assert!(reading(&journey).is_read());
        journey.key(Modifiers::CTRL, Key::S);
        assert_eq!(open_case(&file).unwrap().case.patient_right, Some(PatientRight::ImageLeft));
    });
}

#[test]
fn settings_are_edited_and_a_bad_value_is_kept_and_explained() {
    alone("settings_are_edited_and_a_bad_value_is_kept_and_explained", |folder| {
        let (mut journey, file) = begin(folder, vec![shot("lat", View::Lateral, Stage::Final, lateral())]);
        let depth = |journey: &Journey| match reading(journey) {
            ShotReading::Lateral(read) => read.tip.as_ref().unwrap().along.sd(),
            _ => panic!("a lateral"),
        };
        let before = depth(&journey);
        journey.key(Modifiers::NONE, Key::F4);
        journey.type_into("Marks on bone, mm", "a lot");
        assert!(journey.shows("“a lot” is not a number; type millimeters such as 0.5."));
        journey.type_into("Date", "2026-02-30");
        assert!(journey.shows("“2026-02-30” is not a date"));
        journey.type_into("Marks on bone, mm", "1,0");
        assert!(
            !journey.shows("is no number") && journey.shows("is not a date"),
            "the other field keeps its sentence"
        );
        journey.type_into("Depth, final", "20–35");
        journey.press("Close");
        assert!(depth(&journey) > 1.3 * before);
        assert!(journey.shows("target 20–35 %"));
        journey.key(Modifiers::CTRL, Key::S);
        let settings = open_case(&file).unwrap().case.settings;
        assert!((settings.bone_sd_mm - 1.0).abs() < 1e-12);
        journey.key(Modifiers::NONE, Key::F4);
        journey.press("Reset to defaults");
        journey.press("Close");
        assert!((depth(&journey) - before).abs() < 1e-12);
    });
}

#[test]
fn what_cannot_be_meant_above_the_picture_is_said_and_kept() {
    alone("what_cannot_be_meant_above_the_picture_is_said_and_kept", |folder| {
        let shots = vec![
            shot("lat", View::Lateral, Stage::Final, lateral()),
            shot("ap", View::Ap, Stage::Final, ap()),
        ];
        let (mut journey, _) = begin(folder, shots);
        journey.type_into("name", "ap");
        assert!(journey.shows("This case already has a shot “ap”"));
        journey.key(Modifiers::NONE, Key::PageDown);
        assert!(!journey.shows("This case already has a shot"));
        journey.key(Modifiers::NONE, Key::PageUp);
        assert!(journey.shows("This case already has a shot “ap”"), "it still stands there");
        assert!(!journey.unsaved());
    });
}

#[test]
fn keys_rest_while_a_file_dialog_is_open() {
    alone("keys_rest_while_a_file_dialog_is_open", |folder| {
        let (mut journey, _) = begin(folder, vec![shot("lat", View::Lateral, Stage::Final, lateral())]);
        journey.window.state_mut().state.choosing = true;
        journey.key(Modifiers::NONE, Key::B);
        assert_eq!(document(&journey).hand(), Hand::Nothing);
        assert!(journey.shows("A file dialog is open"));
        journey.window.state_mut().state.choosing = false;
        journey.key(Modifiers::NONE, Key::B);
        assert!(document(&journey).hand().mark().is_some());
    });
}
