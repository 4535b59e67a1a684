//! DICOM: every way of writing pixels that is read, and everything in it that decoders get wrong without an error.
//! Files are written by `dicom_bytes` from the standard, not by the library that reads them.

use std::path::{Path, PathBuf};

use stillmark::app::files::questions::Purpose;
use stillmark::app::work::cancel::Cancel;
use stillmark::app::work::effect::{Effect, Outcome};
use stillmark::app::work::performer::{Perform as _, Performer};
use stillmark::case::image::facts::{Facts, GrayCurve, Modality, SpacingCorrection, WindowFunction};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::io::error::{Error, ErrorKind};
use stillmark::io::import::source::Source;
use stillmark::io::import::{import_bytes, is_directory, listed_in, pictures_in};
use stillmark::scene::window_level::voi;

use crate::dicom_bytes::{
    BIG, DEFLATED, EXPLICIT, File, IMPLICIT, Pixels, Value, deflated, jpeg_lossless, planes_of, rle,
};
use crate::support::{folder, stillmark_cli};

const COLUMNS: u16 = 24;
const ROWS: u16 = 16;

fn values(bits: u32) -> Vec<u16> {
    (0..u32::from(COLUMNS) * u32::from(ROWS))
        .map(|i| u16::try_from((i * 37) % (1 << bits)).expect("below 65536"))
        .collect()
}

fn little(words: &[u16]) -> Vec<u8> {
    words.iter().flat_map(|word| word.to_le_bytes()).collect()
}

fn opened(file: &File) -> Frame {
    import_bytes(Path::new("a.dcm"), &file.bytes()).unwrap_or_else(|error| panic!("{error}"))
}

fn refused(file: &File) -> Error {
    let error = import_bytes(Path::new("a.dcm"), &file.bytes()).expect_err("a refusal");
    let text = error.to_string();
    assert!(text.starts_with("a.dcm: ") && text.lines().count() == 1 && !text.contains('!'), "{text}");
    assert!(!text.contains("cannot be decoded"), "{text}");
    error
}

fn stored(frame: &Frame) -> Vec<i32> {
    let all = (0..frame.height).flat_map(|y| (0..frame.width).map(move |x| (x, y)));
    all.map(|(x, y)| frame.facts.stored(frame.value(x, y).expect("inside"))).collect()
}

fn grey12(syntax: &'static str, pixels: Pixels) -> File {
    File::grey(COLUMNS, ROWS, 12, false).written(syntax).with_pixels(pixels)
}

fn fragment(piece: Vec<u8>) -> Pixels {
    Pixels::Fragments { table: Vec::new(), pieces: vec![piece] }
}

fn jpeg_ls(words: &[u16]) -> Vec<u8> {
    let mut out = Vec::new();
    jpegls::encode(words, u32::from(COLUMNS), u32::from(ROWS), &mut out).expect("encoded");
    out
}

#[test]
fn every_lossless_syntax_gives_the_stored_values() {
    let words = values(12);
    let want: Vec<i32> = words.iter().map(|&word| i32::from(word)).collect();
    let files = [
        grey12(EXPLICIT, Pixels::Words(words.clone())),
        grey12(IMPLICIT, Pixels::Words(words.clone())),
        grey12(BIG, Pixels::Words(words.clone())),
        grey12(DEFLATED, Pixels::Words(words.clone())),
        grey12(".1.98", fragment(little(&words))),
        grey12(".8.1", fragment(deflated(&little(&words)))),
        grey12(".5", fragment(rle(&planes_of(&words)))),
        grey12(".4.57", fragment(jpeg_lossless(&words, COLUMNS, ROWS, 12))),
        grey12(".4.70", fragment(jpeg_lossless(&words, COLUMNS, ROWS, 12))),
        grey12(".4.80", fragment(jpeg_ls(&words))),
        grey12(".4.90", fragment(include_bytes!("samples/grey-12-bit.j2k").to_vec())),
        File { preamble: false, ..grey12(EXPLICIT, Pixels::Words(words.clone())) },
        File { preamble: false, meta: false, ..grey12(EXPLICIT, Pixels::Words(words.clone())) },
        File { preamble: false, meta: false, ..grey12(IMPLICIT, Pixels::Words(words.clone())) },
        File { preamble: false, meta: false, ..grey12(BIG, Pixels::Words(words.clone())) },
    ];
    for file in &files {
        let frame = opened(file);
        assert_eq!((frame.width, frame.height), (24, 16));
        assert!(matches!(frame.samples, Samples::Gray16(_)));
        assert_eq!(stored(&frame), want, "1.2.840.10008.1.2{} {} {}", file.syntax, file.preamble, file.meta);
        assert_eq!(frame.warnings, [""; 0]);
    }
}

