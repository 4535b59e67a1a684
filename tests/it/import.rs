//! Good pictures of every kind come through exactly; warnings say what is amiss.

#![expect(clippy::print_stdout, reason = "what was seen or left out is part of a test's result")]

use std::io::Cursor;
use std::path::Path;

use image::{DynamicImage, ExtendedColorType, ImageEncoder as _, ImageFormat};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::io::error::ErrorKind;
use stillmark::io::import::{import_bytes, import_frame, pictures_in};

use crate::support::{Tiff, folder, put, write_picture};

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).expect("a picture in memory");
    bytes.into_inner()
}

fn opened(name: &str, bytes: &[u8]) -> Frame {
    import_bytes(Path::new(name), bytes).unwrap_or_else(|error| panic!("{error}"))
}

fn grey16() -> DynamicImage {
    // Values that an 8-bit detour would change.
    let ramp = |x: u32, y: u32| image::Luma([u16::try_from(x * 257 + y * 4099 + 1).expect("16 bits")]);
    DynamicImage::ImageLuma16(image::ImageBuffer::from_fn(13, 7, ramp))
}

fn grey8() -> DynamicImage {
    DynamicImage::ImageLuma8(image::ImageBuffer::from_fn(13, 7, |x, y| {
        image::Luma([u8::try_from(x * 17 + y).expect("8 bits")])
    }))
}

fn colour16() -> DynamicImage {
    DynamicImage::ImageRgb16(image::ImageBuffer::from_fn(5, 4, |x, y| {
        image::Rgb([x, y, x + y].map(|v| u16::try_from(v * 7001).expect("16 bits")))
    }))
}

#[test]
fn grey_comes_through_exactly_at_its_depth() {
    for (format, name) in [(ImageFormat::Png, "a.png"), (ImageFormat::Tiff, "a.tif")] {
        let frame = opened(name, &encoded(&grey16(), format));
        assert_eq!(frame.samples, Samples::Gray16(grey16().into_luma16().into_raw()), "{name}");
        assert_eq!((frame.width, frame.height, frame.was_colour), (13, 7, false));
        assert_eq!(frame.warnings, Vec::<String>::new(), "{name}");
    }
    for (format, name) in
        [(ImageFormat::Png, "a.png"), (ImageFormat::Tiff, "a.tiff"), (ImageFormat::Bmp, "a.bmp")]
    {
        let frame = opened(name, &encoded(&grey8(), format));
        assert_eq!(frame.samples, Samples::Gray8(grey8().into_luma8().into_raw()), "{name}");
        assert!(!frame.was_colour, "{name}: gray stays gray, however it is stored");
    }
}

#[test]
fn a_jpeg_is_within_its_own_rounding() {
    let frame = opened("a.jpg", &{
        let mut bytes = Vec::new();
        let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 100);
        grey8().write_with_encoder(encoder).unwrap();
        bytes
    });
    let Samples::Gray8(found) = &frame.samples else { panic!("8 bits") };
    let expected = grey8().into_luma8().into_raw();
    let worst = found.iter().zip(&expected).map(|(a, b)| a.abs_diff(*b)).max();
    // Quality 100 has a quantisation step of 1, so at most a step or two through the transform.
    assert!(worst <= Some(2), "{worst:?}");
    assert!(frame.warnings.is_empty(), "{:?}", frame.warnings);
}

#[test]
fn colour_becomes_luma_at_its_depth() {
    // Weights of ITU-R BT.709-6, item 3.2, in floating point; the program's are whole numbers.
    let luma = |rgb: [f64; 3]| 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
    for (format, name) in [(ImageFormat::Png, "a.png"), (ImageFormat::Tiff, "a.tif")] {
        let frame = opened(name, &encoded(&colour16(), format));
        let Samples::Gray16(found) = &frame.samples else { panic!("16 bits") };
        for (value, pixel) in found.iter().zip(colour16().into_rgb16().pixels()) {
            let expected = luma(pixel.0.map(f64::from));
            assert!((f64::from(*value) - expected).abs() <= 0.501, "{value} for {expected}");
        }
        assert!(frame.was_colour);
    }
    for format in [ImageFormat::Png, ImageFormat::Tiff, ImageFormat::Bmp] {
        let frame = opened("a", &encoded(&DynamicImage::ImageRgb8(colour16().into_rgb8()), format));
        let Samples::Gray8(found) = &frame.samples else { panic!("8 bits") };
        for (value, pixel) in found.iter().zip(colour16().into_rgb8().pixels()) {
            assert!((f64::from(*value) - luma(pixel.0.map(f64::from))).abs() <= 0.501);
        }
    }
}

