//! What leaves the program: covers in every exported pixel, and no word of the source that was not asked for.

use std::fs;
use std::path::{Path, PathBuf};

use image::{GrayImage, Luma};
use stillmark::case::annotation::{Label, LabelKind};
use stillmark::case::document::record::BodyRecord;
use stillmark::case::document::redaction::Cover;
use stillmark::case::document::rereading::Rereading;
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::burned_in::proposed_covers;
use stillmark::case::image::field::field_of;
use stillmark::case::image::frame::Frame;
use stillmark::geom::point::Point;
use stillmark::io::case_file::to_text;
use stillmark::io::import::import_frame;
use stillmark::io::store::save::open_case;
use stillmark::measure::mark::{Level, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::scene::drawing::shape::{Rect, Role, Scene, Space, Text, TextSize};
use stillmark::scene::drawing::theme::Theme;
use stillmark::scene::page::Page;

use crate::dicom_bytes::{File, Pixels, Tag, Value};
use crate::support::{folder, lateral_shot, stillmark_cli};

/// Words that are burned into a corner, as a workstation does it.
const BURNED: [&str; 2] = ["QUIMBY^TESSA 4711", "1931-02-29 09:41"];

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images")
}

/// A simulated lateral picture of the demonstration.
fn phantom() -> GrayImage {
    let case = open_case(&samples().join("demonstration.case.json")).expect("the demonstration").case;
    let shot = case.shot("l4-right-lateral-final").expect("a shot of it");
    image::open(samples().join(&shot.image)).expect("its picture").into_luma8()
}

/// The words in light letters on black, with the typeface of the figures.
fn words() -> GrayImage {
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 112.0, 30.0));
    for (line, y) in BURNED.iter().zip([8.0, 22.0]) {
        scene.text(Text::new(Point::new(1.0, y), *line, Role::Text).sized(TextSize::Small));
    }
    let page = Page { raster: 1.0, ..Page::of_drawing(scene) };
    let drawn =
        stillmark::io::export::page_bytes(&page, &Theme::dark(), stillmark::io::export::PageFormat::Png);
    let drawn = image::load_from_memory(&drawn.expect("drawn words")).expect("a picture").into_luma8();
    let ground = drawn.get_pixel(0, 0).0[0];
    GrayImage::from_fn(drawn.width(), drawn.height(), |x, y| {
        let grey = drawn.get_pixel(x, y).0[0];
        Luma([if grey > ground + 40 { grey } else { 0 }])
    })
}

/// Stamps the words with their corner at `at`; returns the box of their ink.
fn stamp(picture: &mut GrayImage, at: (u32, u32)) -> Cover {
    let words = words();
    let (mut min, mut max) = ((u32::MAX, u32::MAX), (0, 0));
    for (x, y, grey) in words.enumerate_pixels().filter(|(_, _, grey)| grey.0[0] > 0) {
        let (x, y) = (x + at.0, y + at.1);
        picture.put_pixel(x, y, *grey);
        min = (min.0.min(x), min.1.min(y));
        max = (max.0.max(x + 1), max.1.max(y + 1));
    }
    let p = |(x, y): (u32, u32)| Point::new(f64::from(x), f64::from(y));
    Cover::between(p(min), p(max)).expect("ink")
}

fn frame_of(picture: &GrayImage, folder: &Path) -> Frame {
    let path = folder.join("stamped.png");
    picture.save(&path).expect("a picture");
    import_frame(&path).expect("a frame")
}

#[test]
fn words_beside_a_phantoms_field_are_proposed_and_its_own_edge_is_not() {
    let place = folder();
    let clean = phantom();
    let frame = frame_of(&clean, place.path());
    assert!(matches!(field_of(&frame), Field::Round { .. }), "the phantom has a round field");
    let (right, bottom) = (clean.width() - 114, clean.height() - 32);
    for at in [(2, 2), (right, 2), (2, bottom), (right, bottom)] {
        let mut picture = clean.clone();
        let ink = stamp(&mut picture, at);
        let frame = frame_of(&picture, place.path());
        let Field::Round { centre, radius } = field_of(&frame) else { panic!("the field is lost at {at:?}") };
        let proposed = proposed_covers(&frame, field_of(&frame));
        assert!(!proposed.is_empty(), "nothing proposed at {at:?}");
        // Every pixel of ink that lies clear of the field is in a proposed box.
        for (x, y, _) in words().enumerate_pixels().filter(|(_, _, grey)| grey.0[0] > 40) {
            let p = Point::new(f64::from(x + at.0) + 0.5, f64::from(y + at.1) + 0.5);
            let outside = p.distance(centre) > radius * 1.02;
            assert!(
                !outside || proposed.iter().any(|c| c.contains(p)),
                "{p:?} at {at:?}: {proposed:?} {ink:?}"
            );
        }
    }
}

