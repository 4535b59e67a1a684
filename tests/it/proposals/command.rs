//! `propose` on the command line: proposed, refused, bad input; the draft it writes.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::Path;

use serde_json::Value;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::{MarkKind, MarkRef};

use crate::support::stillmark_cli;

const SHOT: &str = "l4-right-lateral-final";
const OTHER: &str = "l4-right-lateral-stylet";
const POSTERIOR: &str = "424.3,394.3";
const ANTERIOR: &str = "274.6,389.7";

fn case() -> String {
    concat!(env!("CARGO_MANIFEST_DIR"), "/sample-images/demonstration.case.json").to_owned()
}

/// Each mark of a value as points, against the case's own marks: how far the corners of a border lie apart, in pixels.
fn corners_apart(value: &Value, kind: MarkKind) -> f64 {
    let marks = open_case(Path::new(&case())).unwrap().case.shot(SHOT).unwrap().marks.clone();
    let own = marks.complete(kind).unwrap();
    let list = value["marks"][kind.key()].as_array().unwrap();
    let point = |v: &Value| (v[0].as_f64().unwrap(), v[1].as_f64().unwrap());
    [(list.first().unwrap(), own.first().unwrap()), (list.last().unwrap(), own.last().unwrap())]
        .into_iter()
        .map(|(found, own)| {
            let (x, y) = point(found);
            (x - own.x).hypot(y - own.y)
        })
        .fold(0.0, f64::max)
}

#[test]
fn two_clicks_and_a_marked_shot_propose_and_say_how_sure() {
    let clicks = ["propose", &case(), SHOT, "--posterior", POSTERIOR, "--anterior", ANTERIOR, "--json"];
    let from = ["propose", &case(), SHOT, "--from", OTHER, "--json"];
    for arguments in [clicks.as_slice(), from.as_slice()] {
        let run = stillmark_cli(arguments.iter().copied()).unwrap();
        assert_eq!(run.status, Some(0), "{}", run.err);
        let value: Value = serde_json::from_str(&run.out).unwrap();
        assert_eq!(value["shot"], SHOT);
        assert!(value["refused"].is_null());
        assert!(value["score"].as_f64().unwrap() <= 2.0 && value["parts"]["agreeing"].as_u64().unwrap() >= 1);
        for kind in [MarkKind::SuperiorEndPlate, MarkKind::InferiorEndPlate] {
            // 3 mm at 0.22 mm a pixel.
            assert!(corners_apart(&value, kind) < 14.0, "{kind:?}");
            assert!(value["sd_mm"][kind.key()]["across"].as_f64().unwrap() >= 0.5);
        }
        assert_eq!(value["marks"]["posterior_wall"].as_array().unwrap().len(), 2);
        assert_eq!(value["tip"]["sd_mm"].as_array().unwrap().len(), 2);
    }
}

#[test]
fn a_draft_is_written_into_a_new_file_only() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("draft.case.json");
    let out_name = out.to_str().unwrap().to_owned();
    let run = |to: &str| {
        stillmark_cli([
            "propose",
            &case(),
            SHOT,
            "--posterior",
            POSTERIOR,
            "--anterior",
            ANTERIOR,
            "--write",
            to,
        ])
        .unwrap()
    };
    assert_eq!(run(&out_name).status, Some(0));
    let written = open_case(&out).unwrap().case;
    let shot = written.shot(SHOT).unwrap();
    let corner = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
    assert!(shot.draft && shot.proposed.holds(corner));
    assert!(shot.proposed.sd(MarkKind::PosteriorWall).is_some_and(|sd| sd.common > 0.0));
    std::fs::write(&out, "mine").unwrap();
    let refused = run(&out_name);
    assert!(refused.status == Some(2) && refused.err.contains("exists already"), "{}", refused.err);
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "mine");
}

#[test]
fn refused_and_bad_input_are_told_apart() {
    let refused =
        stillmark_cli(["propose", &case(), SHOT, "--posterior", "90,90", "--anterior", "230,90", "--json"])
            .unwrap();
    assert_eq!(refused.status, Some(1), "{}", refused.err);
    let value: Value = serde_json::from_str(&refused.out).unwrap();
    assert!(value["marks"].is_null() && value["refused"]["text"].as_str().unwrap().ends_with('.'));
    for (arguments, says) in [
        (vec!["nowhere", "--posterior", POSTERIOR, "--anterior", ANTERIOR], "no shot"),
        (vec![SHOT, "--posterior", "-5,2", "--anterior", ANTERIOR], "outside the image"),
        (vec![SHOT, "--posterior", "left", "--anterior", ANTERIOR], "X,Y"),
        (vec![SHOT], "--from"),
        (vec![SHOT, "--from", SHOT], "itself"),
        (vec![SHOT, "--from", "l5-left-lateral-final"], "same level"),
    ] {
        let mut all = vec!["propose".to_owned(), case()];
        all.extend(arguments.iter().map(|a| (*a).to_owned()));
        let run = stillmark_cli(all.iter().map(String::as_str)).unwrap();
        assert!(run.status == Some(2) && run.err.contains(says), "{arguments:?}: {}", run.err);
    }
}
