//! DICOM objects that the command line writes: what is in them of their source, that our importer opens them, and that a
//! report becomes a case again. Other programs look at them in `.ci/dicom-out.sh`.

use std::path::{Path, PathBuf};

use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::Samples;
use stillmark::geom::point::Point;
use stillmark::io::case_file::from_bytes;
use stillmark::io::import::import_frame;
use stillmark::io::store::save::{Over, save_case};
use stillmark::measure::mark::{Level, MarkKind, Side, Stage, View};

use crate::dicom_bytes::{BIG, DEFLATED, EXPLICIT, File, IMPLICIT, Pixels, Value};
use crate::support::{Run, case_of, folder, lateral_shot, names_in, put, stillmark_cli, write_picture};

/// What the source says of its patient and study: tag, type, value.
pub(crate) const IDENTITY: [((u16, u16), &[u8; 2], &str); 11] = [
    ((0x08, 0x20), b"DA", "19270131"),
    ((0x08, 0x30), b"TM", "101112.5"),
    ((0x08, 0x50), b"SH", "ACC-90717"),
    ((0x08, 0x90), b"PN", "REFERRER^SOME"),
    ((0x10, 0x10), b"PN", "INVENTED^NAME"),
    ((0x10, 0x20), b"LO", "ID-55012"),
    ((0x10, 0x21), b"LO", "ISSUER-77"),
    ((0x10, 0x30), b"DA", "19010203"),
    ((0x10, 0x40), b"CS", "O"),
    ((0x20, 0x0d), b"UI", "1.2.826.0.1.77001"),
    ((0x20, 0x10), b"SH", "STUDY-311"),
];

const ROWS: u16 = 440;
const COLUMNS: u16 = 460;

fn source(instance: &str) -> File {
    let values = (0..u32::from(ROWS) * u32::from(COLUMNS))
        .map(|i| u16::try_from(i % 4000).expect("below 4000"))
        .collect();
    let mut file = File::grey(COLUMNS, ROWS, 12, false).with_pixels(Pixels::Words(values));
    for (tag, vr, value) in IDENTITY {
        file.text(tag, vr, value);
    }
    file.text((0x08, 0x16), b"UI", "1.2.840.10008.5.1.4.1.1.12.1");
    file.text((0x08, 0x18), b"UI", instance);
    file.text((0x20, 0x0e), b"UI", "1.2.826.0.1.77002");
    file.text((0x08, 0x80), b"LO", "SOME INSTITUTION 5");
    file.text((0x08, 0x1030), b"LO", "STUDY WORDS 6");
    file.text((0x18, 0x1000), b"LO", "SERIAL-80001");
    file
}

