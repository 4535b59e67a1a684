//! A folder of broken inputs: each gives one clear sentence and status 2, or a blocked reading; nothing panics.

#![expect(clippy::print_stdout, reason = "what was seen or left out is part of a test's result")]

use std::io::Cursor;
use std::path::{Path, PathBuf};

use image::{DynamicImage, ImageFormat};
use rand::{Rng as _, SeedableRng as _};
use serde_json::Value;
use stillmark::io::error::ErrorKind;
use stillmark::io::import::{import_bytes, import_frame};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::MarkKind;

use crate::support::{Tiff, assert_one_sentence, case_of, folder, lateral_shot, put, stillmark_cli};

fn good(format: ImageFormat) -> Vec<u8> {
    let noise = |x: u32, y: u32| image::Luma([(x * x * 7 + y * 31 + x * y).to_le_bytes()[0]]);
    let picture = DynamicImage::ImageLuma8(image::ImageBuffer::from_fn(64, 48, noise));
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("a picture in memory");
    bytes.into_inner()
}

/// A PNG of this size in its header and one row of nothing in its data; check sums are right, so that only the
/// size is wrong (ISO/IEC 15948).
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let chunk = |kind: &[u8; 4], data: &[u8]| {
        let mut bytes = u32::try_from(data.len()).expect("small").to_be_bytes().to_vec();
        bytes.extend(kind);
        bytes.extend(data);
        bytes.extend(crc(&bytes[4..]).to_be_bytes());
        bytes
    };
    let mut header = width.to_be_bytes().to_vec();
    header.extend(height.to_be_bytes());
    header.extend([8, 0, 0, 0, 0]);
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    bytes.extend(chunk(b"IHDR", &header));
    // An empty deflate stream in zlib's wrapping (RFC 1950, RFC 1951).
    bytes.extend(chunk(b"IDAT", &[0x78, 0x01, 0x03, 0x00, 0, 0, 0, 1]));
    bytes.extend(chunk(b"IEND", &[]));
    bytes
}

/// CRC-32 of ISO/IEC 15948, annex D.
fn crc(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    };
    !bytes.iter().fold(u32::MAX, step)
}

/// A BMP header of this size with a few bytes of data.
fn bmp_header(width: i32, height: i32) -> Vec<u8> {
    let mut bytes = b"BM".to_vec();
    bytes.extend([0x80, 0, 0, 0, 0, 0, 0, 0, 54, 0, 0, 0, 40, 0, 0, 0]);
    bytes.extend(width.to_le_bytes());
    bytes.extend(height.to_le_bytes());
    bytes.extend([1, 0, 24, 0]);
    bytes.extend([0; 24]);
    bytes.extend([9; 64]);
    bytes
}

fn tiff_header(width: u32, height: u32) -> Vec<u8> {
    let (bits, sample_format, photometric, compression, orientation) = (8, 1, 1, 1, 1);
    Tiff { width, height, bits, sample_format, photometric, compression, orientation, data: &[9; 64] }.bytes()
}

/// A good JPEG with another size in its frame header.
fn jpeg_header(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = good(ImageFormat::Jpeg);
    let at = bytes.windows(2).position(|w| w == [0xff, 0xc0]).expect("a frame header");
    bytes[at + 5..at + 7].copy_from_slice(&height.to_be_bytes());
    bytes[at + 7..at + 9].copy_from_slice(&width.to_be_bytes());
    bytes
}

