//! The built command line: its output, its files, its exit status.

#![expect(clippy::print_stdout, reason = "what was seen or left out is part of a test's result")]

use std::collections::BTreeSet;
use std::fs::OpenOptions;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use stillmark::case::document::{Case, Shot};
use stillmark::geom::point::Point;
use stillmark::io::case_file::to_text;
use stillmark::io::import::import_frame;
use stillmark::io::store::save::{Over, save_case};
use stillmark::measure::mark::{Level, MarkKind, Side, Stage, View};

use crate::support::{
    Run, assert_one_sentence, case_of, folder, lateral_shot, names_in, put, stillmark_cli, write_picture,
};

fn saved(folder: &Path, name: &str, case: &Case) -> PathBuf {
    let path = folder.join(name);
    save_case(&path, case, &Over::Nothing).expect("a saved case");
    path
}

/// A case of a lateral and an AP that pair, one docking shot, and their pictures.
fn whole_case(folder: &Path) -> PathBuf {
    let picture = folder.join("a.png");
    write_picture(&picture, 800, 600).expect("a picture");
    let digest = import_frame(&picture).expect("a frame").digest.to_string();
    let mut lateral = lateral_shot("side", "a.png");
    lateral.digest = Some(digest);
    lateral.marks = lateral
        .marks
        .with(MarkKind::Electrodes, &[(385.0, 350.0), (352.0, 360.0)])
        .with(MarkKind::Cannula, &[(500.0, 300.0), (420.0, 340.0)]);
    let mut ap = Shot::new("front", "a.png", View::Ap);
    ap.level = Some(Level::L4);
    ap.side = Some(Side::Right);
    ap.stage = Some(Stage::Final);
    ap.marks = ap
        .marks
        .with(MarkKind::SuperiorEndPlate, &[(300.0, 300.0), (450.0, 300.0)])
        .with(MarkKind::InferiorEndPlate, &[(300.0, 390.0), (450.0, 390.0)])
        .with(MarkKind::RightPedicle, &[(315.0, 320.0), (340.0, 320.0)])
        .with(MarkKind::LeftPedicle, &[(435.0, 320.0), (410.0, 320.0)])
        .with(MarkKind::SpinousProcess, &[(368.0, 350.0), (382.0, 350.0)])
        .with(MarkKind::Tip, &[(365.0, 345.0)]);
    let mut docking = Shot::new("down", "a.png", View::Pedicle);
    docking.stage = Some(Stage::Docking);
    docking.marks = docking
        .marks
        .with(MarkKind::Pedicle, &[(300.0, 200.0), (300.0, 260.0), (280.0, 230.0), (320.0, 230.0)])
        .with(MarkKind::Tip, &[(310.0, 215.0)]);
    saved(folder, "a.case.json", &case_of("Demonstration A", vec![lateral, ap, docking]))
}

fn json_of(run: &Run) -> Value {
    serde_json::from_str(&run.out).unwrap_or_else(|error| panic!("{error}: {}", run.out))
}

fn keys(value: &Value) -> BTreeSet<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

fn assert_keys(value: &Value, needed: &[&str]) {
    let found = keys(value);
    let missing: Vec<_> = needed.iter().filter(|key| !found.contains(**key)).collect();
    assert!(missing.is_empty(), "{missing:?} missing from {found:?}");
}

const QUANTITY: [&str; 5] = ["value", "sd", "low", "high", "budget"];