#[test]
fn no_picture_of_the_demonstration_is_suspected() {
    let case = open_case(&samples().join("demonstration.case.json")).expect("the demonstration").case;
    for shot in &case.shots {
        let frame = import_frame(&samples().join(&shot.image)).expect("a picture");
        assert_eq!(proposed_covers(&frame, field_of(&frame)), [], "{}", shot.image);
    }
}

/// Every word of the source that must not be found again, apart from those that are no free text.
const SECRETS: &[&str] = &[
    "Quimby",
    "QUIMBY",
    "Tessa",
    "4711",
    "1931-02-29",
    "09:41",
    "R1-secret",
    "Dr Hollis",
    "Harbourside",
    "ward-7",
    "2026-02-03",
    "10:42:05",
    "first-look",
    "remember to ask",
    "private words",
    "labels",
    "annotations of Tessa",
    "glossary of the ward",
    "kept_aside",
    "Study 88",
    "shelf of Tessa",
    "told at the bedside",
];

/// A source with words in every place that can hold some.
fn source(root: &Path) -> (PathBuf, Cover) {
    let pictures = root.join("Harbourside/ward-7 Quimby");
    fs::create_dir_all(&pictures).expect("folders");
    let mut picture = phantom();
    let ink = stamp(&mut picture, (2, 2));
    let mut png = Vec::new();
    picture.write_to(&mut std::io::Cursor::new(&mut png), image::ImageFormat::Png).expect("a picture");
    fs::write(pictures.join("Tessa Quimby 4711.png"), with_text(&png, "Patient", "Tessa Quimby, Study 88"))
        .expect("a file");
    let image = "Harbourside/ward-7 Quimby/Tessa Quimby 4711.png";
    let mut first = lateral_shot("first-look Quimby", image);
    first.taken = Some("10:42:05".to_owned());
    first.pair_with = Some("ap of Tessa".to_owned());
    first.extra.0.insert("remarks".to_owned(), "[{\"text\": \"private words\"}]".to_owned());
    let mut own = Label::new(LabelKind::Text, vec![Point::new(90.0, 90.0)]).saying("annotations of Tessa");
    own.extra.0.insert("by".to_owned(), "\"Dr Hollis\"".to_owned());
    first.labels = vec![
        own,
        Label::new(LabelKind::Number, vec![Point::new(90.0, 90.0)]).saying("glossary of the ward"),
        Label::unknown("{ \"kind\": \"stamp\", \"text\": \"private words\" }"),
    ];
    first.marks_extra.0.insert("kept_aside".to_owned(), "\"remember to ask Dr Hollis\"".to_owned());
    first.covers = vec![
        Cover::between(Point::new(0.0, 0.0), Point::new(ink.max.x + 3.0, ink.max.y + 3.0)).expect("a box"),
    ];
    let mut second = Shot::new("ap of Tessa", image, View::Ap);
    (second.level, second.side, second.stage) = (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
    second.covers.clone_from(&first.covers);
    let mut case = Case {
        title: Some("Quimby, Tessa".to_owned()),
        operator: Some("R1-secret".to_owned()),
        date: Some("2026-02-03".to_owned()),
        discs: vec!["L4-L5".to_owned(), "as Dr Hollis says".to_owned()],
        shots: vec![first, second].into(),
        ..Case::default()
    };
    for operator in ["Tessa's uncle", "R1-secret", "Tessa's uncle"] {
        let round = case.next_round(operator);
        let mut again = Rereading::new(operator, round, 5, vec!["first-look Quimby".to_owned()]);
        again.readings[0].marks = case.shots[0].marks.clone();
        again.readings[0].extra.0.insert("remark".to_owned(), "\"Dr Hollis saw it\"".to_owned());
        again.extra.0.insert("where".to_owned(), "\"Harbourside\"".to_owned());
        case.rereadings.push(again);
    }
    case.reference = Some("shelf of Tessa".to_owned());
    let mut record = BodyRecord::new(Level::L4, Side::Right);
    record.lesion_s = Some(873.0);
    record.remarks = Some("told at the bedside".to_owned());
    record.extra.0.insert("by".to_owned(), "\"Dr Hollis\"".to_owned());
    case.bodies.push(record);
    case.extra.0.insert("remark".to_owned(), "\"Harbourside\"".to_owned());
    case.settings_extra.settings.0.insert("by".to_owned(), "\"Dr Hollis\"".to_owned());
    let file = root.join("Tessa Quimby.case.json");
    fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    (file, ink)
}

/// A PNG with a text chunk behind its header (PNG, third edition, 11.3.3.2).
fn with_text(png: &[u8], key: &str, text: &str) -> Vec<u8> {
    let body = [b"tEXt".as_slice(), key.as_bytes(), b"\0", text.as_bytes()].concat();
    let crc = body.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    });
    let length = u32::try_from(body.len() - 4).expect("short").to_be_bytes();
    [&png[..33], &length, &body, &(!crc).to_be_bytes(), &png[33..]].concat()
}

