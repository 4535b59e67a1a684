//! `series`: the audit over folders of case files, good, broken and foreign ones.

use std::ffi::OsStr;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;
use stillmark::case::document::{Case, Shot};
use stillmark::io::case_file;
use stillmark::measure::mark::{MarkKind, Side, Stage, View};

use crate::support::{assert_one_sentence, folder, lateral_shot};

/// A body with its final pair: lateral 144 × 90 px, AP 150 × 90 px; the tip at this depth, midline and mid height.
fn pair(side: Side, depth: f64) -> [Shot; 2] {
    let mut lateral = lateral_shot("lateral", "x.png");
    (lateral.side, lateral.stage) = (Some(side), Some(Stage::Final));
    let frame = |width: f64, tip: f64| {
        stillmark::measure::mark::Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (100.0 + width, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (100.0 + width, 190.0)])
            .with(MarkKind::Tip, &[(tip, 145.0)])
    };
    lateral.marks = frame(144.0, 100.0 + 144.0 * depth);
    let mut ap = lateral.clone();
    (ap.id, ap.view) = ("ap".to_owned(), View::Ap);
    ap.marks = frame(150.0, 175.0)
        .with(MarkKind::RightPedicle, &[(115.0, 120.0), (140.0, 120.0)])
        .with(MarkKind::LeftPedicle, &[(235.0, 120.0), (210.0, 120.0)]);
    [lateral, ap]
}

fn write(path: &Path, operator: &str, date: &str, shots: Vec<Shot>) {
    let case = Case {
        title: Some(path.file_stem().unwrap_or_default().to_string_lossy().into_owned()),
        operator: Some(operator.to_owned()),
        date: Some(date.to_owned()),
        shots: shots.into(),
        ..Case::default()
    };
    fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    fs::write(path, case_file::to_text(path, &case).expect("a case")).expect("a file");
}

