//! Files whose geometry contradicts itself: each is told at `frame`, at the reading and in the window, and none is
//! offered as a scale. Elements and their meaning from DICOM PS3.3, C.8.7.5, C.8.11.4 and 10.7.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};

use serde_json::Value;
use stillmark::io::store::save::{Over, save_case};

use crate::dicom_bytes::{File, IMPLICIT, Pixels, Tag, Value as Written, planes_of, rle};
use crate::support::{case_of, folder, lateral_shot, stillmark_cli};

const COLUMNS: u16 = 460;
const ROWS: u16 = 440;
const PIXEL: Tag = (0x28, 0x30);
const IMAGER: Tag = (0x18, 0x1164);
const SOURCE_DETECTOR: Tag = (0x18, 0x1110);
const SOURCE_PATIENT: Tag = (0x18, 0x1111);
const MAGNIFICATION: Tag = (0x18, 0x1114);
const CALIBRATION: Tag = (0x28, 0x0a02);
const FIELD_SHAPE: Tag = (0x18, 0x1147);
const FIELD: Tag = (0x18, 0x1149);
const FRAMES: Tag = (0x28, 8);

fn words(frames: usize) -> Vec<u16> {
    (0..frames * usize::from(COLUMNS) * usize::from(ROWS)).map(|i| u16::try_from(i % 4000).unwrap()).collect()
}

fn plain() -> File {
    File::grey(COLUMNS, ROWS, 12, false).with_pixels(Pixels::Words(words(1)))
}

/// A file that says 0.2 mm at the detector and 1000 and 700 mm, which is 0.14 mm at the patient (references, section 10).
fn sound() -> File {
    let mut file = plain();
    for (tag, vr, text) in [
        (IMAGER, b"DS", "0.2\\0.2"),
        (PIXEL, b"DS", "0.14\\0.14"),
        (CALIBRATION, b"CS", "GEOMETRY"),
        (SOURCE_DETECTOR, b"DS", "1000"),
        (SOURCE_PATIENT, b"DS", "700"),
        (MAGNIFICATION, b"DS", "1.428571"),
        (FIELD_SHAPE, b"CS", "RECTANGLE"),
        (FIELD, b"IS", "88\\92"),
    ] {
        file.text(tag, vr, text);
    }
    file
}

fn with(changes: &[(Tag, &[u8; 2], &str)]) -> Vec<u8> {
    let mut file = sound();
    changes.iter().for_each(|(tag, vr, text)| file.text(*tag, vr, text));
    file.bytes()
}

/// An element in explicit little endian.
fn element(tag: Tag, vr: &[u8; 2], value: &str) -> Vec<u8> {
    let mut out = Vec::new();
    out.extend(tag.0.to_le_bytes());
    out.extend(tag.1.to_le_bytes());
    out.extend(vr);
    out.extend(u16::try_from(value.len()).unwrap().to_le_bytes());
    out.extend(value.as_bytes());
    out
}

/// The file with a second Pixel Spacing before the one it has.
fn twice() -> Vec<u8> {
    let bytes = sound().bytes();
    let own = element(PIXEL, b"DS", "0.14\\0.14 ");
    let at = bytes.windows(own.len()).position(|part| part == own).unwrap();
    [&bytes[..at], &element(PIXEL, b"DS", "0.31\\0.31 "), &bytes[at..]].concat()
}

/// A functional group that states its Pixel Spacing twice.
fn twice_in_a_group() -> Vec<u8> {
    let mut file = plain().written(IMPLICIT);
    let measures = vec![vec![
        (PIXEL, *b"DS", Written::Text("0.14\\0.14".to_owned())),
        (PIXEL, *b"DS", Written::Text("0.31\\0.31".to_owned())),
    ]];
    let shared = vec![vec![((0x28, 0x9110), *b"SQ", Written::Items(measures))]];
    file.put((0x5200, 0x9229), b"SQ", Written::Items(shared));
    file.bytes()
}

fn behind_pixels() -> Vec<u8> {
    [plain().bytes(), element(PIXEL, b"DS", "0.14\\0.14 ")].concat()
}

fn two_frames_as_one(coded: bool) -> Vec<u8> {
    let mut file = sound();
    file.text(FRAMES, b"IS", "1");
    if coded {
        let piece = rle(&planes_of(&words(1)));
        file.with_pixels(Pixels::Fragments { table: Vec::new(), pieces: vec![piece.clone(), piece] })
            .written(".5")
            .bytes()
    } else {
        file.with_pixels(Pixels::Words(words(2))).bytes()
    }
}

/// Every contradiction: its code, and a file that has it and no other.
fn contradictory() -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("spacing_larger_than_at_detector", with(&[(PIXEL, b"DS", "0.24\\0.24")])),
        (
            "spacing_larger_than_at_detector",
            with(&[(PIXEL, b"DS", "0.24\\0.24"), (CALIBRATION, b"CS", "FIDUCIAL")]),
        ),
        ("magnification_below_one", with(&[(MAGNIFICATION, b"DS", "0.7")])),
        ("magnification_against_distances", with(&[(MAGNIFICATION, b"DS", "1.6")])),
        ("magnification_against_spacings", with(&[(PIXEL, b"DS", "0.1\\0.1")])),
        ("patient_beyond_detector", with(&[(SOURCE_PATIENT, b"DS", "1200")])),
        ("field_of_view_against_spacing", with(&[(FIELD, b"IS", "300\\300")])),
        ("field_of_view_against_spacing", with(&[(FIELD, b"IS", "190"), (FIELD_SHAPE, b"CS", "ROUND")])),
        ("repeated_element", twice()),
        ("repeated_element", twice_in_a_group()),
        ("element_behind_pixels", behind_pixels()),
        ("more_frames_than_declared", two_frames_as_one(false)),
        ("more_frames_than_declared", two_frames_as_one(true)),
    ]
}

