//! `repeat`: from a table on disk to statistics.

use std::fmt::Write as _;

use serde_json::Value;
use stillmark::case::document::rereading::{Progress, Rereading};
use stillmark::case::document::{Case, Shot};
use stillmark::io::case_file::to_text;
use stillmark::measure::mark::{Stage, View};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::Showing;
use stillmark::phantom::scenario::{Subject, drawn_pose, drawn_ray, drawn_reader, placed_with_error};

use crate::support::{assert_one_sentence, folder, put, stillmark_cli};

fn json_of(table: &str) -> Value {
    let folder = folder();
    let path = put(folder.path(), "readings.csv", table);
    let run = stillmark_cli(["repeat".as_ref(), path.as_os_str(), "--json".as_ref()])
        .expect("the command line runs");
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    serde_json::from_str(&run.out).expect("JSON")
}

/// The six subjects and four judges of Shrout and Fleiss (1979).
#[test]
fn the_published_table_through_the_command_line() {
    let judges = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]];
    let mut table = "subject,rater,value\n".to_owned();
    for (i, row) in judges.iter().enumerate() {
        for (j, value) in row.iter().enumerate() {
            writeln!(table, "s{i},j{j},{value}").unwrap();
        }
    }
    let found = json_of(&table);
    assert_eq!((&found["n"], &found["k"]), (&6.into(), &4.into()));
    for (form, value, low, high) in [
        ("ICC(1,1)", 0.165_741_8, -0.132_932, 0.722_560),
        ("ICC(2,1)", 0.289_763_8, 0.018_787, 0.761_084),
        ("ICC(3,1)", 0.714_840_7, 0.342_465, 0.945_858),
        ("ICC(1,k)", 0.442_797_1, -0.884_442, 0.912_415),
        ("ICC(2,k)", 0.620_050_5, 0.071_137, 0.927_232),
        ("ICC(3,k)", 0.909_315_5, 0.675_675, 0.985_892),
    ] {
        let icc = &found["icc"][form];
        for (key, expected) in [("value", value), ("low", low), ("high", high)] {
            assert!((icc[key].as_f64().unwrap() - expected).abs() < 1e-6, "{form} {key}: {icc}");
        }
    }
    assert_eq!(found["icc"]["ICC(3,1)"]["words"], "poor to excellent");
    assert!((found["sem"]["consistency"].as_f64().unwrap() - 1.009_675_4).abs() < 1e-6);
}

/// Peak flow by two meters, two readings each (Bland and Altman 1986).
#[test]
fn two_meters_with_two_rounds() {
    let mut table = "subject,rater,round,value\n".to_owned();
    for line in include_str!("../reference/pefr_bland_altman_1986.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        for (i, (rater, round)) in [("a", 1), ("a", 2), ("b", 1), ("b", 2)].into_iter().enumerate() {
            writeln!(table, "{},{rater},{round},{}", cells[0], cells[i + 1]).unwrap();
        }
    }
    let found = json_of(&table);
    let of = |value: &Value| value.as_f64().unwrap();
    assert!((of(&found["bias"]["value"]) + 2.117_647).abs() < 1e-6);
    assert!((of(&found["limits_of_agreement"]["upper"]["value"]) - 73.860_611).abs() < 1e-6);
    assert!((of(&found["means_of_rounds"][0]["bias"]["value"]) + 6.029_412).abs() < 1e-6);
    let rounds: Vec<f64> = found["comparisons"].as_array().unwrap()[1..]
        .iter()
        .map(|comparison| of(&comparison["within_subject_sd"]))
        .collect();
    assert!((rounds[0] - 15.306_669).abs() < 1e-6 && (rounds[1] - 19.910_831).abs() < 1e-6);
}

#[test]
fn degenerate_tables_end_in_words_and_bad_ones_in_a_sentence() {
    let nothing = json_of("subject,rater,value\na,x,1\na,y,1\nb,x,1\nb,y,1\n");
    assert!(nothing["icc"]["ICC(2,1)"]["reason"].as_str().unwrap().contains("no variance"));
    // Without variance nothing differs: limits of agreement, standard error and detectable change are nought.
    for end in ["lower", "upper"] {
        assert_eq!(nothing["limits_of_agreement"][end]["value"].as_f64(), Some(0.0), "{end}");
    }
    assert_eq!(nothing["sem"]["agreement"].as_f64(), Some(0.0), "{nothing}");
    assert_eq!(nothing["mdc95"]["agreement"].as_f64(), Some(0.0), "{nothing}");
    let single = json_of("subject,rater,value\na,x,1\na,y,2\n");
    assert!(single["reason"].as_str().unwrap().contains("two subjects") && single["icc"].is_null());
    assert!(single["limits_of_agreement"].is_null(), "{single}");
    // A subject with a missing cell is named and left out: by hand −0.45 from the two that are whole.
    let missing = json_of("subject,rater,value\na,x,1\na,y,1.5\nb,x,2\nc,x,3\nc,y,3.4\n");
    assert_eq!((&missing["left_out"][0], &missing["n"]), (&"b".into(), &2.into()));
    assert!((missing["bias"]["value"].as_f64().unwrap() + 0.45).abs() < 1e-12);
    let folder = folder();
    for bad in ["", "subject,rater\na,x\n", "subject,rater,value\na,x,many\n", "a\0b"] {
        let path = put(folder.path(), "bad.csv", bad);
        let run = stillmark_cli(["repeat".as_ref(), path.as_os_str()]).unwrap();
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
        assert_one_sentence(&run.err, &path);
    }
}