fn run(arguments: &[&OsStr], home: &Path) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .arg("series")
        .args(arguments)
        .env("STILLMARK_DATA_DIR", home)
        .stdin(Stdio::null())
        .output()
        .expect("the command line runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

fn json(root: &Path, home: &Path, more: &[&str]) -> (Option<i32>, Value) {
    let mut all = vec![root.as_os_str(), OsStr::new("--json")];
    all.extend(more.iter().map(OsStr::new));
    let (status, out, err) = run(&all, home);
    assert_eq!(err, "");
    (status, serde_json::from_str(&out).expect("JSON"))
}

/// Three inside (depth 0.40), one outside (0.80), in two half-years and two folders; one body without a final pair; two
/// files that are no cases, an autosave and a picture.
pub(crate) fn fill(root: &Path) {
    write(&root.join("a/1.case.json"), "R1", "2026-01-10", pair(Side::Right, 0.40).to_vec());
    write(&root.join("a/2.case.json"), "R1", "2026-03-10", pair(Side::Right, 0.80).to_vec());
    write(&root.join("b/c/d/3.case.json"), "R2", "2026-08-10", pair(Side::Left, 0.40).to_vec());
    write(&root.join("b/4.case.json"), "R2", "2026-09-10", pair(Side::Right, 0.40).to_vec());
    write(&root.join("b/5.case.json"), "R2", "2026-09-11", vec![pair(Side::Right, 0.40)[0].clone()]);
    write(&root.join("b/5.case.autosave-1.json"), "R2", "2026-09-11", pair(Side::Right, 0.9).to_vec());
    fs::write(root.join("broken.case.json"), "{\"format\": \"stillmark case\", \"version\"").expect("a file");
    fs::write(root.join("other.json"), "[1, 2, 3]").expect("a file");
    fs::write(root.join("a/x.png"), [1, 2, 3]).expect("a file");
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// 3 of 4 by Wilson's formula by hand: z² = 3.841459; middle (0.75 + 0.480182)/1.960365 = 0.627527; half-width
/// 1.959964/1.960365 · √(0.046875 + 0.060023) = 0.326886.
#[test]
fn good_broken_and_foreign_files() {
    let (root, home) = (folder(), folder());
    fill(root.path());
    let (status, found) = json(root.path(), home.path(), &["--paths"]);
    assert_eq!(status, Some(1));
    assert_eq!((&found["files"], found["bodies"].as_array().unwrap().len()), (&5.into(), 5));
    let skipped = found["skipped"].as_array().unwrap();
    assert_eq!(skipped.len(), 2, "{skipped:?}");
    for (sentence, name) in skipped.iter().zip(["broken.case.json", "other.json"]) {
        assert_one_sentence(sentence.as_str().unwrap(), Path::new(name));
    }
    let all = &found["shares"][0];
    assert_eq!((&all["n"], &all["inside"], &all["outside"]), (&4.into(), &3.into(), &1.into()), "{all}");
    let as_in = &all["undecided_as_in"];
    assert!((number(&as_in["low"]) - 0.300_641).abs() < 1e-5, "{as_in}");
    assert!((number(&as_in["high"]) - 0.954_413).abs() < 1e-5, "{as_in}");
    let groups: Vec<&str> =
        found["shares"].as_array().unwrap().iter().map(|s| s["group"].as_str().unwrap()).collect();
    assert_eq!(groups, ["all", "L4", "left", "right", "R1", "R2", "2026 H1", "2026 H2"]);
    assert_eq!(found["bodies"][1]["verdicts"][0]["state"], "outside");
    assert_eq!(
        found["bodies"].as_array().unwrap().iter().filter(|b| b["no_outcome"] == "one_view").count(),
        1
    );
    // In the order of time: in, out, in, in. A failure adds 1 − s, a success takes s.
    let sums = &found["cusum"]["undecided_by_probability"]["sum"];
    let s = number(&found["cusum"]["s"]);
    assert!((number(&sums[3]) - (1.0 - 4.0 * s)).abs() < 0.08, "{sums}");
    assert!(found["notes"].to_string().contains("not independent"));

    let (_, words, _) = run(&[root.path().as_os_str()], home.path());
    for part in ["operator R1", "Newcombe", "not independent", "Skipped: 2 files", "Not a medical device"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let (_, table, _) = run(&[root.path().as_os_str(), OsStr::new("--csv")], home.path());
    assert_eq!(table.lines().count(), 6, "{table}");
    // A name of a folder or file may be a person's: it is told only where that is asked for.
    let (_, unnamed) = json(root.path(), home.path(), &[]);
    for said in [&words, &table, &unnamed.to_string()] {
        assert!(!said.contains("case.json") && !said.contains(&*root.path().to_string_lossy()), "{said}");
    }
    let files = |found: &Value| -> Vec<String> {
        found["bodies"].as_array().unwrap().iter().map(|b| b["file"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(files(&unnamed), ["1", "2", "3", "4", "5"]);
    assert_eq!(files(&found)[2], "b/4.case.json");
    assert_eq!(unnamed["skipped"].as_array().unwrap().len(), 2);
}

#[test]
fn what_is_remembered_gives_the_same_and_follows_changes() {
    let (root, home) = (folder(), folder());
    fill(root.path());
    let first = json(root.path(), home.path(), &[]);
    assert!(home.path().join("series.json").is_file());
    assert_eq!(json(root.path(), home.path(), &[]), first);
    write(&root.path().join("a/2.case.json"), "R1", "2026-03-10", pair(Side::Right, 0.405).to_vec());
    fs::remove_file(root.path().join("broken.case.json")).unwrap();
    let (_, changed) = json(root.path(), home.path(), &[]);
    assert_eq!(
        (&changed["shares"][0]["inside"], changed["skipped"].as_array().unwrap().len()),
        (&4.into(), 1)
    );
    assert_eq!(json(root.path(), home.path(), &["--fresh"]).1, changed);
    // A cache that is not whole is none.
    fs::write(home.path().join("series.json"), "{\"method\": 1").unwrap();
    assert_eq!(json(root.path(), home.path(), &[]).1, changed);
    let elsewhere = folder();
    let _ = json(root.path(), elsewhere.path(), &["--fresh"]);
    assert!(!elsewhere.path().join("series.json").exists());
}

#[test]
fn nothing_to_read_is_a_sentence() {
    let (root, home) = (folder(), folder());
    for arguments in [vec![root.path().as_os_str()], vec![OsStr::new("/nowhere/at/all")]] {
        let (status, out, err) = run(&arguments, home.path());
        assert_eq!((status, out.as_str(), err.lines().count()), (Some(2), "", 1), "{err}");
    }
    fill(root.path());
    let rates = [root.path().as_os_str(), OsStr::new("--acceptable"), OsStr::new("0.3")];
    let (status, _, err) = run(&rates, home.path());
    assert_eq!(status, Some(2));
    assert!(err.contains("must lie below"), "{err}");
    // A result never takes the place of a case.
    let case = root.path().join("a/1.case.json");
    let before = fs::read(&case).unwrap();
    let (status, ..) = run(&[root.path().as_os_str(), OsStr::new("--out"), case.as_os_str()], home.path());
    assert_eq!((status, fs::read(&case).unwrap() == before), (Some(2), true));
}

fn text(root: &Path, home: &Path, more: &[&str]) -> (Option<i32>, String, String) {
    let mut all = vec![root.as_os_str()];
    all.extend(more.iter().map(OsStr::new));
    run(&all, home)
}

#[test]
fn every_statistic_is_a_table_and_filters_hold_for_all_of_them() {
    let (root, home) = (folder(), folder());
    fill(root.path());
    let table = |more: &[&str]| {
        let (status, out, err) = text(root.path(), home.path(), more);
        // One body is not read, of the eleventh of September; without a filter it is among them.
        let all_read = more.len() > 1 && !out.contains("2026-09-11");
        assert_eq!(status, Some(i32::from(!all_read)), "{more:?}");
        assert!(err.lines().all(|line| line.starts_with("Skipped: ")) && err.lines().count() == 2, "{err}");
        out.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>()).collect::<Vec<_>>()
    };
    let shares = table(&["--csv=shares"]);
    assert_eq!(shares[1][..6], ["all", "all", "4", "3", "1", "0"]);
    // 3 of 4 by Wilson's formula, as above.
    assert!((shares[1][7].parse::<f64>().unwrap() - 0.300_641).abs() < 1e-5, "{:?}", shares[1]);
    assert_eq!(table(&["--csv=differences"])[0].len(), 12);
    assert_eq!(table(&["--csv=errors"])[1][..3], ["all", "depth", "4"]);
    let sums = table(&["--csv=sums"]);
    assert_eq!(sums.len(), 5, "four bodies have an outcome");
    // In the order of time the second is the miss: 1 − 2s by hand, s = 0.145244.
    assert!((sums[2][7].parse::<f64>().unwrap() - (1.0 - 2.0 * 0.145_244)).abs() < 1e-5, "{:?}", sums[2]);

    let dates = |more: &[&str]| table(more)[1..].iter().map(|line| line[3].clone()).collect::<Vec<_>>();
    assert_eq!(dates(&["--csv", "--sort", "depth", "--falling"])[0], "2026-03-10");
    assert_eq!(dates(&["--csv", "--operator", "R1"]), ["2026-01-10", "2026-03-10"]);
    assert_eq!(dates(&["--csv", "--side", "left"]), ["2026-08-10"]);
    assert_eq!(
        dates(&["--csv", "--half-year", "2026 H2", "--target", "inside"]),
        ["2026-09-10", "2026-08-10"]
    );
    assert_eq!(dates(&["--csv", "--find", "09-11"]), ["2026-09-11"]);
    assert_eq!(table(&["--csv=shares", "--operator", "R1"])[1][2], "2");
    let (_, found) = json(root.path(), home.path(), &["--operator", "R1"]);
    assert_eq!((&found["shares"][0]["n"], found["bodies"].as_array().unwrap().len()), (&2.into(), 2));
    let (_, words, _) = text(root.path(), home.path(), &["--target", "outside"]);
    assert!(words.contains("Only outside the target"), "{words}");

    for more in [&["--level", "L9"][..], &["--operator", "nobody"], &["--csv=all"], &["--sort", "size"]] {
        let (status, out, err) = text(root.path(), home.path(), more);
        assert_eq!((status, out.as_str()), (Some(2), ""), "{more:?}: {err}");
    }
}

#[test]
fn the_summary_on_paper_and_each_plot() {
    let (root, home, results) = (folder(), folder(), folder());
    fill(root.path());
    let made = |more: &[&str], name: &str| {
        let file = results.path().join(name);
        let mut all = more.to_vec();
        let path = file.to_string_lossy().into_owned();
        all.extend(["--out", &path]);
        let (status, out, err) = text(root.path(), home.path(), &all);
        assert_eq!((status, out.as_str()), (Some(1), ""), "{name}: {err}");
        fs::read(file).unwrap()
    };
    let paper = made(&[], "series.pdf");
    assert!(paper.starts_with(b"%PDF-") && paper == made(&[], "again.pdf"), "the same bytes every time");
    for plot in ["tips", "shares", "errors", "sums", "bodies"] {
        let svg = String::from_utf8(made(&["--plot", plot], &format!("{plot}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"), "{plot}");
        let drawn =
            image::load_from_memory(&made(&["--plot", plot, "--dark"], &format!("{plot}.png"))).unwrap();
        assert!(drawn.width() > 1000, "{plot}");
    }
    for (more, name) in [(&["--json"][..], "x.pdf"), (&[], "x.svg"), (&["--plot", "tips"], "x.txt")] {
        let path = results.path().join(name);
        let mut all = more.to_vec();
        let path_text = path.to_string_lossy().into_owned();
        all.extend(["--out", &path_text]);
        let (status, _, err) = text(root.path(), home.path(), &all);
        assert_eq!((status, err.lines().count()), (Some(2), 1), "{err}");
        assert!(!path.exists());
    }
}
