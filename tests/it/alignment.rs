//! Registration shots on each other: affine maps against other libraries, and what the command line says of a refinement.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;
use stillmark::geom::affine::Affine;
use stillmark::geom::point::Point;

use crate::support::{folder, stillmark_cli};

fn points(list: &Value) -> Vec<Point> {
    let point = |p: &Value| Point::new(number(&p[0]), number(&p[1]));
    list.as_array().map_or_else(Vec::new, |list| list.iter().map(point).collect())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// Least squares by NumPy 2.4 `linalg.lstsq` and OpenCV 5.0 `solve`, similarities by scikit-image 0.26
/// `SimilarityTransform` (tests/reference/affine.py); pairs are off by 5 px each. 1e-8 px over a picture.
#[test]
fn affine_maps_are_those_of_other_libraries() {
    let cases: Value = serde_json::from_str(include_str!("../reference/affine.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 10);
    for case in cases {
        let pairs: Vec<(Point, Point)> = points(&case["from"]).into_iter().zip(points(&case["to"])).collect();
        let mirrored = case["mirrored"] == true;
        for (name, found) in
            [("affine", Affine::fit(&pairs)), ("similarity", Affine::fit_similar(&pairs, mirrored))]
        {
            let found = found.unwrap();
            let row = |i: usize| [0, 1, 2].map(|j| number(&case[name][i][j]));
            let [x, y] = [row(0), row(1)];
            for (p, _) in &pairs {
                let q = Point::new(x[0] * p.x + x[1] * p.y + x[2], y[0] * p.x + y[1] * p.y + y[2]);
                assert!(found.apply(*p).distance(q) < 1e-8, "{name} of {} pairs: {found:?}", pairs.len());
            }
        }
    }
}

/// The demonstration with the earlier lateral's bone marks moved by (2, −1.5) px, beside its pictures.
fn moved_case(into: &Path) -> PathBuf {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images");
    let text = fs::read_to_string(samples.join("demonstration.case.json")).expect("the demonstration");
    let mut case: Value = serde_json::from_str(&text).expect("the demonstration");
    for shot in case["shots"].as_array_mut().expect("the demonstration") {
        let picture = samples.join(shot["image"].as_str().expect("the demonstration"));
        let copy = into.join(shot["image"].as_str().expect("the demonstration"));
        fs::create_dir_all(copy.parent().expect("the demonstration")).expect("the demonstration");
        fs::copy(picture, copy).expect("the demonstration");
        if shot["id"] != FROM {
            continue;
        }
        let bone = ["superior_end_plate", "inferior_end_plate", "posterior_wall", "anterior_wall"];
        for kind in bone.iter().flat_map(|kind| [(*kind).to_owned(), format!("{kind}_second")]) {
            for point in shot["marks"][kind.as_str()].as_array_mut().into_iter().flatten() {
                *point = serde_json::json!([number(&point[0]) + 2.0, number(&point[1]) - 1.5]);
            }
        }
    }
    let path = into.join("moved.case.json");
    fs::write(&path, case.to_string()).expect("the demonstration");
    path
}

const FROM: &str = "l4-right-lateral-stylet";
const TO: &str = "l4-right-lateral-final";

fn run(case: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut all: Vec<std::ffi::OsString> = vec!["compare".into(), case.into()];
    all.extend(arguments.iter().map(Into::into));
    let run = stillmark_cli(all).expect("the command line runs");
    (run.status, run.out, run.err)
}

fn json(case: &Path, arguments: &[&str]) -> Value {
    let (status, out, err) = run(case, &[arguments, &["--json"]].concat());
    assert_eq!((status, err.as_str()), (Some(0), ""));
    serde_json::from_str(&out).expect("JSON")
}

#[test]
fn a_refinement_is_reported_and_taken_only_when_asked_for() {
    let folder = folder();
    let case = moved_case(folder.path());
    let plain = json(&case, &[FROM, TO]);
    assert!(plain.get("refinement").is_none());
    let asked = json(&case, &[FROM, TO, "--refine"]);
    let found = &asked["refinement"];
    assert_eq!(found["trusted"], true, "{found:#}");
    assert_eq!((&found["accepted"], &found["refusal"]), (&Value::Bool(false), &Value::Null));
    let likeness = &found["similarity"];
    assert!(number(&likeness["refined"]) > number(&likeness["by_marks"]), "{likeness}");
    for key in ["depth_change", "height_change", "mm"] {
        assert_eq!(asked[key], plain[key]);
        assert_eq!(found["by_marks"][key], plain[key]);
        assert_ne!(found["refined"][key], plain[key]);
    }
    let taken = json(&case, &[FROM, TO, "--accept-refinement"]);
    assert_eq!(taken["refinement"]["accepted"], true);
    assert_eq!(taken["depth_change"], found["refined"]["depth_change"]);
    assert_eq!(taken["refinement"]["by_marks"]["depth_change"], plain["depth_change"]);
    assert!(number(&taken["depth_change"]["sd"]) < number(&plain["depth_change"]["sd"]));

    // Wherever the marks of the earlier shot lay, its tip is carried to the same place.
    let unmoved = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json");
    let right = json(&unmoved, &[FROM, TO, "--accept-refinement"]);
    let tip = |found: &Value| points(&serde_json::json!([found["arrow"]["from"]]))[0];
    assert!(tip(&taken).distance(tip(&right)) < 0.3, "{:?} {:?}", tip(&taken), tip(&right));
    assert!((tip(&plain).distance(tip(&right))) > 1.0);

    let (status, text, _) = run(&case, &[FROM, TO, "--refine"]);
    assert_eq!(status, Some(0));
    assert!(text.contains("the refinement is reliable") && text.contains("Not a medical device"), "{text}");
    let (_, text, _) = run(&case, &[FROM, TO, "--accept-refinement"]);
    assert!(text.contains("applied: the change above uses the refined registration"), "{text}");
}

#[test]
fn what_cannot_be_refined_is_said() {
    let folder = folder();
    let case = moved_case(folder.path());
    let ap = json(&case, &["l4-right-ap-stylet", "l4-right-ap-final", "--accept-refinement"]);
    assert_eq!(ap["refinement"]["refusal"]["code"], "view");
    assert_eq!(
        (&ap["refinement"]["accepted"], &ap["refinement"]["refined"]),
        (&Value::Bool(false), &Value::Null)
    );
    fs::remove_file(folder.path().join(format!("images/{TO}.png"))).unwrap();
    let (status, out, err) = run(&case, &[FROM, TO, "--refine"]);
    assert_eq!((status, out.as_str()), (Some(2), ""));
    assert!(err.contains(TO) && err.trim_end().lines().count() == 1, "{err}");
}