#[test]
fn jpeg_baseline_is_within_one_grey_and_a_cut_stream_is_refused() {
    let smooth =
        image::GrayImage::from_fn(24, 16, |x, y| image::Luma([u8::try_from(4 * x + 6 * y).unwrap()]));
    let mut stream = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut stream, 100).encode_image(&smooth).unwrap();
    let file = |stream: &[u8]| {
        File::grey(COLUMNS, ROWS, 8, false).written(".4.50").with_pixels(fragment(stream.to_vec()))
    };
    let frame = opened(&file(&stream));
    for (x, y, grey) in smooth.enumerate_pixels() {
        let found = frame.value(x, y).unwrap();
        assert!(found.abs_diff(u16::from(grey.0[0])) <= 1, "{x} {y}: {found} {grey:?}");
    }
    for cut in [2, 20, stream.len() / 2] {
        let text = refused(&file(&stream[..stream.len() - cut])).text;
        assert!(text.contains("JPEG baseline pixels are damaged"), "{text}");
    }
}

#[test]
fn colours_become_luma_and_their_transform_is_the_files() {
    let rgb: Vec<u8> =
        (0..384_u32).flat_map(|i| [3, 5, 7].map(|k| u8::try_from((i * k) % 256).unwrap())).collect();
    let luma =
        |p: &[u8]| (2126 * i32::from(p[0]) + 7152 * i32::from(p[1]) + 722 * i32::from(p[2]) + 5000) / 10_000;
    let want: Vec<i32> = rgb.chunks(3).map(luma).collect();
    let colour = |meaning: &str, planes: u16, syntax, pixels| {
        let mut file = File::grey(COLUMNS, ROWS, 8, false).written(syntax).with_pixels(pixels);
        file.short((0x28, 2), 3);
        file.short((0x28, 6), planes);
        file.text((0x28, 4), b"CS", meaning);
        file
    };
    let by_plane: Vec<Vec<u8>> = (0..3).map(|k| rgb.iter().skip(k).step_by(3).copied().collect()).collect();
    let j2k = include_bytes!("samples/colour.j2k").to_vec();
    for file in [
        colour("RGB", 0, EXPLICIT, Pixels::Bytes(rgb.clone())),
        colour("RGB", 1, EXPLICIT, Pixels::Bytes(by_plane.concat())),
        colour("RGB", 1, ".5", fragment(rle(&by_plane))),
        colour("YBR_RCT", 0, ".4.90", fragment(j2k)),
    ] {
        let frame = opened(&file);
        assert!(frame.was_colour);
        assert_eq!(stored(&frame), want, "{}", file.syntax);
    }
    // A red picture as JPEG, its colours written as YCbCr with nothing in the stream to say so.
    let red = image::RgbImage::from_pixel(24, 16, image::Rgb([200, 20, 30]));
    let mut stream = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut stream, 100).encode_image(&red).unwrap();
    let frame = opened(&colour("YBR_FULL_422", 0, ".4.50", fragment(stream)));
    assert!(frame.value(5, 5).unwrap().abs_diff(u16::try_from(luma(&[200, 20, 30])).unwrap()) <= 1);
}