#[test]
fn transparency_is_told_and_not_guessed_at() {
    let clear = image::RgbaImage::from_pixel(3, 3, image::Rgba([90, 90, 90, 10]));
    let frame = opened("a.png", &encoded(&DynamicImage::ImageRgba8(clear), ImageFormat::Png));
    assert_eq!(frame.samples, Samples::Gray8(vec![90; 9]));
    assert!(!frame.was_colour && frame.warnings[0].contains("transparent"), "{:?}", frame.warnings);
    let solid = image::RgbaImage::from_pixel(3, 3, image::Rgba([90, 90, 90, 255]));
    let frame = opened("a.png", &encoded(&DynamicImage::ImageRgba8(solid), ImageFormat::Png));
    assert!(frame.warnings.is_empty());
}

/// An EXIF block with an orientation and the time a picture was taken (CIPA DC-008, 4.6).
fn exif(orientation: u16, taken: &str) -> Vec<u8> {
    let mut bytes = b"II*\0\x08\0\0\0".to_vec();
    bytes.extend(2_u16.to_le_bytes());
    for (tag, kind, count, value) in [(0x0112_u16, 3_u16, 1_u32, u32::from(orientation)), (0x8769, 4, 1, 38)]
    {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend(0_u32.to_le_bytes());
    bytes.extend(1_u16.to_le_bytes());
    bytes.extend(0x9003_u16.to_le_bytes());
    bytes.extend(2_u16.to_le_bytes());
    bytes.extend(u32::try_from(taken.len() + 1).expect("short").to_le_bytes());
    bytes.extend(56_u32.to_le_bytes());
    bytes.extend(0_u32.to_le_bytes());
    bytes.extend(taken.as_bytes());
    bytes.push(0);
    bytes
}

/// Where row 0 and column 0 of the stored picture lie as seen, by orientation (TIFF 6.0, section 8; the same in
/// CIPA DC-008): `(row 0, column 0)`.
const SEEN: [(&str, &str); 8] = [
    ("top", "left"),
    ("top", "right"),
    ("bottom", "right"),
    ("bottom", "left"),
    ("left", "top"),
    ("right", "top"),
    ("right", "bottom"),
    ("left", "bottom"),
];

/// The value stored at column 0, row 0 is 1, at the end of row 0 it is 2, at the end of column 0 it is 3.
fn check_orientation(frame: &Frame, orientation: u16, what: &str) {
    let (row0, column0) = SEEN[usize::from(orientation) - 1];
    let swapped = orientation >= 5;
    assert_eq!((frame.width, frame.height), if swapped { (2, 3) } else { (3, 2) }, "{what}");
    let (right, bottom) = (frame.width - 1, frame.height - 1);
    // Corner where two named edges of the seen picture meet.
    let corner = |a: &str, b: &str| {
        let has = |edge: &str| a == edge || b == edge;
        let x = if has("right") { right } else { 0 };
        let y = if has("bottom") { bottom } else { 0 };
        frame.value(x, y)
    };
    let other = |edge: &str| match edge {
        "left" => "right",
        "right" => "left",
        "top" => "bottom",
        _ => "top",
    };
    assert_eq!(corner(row0, column0), Some(1), "{what}: start");
    assert_eq!(corner(row0, other(column0)), Some(2), "{what}: end of row 0");
    assert_eq!(corner(other(row0), column0), Some(3), "{what}: end of column 0");
}

#[test]
fn orientation_is_applied_in_every_format() {
    let stored = [1_u8, 0, 2, 3, 0, 4];
    for orientation in 1..=8 {
        let block = exif(orientation, "2026:02:03 10:42:05");
        let mut png = Vec::new();
        let mut encoder = image::codecs::png::PngEncoder::new(&mut png);
        encoder.set_exif_metadata(block.clone()).unwrap();
        encoder.write_image(&stored, 3, 2, ExtendedColorType::L8).unwrap();
        let frame = opened("a.png", &png);
        check_orientation(&frame, orientation, &format!("PNG, orientation {orientation}"));
        assert_eq!(frame.taken.as_deref(), Some("10:42:05"));

        let tiff = Tiff { orientation, ..Tiff::plain(3, 2, &stored) };
        check_orientation(&opened("a.tif", &tiff.bytes()), orientation, &format!("TIFF, {orientation}"));

        // In a JPEG the corners are 16 px wide, so that its blocks keep them apart.
        let mut jpeg = Vec::new();
        let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, 100);
        encoder.set_exif_metadata(block).unwrap();
        let wide: Vec<u8> =
            (0..32).flat_map(|y| (0..48).map(move |x| 50 * stored[y / 16 * 3 + x / 16])).collect();
        encoder.write_image(&wide, 48, 32, ExtendedColorType::L8).unwrap();
        let frame = opened("a.jpg", &jpeg);
        assert_eq!(frame.taken.as_deref(), Some("10:42:05"));
        let Samples::Gray8(samples) = &frame.samples else { panic!("8 bits") };
        let small = |x: u32, y: u32| {
            let at = ((y * 16 + 8) * frame.width + x * 16 + 8) as usize;
            (samples[at] + 25) / 50
        };
        let (width, height) = (frame.width / 16, frame.height / 16);
        let samples =
            (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| small(x, y)).collect();
        let small = Frame { width, height, samples: Samples::Gray8(samples), ..frame.clone() };
        check_orientation(&small, orientation, &format!("JPEG, orientation {orientation}"));
    }
}