/// A case of a lateral and an AP that pair, whose images are DICOM files of one study.
pub(crate) fn two_views(folder: &Path, change: impl Fn(&mut File)) -> PathBuf {
    for (name, instance) in
        [("surname-lat.dcm", "1.2.826.0.1.77003"), ("surname-ap.dcm", "1.2.826.0.1.77004")]
    {
        let mut file = source(instance);
        change(&mut file);
        put(folder, name, file.bytes());
    }
    let lateral = lateral_shot("surname-side", "surname-lat.dcm");
    let mut ap = Shot::new("surname-front", "surname-ap.dcm", View::Ap);
    (ap.level, ap.side, ap.stage) = (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
    ap.mm_per_px = Some(0.31);
    ap.marks = ap
        .marks
        .with(MarkKind::SuperiorEndPlate, &[(300.1, 300.7), (450.0, 300.0)])
        .with(MarkKind::InferiorEndPlate, &[(300.0, 390.0), (450.0, 390.3)])
        .with(MarkKind::RightPedicle, &[(315.0, 320.0), (340.0, 320.0)])
        .with(MarkKind::LeftPedicle, &[(435.0, 320.0), (410.0, 320.0)])
        .with(MarkKind::SpinousProcess, &[(368.0, 350.0), (382.0, 350.0)])
        .with(MarkKind::Tip, &[(365.0, 345.0)]);
    let path = folder.join("surname.case.json");
    let case =
        Case { operator: Some("OPERATOR-9".to_owned()), ..case_of("SURNAME TITLE", vec![lateral, ap]) };
    save_case(&path, &case, &Over::Nothing).expect("a saved case");
    path
}

fn written(case: &Path, out: &Path, more: &[&str]) -> Run {
    let mut arguments = vec!["dicom".to_owned(), case.display().to_string()];
    arguments.extend(["--out".to_owned(), out.display().to_string()]);
    arguments.extend(more.iter().map(|&one| one.to_owned()));
    stillmark_cli(arguments).expect("a run")
}

fn has(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

/// An element in explicit little endian.
fn element(tag: (u16, u16), vr: &[u8; 2], value: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    out.extend(tag.0.to_le_bytes());
    out.extend(tag.1.to_le_bytes());
    out.extend(vr);
    out.extend(u16::try_from(value.len()).expect("a short value").to_le_bytes());
    out.extend(value);
    out
}

#[test]
fn by_default_nothing_of_the_source_is_in_any_file_and_the_stills_open_again() {
    let folder = folder();
    let case = two_views(folder.path(), |_| {});
    let out = folder.path().join("out");
    let run = written(&case, &out, &["--code", "TEACHING-4"]);
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let names = names_in(&out).unwrap();
    assert_eq!(
        names,
        [
            "report.dcm",
            "shot-1-figure.dcm",
            "shot-1-overlay.dcm",
            "shot-1-still.dcm",
            "shot-2-figure.dcm",
            "shot-2-overlay.dcm",
            "shot-2-still.dcm"
        ]
    );
    let own = [
        "surname",
        "SURNAME",
        "OPERATOR-9",
        "SOME INSTITUTION 5",
        "STUDY WORDS 6",
        "SERIAL-80001",
        "1.2.826",
    ];
    let of_folder = folder.path().file_name().unwrap().to_str().unwrap();
    for name in &names {
        let bytes = std::fs::read(out.join(name)).unwrap();
        // The sex is one letter, and found everywhere.
        let told = IDENTITY.iter().map(|(.., value)| *value).filter(|value| value.len() > 1);
        for word in told.chain(own).chain([of_folder]) {
            assert!(!has(&bytes, word.as_bytes()), "{name} has “{word}”");
        }
        assert!(has(&bytes, &element((0x10, 0x20), b"LO", b"TEACHING-4")), "{name}");
        assert!(has(&bytes, &element((0x10, 0x40), b"CS", b"")), "{name}");
    }
    let (still, before) = (out.join("shot-1-still.dcm"), folder.path().join("surname-lat.dcm"));
    let (still, before) = (import_frame(&still).unwrap(), import_frame(&before).unwrap());
    assert!(still.samples == before.samples && matches!(still.samples, Samples::Gray16(_)));
    let figure = import_frame(&out.join("shot-2-figure.dcm")).unwrap();
    assert!(figure.width > 300 && figure.was_colour && figure.facts.burned_in == Some(true));
    for (name, says) in [("report.dcm", "without an image"), ("shot-1-overlay.dcm", "without an image")] {
        let error = import_frame(&out.join(name)).unwrap_err().to_string();
        assert!(error.contains(says), "{error}");
    }
}

/// In each of these the value is copied as it stands, whether or not it is valid in its character set: Latin-1, Japanese,
/// Korean and Chinese with escapes as PS3.5, Annexes H to K have them, UTF-8, no character set, and bytes that are
/// invalid in the UTF-8 they claim to be.
#[test]
fn beside_the_source_patient_and_study_are_the_sources_byte_by_byte() {
    let situations: [(&str, &[u8]); 7] = [
        ("ISO_IR 100", b"B\xfccher^A"),
        ("\\ISO 2022 IR 87", b"Yamada^Tarou=\x1b$B;3ED\x1b(B^\x1b$BB@O:\x1b(B"),
        ("\\ISO 2022 IR 149", b"Hong^Gildong=\x1b$)C\xfb\xf3^\x1b$)C\xd1\xce\xd4\xd7"),
        ("GB18030", b"Wang^XiaoDong=\xcd\xf5^\xd0\xa1\xb6\xab"),
        ("ISO_IR 192", "Müller^Ä".as_bytes()),
        ("", b"PLAIN^NAME"),
        ("ISO_IR 192", b"Bad\xff\xfe^\xc3"),
    ];
    for (i, (charset, name)) in situations.iter().enumerate() {
        let folder = folder();
        let syntax = [EXPLICIT, IMPLICIT, DEFLATED, BIG][i % 4];
        let case = two_views(folder.path(), |file| {
            file.syntax = syntax;
            if charset.is_empty() {
                file.elements.retain(|(tag, ..)| *tag != (8, 5));
            } else {
                file.text((8, 5), b"CS", charset);
            }
            file.put((0x10, 0x10), b"PN", Value::Bytes(name.to_vec()));
        });
        let out = folder.path().join("out");
        // A figure is drawn in one of them only: it takes long, and has the same elements.
        let more = ["--beside-source", "--report", "--overlay", "surname-side", "--figure", "surname-front"];
        let (more, count) = if i == 0 { (&more[..], 3) } else { (&more[..4], 2) };
        let run = written(&case, &out, more);
        assert_eq!((run.status, run.err.as_str()), (Some(0), ""), "{charset}");
        let names = names_in(&out).unwrap();
        assert_eq!(names.len(), count, "{names:?}: the stills are the sources themselves");
        let even = |value: &[u8], pad: u8| {
            let mut value = value.to_vec();
            if value.len() % 2 == 1 {
                value.push(pad);
            }
            value
        };
        for file in &names {
            let bytes = std::fs::read(out.join(file)).unwrap();
            for (tag, vr, value) in IDENTITY {
                let value = if tag == (0x10, 0x10) { name } else { value.as_bytes() };
                let pad = if vr == b"UI" { 0 } else { b' ' };
                assert!(has(&bytes, &element(tag, vr, &even(value, pad))), "{charset} {file} {tag:x?}");
            }
            let set = element((8, 5), b"CS", &even(charset.as_bytes(), b' '));
            assert_eq!(has(&bytes, &set), !charset.is_empty(), "{charset} {file}");
            for other in ["SOME INSTITUTION 5", "STUDY WORDS 6", "SERIAL-80001", "surname", "SURNAME"] {
                assert!(!has(&bytes, other.as_bytes()), "{file} has “{other}”");
            }
        }
        let report = std::fs::read(out.join("report.dcm")).unwrap();
        assert!(has(&report, b"1.2.826.0.1.77003") && has(&report, b"1.2.826.0.1.77004"));
        // Copied, and never said.
        assert!(!run.out.contains("Yamada") && !run.out.contains("PLAIN"), "{}", run.out);
    }
}

#[test]
fn a_report_becomes_a_case_again() {
    let folder = folder();
    let case = two_views(folder.path(), |_| {});
    let out = folder.path().join("out");
    assert_eq!(written(&case, &out, &["--report"]).status, Some(0));
    assert_eq!(names_in(&out).unwrap(), ["report.dcm", "shot-1-still.dcm", "shot-2-still.dcm"]);
    let back = out.join("back.case.json");
    let run = stillmark_cli([
        "dicom".as_ref(),
        out.join("report.dcm").as_os_str(),
        "--back".as_ref(),
        back.as_os_str(),
    ]);
    let run = run.unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""), "{}", run.out);
    assert!(run.out.contains("8 values of the report were read again"), "{}", run.out);
    let open = |path: &Path| from_bytes(path, &std::fs::read(path).unwrap()).unwrap();
    let (before, after) = (open(&case), open(&back));
    assert_eq!((after.title.as_deref(), after.operator.as_deref()), (None, None));
    assert_eq!(before.settings, after.settings);
    for (one, other) in before.shots.iter().zip(&after.shots) {
        assert_eq!(
            (one.view, one.level, one.side, one.stage),
            (other.view, other.level, other.side, other.stage)
        );
        for kind in one.marks.kinds() {
            let (was, is) = (one.marks.complete(kind).unwrap(), other.marks.complete(kind).unwrap());
            assert_eq!(was.len(), is.len());
            assert!(was.iter().zip(&is).all(|(a, b)| (a.x - b.x).hypot(a.y - b.y) < 1e-3), "{kind:?}");
        }
    }
    let read = |path: &Path| {
        let run = stillmark_cli(["read".as_ref(), "--json".as_ref(), path.as_os_str()]).unwrap();
        let value: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        value[0].clone()
    };
    let (before, after) = (read(&case), read(&back));
    for (place, key) in [(0, "depth"), (0, "height"), (1, "across"), (1, "height")] {
        for part in ["value", "sd", "low", "high"] {
            let of = |case: &serde_json::Value| case["readings"][place][key][part].as_f64().unwrap();
            assert!((of(&before) - of(&after)).abs() < 1e-6, "{place} {key} {part}");
        }
    }
    // Somebody else's change to the places on the image prevails over what was kept beside them.
    let mut bytes = std::fs::read(out.join("report.dcm")).unwrap();
    let place: Vec<u8> = [350.4_f32, 360.9].iter().flat_map(|v| v.to_le_bytes()).collect();
    let moved: Vec<u8> = [340.0_f32, 360.9].iter().flat_map(|v| v.to_le_bytes()).collect();
    let found: Vec<usize> =
        (0..bytes.len() - place.len()).filter(|&at| bytes[at..at + place.len()] == place[..]).collect();
    assert!(found.len() > 1);
    for at in found {
        bytes[at..at + moved.len()].copy_from_slice(&moved);
    }
    let changed = put(&out, "changed.dcm", &bytes);
    let again = out.join("again.case.json");
    let run =
        stillmark_cli(["dicom".as_ref(), changed.as_os_str(), "--back".as_ref(), again.as_os_str()]).unwrap();
    assert_eq!(run.status, Some(0), "{}", run.err);
    let tip = open(&again).shots[0].marks.complete(MarkKind::Tip).unwrap()[0];
    assert!((tip - Point::new(340.0, 360.9)).length() < 1e-3);
}