#[test]
fn palettes_and_single_bits_are_read() {
    let mut palette = File::grey(2, 2, 8, false).with_pixels(Pixels::Bytes(vec![0, 1, 2, 9]));
    palette.text((0x28, 4), b"CS", "PALETTE COLOR");
    for (k, tag) in [0x1101, 0x1102, 0x1103].into_iter().enumerate() {
        palette.put((0x28, tag), b"US", Value::Shorts(vec![3, 0, 16]));
        let mut entries = vec![100, 200, 300];
        entries[k] = 60_000;
        palette.put((0x28, tag + 0x100), b"OW", Value::Shorts(entries));
    }
    let frame = opened(&palette);
    let luma = |p: [u32; 3]| u16::try_from((2126 * p[0] + 7152 * p[1] + 722 * p[2] + 5000) / 10_000).unwrap();
    let want = [
        luma([60_000, 100, 100]),
        luma([200, 60_000, 200]),
        luma([300, 300, 60_000]),
        luma([300, 300, 60_000]),
    ];
    assert_eq!(frame.samples, Samples::Gray16(want.to_vec()));

    let mut bits =
        File::grey(3, 3, 8, false).with_pixels(Pixels::Bytes(vec![0b0101_0101, 0b1111_1111, 0b11]));
    bits.short((0x28, 0x100), 1);
    bits.short((0x28, 0x101), 1);
    bits.short((0x28, 0x102), 0);
    bits.text((0x28, 8), b"IS", "2");
    let source = Source::read(Path::new("a"), bits.bytes()).unwrap();
    assert_eq!(source.frame(0).unwrap().samples, Samples::Gray8(vec![1, 0, 1, 0, 1, 0, 1, 0, 1]));
    assert_eq!(source.frame(1).unwrap().samples, Samples::Gray8(vec![1, 1, 1, 1, 1, 1, 1, 1, 1]));
}

#[test]
fn frames_are_read_one_by_one_however_they_are_written() {
    let words = values(12);
    let second: Vec<u16> = words.iter().rev().copied().collect();
    let mut native = grey12(EXPLICIT, Pixels::Words([words.clone(), second.clone()].concat()));
    let first_coded = rle(&planes_of(&words));
    let table = vec![0, u32::try_from(first_coded.len() + 8).unwrap()];
    let pieces = vec![first_coded, rle(&planes_of(&second))];
    let mut coded = grey12(".5", Pixels::Fragments { table, pieces: pieces.clone() });
    let mut bare = grey12(".5", Pixels::Fragments { table: Vec::new(), pieces });
    let cut = jpeg_lossless(&words, COLUMNS, ROWS, 12);
    let halves = vec![cut[..40].to_vec(), cut[40..].to_vec(), jpeg_lossless(&second, COLUMNS, ROWS, 12)];
    let mut in_parts = grey12(".4.70", Pixels::Fragments { table: Vec::new(), pieces: halves });
    for file in [&mut native, &mut coded, &mut bare, &mut in_parts] {
        file.text((0x28, 8), b"IS", "2");
        file.text((0x18, 0x1063), b"DS", "33.3");
        let source = Source::read(Path::new("a"), file.bytes()).unwrap();
        assert_eq!(source.frames(), 2);
        for (n, want) in [(0, &words), (1, &second)] {
            let frame = source.frame(n).unwrap();
            assert_eq!(frame.samples, Samples::Gray16(want.clone()), "{} {n}", file.syntax);
            assert_eq!((frame.facts.frames, frame.facts.frame_time_ms), (2, Some(33.3)));
        }
        let error = source.frame(2).unwrap_err();
        assert_eq!(error.text, "it has no frame 2; its frames are 0 to 1");
    }
    // The second frame is missing: the first can be seen all the same.
    let mut short = grey12(EXPLICIT, Pixels::Words(words));
    short.text((0x28, 8), b"IS", "2");
    let source = Source::read(Path::new("a"), short.bytes()).unwrap();
    assert!(source.frame(0).is_ok());
    assert!(source.frame(1).unwrap_err().text.contains("before its frame 1 does"));
}

