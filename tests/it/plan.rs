//! The plan of a case on the command line.

use serde_json::Value;
use stillmark::case::document::Shot;
use stillmark::io::store::save::{Over, save_case};
use stillmark::measure::mark::{Level, Side, Stage, View};

use crate::support::{case_of, folder, lateral_shot, stillmark_cli};

#[test]
fn the_plan_is_printed_with_what_is_there_and_what_is_not() {
    let folder = folder();
    let file = folder.path().join("plan.case.json");
    let mut wall = lateral_shot("wall", "wall.png");
    wall.stage = Some(Stage::PosteriorWall);
    let mut unmarked = Shot::new("front", "front.png", View::Ap);
    (unmarked.level, unmarked.side, unmarked.stage) =
        (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
    let loose = Shot::new("loose", "loose.png", View::Lateral);
    let mut case = case_of("Plan", vec![lateral_shot("side", "side.png"), wall, unmarked, loose]);
    case.discs = vec!["L4-L5".to_owned()];
    save_case(&file, &case, &Over::Nothing).unwrap();

    let run = stillmark_cli(["read".as_ref(), file.as_os_str()]).unwrap();
    // Nine views are expected of L4: two are there and read, one is there without marks.
    for line in [
        "plan: Still needed: L5 without shots, 6 views missing, 1 view not read yet.",
        "affected discs: L4-L5",
        "L5: no shots from either side",
        "L4, patient's right: 2 of 9 views read, 1 outside, no final verdict",
        "transpedicular: AP missing, lateral missing",
        "at the posterior wall: AP missing, lateral outside",
        "unlabeled (level, side, view or stage not set): loose",
    ] {
        assert!(run.out.contains(line), "{line}\n{}", run.out);
    }

    let json = stillmark_cli(["read".as_ref(), "--json".as_ref(), file.as_os_str()]).unwrap();
    let all: Value = serde_json::from_str(&json.out).unwrap();
    let plan = &all[0]["plan"];
    assert_eq!(plan["complete"], false);
    assert_eq!(plan["discs"][0][0], "L4");
    assert_eq!(plan["to_sort"][0], "loose");
    let bodies = plan["bodies"].as_array().unwrap();
    assert_eq!(bodies.len(), 2);
    assert_eq!((&bodies[1]["level"], &bodies[1]["wanted"]), (&"L5".into(), &true.into()));
    let side = &bodies[0]["sides"][0];
    assert_eq!((&side["missing"], &side["unread"], &side["outside"]), (&6.into(), &1.into(), &1.into()));
    let expected = side["expected"].as_array().unwrap();
    assert_eq!(expected.len(), 9);
    let at = |stage: &str, view: &str| {
        expected.iter().find(|e| e["stage"] == stage && e["view"] == view).unwrap().clone()
    };
    assert_eq!(at("final", "ap")["standing"], "unmarked");
    assert_eq!(at("final", "lateral")["shots"][0], "side");
    assert_eq!(at("docking", "pedicle")["standing"], "missing");
    assert_eq!(at("posterior_wall", "lateral")["standing"], "outside");
}

/// The demonstration holds one deliberate crossing of the medial border, at L5 in the pedicle; a plan that only
/// looked at each shot by itself would call that side well.
#[test]
fn a_medial_crossing_that_only_a_pair_shows_stands_in_the_plan() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json");
    let json = stillmark_cli(["read".as_ref(), "--json".as_ref(), file.as_os_str()]).unwrap();
    let all: Value = serde_json::from_str(&json.out).unwrap();
    let plan = &all[0]["plan"];
    assert_eq!(plan["complete"], true);
    let side = |level: &str| {
        let bodies = plan["bodies"].as_array().unwrap();
        bodies.iter().find(|body| body["level"] == level).unwrap()["sides"][0].clone()
    };
    let crossing = |side: &Value| {
        let passages = side["safe_passage"].as_array().unwrap();
        passages.iter().filter(|passage| passage["state"] == "outside").count()
    };
    assert_eq!((crossing(&side("L4")), crossing(&side("L5"))), (0, 1));
    assert_eq!(side("L5")["verdict"], "inside", "where it ended says nothing about how it got there");
    let run = stillmark_cli(["read".as_ref(), file.as_os_str()]).unwrap();
    let line = "L5, patient's left: 9 of 9 views read, medial breach check outside, final verdict inside";
    assert!(run.out.contains(line), "{}", run.out);
}