#[test]
fn json_has_the_keys_and_nesting_of_the_contract() {
    let folder = folder();
    let path = whole_case(folder.path());
    let run = stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let all = json_of(&run);
    let case = &all[0];
    assert_eq!(case["case"], "Demonstration A");
    assert_eq!(case["file"], "a.case.json", "without its folders");
    let told = stillmark_cli(["read", path.to_str().unwrap(), "--json", "--paths"]).unwrap();
    assert_eq!(json_of(&told)[0]["file"], path.to_str().unwrap());

    let side = &case["readings"][0];
    assert_eq!(
        [&side["shot"], &side["view"], &side["level"], &side["side"], &side["stage"]],
        ["side", "lateral", "L4", "right", "final"]
    );
    for key in ["depth", "height"] {
        assert_keys(&side[key], &QUANTITY);
        assert_keys(&side[key]["budget"], &["bone", "metal", "view"]);
        assert!(side[key].get("monte_carlo").is_none());
        assert_keys(&side["electrode_centre"][key], &QUANTITY);
        assert_keys(&side["electrodes"][1][key], &QUANTITY);
        assert_keys(&side["cannula_mouth"][key], &QUANTITY);
    }
    assert_keys(&side["electrodes"][0]["to_posterior_wall"], &QUANTITY);
    let body = [
        "depth_px",
        "posterior_height_px",
        "middle_height_px",
        "anterior_height_px",
        "end_plate_angle_deg",
        "mm_per_px",
        "scale_assumed",
    ];
    assert_keys(&side["body"], &body);
    assert_eq!(side["body"]["scale_assumed"], false);
    let rules: Vec<_> =
        side["verdicts"].as_array().unwrap().iter().map(|v| v["rule"].as_str().unwrap()).collect();
    assert_eq!(rules, ["depth", "height"]);
    assert_keys(&side["verdicts"][0], &["rule", "low", "high", "nominal", "state", "p_inside"]);
    assert_eq!(side["issues"], Value::Array(Vec::new()));

    let front = &case["readings"][1];
    assert_keys(&front["across"], &QUANTITY);
    assert_keys(&front["midline"], &["by", "value", "sd", "low", "high", "budget"]);
    assert_eq!(front["midline"]["by"], "pedicles");
    for by in ["pedicles", "spinous_process", "body"] {
        assert_keys(&front["midline_by"][by], &QUANTITY);
    }
    assert_keys(&front["over_spinous_process"], &["nominal", "state", "p_inside"]);
    assert_keys(&front["medial_border"], &["value", "sd", "low", "high"]);
    assert_keys(&front["across_pedicle"], &["value"]);
    assert_eq!(front["electrodes"], Value::Null);

    let down = &case["readings"][2];
    let pedicle = ["lateral_offset", "superior_offset", "radius", "clock_hour", "quadrant"];
    assert_keys(down, &pedicle);
    assert_eq!(down["quadrant"], "superior_lateral");
    assert_eq!(down["verdicts"][0]["rule"], "docking");

    let pair = &case["pairs"][0];
    assert_eq!([&pair["lateral"], &pair["ap"]], ["side", "front"]);
    for key in ["depth", "across", "height"] {
        assert_keys(&pair[key], &QUANTITY);
    }
    assert_keys(&pair["midline"], &["by", "value"]);
    let safe = pair["verdicts"].as_array().unwrap().iter().find(|v| v["rule"] == "safe_passage").unwrap();
    assert_keys(safe, &["q", "state"]);
}

#[test]
fn every_number_is_consistent_with_its_neighbours() {
    let folder = folder();
    let path = whole_case(folder.path());
    let all = json_of(&stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap());
    let number = |value: &Value| value.as_f64().unwrap();
    for (reading, key) in [(0, "depth"), (0, "height"), (1, "across"), (1, "height")] {
        let q = &all[0]["readings"][reading][key];
        let [value, sd, low, high] = ["value", "sd", "low", "high"].map(|k| number(&q[k]));
        let parts: f64 = ["bone", "metal", "view"].map(|k| number(&q["budget"][k]).powi(2)).iter().sum();
        assert!((sd - parts.sqrt()).abs() < 1e-12, "{key}: parts add in quadrature");
        // 1.959964: Φ⁻¹(0.975) to seven digits, as in any table of the normal distribution.
        assert!((high - value - 1.959_964 * sd).abs() < 1e-6 && (value - low - 1.959_964 * sd).abs() < 1e-6);
    }
}