#[test]
fn syntaxes_that_are_not_read_are_refused_by_their_names() {
    for (syntax, name) in [
        (".4.102", "MPEG-4 AVC high profile"),
        (".4.107", "HEVC main profile"),
        (".4.93", "JPEG 2000 part 2"),
        (".4.94", "JPIP referenced"),
        (".4.112", "JPEG XL"),
    ] {
        let error = refused(&grey12(syntax, fragment(vec![0; 64])));
        assert_eq!(error.kind, ErrorKind::Unsupported);
        assert!(error.text.contains(name), "{}", error.text);
    }
    let error = refused(&grey12(".77", fragment(vec![0; 64])));
    assert!(error.text.contains("1.2.840.10008.1.2.77"), "{}", error.text);
    // A stream of process 2 with 12 bits.
    let mut twelve = jpeg_lossless(&values(12), COLUMNS, ROWS, 12);
    twelve[3] = 0xc1;
    let error = refused(&grey12(".4.51", fragment(twelve)));
    assert!(error.text.contains("JPEG extended with 12 bits per sample"), "{}", error.text);
    let float = {
        let mut file = grey12(EXPLICIT, Pixels::None);
        file.put((0x7fe0, 8), b"OW", Value::Bytes(vec![0; 1536]));
        file
    };
    assert!(refused(&float).text.contains("floating-point"));
    assert!(refused(&grey12(EXPLICIT, Pixels::None)).text.contains("without an image"));
}

#[test]
fn numbers_of_unknown_type_are_read_as_text() {
    let mut file = grey12(EXPLICIT, Pixels::Words(values(12)));
    file.put((0x28, 0x30), b"UN", Value::Text("0.14\\0.14 ".to_owned()));
    file.put((0x28, 0x1053), b"UN", Value::Text("2.5 ".to_owned()));
    file.put((0x28, 0x1052), b"UN", Value::Text("-100".to_owned()));
    let facts = opened(&file).facts;
    assert_eq!(facts.spacing.pixel_mm, Some([0.14, 0.14]));
    assert_eq!(facts.modality, Modality::Rescale { slope: 2.5, intercept: -100.0 });
}

#[test]
fn spacing_that_cannot_be_meant_leaves_the_picture_uncalibrated() {
    for bad in ["0\\0", "nan\\nan", "-0.1\\-0.1", "inf\\inf", "1e300\\1e300", "0.1"] {
        let mut file = grey12(EXPLICIT, Pixels::Words(values(12)));
        file.text((0x28, 0x30), b"DS", bad);
        file.text((0x18, 0x1164), b"DS", bad);
        let frame = opened(&file);
        assert_eq!((frame.facts.spacing.pixel_mm, frame.facts.spacing.imager_mm), (None, None), "{bad}");
        assert_eq!(frame.warnings.len(), 2, "{bad}");
    }
    let mut file = grey12(EXPLICIT, Pixels::Words(values(12)));
    file.text((0x18, 0x1164), b"DS", "0.2\\0.2");
    file.text((0x18, 0x1114), b"DS", "1.428571");
    file.text((0x28, 0x0a02), b"CS", "FIDUCIAL");
    let spacing = opened(&file).facts.spacing;
    assert_eq!((spacing.imager_mm, spacing.magnification), (Some([0.2, 0.2]), Some(1.428_571)));
    assert_eq!(spacing.calibration, Some(SpacingCorrection::Fiducial));
}

#[test]
fn signed_samples_keep_their_sign_whatever_the_unused_bits_hold() {
    let words = |raw: [u16; 4]| Pixels::Words(raw.to_vec());
    let bare = File::grey(2, 2, 12, true).with_pixels(words([0x0fff, 0x0800, 0x07ff, 0]));
    let extended = File::grey(2, 2, 12, true).with_pixels(words([0xffff, 0xf800, 0x07ff, 0]));
    for file in [&bare, &extended] {
        assert_eq!(stored(&opened(file)), [-1, -2048, 2047, 0]);
    }
    let thirteen = File::grey(2, 2, 13, true).with_pixels(words([0x1fff, 0x1000, 0x0fff, 0]));
    assert_eq!(stored(&opened(&thirteen)), [-1, -4096, 4095, 0]);
    // Through a codec: the stream has 13 bits without a sign.
    let coded = jpeg_lossless(&[0x1fff, 0x1000, 0x0fff, 0], 2, 2, 13);
    let file = File::grey(2, 2, 13, true).written(".4.70").with_pixels(fragment(coded));
    assert_eq!(stored(&opened(&file)), [-1, -4096, 4095, 0]);
}