/// A TIFF of [`Tiff::bytes`] that points to an EXIF directory (CIPA DC-008, 4.6.3) with the time a picture was taken and, for a
/// camera's, its exposure time.
fn with_exif(mut tiff: Vec<u8>, taken: &str, by_camera: bool) -> Vec<u8> {
    let ifd = u32::from_le_bytes(tiff[4..8].try_into().expect("four bytes")) as usize;
    let count = u16::from_le_bytes([tiff[ifd], tiff[ifd + 1]]) + 1;
    tiff[ifd..ifd + 2].copy_from_slice(&count.to_le_bytes());
    let entry = |tag: u16, kind: u16, count: usize, value: usize| {
        let [count, value] = [count, value].map(|n| u32::try_from(n).expect("a small file").to_le_bytes());
        [&tag.to_le_bytes()[..], &kind.to_le_bytes(), &count, &value].concat()
    };
    // The directory's end, which says that no page follows, moves behind the new entry.
    tiff.truncate(tiff.len() - 4);
    let at = tiff.len() + 12 + 4;
    tiff.extend(entry(0x8769, 4, 1, at));
    tiff.extend(0_u32.to_le_bytes());
    let values = at + 2 + 12 * (1 + usize::from(by_camera)) + 4;
    tiff.extend((1 + u16::from(by_camera)).to_le_bytes());
    if by_camera {
        tiff.extend(entry(0x829a, 5, 1, values));
    }
    tiff.extend(entry(0x9003, 2, taken.len() + 1, values + 8));
    tiff.extend(0_u32.to_le_bytes());
    tiff.extend([1_u32, 60].iter().flat_map(|n| n.to_le_bytes()));
    tiff.extend(taken.as_bytes());
    tiff.push(0);
    tiff
}

#[test]
fn a_tiffs_exif_tells_the_time_and_whether_a_camera_took_it() {
    let [plain, photo] = [false, true].map(|by_camera| {
        let tiff = Tiff::plain(3, 2, &[1, 2, 3, 4, 5, 6]);
        opened("a.tif", &with_exif(tiff.bytes(), "2026:02:03 10:42:05", by_camera))
    });
    for frame in [&plain, &photo] {
        assert_eq!(frame.samples, Samples::Gray8(vec![1, 2, 3, 4, 5, 6]));
        assert_eq!(frame.taken.as_deref(), Some("10:42:05"));
    }
    let says_photo = |frame: &Frame| frame.warnings.iter().any(|warning| warning.contains("photo"));
    assert!(!says_photo(&plain) && says_photo(&photo), "{:?} {:?}", plain.warnings, photo.warnings);
}

#[test]
fn a_time_that_is_none_is_left_out() {
    for nonsense in ["", "2026:02:03", "2026:02:03 25:00:00", "2026:02:03 1:2:3", "    :  :     :  :  "] {
        let mut png = Vec::new();
        let mut encoder = image::codecs::png::PngEncoder::new(&mut png);
        encoder.set_exif_metadata(exif(1, nonsense)).unwrap();
        encoder.write_image(&[7], 1, 1, ExtendedColorType::L8).unwrap();
        assert_eq!(opened("a.png", &png).taken, None, "{nonsense}");
    }
}

#[test]
fn a_truncated_jpeg_opens_with_a_warning() {
    let whole = encoded(
        &DynamicImage::ImageLuma8(image::ImageBuffer::from_fn(160, 160, |x, y| {
            image::Luma([(x * y).to_le_bytes()[0]])
        })),
        ImageFormat::Jpeg,
    );
    assert!(opened("a.jpg", &whole).warnings.is_empty());
    for keep in [whole.len() / 2, whole.len() - 100, whole.len() - 2] {
        let frame = opened("a.jpg", &whole[..keep]);
        assert_eq!((frame.width, frame.height), (160, 160));
        assert!(frame.warnings[0].contains("ends before the image is complete"), "{:?}", frame.warnings);
    }
}