/// Pictures that must not open, by name.
fn broken_pictures() -> Vec<(&'static str, Vec<u8>)> {
    let half = |format| {
        let bytes = good(format);
        bytes[..bytes.len() / 2].to_vec()
    };
    let mut bit_rot = good(ImageFormat::Png);
    let middle = bit_rot.len() / 2;
    bit_rot[middle] ^= 0xff;
    let mut twelve_bits = good(ImageFormat::Jpeg);
    let at = twelve_bits.windows(2).position(|w| w == [0xff, 0xc0]).expect("a frame header");
    twelve_bits[at + 1] = 0xc1;
    twelve_bits[at + 4] = 12;
    let tiff = good(ImageFormat::Tiff);
    let mut circular = tiff_header(4, 4);
    let ifd = u32::from_le_bytes([circular[4], circular[5], circular[6], circular[7]]);
    let end = circular.len() - 4;
    circular[end..].copy_from_slice(&ifd.to_le_bytes());
    circular[8 + 64 + 2 + 3] = 0;
    vec![
        ("empty.png", Vec::new()),
        ("one-byte.jpg", vec![0xff]),
        ("signature-only.png", b"\x89PNG\r\n\x1a\n".to_vec()),
        ("signature-only.jpg", vec![0xff, 0xd8, 0xff]),
        ("signature-only.tif", b"II*\0".to_vec()),
        ("signature-only.bmp", b"BM\0\0\0\0\0\0\0\0\0\0\0\0".to_vec()),
        ("half.png", half(ImageFormat::Png)),
        ("half.bmp", half(ImageFormat::Bmp)),
        ("half.tif", half(ImageFormat::Tiff)),
        ("cut-end.tif", tiff[..tiff.len() - 3].to_vec()),
        ("header-only.jpg", good(ImageFormat::Jpeg)[..200].to_vec()),
        ("bit-rot.png", bit_rot),
        ("text.png", b"This is a letter and no picture.".to_vec()),
        ("document.png", b"%PDF-1.7 and so on".to_vec()),
        ("zero.png", png_header(0, 0)),
        ("zero-wide.png", png_header(0, 100)),
        ("zero.bmp", bmp_header(0, 0)),
        ("zero.tif", tiff_header(0, 0)),
        ("zero.jpg", jpeg_header(0, 0)),
        ("vast.png", png_header(60_000, 60_000)),
        ("vast.bmp", bmp_header(60_000, 60_000)),
        ("vast.tif", tiff_header(60_000, 60_000)),
        ("vast.jpg", jpeg_header(60_000, 60_000)),
        ("long.png", png_header(1, 4_000_000_000)),
        ("hollow.png", png_header(10_000, 10_000)),
        ("hollow.tif", tiff_header(10_000, 10_000)),
        ("hollow.bmp", bmp_header(10_000, 10_000)),
        ("negative.bmp", bmp_header(-5, i32::MIN)),
        ("twelve-bits.jpg", twelve_bits),
    ]
}

#[test]
fn a_broken_picture_is_one_sentence() {
    let folder = folder();
    for (name, bytes) in broken_pictures() {
        let path = put(folder.path(), name, &bytes);
        match import_frame(&path) {
            Ok(frame) => panic!("{name} opened as {} × {}", frame.width, frame.height),
            Err(error) => {
                println!("{error}");
                assert_one_sentence(&error.to_string(), &path);
            }
        }
    }
    for vast in ["vast.png", "vast.bmp", "vast.tif", "vast.jpg", "long.png"] {
        assert_eq!(import_frame(&folder.path().join(vast)).unwrap_err().kind, ErrorKind::TooLarge, "{vast}");
    }
}

#[test]
fn a_folder_a_pipe_and_a_link_to_itself_are_told_and_never_waited_for() {
    let folder = folder();
    let mut paths = vec![folder.path().to_path_buf(), folder.path().join("gone.png")];
    #[cfg(unix)]
    {
        let circle = folder.path().join("circle.png");
        std::os::unix::fs::symlink(&circle, &circle).unwrap();
        paths.push(circle);
        let pipe = folder.path().join("pipe.png");
        if std::process::Command::new("mkfifo").arg(&pipe).status().is_ok_and(|status| status.success()) {
            paths.push(pipe);
        } else {
            println!("left out: no way to make a pipe here");
        }
        paths.push(PathBuf::from("/dev/null"));
    }
    for path in &paths {
        for error in [import_frame(path).unwrap_err(), open_case(path).unwrap_err()] {
            println!("{error}");
            assert_one_sentence(&error.to_string(), path);
        }
        let run = stillmark_cli([Path::new("read"), path]).unwrap();
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""), "{}", path.display());
        assert_one_sentence(&run.err, path);
    }
}

