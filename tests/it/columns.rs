//! docs/columns.md lists the columns of every table, made from the headings that the program writes; the schemas in docs are
//! of the outputs that it prints.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde_json::Value;
use stillmark::io::export::dictionary::describe;
use stillmark::io::keypoints::COLUMNS;

use crate::repeat::read_again;
use crate::support::{folder, stillmark_cli};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn demonstration() -> String {
    root().join("sample-images/demonstration.case.json").to_str().unwrap().to_owned()
}

fn heading(arguments: &[&str]) -> Vec<String> {
    let run = stillmark_cli(arguments).unwrap();
    assert_eq!(run.status, Some(0), "{arguments:?}: {}", run.err);
    csv::Reader::from_reader(run.out.as_bytes()).headers().unwrap().iter().map(str::to_owned).collect()
}

#[test]
fn every_column_of_every_table_is_listed_with_unit_and_meaning() {
    let case = demonstration();
    let samples = root().join("sample-images").to_str().unwrap().to_owned();
    let mut text = String::from(
        "# Columns of the tables\n\nMade from the program: every column of every table it writes, with its unit (none for words, counts and fractions) and what it says. A value that could not be read is an empty cell.\n",
    );
    let mut put = |title: &str, rows: Vec<(String, String, String)>| {
        text.push_str(&format!("\n## {title}\n\n| column | unit | meaning |\n| --- | --- | --- |\n"));
        for (name, unit, meaning) in rows {
            text.push_str(&format!("| `{name}` | {unit} | {meaning} |\n"));
        }
    };
    let described = |names: Vec<String>| -> Vec<(String, String, String)> {
        let row = |name: String| {
            let (unit, meaning) = describe(&name).unwrap_or_else(|| panic!("nothing says what “{name}” is"));
            (name, unit.to_owned(), meaning)
        };
        names.into_iter().map(row).collect()
    };
    let with_runs = ["read", "--csv", "--monte-carlo", "100", case.as_str()];
    put("`read --csv` (with `--monte-carlo`, its columns too)", described(heading(&with_runs)));
    for table in ["bodies", "shares", "differences", "errors", "sums"] {
        let option = format!("--csv={table}");
        put(&format!("`series --csv={table}`"), described(heading(&["series", &samples, &option])));
    }
    let place = folder();
    let again = read_again(place.path()).to_str().unwrap().to_owned();
    put(
        "`repeat --csv` of case files (a column `sd_mm_` for each mark that was read again)",
        described(heading(&["repeat", "--csv", &again])),
    );
    let keypoints = heading(&["keypoints", &case]);
    assert_eq!(keypoints, COLUMNS.map(|column| column.name));
    let own = |column: stillmark::io::export::dictionary::TableColumn| {
        (column.name.to_owned(), column.unit.to_owned(), column.meaning.to_owned())
    };
    put("`keypoints`", COLUMNS.map(own).to_vec());
    let path = root().join("docs/columns.md");
    if std::env::var_os("STILLMARK_UPDATE").is_some() {
        std::fs::write(&path, &text).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(written == text, "docs/columns.md is not current, run with STILLMARK_UPDATE=1");
}

fn schema(name: &str) -> Value {
    let path = root().join(format!("docs/schemas/{name}.schema.json"));
    serde_json::from_str(&std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{name}: {e}"))).unwrap()
}

/// The schemas of the subcommands that print JSON.
fn schemas_of(command: &str) -> &'static [&'static str] {
    match command {
        "read" => &["read"],
        "compare" => &["compare"],
        "propose" => &["propose"],
        "curve" => &["curve"],
        "series" => &["series"],
        "repeat" => &["repeat", "rereading"],
        "phantom" => &["score"],
        _ => &[],
    }
}

#[test]
fn every_json_output_has_a_schema_with_identifier_and_version() {
    let others = ["case", "frame", "keypoints", "mapping"];
    let whole = stillmark::cli::args::whole();
    let mut names: Vec<&str> = others.to_vec();
    for command in whole.get_subcommands() {
        if command.get_arguments().any(|argument| argument.get_id() == "json") {
            let known = schemas_of(command.get_name());
            assert!(!known.is_empty(), "{} --json has no schema", command.get_name());
            names.extend(known);
        }
    }
    for name in names {
        let schema = schema(name);
        assert_eq!(schema["$id"], format!("urn:stillmark:{name}:1"));
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
        let object = if schema["type"] == "array" { &schema["items"] } else { &schema };
        for key in ["format", "version"] {
            assert!(object["properties"][key].is_object(), "{name}: {key}");
            assert!(object["required"].as_array().unwrap().contains(&key.into()), "{name}: {key}");
        }
    }
}

/// Asserts that an output has the keys of its schema: none is missing, none is unknown, and its format is the one stated.
fn assert_keys(name: &str, value: &Value) {
    let schema = schema(name);
    let (object, value) =
        if schema["type"] == "array" { (&schema["items"], &value[0]) } else { (&schema, value) };
    let known: BTreeMap<&String, &Value> = object["properties"].as_object().unwrap().iter().collect();
    for (key, _) in value.as_object().unwrap() {
        assert!(
            known.contains_key(key) || object["additionalProperties"] != false,
            "{name}: {key} is unknown"
        );
    }
    for key in object["required"].as_array().unwrap() {
        assert!(
            !value[key.as_str().unwrap()].is_null() || value.get(key.as_str().unwrap()).is_some(),
            "{name}: {key}"
        );
    }
    assert_eq!(value["format"], known[&"format".to_owned()]["const"], "{name}");
    assert_eq!(value["version"], 1, "{name}");
}

fn printed(arguments: &[&str]) -> Value {
    let run = stillmark_cli(arguments).unwrap();
    assert!(run.status < Some(2), "{arguments:?}: {}", run.err);
    serde_json::from_str(&run.out).unwrap()
}

#[test]
fn outputs_have_the_keys_of_their_schemas() {
    let case = demonstration();
    let case = case.as_str();
    let folder = folder();
    let table = folder.path().join("t.csv");
    std::fs::write(&table, "subject,rater,value\na,A,0.3\na,B,0.31\nb,A,0.4\nb,B,0.42\nc,A,0.5\nc,B,0.49\n")
        .unwrap();
    let samples: PathBuf = root().join("sample-images");
    let image = samples.join("images").read_dir().unwrap().next().unwrap().unwrap().path();
    let (stylet, last) = ("l4-right-lateral-stylet", "l4-right-lateral-final");
    assert_keys("read", &printed(&["read", "--json", case]));
    assert_keys("compare", &printed(&["compare", case, stylet, last, "--json"]));
    assert_keys(
        "propose",
        &printed(&["propose", case, last, "--posterior", "10,10", "--anterior", "60,10", "--json"]),
    );
    assert_keys(
        "curve",
        &printed(&[
            "curve",
            case,
            "l4-right-lateral-pedicle",
            "--radius-mm",
            "20",
            "--bend-deg",
            "60",
            "--json",
        ]),
    );
    assert_keys("series", &printed(&["series", samples.to_str().unwrap(), "--json"]));
    assert_keys("repeat", &printed(&["repeat", table.to_str().unwrap(), "--json"]));
    assert_keys("frame", &printed(&["frame", image.to_str().unwrap()]));
    let keypoints = folder.path().join("k.json");
    stillmark_cli(["keypoints", case, "--out", keypoints.to_str().unwrap()]).unwrap();
    assert_keys("keypoints", &serde_json::from_str(&std::fs::read_to_string(&keypoints).unwrap()).unwrap());
    assert_keys("case", &serde_json::from_str(&std::fs::read_to_string(case).unwrap()).unwrap());
}