#[test]
fn a_thumbnail_does_not_hide_a_cut() {
    // A JPEG with a whole small JPEG in an application segment, cut: the small one's end must not count.
    let whole = encoded(&grey8(), ImageFormat::Jpeg);
    let mut with_small = whole[..2].to_vec();
    with_small.extend([0xff, 0xe7]);
    with_small.extend(u16::try_from(whole.len() + 2).unwrap().to_be_bytes());
    with_small.extend(&whole);
    with_small.extend(&whole[2..]);
    assert!(opened("a.jpg", &with_small).warnings.is_empty());
    let cut = &with_small[..with_small.len() - 2];
    assert_eq!(opened("a.jpg", cut).warnings.len(), 1);
}

#[test]
fn a_tiff_of_several_pages_shows_its_first_and_says_so() {
    let mut bytes = Cursor::new(Vec::new());
    let mut encoder = tiff::encoder::TiffEncoder::new(&mut bytes).unwrap();
    for page in 1..=3_u16 {
        encoder.write_image::<tiff::encoder::colortype::Gray16>(2, 2, &[page * 1000; 4]).unwrap();
    }
    let frame = opened("a.tif", &bytes.into_inner());
    assert_eq!(frame.samples, Samples::Gray16(vec![1000; 4]));
    assert_eq!(frame.warnings.len(), 1);
    assert!(frame.warnings[0].contains("3 pages"), "{:?}", frame.warnings);
}

#[test]
fn samples_that_are_not_read_are_named() {
    let plain = Tiff::plain(2, 2, &[9; 16]);
    let cases = [
        (Tiff { bits: 16, sample_format: 2, ..plain }, "16-bit signed numbers"),
        (Tiff { bits: 32, sample_format: 1, ..plain }, "32-bit gray"),
        (Tiff { bits: 32, sample_format: 3, ..plain }, "32-bit floating-point numbers"),
        (Tiff { bits: 12, ..plain }, "12-bit gray"),
        (Tiff { bits: 8, photometric: 3, ..plain }, "8-bit palette colors"),
    ];
    for (tiff, what) in cases {
        let error = import_bytes(Path::new("a.tif"), &tiff.bytes()).unwrap_err();
        assert_eq!(error.kind, ErrorKind::Unsupported, "{error}");
        assert!(error.text.contains(what), "{error}");
    }
    let fax = Tiff { bits: 1, compression: 3, ..plain };
    assert_eq!(import_bytes(Path::new("a.tif"), &fax.bytes()).unwrap_err().kind, ErrorKind::Unsupported);
    // White is zero: turned over, so that bone stays bright.
    let turned = Tiff { photometric: 0, ..plain };
    assert_eq!(opened("a.tif", &turned.bytes()).samples, Samples::Gray8(vec![246; 4]));
}

#[test]
fn the_content_decides_and_the_name_is_told_to_lie() {
    let frame = opened("lateral.png", &encoded(&grey8(), ImageFormat::Bmp));
    assert_eq!((frame.width, frame.height), (13, 7));
    assert!(frame.warnings[0].contains(".png") && frame.warnings[0].contains("BMP"), "{:?}", frame.warnings);
}

#[test]
fn the_digest_is_of_the_files_bytes() {
    let folder = folder();
    let path = folder.path().join("a.png");
    write_picture(&path, 4, 4).unwrap();
    let frame = import_frame(&path).unwrap();
    let output = std::process::Command::new("sha256sum").arg(&path).output();
    // Outside authority: coreutils, where it is installed.
    let Ok(output) = output else {
        println!("left out: no sha256sum here");
        return;
    };
    let expected = String::from_utf8_lossy(&output.stdout).split(' ').next().unwrap().to_owned();
    assert_eq!(frame.digest, format!("sha256:{expected}"));
}

#[test]
fn a_folder_lists_its_pictures_as_people_count() {
    let folder = folder();
    for name in ["lateral-10.png", "lateral-2.png", "ap.jpg", ".hidden.png"] {
        write_picture(&folder.path().join(name), 4, 4).unwrap();
    }
    put(folder.path(), "no-ending", std::fs::read(folder.path().join("ap.jpg")).unwrap());
    put(folder.path(), "notes.png", "only a note");
    std::fs::create_dir(folder.path().join("folder.png")).unwrap();
    let names: Vec<_> = pictures_in(folder.path())
        .unwrap()
        .pictures
        .iter()
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(names, ["ap.jpg", "lateral-2.png", "lateral-10.png", "no-ending"]);
    assert_eq!(pictures_in(&folder.path().join("gone")).unwrap_err().kind, ErrorKind::Missing);
}