#[test]
fn the_words_name_sources_and_the_caution() {
    let folder = folder();
    let path =
        put(folder.path(), "t.csv", "subject,rater,value\na,x,1\na,y,2\nb,x,3\nb,y,3.5\nc,x,5\nc,y,\n");
    let run = stillmark_cli(["repeat".as_ref(), path.as_os_str()]).unwrap();
    assert_eq!(run.status, Some(0), "{}", run.err);
    for words in ["excluded because a reading is missing: c", "Shrout and Fleiss", "Not a medical device"] {
        assert!(run.out.contains(words), "{words}: {}", run.out);
    }
}

/// A case of simulated lateral and AP shots, marked by R1 and read again blind twice by R1 and once by R2, every mark
/// displaced by the same standard deviations, 0.6 mm on bone and 0.3 mm on metal.
pub(crate) fn read_again(folder: &std::path::Path) -> std::path::PathBuf {
    let mut draw = Draw::new(21);
    let mut case = Case { operator: Some("R1".to_owned()), ..Case::default() };
    let mut rounds: Vec<Rereading> = Vec::new();
    let ids: Vec<String> = (0..24).map(|i| format!("shot-{i}")).collect();
    for (operator, round) in [("R1", 1), ("R2", 1), ("R1", 2)] {
        rounds.push(Rereading::new(operator, round, 3, ids.clone()));
    }
    for (i, id) in ids.iter().enumerate() {
        let subject = Subject::drawn(Stage::Final, &mut draw);
        let view = if i % 2 == 0 { View::Lateral } else { View::Ap };
        let pose = drawn_pose(view, subject.side, drawn_ray(1.0, &mut draw), &mut draw);
        let reader = drawn_reader(Showing::One, &mut draw);
        let exact = subject.marks(view, &pose.beam(glam::DVec3::ZERO), &reader);
        let mut placed = || placed_with_error(&exact, 0.6, 0.3, pose.mm_per_px, &mut draw);
        let mut shot = Shot::new(id.clone(), "none.png", view);
        (shot.stage, shot.side, shot.level) = (Some(Stage::Final), Some(subject.side), Some(subject.level));
        (shot.mm_per_px, shot.marks) = (Some(pose.mm_per_px), placed());
        case.shots.push(shot);
        for one in &mut rounds {
            let reading = one.readings.iter_mut().find(|reading| reading.shot == *id).expect("in the round");
            (reading.marks, reading.progress) = (placed(), Progress::Done);
        }
    }
    case.rereadings = rounds;
    let file = folder.join("again.case.json");
    std::fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    file
}

/// The simulated spread comes back: within 8 % and within its own interval; each mark's SD over four readings of 12
/// pictures has an interval that holds the truth for nine of ten marks and more.
#[test]
fn blind_readings_of_a_case_give_back_the_spread_they_were_made_with() {
    let place = folder();
    let file = read_again(place.path());
    let run = stillmark_cli([
        "repeat".as_ref(),
        file.as_os_str(),
        "--with-first-marks".as_ref(),
        "--json".as_ref(),
    ])
    .expect("a run");
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let found: Value = serde_json::from_str(&run.out).expect("JSON");
    let of = |value: &Value| value.as_f64().expect("a number");
    for (material, truth) in [("bone", 0.6), ("metal", 0.3)] {
        for group in ["all_mm", "own_mm"] {
            let spread = &found[material][group];
            assert!((of(&spread["sd"]) / truth - 1.0).abs() < 0.08, "{material} {group}: {spread}");
            assert!((of(&spread["low"])..of(&spread["high"])).contains(&truth), "{material}: {spread}");
        }
        assert!((of(&found["placement_sd_mm"][material]) / truth - 1.0).abs() < 0.08);
    }
    let marks = found["marks"].as_array().expect("marks");
    let places: Vec<&Value> =
        marks.iter().filter(|mark| !mark["place"].as_str().unwrap_or_default().contains("middle")).collect();
    let held = places.iter().filter(|mark| {
        let metal = ["tip", "cannula", "electrodes"].iter().any(|kind| mark["mark"] == *kind);
        let truth = if metal { 0.3 } else { 0.6 };
        let spread = &mark["spread"]["all_mm"];
        (of(&spread["low"])..of(&spread["high"])).contains(&truth)
    });
    let held = held.count();
    assert!(10 * held >= 9 * places.len() && places.len() > 10, "{held} of {}", places.len());
    // R1's first marks are his first round, his blind rounds the second and third; R2 reads once.
    let depth = &found["quantities"]["depth"];
    assert_eq!(depth["raters"], serde_json::json!(["R1", "R2"]));
    assert_eq!(depth["comparisons"][1]["columns"], serde_json::json!(["1", "2", "3"]));
    assert_eq!(depth["n"], 12);
    assert!(depth["icc"]["ICC(2,1)"]["words"].is_string());
    // Blind readings only: R1's rounds are counted from his first blind one.
    let blind = stillmark_cli(["repeat".as_ref(), file.as_os_str(), "--json".as_ref()]);
    let blind: Value = serde_json::from_str(&blind.expect("a run").out).expect("JSON");
    assert_eq!((&found["readings"], &blind["readings"]), (&96.into(), &72.into()));
    assert_eq!(blind["quantities"]["depth"]["comparisons"][1]["columns"], serde_json::json!(["1", "2"]));
}