fn files_in(folder: &Path) -> Vec<PathBuf> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() { all.extend(files_in(&path)) } else { all.push(path) }
    }
    all.sort();
    all
}

fn holds(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|window| window.eq_ignore_ascii_case(word))
}

/// Every byte of every file and name below a folder against every word, as ASCII and as UTF-16.
fn search(root: &Path, words: &[&str]) {
    for path in files_in(root) {
        let inside = path.strip_prefix(root).expect("inside").to_string_lossy().into_owned();
        let bytes = fs::read(&path).expect("a file");
        for word in words {
            let wide: Vec<u8> = word.encode_utf16().flat_map(u16::to_le_bytes).collect();
            assert!(!holds(inside.as_bytes(), word.as_bytes()), "“{word}” in the name {inside}");
            assert!(!holds(&bytes, word.as_bytes()) && !holds(&bytes, &wide), "“{word}” in {inside}");
        }
    }
}

#[test]
fn nothing_of_the_source_is_found_in_an_exported_folder() {
    let place = folder();
    let (file, ink) = source(place.path());
    let out = place.path().join("given");
    let source_bytes = fs::read(&file).expect("the source");
    for word in SECRETS.iter().filter(|word| !["09:41", "1931-02-29", "QUIMBY", "Study 88"].contains(word)) {
        let named = file.to_string_lossy().contains(word);
        assert!(named || holds(&source_bytes, word.as_bytes()), "the source has “{word}”");
    }
    let arguments = ["export".as_ref(), file.as_os_str(), "--out".as_ref(), out.as_os_str()];
    let run = stillmark_cli(arguments).expect("the command line");
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    search(&out, SECRETS);
    // The case opens elsewhere: moved away from its source, with its pairing, levels and marks.
    let moved = place.path().join("elsewhere");
    fs::rename(&out, &moved).expect("moved");
    let case = open_case(&moved.join("exported.case.json")).expect("the exported case").case;
    assert_eq!(case.discs, ["L4-L5"]);
    assert_eq!(case.shots[0].pair_with.as_deref(), Some("shot-2"));
    assert_eq!(case.shots[0].level, Some(Level::L4));
    // Blind readings keep whose belong together, and nothing else of who they were.
    let readers: Vec<&str> = case.rereadings.iter().map(|one| one.operator.as_str()).collect();
    assert_eq!(readers, ["reader-1", "reader-2", "reader-1"]);
    assert_eq!(case.rereadings[2].readings[0].shot, "shot-1");
    assert_eq!(case.rereadings[2].readings[0].marks, case.shots[0].marks);
    // A time is no words.
    assert_eq!(case.record(Level::L4, Side::Right).expect("kept").lesion_s, Some(873.0));
    let read =
        stillmark_cli(["read".as_ref(), moved.join("exported.case.json").as_os_str(), "--json".as_ref()])
            .expect("the command line");
    assert!(!read.out.contains("frame_changed") && !read.out.contains("image_missing"), "{}", read.out);
    // The covered pixels are all one value, and no run of what was there is anywhere in the picture.
    let source = phantom_with_words();
    for shot in &case.shots {
        let exported = image::open(moved.join(&shot.image)).expect("a picture").into_luma8();
        let (x0, y0, x1, y1) = shot.covers[0].pixels(exported.width(), exported.height());
        assert!(shot.covers[0].holds(&ink));
        for y in y0..y1 {
            assert!((x0..x1).all(|x| exported.get_pixel(x, y).0[0] == 0), "row {y}");
        }
        let file = fs::read(moved.join(&shot.image)).expect("a file");
        for y in (y0..y1).step_by(3) {
            let row: Vec<u8> = (x0..x1).map(|x| source.get_pixel(x, y).0[0]).collect();
            for run in row.chunks(12).filter(|run| run.iter().filter(|v| **v > 40).count() >= 4) {
                assert!(!holds(exported.as_raw(), run) && !holds(&file, run), "pixels of row {y} are found");
            }
        }
        let outside = (0..exported.height()).flat_map(|y| (0..exported.width()).map(move |x| (x, y)));
        for (x, y) in outside.filter(|(x, y)| *x >= x1 || *y >= y1) {
            assert_eq!(exported.get_pixel(x, y), source.get_pixel(x, y), "{x} {y}");
        }
    }
}