fn facts(folder: &Path, bytes: &[u8]) -> Value {
    let path = folder.join("still.dcm");
    std::fs::write(&path, bytes).unwrap();
    let run = stillmark_cli([Path::new("frame"), &path]).unwrap();
    assert_eq!(run.status, Some(0), "{}", run.err);
    serde_json::from_str(&run.out).unwrap()
}

#[test]
fn a_sound_file_is_offered_as_it_says() {
    let folder = folder();
    let found = facts(folder.path(), &sound().bytes());
    assert_eq!(found["scale"]["offer"], "calibrated", "{found}");
    assert_eq!(found["scale"]["mm_per_px"], 0.14);
    assert_eq!(found["scale"]["faults"], serde_json::json!([]));
    assert_eq!(found["warnings"], serde_json::json!([]));
    // Without the corrected spacing the distances give the same.
    let mut file = sound();
    file.elements.retain(|(tag, ..)| *tag != PIXEL && *tag != CALIBRATION);
    let found = facts(folder.path(), &file.bytes());
    assert_eq!(found["scale"]["offer"], "magnified", "{found}");
    assert!((found["scale"]["mm_per_px"].as_f64().unwrap() - 0.14).abs() < 1e-6);
}

#[test]
fn each_contradiction_is_told_at_the_frame_and_nothing_is_offered() {
    let folder = folder();
    for (code, bytes) in contradictory() {
        let found = facts(folder.path(), &bytes);
        assert_eq!(found["scale"]["offer"], "contradicts", "{code}: {found}");
        assert_eq!(found["scale"]["mm_per_px"], Value::Null);
        let faults = found["scale"]["faults"].as_array().unwrap();
        assert!(faults.iter().any(|fault| fault["code"] == code), "{code}: {faults:?}");
        let sentence = faults.iter().find(|fault| fault["code"] == code).unwrap()["text"].clone();
        assert!(found["warnings"].as_array().unwrap().contains(&sentence), "{code}: {found}");
    }
}

/// A case of one lateral without a scale whose image is this file.
fn case(folder: &Path, bytes: &[u8]) -> PathBuf {
    std::fs::write(folder.join("still.dcm"), bytes).unwrap();
    let mut shot = lateral_shot("side", "still.dcm");
    shot.mm_per_px = None;
    let path = folder.join("a.case.json");
    let _ = std::fs::remove_file(&path);
    save_case(&path, &case_of("A", vec![shot]), &Over::Nothing).unwrap();
    path
}

#[test]
fn each_contradiction_is_told_at_the_reading_which_stays() {
    let folder = folder();
    for (code, bytes) in contradictory() {
        let path = case(folder.path(), &bytes);
        let run = stillmark_cli([Path::new("read"), Path::new("--json"), &path]).unwrap();
        assert_eq!(run.status, Some(0), "{code}: {}", run.err);
        let read: Value = serde_json::from_str(&run.out).unwrap();
        let reading = &read[0]["readings"][0];
        let issues = reading["issues"].as_array().unwrap();
        assert!(issues.iter().any(|issue| issue["code"] == "scale_contradicts"), "{code}: {issues:?}");
        assert!(reading["depth"]["value"].is_f64(), "fractions need no scale");
        assert_eq!(reading["body"]["scale_assumed"], true, "{code}");
        // In words each is told once, though the image itself says it too.
        let words = stillmark_cli([Path::new("read"), &path]).unwrap().out;
        for fault in facts(folder.path(), &bytes)["scale"]["faults"].as_array().unwrap() {
            let sentence = fault["text"].as_str().unwrap();
            assert_eq!(words.matches(sentence).count(), 1, "{code}: {words}");
        }
        assert!(!words.contains("declares 1 frames"), "{words}");
    }
}

#[cfg(feature = "window")]
mod window {
    use eframe::egui::{Key, Modifiers};
    use egui_kittest::kittest::Queryable as _;

    use super::{case, contradictory};
    use crate::journey::Journey;

    #[test]
    fn the_scale_panel_tells_each_contradiction_and_offers_nothing() {
        let name = "the_scale_panel_tells_each_contradiction_and_offers_nothing";
        crate::journey::alone("scale_faults::window", name, |folder| {
            for (number, (code, bytes)) in contradictory().into_iter().enumerate() {
                let folder = folder.join(number.to_string());
                std::fs::create_dir(&folder).unwrap();
                let mut journey = Journey::begin(vec![case(&folder, &bytes)]);
                journey.key(Modifiers::NONE, Key::H);
                assert!(
                    journey.shows("What the file says of its scale contradicts itself and is not offered"),
                    "{code}"
                );
                assert!(journey.window.query_by_label("Use file scale").is_none(), "{code}");
                assert!(journey.shows("Not calibrated: fractions only."), "{code}");
            }
        });
    }
}