#[cfg(unix)]
#[test]
fn a_file_without_permission_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = folder();
    let picture = put(folder.path(), "a.png", good(ImageFormat::Png));
    let case = folder.path().join("a.case.json");
    save_case(&case, &case_of("A", vec![lateral_shot("a", "a.png")]), &Over::Nothing).unwrap();
    for path in [&picture, &case] {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o000)).unwrap();
    }
    if std::fs::File::open(&picture).is_ok() {
        println!("left out: whoever runs this may read everything (root)");
        return;
    }
    let error = import_frame(&picture).unwrap_err();
    assert_eq!(error.kind, ErrorKind::NotAllowed);
    assert_one_sentence(&error.to_string(), &picture);
    let run = stillmark_cli([Path::new("read"), &case]).unwrap();
    assert_eq!((run.status, run.out.as_str()), (Some(2), ""));
    assert_one_sentence(&run.err, &case);
}

#[test]
fn a_broken_case_file_is_one_sentence_and_status_2() {
    let folder = folder();
    let start = r#"{"format": "stillmark case", "version": 1, "#;
    let shot = |marks: &str| {
        format!(r#"{start}"shots": [{{"id": "a", "image": "a.png", "view": "lateral", "marks": {marks}}}]}}"#)
    };
    let deep = |open: &str, close: &str| {
        format!("{start}\"x\": {}{}}}", open.repeat(200_000), close.repeat(200_000))
    };
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("empty", Vec::new()),
        ("blank", b" \n ".to_vec()),
        ("text", b"hello".to_vec()),
        ("not-utf8", b"{\"format\": \"\xff\xfe\"}".to_vec()),
        ("zeros", vec![0; 4096]),
        ("list", b"[]".to_vec()),
        ("number", b"7".to_vec()),
        ("null", b"null".to_vec()),
        ("other", b"{}".to_vec()),
        ("picture", good(ImageFormat::Png)),
        ("newer", br#"{"format": "stillmark case", "version": 99}"#.to_vec()),
        ("older", br#"{"format": "stillmark case", "version": 0}"#.to_vec()),
        ("wrong-version", br#"{"format": "stillmark case", "version": "one"}"#.to_vec()),
        ("cut", shot("{}").as_bytes()[..60].to_vec()),
        ("deep-lists", deep("[", "]").into_bytes()),
        ("deep-objects", deep("{\"a\":", "}").replace(":}", ":1}").into_bytes()),
        ("deep-open", "[".repeat(500_000).into_bytes()),
        ("deep-marks", shot(&"[".repeat(100_000)).into_bytes()),
        ("trailing", format!("{} more", shot("{}")).into_bytes()),
        ("nan", shot(r#"{"tip": [[NaN, 1]]}"#).into_bytes()),
        ("infinite", shot(r#"{"tip": [[Infinity, 1]]}"#).into_bytes()),
        ("absurd", shot(r#"{"tip": [[1e300, 1]]}"#).into_bytes()),
        ("too-large", shot(r#"{"tip": [[1e999, 1]]}"#).into_bytes()),
        ("marks-list", shot("[]").into_bytes()),
        ("point-of-three", shot(r#"{"tip": [[1, 2, 3]]}"#).into_bytes()),
        ("words", shot(r#"{"tip": [["a", "b"]]}"#).into_bytes()),
        ("wide-escape", shot(r#"{"tip": [["\ud800", 1]]}"#).into_bytes()),
    ];
    for (name, bytes) in cases {
        let path = put(folder.path(), &format!("{name}.case.json"), &bytes);
        let run = stillmark_cli([Path::new("read"), &path, Path::new("--json")]).unwrap();
        println!("{}", run.err.trim_end());
        assert_eq!((run.status, run.out.as_str()), (Some(2), ""), "{name}");
        assert_one_sentence(&run.err, &path);
    }
}

/// Marks that are well-formed and cannot be read: which issue speaks.
#[test]
fn marks_that_fold_or_repeat_are_blocked_readings() {
    let folder = folder();
    let same = [(300.0, 300.0); 2];
    let mut shots = Vec::new();
    let mut add = |id: &str, kind: MarkKind, points: &[(f64, f64)]| {
        let mut shot = lateral_shot(id, "gone.png");
        shot.marks = shot.marks.with(kind, points);
        shots.push(shot);
    };
    add("crossed", MarkKind::InferiorEndPlate, &[(262.0, 421.0), (405.0, 398.0)]);
    add("repeated", MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (412.0, 305.0), (268.0, 318.0)]);
    add("one place", MarkKind::SuperiorEndPlate, &same);
    add("one place below", MarkKind::InferiorEndPlate, &same);
    add("same plates", MarkKind::InferiorEndPlate, &[(412.0, 305.0), (340.0, 316.0), (268.0, 318.0)]);
    add("far tip", MarkKind::Tip, &[(1e7, -1e7)]);
    add("far wall", MarkKind::PosteriorWall, &[(1e7, 1e7)]);
    add("doubled back", MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0), (412.0, 305.1)]);
    let mut all_one = lateral_shot("all one", "gone.png");
    all_one.marks = all_one.marks.map(|_| stillmark::geom::point::Point::new(5.0, 5.0));
    shots.push(all_one);
    let path = folder.path().join("folds.case.json");
    save_case(&path, &case_of("Folds", shots), &Over::Nothing).unwrap();
    for extra in [&[][..], &["--monte-carlo", "200"][..]] {
        let mut arguments = vec!["read", path.to_str().unwrap(), "--json"];
        arguments.extend(extra);
        let run = stillmark_cli(arguments).unwrap();
        assert_eq!((run.status, run.err.as_str()), (Some(1), ""));
        let all: Value = serde_json::from_str(&run.out).unwrap();
        for reading in all[0]["readings"].as_array().unwrap() {
            assert!(reading["depth"].is_null() && reading["height"].is_null(), "{reading}");
            let issues = reading["issues"].as_array().unwrap();
            let blocking: Vec<_> = issues.iter().filter(|issue| issue["blocks"] == true).collect();
            assert!(!blocking.is_empty(), "{reading}");
            println!("{}: {}", reading["shot"], blocking[0]["text"]);
        }
    }
}

#[test]
fn a_case_whose_pictures_are_broken_is_read_all_the_same() {
    let folder = folder();
    let mut shots = Vec::new();
    for (name, bytes) in broken_pictures() {
        put(folder.path(), name, bytes);
        shots.push(lateral_shot(name, name));
    }
    let path = folder.path().join("a.case.json");
    save_case(&path, &case_of("Broken pictures", shots), &Over::Nothing).unwrap();
    let run = stillmark_cli(["read", path.to_str().unwrap(), "--json"]).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let all: Value = serde_json::from_str(&run.out).unwrap();
    for reading in all[0]["readings"].as_array().unwrap() {
        assert_eq!(reading["issues"][0]["code"], "image_missing", "{reading}");
        assert!(reading["depth"]["value"].is_f64());
        assert_eq!(reading["picture"].as_array().unwrap().len(), 1);
    }
}

/// Thousands of small damages to good pictures: opened or refused in a sentence, never a panic, not even one
/// that is caught.
#[test]
fn damaged_pictures_never_panic() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(20_260_203);
    let tiff16 = {
        let picture = DynamicImage::ImageLuma16(image::ImageBuffer::from_fn(20, 20, |x, y| {
            image::Luma([u16::try_from(x * 1000 + y).unwrap()])
        }));
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, ImageFormat::Tiff).unwrap();
        bytes.into_inner()
    };
    let mut sources: Vec<Vec<u8>> =
        [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::Tiff, ImageFormat::Bmp].map(good).to_vec();
    sources.push(tiff16);
    let (mut opened, mut refused) = (0, 0);
    for source in &sources {
        for _ in 0..400 {
            let mut bytes = source.clone();
            for _ in 0..random.random_range(1..6) {
                // Headers are where damage does most, so half of the hits go there.
                let end = if random.random_bool(0.5) { bytes.len().min(256) } else { bytes.len() };
                let at = random.random_range(0..end);
                bytes[at] = random.random();
            }
            if random.random_bool(0.2) {
                bytes.truncate(random.random_range(0..bytes.len()));
            }
            match import_bytes(Path::new("damaged.png"), &bytes) {
                Ok(frame) => {
                    assert!(frame.width > 0 && frame.height > 0);
                    assert!(frame.value(frame.width - 1, frame.height - 1).is_some());
                    opened += 1;
                }
                Err(error) => {
                    assert_one_sentence(&error.to_string(), Path::new("damaged.png"));
                    assert!(!error.text.contains("cannot be decoded"), "a decoder panicked");
                    refused += 1;
                }
            }
        }
    }
    println!("{opened} opened, {refused} refused");
    assert!(opened > 100 && refused > 100, "{opened} opened, {refused} refused");
}
