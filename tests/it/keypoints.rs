//! Marks as open tables and back: what comes out is what was marked, others' tables come in by a mapping, and what cannot
//! be meant is told.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use stillmark::case::document::Case;
use stillmark::io::keypoints::COLUMNS;
use stillmark::io::store::save::open_case;

use crate::support::{assert_one_sentence, folder, stillmark_cli};

fn demonstration() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json")
}

fn run(arguments: &[&str]) -> String {
    let run = stillmark_cli(arguments).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""), "{arguments:?}");
    run.out
}

fn read(case: &str) -> Value {
    let run = stillmark_cli(["read", "--json", case]).unwrap();
    assert!(run.status < Some(2), "{}", run.err);
    serde_json::from_str(&run.out).unwrap()
}

fn assert_same_marks(one: &Case, other: &Case) {
    assert_eq!(one.shots.len(), other.shots.len());
    for (a, b) in one.shots.iter().zip(other.shots.iter()) {
        assert_eq!((&a.id, a.view, a.level, a.side, a.stage), (&b.id, b.view, b.level, b.side, b.stage));
        let (p, q): (Vec<_>, Vec<_>) = (a.marks.placed().collect(), b.marks.placed().collect());
        assert_eq!(p.len(), q.len(), "{}", a.id);
        for ((at, from), (there, to)) in p.into_iter().zip(q) {
            assert_eq!(at, there, "{}", a.id);
            // Issue: marks equal to 1e-3 px; they are in fact the same numbers.
            assert!(from.distance(to) < 1e-9, "{} {at:?}", a.id);
        }
    }
}

/// Asserts that two values have the same numbers to 1e-6 below these keys.
fn assert_same_numbers(a: &Value, b: &Value, at: &str) {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap(), y.as_f64().unwrap());
            assert!((x - y).abs() < 1e-6, "{at}: {x} {y}");
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            x.iter()
                .zip(y)
                .enumerate()
                .for_each(|(i, (x, y))| assert_same_numbers(x, y, &format!("{at}[{i}]")));
        }
        (Value::Object(x), Value::Object(y)) => {
            for (key, value) in x {
                assert_same_numbers(value, &y[key], &format!("{at}.{key}"));
            }
        }
        _ => assert_eq!(a.is_null(), b.is_null(), "{at}: {a} {b}"),
    }
}

#[test]
fn case_to_keypoints_to_case_keeps_marks_and_readings() {
    let folder = folder();
    let case = demonstration();
    let case = case.to_str().unwrap();
    for ending in ["csv", "json"] {
        let table = folder.path().join(format!("all.{ending}"));
        let back = folder.path().join(format!("{ending}.case.json"));
        let (table, back) = (table.to_str().unwrap(), back.to_str().unwrap());
        run(&["keypoints", case, "--out", table]);
        let said = run(&["keypoints", "--from", table, "--out", back]);
        assert!(said.contains("points taken in for"), "{said}");
        let (was, is) = (open_case(Path::new(case)).unwrap().case, open_case(Path::new(back)).unwrap().case);
        assert_same_marks(&was, &is);
        // Everything else of the case stays where the marks are put into it; then readings are the same.
        let into = folder.path().join(format!("{ending}-into.case.json"));
        let into = into.to_str().unwrap();
        let mut bare = was.clone();
        for shot in bare.shots.iter_mut() {
            shot.marks = stillmark::measure::mark::Marks::new();
        }
        let bare_file = folder.path().join(format!("{ending}-bare.case.json"));
        std::fs::write(&bare_file, stillmark::io::case_file::to_text(&bare_file, &bare).unwrap()).unwrap();
        run(&["keypoints", "--from", table, "--into", bare_file.to_str().unwrap(), "--out", into]);
        assert_same_marks(&was, &open_case(Path::new(into)).unwrap().case);
        // Read without images, so that only the marks count.
        let copy = folder.path().join("copy.case.json");
        std::fs::copy(case, &copy).unwrap();
        let (a, b) = (read(copy.to_str().unwrap()), read(into));
        let parts = |value: &Value| json!([value[0]["readings"], value[0]["pairs"]]);
        assert_same_numbers(&parts(&a), &parts(&b), ending);
    }
}