fn phantom_with_words() -> GrayImage {
    let mut picture = phantom();
    stamp(&mut picture, (2, 2));
    picture
}

#[test]
fn words_that_are_asked_for_are_kept_and_no_others() {
    let place = folder();
    let (file, _) = source(place.path());
    let out = place.path().join("given");
    let run = stillmark_cli([
        "export".as_ref(),
        file.as_os_str(),
        "--out".as_ref(),
        out.as_os_str(),
        "--keep".as_ref(),
        "operator,taken,labels".as_ref(),
    ])
    .expect("the command line");
    assert_eq!(run.status, Some(0), "{}", run.err);
    let case = open_case(&out.join("exported.case.json")).expect("the exported case").case;
    assert_eq!((case.operator.as_deref(), case.title), (Some("R1-secret"), None));
    assert_eq!(case.shots[0].taken.as_deref(), Some("10:42:05"));
    assert_eq!(case.shots[0].id, "shot-1");
    // Of the labels, those that are known here, without what else the file said of them.
    let said: Vec<_> = case.shots[0].labels.iter().map(|label| label.text.as_str()).collect();
    assert_eq!(said, ["annotations of Tessa", "glossary of the ward"]);
    assert!(case.shots[0].labels.iter().all(|label| label.extra.0.is_empty()));
    assert_eq!(case.rereadings[1].operator, "R1-secret");
    let bad = stillmark_cli([
        "export".as_ref(),
        file.as_os_str(),
        "--out".as_ref(),
        place.path().join("b").as_os_str(),
        "--keep".as_ref(),
        "all".as_ref(),
    ])
    .expect("the command line");
    assert_eq!(bad.status, Some(2));
    assert!(bad.err.contains("title, operator, date, taken, names") && !place.path().join("b").exists());
}

#[test]
fn an_export_writes_over_nothing_and_leaves_nothing_half_done() {
    let place = folder();
    let (file, _) = source(place.path());
    let out = place.path().join("given");
    fs::create_dir(&out).expect("a folder");
    fs::write(out.join("letter.txt"), b"mine").expect("a file");
    let export = |case: &Path, out: &Path| {
        stillmark_cli(["export".as_ref(), case.as_os_str(), "--out".as_ref(), out.as_os_str()])
            .expect("a run")
    };
    let run = export(&file, &out);
    assert_eq!(run.status, Some(2));
    assert!(run.err.contains("not empty") && run.err.lines().count() == 1, "{}", run.err);
    assert_eq!(fs::read(out.join("letter.txt")).expect("still there"), b"mine");
    assert_eq!(fs::read_dir(&out).expect("the folder").count(), 1);
    // A picture that is missing stops it, and the folder does not appear.
    let mut case = open_case(&file).expect("the source").case;
    case.shots[1].image = "gone.png".to_owned();
    let broken = place.path().join("broken.case.json");
    fs::write(&broken, to_text(&broken, &case).expect("a case")).expect("a file");
    let run = export(&broken, &place.path().join("new"));
    assert_eq!(run.status, Some(2));
    assert!(run.err.contains("gone.png") && !place.path().join("new").exists(), "{}", run.err);
    let hidden = fs::read_dir(place.path()).expect("the folder").flatten();
    assert!(!hidden.into_iter().any(|e| e.file_name().to_string_lossy().starts_with(".export-")));
}