#[test]
fn frames_of_a_source_are_referred_to_by_their_number() {
    let folder = folder();
    let words = vec![7; 3 * usize::from(ROWS) * usize::from(COLUMNS)];
    let case = two_views(folder.path(), |file| {
        file.text((0x28, 8), b"IS", "3");
        file.pixels = Pixels::Words(words.clone());
    });
    let mut opened = from_bytes(&case, &std::fs::read(&case).unwrap()).unwrap();
    opened.shots[0].frame = 2;
    std::fs::remove_file(&case).unwrap();
    save_case(&case, &opened, &Over::Nothing).unwrap();
    let out = folder.path().join("out");
    let run = written(&case, &out, &["--beside-source", "--overlay", "surname-side"]);
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let bytes = std::fs::read(out.join("shot-1-overlay.dcm")).unwrap();
    assert!(has(&bytes, &element((0x08, 0x1160), b"IS", b"3 ")), "Referenced Frame Number counts from 1");
}

#[test]
fn what_cannot_be_written_is_refused_in_sentences_and_leaves_nothing() {
    let folder = folder();
    let case = two_views(folder.path(), |_| {});
    let out = folder.path().join("out");
    let refused = |more: &[&str], says: &str| {
        let run = written(&case, &out, more);
        assert_eq!(run.status, Some(2), "{more:?}");
        assert!(run.err.contains(says), "{more:?}: {}", run.err);
        assert!(!out.exists(), "{more:?}");
    };
    refused(&["--code", "a\\b"], "--code: the code must have");
    refused(&["--figure", "nothing"], "has no shot “nothing”");
    refused(&["--beside-source", "--code", "A"], "cannot be used with");
    let mut other = source("1.2.826.0.1.77009");
    other.text((0x10, 0x20), b"LO", "SOMEONE-ELSE");
    put(folder.path(), "surname-ap.dcm", other.bytes());
    refused(&["--beside-source"], "is of another patient or study");
    write_picture(&folder.path().join("surname-ap.dcm"), 800, 600).unwrap_err();
    write_picture(&folder.path().join("a.png"), 800, 600).unwrap();
    std::fs::rename(folder.path().join("a.png"), folder.path().join("surname-ap.dcm")).unwrap();
    refused(&["--beside-source"], "surname-front: its image is not a DICOM file");
    put(folder.path(), "surname-ap.dcm", b"\0\0\0");
    refused(&[], "surname-ap.dcm");
    let taken = folder.path().join("taken");
    std::fs::create_dir(&taken).unwrap();
    put(&taken, "mine.txt", b"mine");
    let run = written(&case, &taken, &[]);
    assert!(run.status == Some(2) && run.err.contains("the folder is not empty"), "{}", run.err);
    assert_eq!(std::fs::read(taken.join("mine.txt")).unwrap(), b"mine");
    let back = folder.path().join("back.case.json");
    for (of, says) in [(folder.path().join("surname-lat.dcm"), "no"), (case.clone(), "")] {
        let run =
            stillmark_cli(["dicom".as_ref(), of.as_os_str(), "--back".as_ref(), back.as_os_str()]).unwrap();
        assert!(run.status == Some(2) && run.err.contains(says) && !back.exists(), "{}", run.err);
        assert_eq!(run.err.lines().count(), 1, "{}", run.err);
    }
}