#[test]
fn blind_readings_as_words_table_and_paper() {
    let place = folder();
    let file = read_again(place.path());
    let run =
        stillmark_cli(["repeat".as_ref(), file.as_os_str(), "--with-first-marks".as_ref()]).expect("a run");
    assert_eq!(run.status, Some(0), "{}", run.err);
    for words in [
        "24 shots, 96 readings by 2 readers (R1, R2).",
        "They were not blinded.",
        "lateral, posterior-superior corner",
        "own sessions, mm",
        "Depth, % of the body depth",
        "upper limit of agreement",
        "ICC(2,1)",
        "MDC95",
        "As measured: Marking error",
        stillmark::scene::words::caution::SHORT,
    ] {
        assert!(run.out.contains(words), "{words}:\n{}", run.out);
    }
    let table =
        stillmark_cli(["repeat".as_ref(), file.as_os_str(), "--with-first-marks".as_ref(), "--csv".as_ref()])
            .expect("a run");
    let mut lines = table.out.lines();
    let heading = lines.next().expect("a heading");
    assert!(heading.starts_with("subject,rater,round,blind,view,depth,height,across,sd_mm_"), "{heading}");
    let tip = heading.split(',').position(|head| head == "sd_mm_lateral_tip_first").expect("the tip's SD");
    let cells: Vec<&str> = lines.next().expect("a line").split(',').collect();
    assert_eq!(cells[..5], ["shot-0", "R1", "1", "no", "lateral"]);
    assert!(cells[5].parse::<f64>().is_ok() && cells[7].is_empty());
    assert!(cells[tip].parse::<f64>().is_ok_and(|sd| sd > 0.0 && sd < 2.0), "{}", cells[tip]);
    assert_eq!(lines.count(), 95);
    let paper = place.path().join("summary.pdf");
    let run = stillmark_cli(["repeat".as_ref(), file.as_os_str(), "--out".as_ref(), paper.as_os_str()]);
    assert_eq!(run.expect("a run").status, Some(0));
    assert!(std::fs::read(&paper).expect("the document").starts_with(b"%PDF"));
}

#[test]
fn cases_without_blind_readings_and_mixed_inputs_are_refused_in_a_sentence() {
    let place = folder();
    let file = read_again(place.path());
    let mut case = stillmark::io::store::save::open_case(&file).expect("the case").case;
    case.rereadings.clear();
    let none = place.path().join("none.case.json");
    std::fs::write(&none, to_text(&none, &case).expect("a case")).expect("a file");
    let run = stillmark_cli(["repeat".as_ref(), none.as_os_str()]).expect("a run");
    assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
    assert_one_sentence(&run.err, &none);
    let table = put(place.path(), "t.csv", "subject,rater,value\na,b,1\n");
    let run = stillmark_cli(["repeat".as_ref(), file.as_os_str(), table.as_os_str()]).expect("a run");
    assert!(run.status == Some(2) && run.err.contains("case files only"), "{}", run.err);
    let run = stillmark_cli(["repeat".as_ref(), file.as_os_str(), file.as_os_str()]).expect("a run");
    assert!(run.status == Some(2) && run.err.contains("given twice"), "{}", run.err);
    // Two cases: their shots are told apart by the files' names.
    let run = stillmark_cli(["repeat".as_ref(), file.as_os_str(), none.as_os_str(), "--csv".as_ref()]);
    assert!(run.expect("a run").out.contains("\nagain/shot-0,R1,1,yes,"));
}
