//! `repeat`: from a table on disk to statistics.

use std::fmt::Write as _;

use serde_json::Value;

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
    let single = json_of("subject,rater,value\na,x,1\na,y,2\n");
    assert!(single["reason"].as_str().unwrap().contains("two subjects") && single["icc"].is_null());
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
    for words in ["left out, because a reading is missing: c", "Shrout and Fleiss", "Not a medical device"] {
        assert!(run.out.contains(words), "{words}: {}", run.out);
    }
}