#[test]
fn uncovered_words_need_the_users_word() {
    let place = folder();
    let (file, _) = source(place.path());
    let mut case = open_case(&file).expect("the source").case;
    case.shots[0].covers.clear();
    fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    let out = place.path().join("given");
    let words = |more: &[&str]| {
        let mut arguments = vec![
            "export".to_owned(),
            file.display().to_string(),
            "--out".to_owned(),
            out.display().to_string(),
        ];
        arguments.extend(more.iter().map(|word| (*word).to_owned()));
        stillmark_cli(arguments).expect("a run")
    };
    let run = words(&[]);
    assert_eq!(run.status, Some(2));
    assert!(
        run.err.contains("first-look Quimby: ") && run.err.contains("--as-is") && !out.exists(),
        "{}",
        run.err
    );
    assert_eq!(words(&["--as-is"]).status, Some(0));
    // The same holds for a figure of whole frames.
    let figure = |more: &[&str]| {
        let picture = place.path().join("figure.png").display().to_string();
        let mut arguments = vec![
            "figure".to_owned(),
            file.display().to_string(),
            "first-look Quimby".to_owned(),
            "--out".to_owned(),
            picture,
        ];
        arguments.extend(more.iter().map(|word| (*word).to_owned()));
        stillmark_cli(arguments).expect("a run").status
    };
    assert_eq!(figure(&["--whole"]), Some(2));
    assert_eq!(figure(&["--whole", "--as-is"]), Some(0));
    // It is another run's result: each run here has a home of its own.
    assert_eq!(figure(&["--force"]), Some(0));
}

#[test]
fn a_figure_has_the_covers_in_its_pixels() {
    let place = folder();
    let (file, _) = source(place.path());
    let out = place.path().join("figure.svg");
    let run = stillmark_cli([
        "figure".as_ref(),
        file.as_os_str(),
        "first-look Quimby".as_ref(),
        "--whole".as_ref(),
        "--clean".as_ref(),
        "--title".as_ref(),
        "".as_ref(),
        "--out".as_ref(),
        out.as_os_str(),
    ])
    .expect("a run");
    assert_eq!(run.status, Some(0), "{}", run.err);
    let svg = fs::read_to_string(&out).expect("a figure");
    let start = svg.find("base64,").expect("a picture") + "base64,".len();
    let end = start + svg[start..].find('"').expect("its end");
    let png = base64_bytes(&svg[start..end]);
    let picture = image::load_from_memory(&png).expect("a picture").into_luma8();
    let case = open_case(&file).expect("the source").case;
    let (x0, y0, x1, y1) = case.shots[0].covers[0].pixels(picture.width(), picture.height());
    let first = picture.get_pixel(x0, y0).0[0];
    assert!((y0..y1).all(|y| (x0..x1).all(|x| picture.get_pixel(x, y).0[0] == first)));
}

/// Base64 with padding (RFC 4648, section 4).
fn base64_bytes(text: &str) -> Vec<u8> {
    const DIGITS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let value = |c: u8| DIGITS.iter().position(|d| *d == c).and_then(|v| u32::try_from(v).ok());
    let mut bytes = Vec::new();
    for four in text.as_bytes().chunks(4) {
        let digits: Vec<u32> = four.iter().filter_map(|c| value(*c)).collect();
        let bits = digits.iter().fold(0, |bits, digit| (bits << 6) | digit) << (6 * (4 - digits.len()));
        bytes.extend(&bits.to_be_bytes()[1..digits.len()]);
    }
    bytes
}

/// Text values of a data set, those inside sequences too.
fn texts_of(elements: &[(Tag, [u8; 2], Value)], into: &mut Vec<String>) {
    for (_, _, value) in elements {
        match value {
            Value::Text(text) => into.push(text.clone()),
            Value::Items(items) => items.iter().for_each(|item| texts_of(item, into)),
            Value::Shorts(_) | Value::Bytes(_) => {}
        }
    }
}

