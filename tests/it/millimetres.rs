//! Millimetres on the command line: with their uncertainty where there is a scale, a sentence where there is none.

use std::path::{Path, PathBuf};

use serde_json::Value;
use stillmark::case::document::Case;
use stillmark::case::document::edit::{Description, Edit};
use stillmark::geom::point::Point;
use stillmark::io::store::save::{Over, save_case};
use stillmark::measure::calibration::{Calibration, KnownLength};
use stillmark::measure::mark::MarkKind;

use crate::support::{case_of, folder, lateral_shot, stillmark_cli, write_picture};

fn saved(folder: &Path) -> PathBuf {
    write_picture(&folder.join("a.png"), 800, 600).expect("a picture");
    let mut with = lateral_shot("with", "a.png");
    with.marks = with.marks.with(MarkKind::Electrodes, &[(385.0, 350.0), (352.0, 360.0)]);
    let mut without = lateral_shot("without", "a.png");
    without.mm_per_px = None;
    let mut case: Case = case_of("Demonstration A", vec![with, without]);
    // A cannula of 3.2 mm is 10 px wide in the picture.
    let known =
        KnownLength { ends: [Point::new(500.0, 300.0), Point::new(506.0, 308.0)], mm: 3.2, sd_mm: 0.05 };
    let scale = Calibration::of_known_length(known, 0.25).expect("a scale");
    let what = Description::Scale(Some(scale));
    case.apply(&Edit::Describe { shot: "with".to_owned(), what }).expect("an edit");
    let file = folder.join("a.case.json");
    save_case(&file, &case, &Over::Nothing).expect("a saved case");
    file
}

#[test]
fn lengths_carry_the_scales_uncertainty_and_a_missing_scale_is_said() {
    let place = folder();
    let file = saved(place.path());
    let run = stillmark_cli(["read".as_ref(), file.as_os_str(), "--json".as_ref(), "--mm".as_ref()])
        .expect("a run");
    let json: Value = serde_json::from_str(&run.out).expect("JSON");
    let (with, without) = (&json[0]["readings"][0], &json[0]["readings"][1]);
    assert_eq!((&with["scale_from"], &without["scale_from"]), (&"known_length".into(), &Value::Null));
    // By hand: √(0.05² + 2 · 0.25²) / 3.2 = 0.111588 of every length.
    let relative = 0.111_588;
    for (mm, px) in [
        ("depth", "depth_px"),
        ("posterior_height", "posterior_height_px"),
        ("middle_height", "middle_height_px"),
        ("anterior_height", "anterior_height_px"),
    ] {
        let length = &with["body"]["mm"][mm];
        let number = |key: &str| length[key].as_f64().expect("a number");
        assert!((number("value") - 0.32 * with["body"][px].as_f64().expect("px")).abs() < 1e-9, "{mm}");
        let budget = |key: &str| length["budget"][key].as_f64().expect("a part");
        assert!((budget("scale") / number("value") - relative).abs() < 1e-5, "{mm}");
        let parts = ["bone", "metal", "view", "scale"].map(budget);
        let sd = parts.into_iter().map(|part| part * part).sum::<f64>().sqrt();
        assert!((number("sd") - sd).abs() < 1e-12 && budget("bone") > 0.1, "{mm}");
        assert!((number("high") - number("value") - 1.959_963_985 * sd).abs() < 1e-8, "{mm}");
    }
    let distance = &with["electrodes"][0]["to_posterior_wall_mm"];
    let part =
        distance["budget"]["scale"].as_f64().expect("a part") / distance["value"].as_f64().expect("a value");
    assert!((part - relative).abs() < 1e-5);
    let codes = |reading: &Value| reading["issues"].to_string().contains("no_scale");
    assert!(!codes(with) && codes(without));
    assert_eq!(without["body"]["mm"], Value::Null);
    assert!(without["depth"]["value"].is_number(), "fractions are read all the same");
    // Not asked for, nothing is said.
    let quiet = stillmark_cli(["read".as_ref(), file.as_os_str(), "--json".as_ref()]).expect("a run");
    assert!(!quiet.out.contains("no_scale"));
}

#[test]
fn lengths_are_written_in_words_when_asked_for() {
    let place = folder();
    let file = saved(place.path());
    let run = stillmark_cli(["read".as_ref(), file.as_os_str(), "--mm".as_ref()]).expect("a run");
    for words in ["body depth at mid height", "body heights", "posterior wall", "mm ±", "from a known length"]
    {
        assert!(run.out.contains(words), "{words}: {}", run.out);
    }
    let quiet = stillmark_cli(["read".as_ref(), file.as_os_str()]).expect("a run");
    assert!(!quiet.out.contains("body depth"));
}