fn lut(first: u16, bits: u16, entries: &[u16]) -> Vec<((u16, u16), [u8; 2], Value)> {
    let count = u16::try_from(entries.len()).expect("a small table");
    vec![
        ((0x28, 0x3002), *b"US", Value::Shorts(vec![count, first, bits])),
        ((0x28, 0x3006), *b"OW", Value::Shorts(entries.to_vec())),
    ]
}

#[test]
fn tables_windows_and_inversion_are_kept_and_shown_as_the_standard_says() {
    let mut file = File::grey(2, 2, 8, false).with_pixels(Pixels::Bytes(vec![10, 11, 12, 200]));
    file.text((0x28, 4), b"CS", "MONOCHROME1");
    file.put((0x28, 0x3000), b"SQ", Value::Items(vec![lut(10, 16, &[500, 600, 4000])]));
    file.text((0x28, 0x1050), b"DS", "600");
    file.text((0x28, 0x1051), b"DS", "400");
    file.text((0x28, 0x1056), b"CS", "LINEAR_EXACT");
    file.put((0x28, 0x3010), b"SQ", Value::Items(vec![lut(500, 8, &[0; 100])]));
    let frame = opened(&file);
    let Facts { modality, presets, inverted, .. } = &frame.facts;
    assert!(inverted);
    assert_eq!(*modality, Modality::Table { first: 10, values: vec![500, 600, 4000] });
    let window = GrayCurve::Window { centre: 600.0, width: 400.0, function: WindowFunction::LinearExact };
    assert_eq!(presets[0].curve, window);
    assert!(matches!(&presets[1].curve, GrayCurve::Table { first: 500, white: 255, .. }));
    // Stored 10, 11, 12 and 200 are the values 500, 600, 4000 and 4000; black and white change places.
    let shares = voi::shares(&frame, &window);
    let shown = [10, 11, 12, 200].map(|sample| format!("{:.2}", shares[sample]));
    assert_eq!(shown, ["0.75", "0.50", "0.00", "0.00"]);
}

#[test]
fn what_the_file_says_of_view_side_and_patient_is_not_taken_over() {
    let mut file = grey12(EXPLICIT, Pixels::Words(values(12)));
    file.text((0x18, 0x5101), b"CS", "LL");
    file.text((0x20, 0x60), b"CS", "R");
    file.text((0x08, 0x1030), b"LO", "SECRETSTUDY");
    file.text((0x08, 0x32), b"TM", "104205.123");
    file.text((0x28, 0x301), b"CS", "YES");
    let frame = opened(&file);
    assert_eq!(frame.taken.as_deref(), Some("10:42:05"));
    assert_eq!(frame.facts.burned_in, Some(true));
    let all = format!("{frame:?}");
    for told in ["NOBODY", "SECRETSTUDY", "LL", "Left", "Right", "Lateral"] {
        assert!(!all.contains(told), "{told}");
    }
}