/// A DICOM file that names a person wherever it can (PS3.15, table E.1-1), with words burned in.
fn named_dicom() -> File {
    let words: Vec<u16> = (0..128_u32 * 128)
        .map(|i| {
            let (x, y) = (i % 128, i / 128);
            let written = (4..40).contains(&x) && (4..14).contains(&y) && x % 3 == 0;
            let inside = (f64::from(x) - 63.5).hypot(f64::from(y) - 63.5) < 60.0;
            if written {
                4000 + u16::from(x % 2 == 0)
            } else if inside {
                1500 + u16::try_from(x * 7 + y).unwrap_or(0)
            } else {
                3
            }
        })
        .collect();
    let mut file = File::grey(128, 128, 12, false).with_pixels(Pixels::Words(words));
    for (tag, vr, text) in [
        ((0x10, 0x10), b"PN", "QUIMBY^TESSA^M"),
        ((0x10, 0x20), b"LO", "ID-4711-XYZ"),
        ((0x10, 0x30), b"DA", "19310228"),
        ((0x10, 0x1040), b"LO", "12 Harbour Street"),
        ((8, 0x12), b"DA", "20260204"),
        ((8, 0x18), b"UI", "1.2.3.4711.99.1"),
        ((8, 0x20), b"DA", "20260203"),
        ((8, 0x22), b"DA", "20260205"),
        ((8, 0x30), b"TM", "104205.123"),
        ((8, 0x32), b"TM", "104207.456"),
        ((8, 0x50), b"SH", "ACC-88-17"),
        ((8, 0x80), b"LO", "Harbourside Clinic"),
        ((8, 0x90), b"PN", "HOLLIS^DR"),
        ((8, 0x1010), b"SH", "ROOM-SEVEN"),
        ((8, 0x1030), b"LO", "Back of Tessa"),
        ((8, 0x1070), b"PN", "OPERATOR^ANN"),
        ((0x18, 0x1000), b"LO", "SERIAL-55-66"),
        ((0x20, 0x0d), b"UI", "1.2.3.4711.99.2"),
        ((0x20, 0x10), b"SH", "STUDY-4711"),
        ((0x20, 0x4000), b"LT", "remember to call her daughter"),
        ((0x28, 0x301), b"CS", "YES"),
        ((0x18, 0x1164), b"DS", "0.2\\0.2"),
    ] {
        file.text(tag, vr, text);
    }
    let item = vec![((0x40, 7), *b"LO", Value::Text("Lumbar, for Quimby".to_owned()))];
    file.put((0x40, 0x275), b"SQ", Value::Items(vec![item]));
    file
}

#[test]
fn no_text_of_a_dicom_file_is_found_in_what_is_exported() {
    let place = folder();
    let source = place.path().join("QUIMBY TESSA");
    fs::create_dir(&source).expect("a folder");
    let dicom = named_dicom();
    fs::write(source.join("Tessa.dcm"), dicom.bytes()).expect("a file");
    let frame = import_frame(&source.join("Tessa.dcm")).expect("a frame");
    let mut shot = Shot::new("Tessa", "QUIMBY TESSA/Tessa.dcm", View::Lateral);
    shot.taken.clone_from(&frame.taken);
    let mut case = Case { shots: vec![shot].into(), ..Case::default() };
    let file = place.path().join("Tessa.case.json");
    let save = |case: &Case| fs::write(&file, to_text(&file, case).expect("a case")).expect("a file");
    save(&case);
    let out = place.path().join("given");
    let export = || {
        stillmark_cli(["export".as_ref(), file.as_os_str(), "--out".as_ref(), out.as_os_str()])
            .expect("a run")
    };
    // The file says that words are burned in, so nothing leaves before something is covered.
    let run = export();
    assert_eq!(run.status, Some(2));
    assert!(run.err.contains("text") && !out.exists(), "{}", run.err);
    case.shots[0].covers = vec![Cover::between(Point::new(0.0, 0.0), Point::new(44.0, 18.0)).expect("a box")];
    save(&case);
    let run = export();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let mut texts = Vec::new();
    texts_of(&dicom.elements, &mut texts);
    // What every grey picture says, and numbers of one or two signs, are no one's.
    texts.retain(|text| !["MONOCHROME2", "ISO_IR 100", "YES"].contains(&text.as_str()));
    assert!(texts.len() >= 22, "{texts:?}");
    let parts = texts.iter().flat_map(|text| text.split(['^', '\\'])).filter(|part| part.len() >= 4);
    let words: Vec<&str> = parts.chain(["Tessa", "10:42", "DICM"]).collect();
    search(&out, &words);
    let exported = open_case(&out.join("exported.case.json")).expect("the exported case").case;
    let picture = image::open(out.join(&exported.shots[0].image)).expect("a picture").into_luma16();
    for (x, y, grey) in picture.enumerate_pixels() {
        let stored = frame.value(x, y).expect("inside");
        let covered = x < 44 && y < 18;
        assert_eq!(grey.0[0], if covered { 0 } else { stored }, "{x} {y}");
    }
}