#[test]
fn a_shot_without_a_reading_has_nulls_its_issue_and_status_1() {
    let folder = folder();
    let shot = Shot::new("bare", "gone.png", View::Lateral);
    let path =
        saved(folder.path(), "b.case.json", &case_of("B", vec![lateral_shot("full", "gone.png"), shot]));
    let run = stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(1), ""));
    let all = json_of(&run);
    let bare = &all[0]["readings"][1];
    for key in
        ["depth", "height", "body", "electrode_centre", "electrodes", "cannula_mouth", "level", "stage"]
    {
        assert!(bare.get(key).is_some_and(Value::is_null), "{key}");
    }
    assert_eq!(bare["issues"][0]["code"], "missing_marks");
    assert_eq!(bare["issues"][0]["blocks"], true);
    assert!(bare["issues"][0]["text"].as_str().unwrap().ends_with('.'));
    assert!(all[0]["readings"][0]["depth"]["value"].is_f64());
    let plain = stillmark_cli(["read", path.to_str().unwrap()]).unwrap();
    assert_eq!(plain.status, Some(1));
    assert!(plain.out.contains("no reading") && plain.out.contains("in the way: "), "{}", plain.out);
}

#[test]
fn the_picture_beside_the_case_is_looked_at() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("images")).unwrap();
    write_picture(&folder.path().join("images/a.png"), 800, 600).unwrap();
    // A frame that ends at the body's posterior wall.
    write_picture(&folder.path().join("images/narrow.png"), 413, 600).unwrap();
    let mut changed = lateral_shot("changed", "images/a.png");
    changed.digest = Some(format!("sha256:{}", "0".repeat(64)));
    let shots = vec![
        changed,
        lateral_shot("narrow", "images/narrow.png"),
        lateral_shot("gone", "images/gone.png"),
        lateral_shot("outside", "../a.png"),
        Shot { frame: 3, ..lateral_shot("frame 3", "images/a.png") },
    ];
    let path = saved(folder.path(), "c.case.json", &case_of("C", shots));
    let run = stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap();
    assert_eq!(run.status, Some(0), "marks are still read");
    let all = json_of(&run);
    let codes = |i: usize| -> Vec<String> {
        let issues = all[0]["readings"][i]["issues"].as_array().unwrap();
        issues.iter().map(|issue| issue["code"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(codes(0), ["frame_changed"]);
    assert_eq!(codes(1), ["body_cut_off"]);
    for (i, why) in [(2, "no such file"), (3, "outside the case folder"), (4, "no frame 3")] {
        assert_eq!(codes(i), ["image_missing"]);
        let said = all[0]["readings"][i]["picture"][0].as_str().unwrap();
        assert!(said.contains(why), "{said}");
    }
}

#[test]
fn a_body_at_the_edge_of_a_round_field_is_told() {
    let folder = folder();
    // A round field whose edge runs through the body's posterior-superior corner.
    let (x, y) = (230.0, 240.0);
    let radius = (412.0_f64 - x).hypot(305.0 - y) + 1.0;
    let picture = image::GrayImage::from_fn(520, 520, |i, j| {
        let inside = (f64::from(i) + 0.5 - x).hypot(f64::from(j) + 0.5 - y) < radius;
        image::Luma([if inside { 180 } else { 0 }])
    });
    let far = image::GrayImage::from_fn(520, 520, |i, j| {
        let inside = (f64::from(i) + 0.5 - x).hypot(f64::from(j) + 0.5 - y) < 255.0;
        image::Luma([if inside { 180 } else { 0 }])
    });
    picture.save(folder.path().join("near.png")).unwrap();
    far.save(folder.path().join("far.png")).unwrap();
    let shots = vec![lateral_shot("near", "near.png"), lateral_shot("far", "far.png")];
    let path = saved(folder.path(), "r.case.json", &case_of("R", shots));
    let all = json_of(&stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap());
    let issues = |i: usize| all[0]["readings"][i]["issues"].as_array().unwrap().clone();
    assert_eq!(issues(0)[0]["code"], "body_cut_off");
    assert!(issues(1).is_empty(), "{:?}", issues(1));
}

#[test]
fn the_same_seed_gives_the_same_numbers_and_every_quantity_is_simulated() {
    let folder = folder();
    let path = whole_case(folder.path());
    let path = path.to_str().unwrap();
    let read = |seed: &str| {
        stillmark_cli(["read", path, "--json", "--monte-carlo", "500", "--seed", seed]).unwrap().out
    };
    assert_eq!(read("7"), read("7"));
    assert_ne!(read("7"), read("8"));
    let all: Value = serde_json::from_str(&read("7")).unwrap();
    let mut quantities = 0;
    let mut stack = vec![&all];
    while let Some(value) = stack.pop() {
        match value {
            Value::Object(members) => {
                if members.contains_key("budget") {
                    quantities += 1;
                    let run = members.get("monte_carlo").unwrap_or_else(|| panic!("{value}"));
                    assert_keys(run, &["mean", "sd", "low", "high"]);
                }
                // What a true view would show is worked out in closed form from what was simulated.
                stack.extend(members.iter().filter(|(key, _)| *key != "true_view").map(|(_, value)| value));
            }
            Value::Array(list) => stack.extend(list),
            _ => {}
        }
    }
    assert!(quantities > 15, "{quantities}");
}

#[test]
fn the_table_has_a_heading_and_a_line_for_each_shot() {
    let folder = folder();
    let path = whole_case(folder.path());
    let run = stillmark_cli(["read", path.to_str().unwrap(), "--csv"]).unwrap();
    assert_eq!(run.status, Some(0));
    let mut table = csv::Reader::from_reader(run.out.as_bytes());
    let heading = table.headers().unwrap().clone();
    let lines: Vec<_> = table.records().map(Result::unwrap).collect();
    assert_eq!(lines.len(), 3);
    let cell = |line: usize, name: &str| {
        let at = heading.iter().position(|column| column == name).unwrap_or_else(|| panic!("{name}"));
        lines[line][at].to_owned()
    };
    let all = json_of(&stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap());
    let readings = &all[0]["readings"];
    let same = |cell: String, value: &Value| {
        // The reader of JSON used here may be off by the last digit.
        let (cell, value) = (cell.parse::<f64>().unwrap(), value.as_f64().unwrap());
        assert!((cell - value).abs() <= 1e-15 * value.abs(), "{cell} {value}");
    };
    for (line, key) in [(0, "depth"), (0, "height"), (1, "across"), (1, "midline"), (2, "radius")] {
        same(cell(line, key), &readings[line][key]["value"]);
        same(cell(line, &format!("{key}_sd")), &readings[line][key]["sd"]);
    }
    assert_eq!(
        (cell(1, "depth"), cell(1, "view"), cell(1, "midline_by")),
        (String::new(), "ap".to_owned(), "pedicles".to_owned())
    );
    let simulated = stillmark_cli(["read", path.to_str().unwrap(), "--csv", "--monte-carlo", "100"]).unwrap();
    assert!(simulated.out.lines().next().unwrap().contains("depth_monte_carlo_sd"));
}

#[test]
fn people_get_words_and_the_caution() {
    let folder = folder();
    let path = whole_case(folder.path());
    let run = stillmark_cli(["read", path.to_str().unwrap()]).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    for words in
        ["Demonstration A", "L4 right, lateral", "depth", "95 %", "side with front", "Not a medical device"]
    {
        assert!(run.out.contains(words), "{words} in {}", run.out);
    }
    assert!(!run.out.contains("NaN") && !run.out.contains("_"), "{}", run.out);
}

#[test]
fn results_go_to_a_file_that_never_replaces_an_input() {
    let folder = folder();
    let path = whole_case(folder.path());
    let (path, out) = (path.to_str().unwrap(), folder.path().join("out.json"));
    let out_text = out.to_str().unwrap();
    let run = stillmark_cli(["read", path, "--json", "--out", out_text]).unwrap();
    assert_eq!((run.status, run.out.as_str(), run.err.as_str()), (Some(0), "", ""));
    let printed = stillmark_cli(["read", path, "--json"]).unwrap().out;
    assert_eq!(std::fs::read_to_string(&out).unwrap(), printed);

    let before = std::fs::read(path).unwrap();
    let run = stillmark_cli(["read", path, "--json", "--out", path]).unwrap();
    assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
    assert_one_sentence(&run.err, Path::new(path));
    assert_eq!(std::fs::read(path).unwrap(), before);

    let nowhere = folder.path().join("none/out.json");
    let run = stillmark_cli(["read", path, "--json", "--out", nowhere.to_str().unwrap()]).unwrap();
    assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
    assert_one_sentence(&run.err, &nowhere);
}

#[test]
fn one_bad_case_among_good_ones_writes_nothing() {
    let folder = folder();
    let good = whole_case(folder.path());
    let (bad, gone) = (put(folder.path(), "bad.case.json", "{"), folder.path().join("gone.case.json"));
    let out = folder.path().join("out.json");
    let arguments: Vec<_> = [&good, &bad, &gone].iter().map(|p| p.to_str().unwrap()).collect();
    let mut with_out = vec!["read", "--json", "--out", out.to_str().unwrap()];
    with_out.extend(&arguments);
    let mut plain = vec!["read"];
    plain.extend(&arguments);
    for arguments in [plain, with_out] {
        let run = stillmark_cli(arguments).unwrap();
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
        let lines: Vec<_> = run.err.lines().collect();
        assert_eq!(lines.len(), 2, "{}", run.err);
        assert_one_sentence(lines[0], &bad);
        assert_one_sentence(lines[1], &gone);
    }
    assert_eq!(names_in(folder.path()).unwrap(), ["a.case.json", "a.png", "bad.case.json"]);
}

#[test]
fn misuse_is_a_sentence_with_the_usage_and_status_2() {
    let misuse: [&[&str]; 9] = [
        &[],
        &["mystery"],
        &["read"],
        &["read", "a", "--mystery"],
        &["read", "a", "--json", "--csv"],
        &["read", "a", "--monte-carlo", "many"],
        &["read", "a", "--monte-carlo", "1"],
        &["read", "a", "--seed", "1"],
        &["read", "a", "--monte-carlo", "100", "--seed", "-1"],
    ];
    for arguments in misuse {
        let run = stillmark_cli(arguments).unwrap();
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(run.err.contains("Usage: "), "{arguments:?}: {}", run.err);
        assert!(!run.err.contains("panicked"));
    }
    for arguments in [["--help"], ["--version"]] {
        let run = stillmark_cli(arguments).unwrap();
        assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
        assert!(!run.out.is_empty());
    }
}

#[test]
fn a_reader_that_stops_reading_is_no_trouble() {
    let folder = folder();
    // More output than a pipe holds.
    let shots = (0..400).map(|i| lateral_shot(&format!("s{i}"), "gone.png")).collect();
    let path = saved(folder.path(), "long.case.json", &case_of("Long", shots));
    let mut child = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .args(["read", path.to_str().unwrap(), "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = [0; 10];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut first).unwrap();
    drop(out);
    let done = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert_eq!(done.status.code(), Some(0));
}

#[test]
fn output_that_cannot_be_written_is_told() {
    let Ok(full) = OpenOptions::new().write(true).open("/dev/full") else {
        println!("left out: no device that is always full here");
        return;
    };
    let folder = folder();
    let path = whole_case(folder.path());
    let done = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .args(["read", path.to_str().unwrap()])
        .stdout(full)
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(said.contains("could not be written") && said.lines().count() == 1, "{said}");
}

/// The level, side, stage and view can be asked for; every view has its marks and its truth.
#[test]
fn a_simulated_shot_of_ones_choice() {
    let folder = folder();
    for (view, stage, count) in [("ap", "final", 1), ("lateral", "stylet", 1), ("pedicle", "docking", 1)] {
        let out = folder.path().join(view);
        let run = stillmark_cli([
            "phantom",
            "--seed",
            "3",
            "--view",
            view,
            "--level",
            "L4",
            "--stage",
            stage,
            "--side",
            "left",
            "--out",
            &out.to_string_lossy(),
        ])
        .expect("a run");
        assert_eq!(run.status, Some(0), "{run:?}");
        let text = std::fs::read_to_string(out.join("simulated-3.truth.json")).expect("the truth");
        let truth: Value = serde_json::from_str(&text).expect("JSON");
        let shots = truth["shots"].as_array().expect("shots");
        assert_eq!(shots.len(), count);
        assert_eq!(shots[0]["shot"], format!("l4-left-{view}-{stage}"));
        assert!(shots[0]["lateral"]["depth"].is_f64() && shots[0]["ap"]["across"].is_f64());
        assert!(shots[0]["offset"]["pedicles"].is_f64() && shots[0]["medial_border"].is_f64());
        let read = stillmark_cli(["read", "--json", &out.join("simulated-3.case.json").to_string_lossy()]);
        assert_eq!(read.expect("a run").status, Some(0));
    }
    let out = folder.path().join("none");
    for (arguments, said) in [
        (&["--level", "L9"][..], "use L1, L2, L3, L4 or L5"),
        (&["--view", "front"], "use lateral, ap or pedicle"),
        (&["--view", "pedicle", "--stage", "final"], "omit --stage or use --stage docking"),
    ] {
        let all = ["phantom", "--seed", "3"].iter().chain(arguments).copied();
        let run = stillmark_cli(all.chain(["--out", &out.to_string_lossy()])).expect("a run");
        assert_eq!(run.status, Some(2));
        assert!(run.err.contains(said), "{}", run.err);
        assert!(!out.exists());
    }
}

/// Marks without error, as the simulation writes them, score as near nothing; a tip moved by 3 px of 0.22 mm is told with
/// its direction. A case of other pictures is refused.
#[test]
fn marks_are_held_against_the_truth_of_their_simulation() {
    let folder = folder();
    let out = folder.path().join("shot");
    let made = ["phantom", "--seed", "4", "--view", "lateral", "--practice", "clear", "--size", "128"];
    let run = stillmark_cli(made.iter().copied().chain(["--out", &out.to_string_lossy()])).expect("a run");
    assert_eq!(run.status, Some(0), "{}", run.err);
    let file = out.join("simulated-4.case.json");
    let score = |more: &[&str]| {
        let name = file.to_string_lossy().into_owned();
        let all = made.iter().copied().chain(["--score", &name]).chain(more.iter().copied());
        stillmark_cli(all.map(str::to_owned)).expect("a run")
    };
    let scores = |run: &Run| -> Value { serde_json::from_str(&run.out).expect("JSON") };
    let exact = scores(&score(&["--json"]));
    let places = exact[0]["places"].as_array().expect("places");
    assert!(places.len() > 8);
    for place in places {
        assert!(
            place["distance_mm"].as_f64().expect("a distance") < 0.6,
            "a contour's half distance: {place}"
        );
    }
    let tip = |scores: &Value| -> Value {
        let places = scores[0]["places"].as_array().expect("places");
        places.iter().find(|place| place["mark"] == "tip").expect("the tip").clone()
    };
    assert!(tip(&exact)["distance_mm"].as_f64().expect("a distance") < 1e-6);

    let mut case = stillmark::io::store::save::open_case(&file).expect("the case").case;
    let at = case.shots[0].marks.complete(MarkKind::Tip).expect("a tip")[0];
    case.shots[0].marks.set(MarkKind::Tip, vec![Some(Point::new(at.x + 1.0, at.y))]);
    std::fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    let moved = tip(&scores(&score(&["--json"])));
    let of = |key: &str| moved[key].as_f64().expect("a number");
    // 128 px show what 768 px of 0.22 mm do: one pixel is 1.32 mm.
    assert!((of("distance_mm") - 1.32).abs() < 1e-6);
    assert!((of("along_mm").hypot(of("down_mm")) - 1.32).abs() < 0.02, "{moved}");
    let words = score(&[]);
    assert!(
        words.out.contains("tip") && words.out.contains("1.3 mm") && words.out.contains("anteriorly"),
        "{}",
        words.out
    );

    case.shots[0].id = "another".to_owned();
    std::fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    let run = score(&[]);
    assert_eq!(run.status, Some(2));
    assert!(run.err.contains("no marked shot of this simulation"), "{}", run.err);
    let run = stillmark_cli(["phantom", "--seed", "4"]).expect("a run");
    assert_eq!(run.status, Some(2), "neither --out nor --score");
}