#[test]
fn impossible_layouts_are_refused() {
    let with = |tag, value| {
        let mut file = grey12(EXPLICIT, Pixels::Words(values(12)));
        file.short(tag, value);
        file
    };
    assert!(refused(&with((0x28, 0x10), 0)).text.contains("no area"));
    assert!(refused(&with((0x28, 0x101), 0)).text.contains("0 of 16 bits"));
    assert!(refused(&with((0x28, 0x101), 17)).text.contains("17 of 16 bits"));
    assert!(refused(&with((0x28, 0x102), 3)).text.contains("High Bit 3"));
    assert!(refused(&with((0x28, 0x103), 7)).text.contains("Pixel Representation is 7"));
    assert!(refused(&with((0x28, 0x100), 12)).text.contains("12 bits"));
    assert_eq!(refused(&with((0x28, 0x11), 60_000)).kind, ErrorKind::TooLarge);
    assert!(refused(&with((0x28, 0x10), 17)).text.contains("ends before the image is complete"));
    assert!(refused(&with((0x28, 2), 3)).text.contains("3 samples"));
}

#[test]
fn streams_of_another_size_than_the_files_are_refused_before_a_decoder_sees_them() {
    let words = values(12);
    for (syntax, stream) in [
        (".4.70", jpeg_lossless(&words, COLUMNS, ROWS, 12)),
        (".4.80", jpeg_ls(&words)),
        (".4.90", include_bytes!("samples/grey-12-bit.j2k").to_vec()),
    ] {
        let file = File::grey(8, 8, 12, false).written(syntax).with_pixels(fragment(stream));
        assert!(refused(&file).text.contains("8 × 8"), "{syntax}");
    }
    // Short run-length segments.
    let coded = rle(&planes_of(&words[..100]));
    assert!(refused(&grey12(".5", fragment(coded))).text.contains("RLE lossless pixels are damaged"));
}

#[test]
fn a_small_file_cannot_ask_for_much() {
    // A stream that says it has 16 000 × 16 000 pixels, and nothing more.
    let mut stream = include_bytes!("samples/grey-12-bit.j2k").to_vec();
    for at in [8, 12, 24, 28] {
        stream[at..at + 4].copy_from_slice(&16_000_u32.to_be_bytes());
    }
    let vast =
        |syntax, piece| File::grey(16_000, 16_000, 12, false).written(syntax).with_pixels(fragment(piece));
    assert_eq!(refused(&vast(".4.90", stream)).kind, ErrorKind::TooLarge);
    let lossless = jpeg_lossless(&[0; 4], 16_000, 16_000, 12);
    assert_eq!(refused(&vast(".4.70", lossless)).kind, ErrorKind::TooLarge);
    assert_eq!(refused(&vast(".5", rle(&planes_of(&[0; 4])))).kind, ErrorKind::Damaged);
    // 300 MB of zeros, deflated to 300 kB, where the data set belongs.
    let bomb = deflated(&vec![0; 300 << 20]);
    let empty = File { elements: Vec::new(), ..grey12(DEFLATED, Pixels::None) }.bytes();
    let only = [&empty[..empty.len() - deflated(&[]).len()], &bomb].concat();
    let error = import_bytes(Path::new("a"), &only).unwrap_err();
    assert_eq!(error.kind, ErrorKind::TooLarge, "{error}");
}

#[test]
fn a_dicomdir_stands_for_the_pictures_it_lists() {
    let folder = folder();
    let record = |kind: &str, parts: &str| {
        vec![
            ((4, 0x1430), *b"CS", Value::Text(kind.to_owned())),
            ((4, 0x1500), *b"CS", Value::Text(parts.to_owned())),
        ]
    };
    let mut list = File { class: "1.2.840.10008.1.3.10", ..File::grey(1, 1, 8, false) };
    list.elements.clear();
    list.text((4, 0x1130), b"CS", "SET");
    let records = vec![
        record("PATIENT", ""),
        record("IMAGE", "IMAGES\\IM2"),
        record("IMAGE", "IMAGES\\IM1"),
        record("IMAGE", "IMAGES\\GONE"),
        record("IMAGE", "..\\SECRET"),
        record("SR DOCUMENT", "IMAGES\\REPORT"),
    ];
    list.put((4, 0x1220), b"SQ", Value::Items(records));
    let path = folder.path().join("DICOMDIR");
    std::fs::write(&path, list.bytes()).unwrap();
    std::fs::create_dir(folder.path().join("images")).unwrap();
    let picture = grey12(EXPLICIT, Pixels::Words(values(12))).bytes();
    for name in ["images/im1", "images/im2", "loose.dcm"] {
        std::fs::write(folder.path().join(name), &picture).unwrap();
    }
    assert!(is_directory(&path) && !is_directory(&folder.path().join("loose.dcm")));
    let listed = listed_in(&path).unwrap();
    let names = |paths: &[PathBuf]| -> Vec<String> {
        let name = |path: &PathBuf| path.strip_prefix(folder.path()).unwrap().to_string_lossy().into_owned();
        paths.iter().map(name).collect()
    };
    assert_eq!(names(&listed.pictures), ["images/im2", "images/im1"]);
    assert_eq!(listed.missing, 2);
    assert_eq!(
        names(&pictures_in(folder.path()).unwrap().pictures),
        ["images/im2", "images/im1", "loose.dcm"]
    );
    assert!(import_bytes(&path, &list.bytes()).unwrap_err().text.contains("open its folder"));
}