#[test]
fn the_table_says_image_view_point_place_sd_and_origin() {
    let folder = folder();
    let table = folder.path().join("all.csv");
    run(&["keypoints", demonstration().to_str().unwrap(), "--out", table.to_str().unwrap()]);
    let mut reader = csv::Reader::from_path(&table).unwrap();
    let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(heads, COLUMNS.map(|column| column.name));
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let points: usize =
        open_case(&demonstration()).unwrap().case.shots.iter().map(|shot| shot.marks.placed().count()).sum();
    assert_eq!(rows.len(), points);
    for row in &rows {
        for name in ["image", "view", "point", "x", "y", "origin", "columns", "rows"] {
            assert!(!row[at(name)].is_empty(), "{name}: {row:?}");
        }
        assert!(row[at("x")].parse::<f64>().unwrap() < row[at("columns")].parse::<f64>().unwrap());
    }
    let tip = rows.iter().find(|row| &row[at("point")] == "tip.1").unwrap();
    // The marking error of metal by the method, 0.25 mm.
    assert!((tip[at("sd_mm")].parse::<f64>().unwrap() - 0.25).abs() < 1e-9, "{tip:?}");
}

/// Folders may be named after a person; two cases of the same name stay apart.
#[test]
fn cases_are_named_without_their_folders_unless_paths_are_asked_for() {
    let folder = folder();
    let mut cases = Vec::new();
    for name in ["somebody", "somebody-else"] {
        std::fs::create_dir(folder.path().join(name)).unwrap();
        let case = folder.path().join(name).join("a.case.json");
        std::fs::copy(demonstration(), &case).unwrap();
        cases.push(case.to_str().unwrap().to_owned());
    }
    for ending in ["csv", "json"] {
        let table = folder.path().join(format!("all.{ending}"));
        let written = |more: &[&str]| {
            run(&[&["keypoints", "--force", &cases[0], &cases[1], "--out", table.to_str().unwrap()], more]
                .concat());
            std::fs::read_to_string(&table).unwrap()
        };
        assert!(written(&["--paths"]).contains("somebody-else"));
        let text = written(&[]);
        assert!(!text.contains("somebody") && text.contains("a.case.json (1)"), "{ending}");
        let back = folder.path().join(format!("{ending}.case.json"));
        run(&[
            "keypoints",
            "--from",
            table.to_str().unwrap(),
            "--case",
            "a.case.json (2)",
            "--out",
            back.to_str().unwrap(),
        ]);
        assert_same_marks(&open_case(&demonstration()).unwrap().case, &open_case(&back).unwrap().case);
    }
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn others_tables_come_in_by_a_mapping() {
    let folder = folder();
    let folder = folder.path();
    // One line for each point, with words, a center origin and a name that is left out.
    let long = write(
        folder,
        "long.csv",
        "file;proj;vert;lm;px;py\na.png;LAT;l4;SP;10,5;20\na.png;LAT;l4;SA;60;21\na.png;LAT;l4;IP;11;60\na.png;LAT;l4;IA;61;60\na.png;LAT;l4;FOO;1;1\n",
    );
    let mapping = json!({
        "format": "stillmark keypoint mapping", "version": 1,
        "columns": { "image": "file", "view": "proj", "level": "vert", "point": "lm", "x": "px", "y": "py" },
        "points": {
            "SP": "superior_end_plate.1", "SA": "superior_end_plate.2",
            "IP": "inferior_end_plate.1", "IA": "inferior_end_plate.2", "FOO": null
        },
        "words": { "LAT": "lateral" },
        "offset_px": 0.5
    });
    // Beside the table it is found by its name.
    write(folder, "long.mapping.json", &mapping.to_string());
    let out = folder.join("long.case.json");
    run(&["keypoints", "--from", &long, "--out", out.to_str().unwrap()]);
    let case = open_case(&out).unwrap().case;
    let shot = case.shots.first().unwrap();
    assert_eq!((shot.id.as_str(), shot.image.as_str(), shot.marks.placed().count()), ("a", "a.png", 4));
    let first = shot.marks.placed().next().unwrap().1;
    assert!((first.x - 11.0).abs() < 1e-12 && (first.y - 20.5).abs() < 1e-12, "{first:?}");
    // One line for each image, with pairs of columns; what was not seen is empty.
    let wide = write(folder, "wide.csv", "image,x1,y1,x2,y2\nb.png,10,20,60,21\nc.png,10,20,,\n");
    let mapping = json!({
        "format": "stillmark keypoint mapping", "version": 1,
        "constants": { "view": "lateral", "level": "L3", "mm_per_px": "0.3" },
        "pairs": { "superior_end_plate.1": ["x1", "y1"], "superior_end_plate.2": ["x2", "y2"] }
    });
    let mapping = write(folder, "m.json", &mapping.to_string());
    let out = folder.join("wide.case.json");
    run(&["keypoints", "--from", &wide, "--mapping", &mapping, "--out", out.to_str().unwrap()]);
    let case = open_case(&out).unwrap().case;
    let counts: Vec<usize> = case.shots.iter().map(|shot| shot.marks.placed().count()).collect();
    assert_eq!((counts, case.shots.get(1).unwrap().mm_per_px), (vec![2, 1], Some(0.3)));
}

#[test]
fn what_cannot_be_meant_is_one_sentence_and_nothing_is_written() {
    let folder = folder();
    let folder = folder.path();
    let head = "image,view,point,x,y";
    let tables = [
        ("empty", String::new()),
        ("no-points", format!("{head}\n")),
        ("no-column", "image,view,x,y\na.png,lateral,1,2\n".to_owned()),
        ("no-image", format!("{head}\n,lateral,tip.1,1,2\n")),
        ("no-view", "image,point,x,y\na.png,tip.1,1,2\n".to_owned()),
        ("view", format!("{head}\na.png,sideways,tip.1,1,2\n")),
        ("point", format!("{head}\na.png,lateral,nose.1,1,2\n")),
        ("number", format!("{head}\na.png,lateral,tip.1,one,2\n")),
        ("infinite", format!("{head}\na.png,lateral,tip.1,inf,2\n")),
        ("far", format!("{head}\na.png,lateral,tip.1,1e9,2\n")),
        ("twice", format!("{head}\na.png,lateral,tip.1,1,2\na.png,lateral,tip.1,1,2\n")),
        ("foreign", format!("{head}\na.png,lateral,right_pedicle.1,1,2\n")),
        ("frame", "image,frame,view,point,x,y\na.png,-1,lateral,tip.1,1,2\n".to_owned()),
        ("level", "image,level,view,point,x,y\na.png,L9,lateral,tip.1,1,2\n".to_owned()),
        ("scale", "image,mm_per_px,view,point,x,y\na.png,-1,lateral,tip.1,1,2\n".to_owned()),
        (
            "cases",
            "case,image,view,point,x,y\nA,a.png,lateral,tip.1,1,2\nB,a.png,lateral,tip.1,1,2\n".to_owned(),
        ),
        ("json", "{".to_owned()),
        ("json-lists", "{\"images\": []}".to_owned()),
        (
            "json-count",
            json!({ "images": [{ "id": 1, "file_name": "a.png" }],
                "categories": [{ "id": 1, "name": "lateral", "keypoints": ["tip.1"] }],
                "annotations": [{ "id": 1, "image_id": 1, "category_id": 1, "keypoints": [1, 2] }] })
            .to_string(),
        ),
        (
            "json-image",
            json!({ "images": [], "categories": [],
                "annotations": [{ "id": 1, "image_id": 1, "category_id": 1, "keypoints": [] }] })
            .to_string(),
        ),
    ];
    let out = folder.join("out.case.json");
    for (name, text) in tables {
        let table = write(folder, &format!("{name}.csv"), &text);
        let run = stillmark_cli(["keypoints", "--from", &table, "--out", out.to_str().unwrap()]).unwrap();
        assert_eq!(run.status, Some(2), "{name}: {}", run.out);
        assert_one_sentence(&run.err, Path::new(&table));
        assert!(!out.exists(), "{name}");
    }
    let binary = folder.join("binary.csv");
    std::fs::write(&binary, [0xff, 0xfe, 0x00, 0x41]).unwrap();
    let run = stillmark_cli([Path::new("keypoints"), Path::new("--from"), &binary, Path::new("--out"), &out]);
    assert_one_sentence(&run.unwrap().err, &binary);
    let table = write(folder, "fine.csv", &format!("{head}\na.png,lateral,tip.1,1,2\n"));
    let mapping = write(folder, "wrong.json", "{\"format\": \"another\"}");
    let arguments = ["keypoints", "--from", &table, "--mapping", &mapping, "--out", out.to_str().unwrap()];
    assert_one_sentence(&stillmark_cli(arguments).unwrap().err, Path::new(&mapping));
    // A case that shows none of the images.
    let into = demonstration();
    let arguments =
        ["keypoints", "--from", &table, "--into", into.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let run = stillmark_cli(arguments).unwrap();
    assert!(run.err.contains("none of the images of this case"), "{}", run.err);
}