#[test]
fn the_command_line_gives_a_frame_and_its_facts() {
    let folder = folder();
    let path = folder.path().join("a");
    let words = values(12);
    let mut file = grey12(".5", fragment(rle(&planes_of(&words))));
    file.text((0x28, 0x1053), b"DS", "2");
    file.text((0x28, 0x1052), b"DS", "-1000");
    std::fs::write(&path, file.bytes()).unwrap();
    let run = stillmark_cli([Path::new("frame"), &path]).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let facts: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(facts["coding"], "DICOM, RLE lossless");
    assert_eq!((&facts["columns"], &facts["rows"], &facts["frames"]), (&24.into(), &16.into(), &1.into()));
    assert_eq!(facts["modality"]["intercept"], -1000.0);
    let out = folder.path().join("a.png");
    let run = stillmark_cli([Path::new("frame"), &path, Path::new("--out"), &out]).unwrap();
    assert_eq!((run.status, run.out.as_str(), run.err.as_str()), (Some(0), "", ""));
    assert_eq!(image::open(&out).unwrap().into_luma16().into_raw(), words);
    let run = stillmark_cli([Path::new("frame"), &path, Path::new("--frame"), Path::new("1")]).unwrap();
    assert_eq!(run.status, Some(2));
    assert!(run.err.contains("it has no frame 1; frame 0 is its only one"), "{}", run.err);
    let run = stillmark_cli([Path::new("frame"), &path, Path::new("--out"), &path]).unwrap();
    assert_eq!(run.status, Some(2), "a picture is never written over");
}

#[test]
fn a_folder_is_read_past_a_damaged_file_says_how_far_it_is_and_can_be_stopped() {
    let folder = folder();
    let good = grey12(EXPLICIT, Pixels::Words(values(12))).bytes();
    for (name, bytes) in [("1.dcm", &good[..]), ("2.dcm", &good[..300]), ("3.dcm", &good[..])] {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let open = |when: usize| {
        let (mut heard, cancel) = (0, Cancel::default());
        let mut performer = Performer::default();
        let effect = Effect::Open { paths: vec![folder.path().to_path_buf()], purpose: Purpose::Open };
        let outcomes = performer.perform(effect, &cancel, &mut |outcome| {
            assert!(matches!(outcome, Outcome::Progress { done, of: 3 } if done == heard), "{outcome:?}");
            heard += 1;
            if heard == when {
                cancel.cancel();
            }
        });
        let [Outcome::Pictures { found, trouble, .. }, ..] = &outcomes[..] else { panic!("{outcomes:?}") };
        (found.len(), trouble.clone(), heard)
    };
    let (found, trouble, heard) = open(usize::MAX);
    assert_eq!((found, trouble.len(), heard), (2, 1, 3));
    assert!(trouble[0].contains("2.dcm: "), "{trouble:?}");
    let (found, trouble, heard) = open(1);
    assert_eq!((found, heard), (1, 1));
    assert_eq!(trouble, ["Stopped: 1 of 3 images were read and added."]);
}
