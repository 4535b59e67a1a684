//! Odd files and pastes: formats that other programs export, short films, photos, and what only looks like an image. Each
//! opens or is refused with a sentence; nothing panics. Byte layouts from the formats' own specifications.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::io::Cursor;
use std::path::Path;

use image::codecs::gif::GifEncoder;
use image::{DynamicImage, Frame as Still, GrayImage, ImageFormat, Luma, RgbaImage};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::io::import::import_bytes;
use stillmark::io::import::source::Source;

use crate::support::{assert_one_sentence, folder, stillmark_cli};

fn gray() -> GrayImage {
    GrayImage::from_fn(24, 16, |x, y| Luma([(x * 9 + y * 3).to_le_bytes()[0]]))
}

fn written(format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let picture = DynamicImage::ImageLuma8(gray());
    // WebP is written in colors only, GIF with opacity.
    let picture = match format {
        ImageFormat::WebP => DynamicImage::ImageRgb8(picture.into_rgb8()),
        ImageFormat::Gif => DynamicImage::ImageRgba8(picture.into_rgba8()),
        _ => picture,
    };
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

pub(crate) fn animated(frames: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = GifEncoder::new(&mut bytes);
    for n in 0..frames {
        let picture = RgbaImage::from_pixel(8, 6, image::Rgba([40 * n, 40 * n, 40 * n, 255]));
        let delay = image::Delay::from_numer_denom_ms(70, 1);
        encoder.encode_frame(Still::from_parts(picture, 0, 0, delay)).unwrap();
    }
    drop(encoder);
    bytes
}

pub(crate) fn jpeg(gray: u8) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    GrayImage::from_pixel(16, 16, Luma([gray])).write_to(&mut bytes, ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

fn chunk(id: &[u8], data: &[u8]) -> Vec<u8> {
    let mut out = id.to_vec();
    out.extend(u32::try_from(data.len()).unwrap().to_le_bytes());
    out.extend(data);
    out.extend(std::iter::repeat_n(0, data.len() % 2));
    out
}

pub(crate) fn avi(coding: &[u8; 4], frames: &[Vec<u8>]) -> Vec<u8> {
    let mut header = 50_000_u32.to_le_bytes().to_vec();
    header.resize(56, 0);
    let mut stream = [b"vids", coding.as_slice()].concat();
    stream.resize(56, 0);
    let head = [b"hdrl".to_vec(), chunk(b"avih", &header), chunk(b"strh", &stream)].concat();
    let mut movi = b"movi".to_vec();
    frames.iter().for_each(|frame| movi.extend(chunk(b"00dc", frame)));
    let all = [b"AVI ".to_vec(), chunk(b"LIST", &head), chunk(b"LIST", &movi)].concat();
    chunk(b"RIFF", &all)
}

/// A JPEG without its Huffman tables, as many cameras write motion JPEG.
fn without_tables(jpeg: &[u8]) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    let mut at = 2;
    while jpeg[at + 1] != 0xda {
        let length = usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
        if jpeg[at + 1] != 0xc4 {
            out.extend(&jpeg[at..at + 2 + length]);
        }
        at += 2 + length;
    }
    out.extend(&jpeg[at..]);
    out
}

fn opened(name: &str, bytes: &[u8]) -> Frame {
    import_bytes(Path::new(name), bytes).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn middle(frame: &Frame) -> u16 {
    frame.value(frame.width / 2, frame.height / 2).unwrap()
}

#[test]
fn what_other_programs_export_opens_with_its_values() {
    for (name, format) in
        [("a.webp", ImageFormat::WebP), ("a.gif", ImageFormat::Gif), ("a.pgm", ImageFormat::Pnm)]
    {
        let frame = opened(name, &written(format));
        assert_eq!((frame.width, frame.height, frame.facts.frames), (24, 16, 1), "{name}");
        assert_eq!(frame.samples, Samples::Gray8(gray().into_raw()), "{name}");
        assert!(frame.warnings.is_empty(), "{name}: {:?}", frame.warnings);
    }
    // Netpbm: text and binary, one bit, 16 bits with the highest byte first.
    assert_eq!(opened("a.pgm", b"P2\n# words\n2 1\n255\n7 250\n").samples, Samples::Gray8(vec![7, 250]));
    assert_eq!(opened("a.pgm", b"P5 2 1 65535\n\x01\x02\xff\xfe").samples, Samples::Gray16(vec![258, 65534]));
    assert_eq!(opened("a.pbm", b"P1\n2 1\n1 0\n").width, 2);
    assert_eq!(opened("a.ppm", b"P6 1 1 255\n\x0a\x0a\x0a").samples, Samples::Gray8(vec![10]));
    // A name that says another format.
    assert!(opened("a.png", &written(ImageFormat::Gif)).warnings[0].contains("GIF"));
}

#[test]
fn films_open_frame_by_frame() {
    let gif = Source::read(Path::new("a.gif"), animated(4)).unwrap();
    assert_eq!((gif.frames(), gif.coding().as_str()), (4, "GIF, animated"));
    for n in 0..4_u16 {
        let frame = gif.frame(n.into()).unwrap();
        assert_eq!((middle(&frame), frame.facts.frames), (40 * n, 4));
        assert_eq!(frame.facts.frame_time_ms, Some(70.0));
    }
    assert!(gif.frame(4).unwrap_err().text.contains("its frames are 0 to 3"));
    let frames = [jpeg(20), jpeg(120), Vec::new(), without_tables(&jpeg(220))];
    for coding in [b"MJPG", b"mjpg"] {
        let film = Source::read(Path::new("a.avi"), avi(coding, &frames)).unwrap();
        assert_eq!((film.frames(), film.coding().as_str()), (4, "AVI, motion JPEG"));
        for (n, gray) in [20, 120, 120, 220].into_iter().enumerate() {
            let frame = film.frame(u32::try_from(n).unwrap()).unwrap();
            assert!(middle(&frame).abs_diff(gray) <= 2, "{n}: {}", middle(&frame));
            assert_eq!(frame.facts.frame_time_ms, Some(50.0));
        }
    }
}

#[test]
fn what_only_looks_like_an_image_is_refused_in_a_sentence() {
    let film = avi(b"MJPG", &[jpeg(20)]);
    let odd: Vec<(&str, Vec<u8>)> = vec![
        ("empty.png", Vec::new()),
        ("page.png", b"<!DOCTYPE html><html><body>403</body></html>".to_vec()),
        ("drawing.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec()),
        ("words.txt", b"a note".to_vec()),
        ("paper.pdf", b"%PDF-1.7\n".to_vec()),
        ("slides.pptx", b"PK\x03\x04....".to_vec()),
        ("phone.heic", b"\0\0\0\x18ftypheic".to_vec()),
        ("clip.mp4", b"\0\0\0\x18ftypisom".to_vec()),
        ("cut.gif", written(ImageFormat::Gif)[..11].to_vec()),
        ("huge.gif", b"GIF89a\xff\xff\xff\xff\0\0\0;".to_vec()),
        ("nothing.gif", b"GIF89a\x01\0\x01\0\0\0\0;".to_vec()),
        ("cut.webp", written(ImageFormat::WebP)[..30].to_vec()),
        ("head.webp", b"RIFF\x04\0\0\0WEBP".to_vec()),
        ("huge.pgm", b"P5 900000 900000 255\n".to_vec()),
        ("cut.pgm", b"P5 20 20 255\n123".to_vec()),
        ("words.pgm", b"P2 two two 255\n".to_vec()),
        ("other.avi", avi(b"H264", &[jpeg(20)])),
        ("none.avi", avi(b"MJPG", &[])),
        ("cut.avi", film[..film.len() / 4].to_vec()),
        ("noise.avi", avi(b"MJPG", &[b"no image".to_vec()])),
        ("loop.avi", b"RIFF\0\0\0\0AVI LIST\0\0\0\0hdrlLIST\0\0\0\0".to_vec()),
        ("cut.png", written(ImageFormat::Png)[..60].to_vec()),
    ];
    for (name, bytes) in odd {
        let error =
            import_bytes(Path::new(name), &bytes).map(|frame| (frame.width, frame.height)).unwrap_err();
        assert_one_sentence(&error.to_string(), Path::new(name));
    }
}

#[test]
fn damaged_films_never_panic() {
    for whole in [
        animated(3),
        avi(b"MJPG", &[jpeg(20), jpeg(90)]),
        written(ImageFormat::WebP),
        b"P5 2 1 255\nab".to_vec(),
    ] {
        for at in (0..whole.len()).step_by(1 + whole.len() / 150) {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x5a;
            let all = |bytes: &[u8]| {
                if let Ok(source) = Source::read(Path::new("a"), bytes.to_vec()) {
                    (0..source.frames().min(3)).for_each(|n| drop(source.frame(n)));
                }
            };
            all(&bytes);
            all(&whole[..at]);
        }
    }
}

/// A JPEG with an EXIF segment that tells an exposure of 1/60 s (EXIF 2.3: tag 829A in the EXIF directory).
fn photo() -> Vec<u8> {
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    tiff.extend(b"\x01\0\x69\x87\x04\0\x01\0\0\0\x1a\0\0\0\0\0\0\0");
    tiff.extend(b"\x01\0\x9a\x82\x05\0\x01\0\0\0\x2c\0\0\0\0\0\0\0");
    tiff.extend(1_u32.to_le_bytes());
    tiff.extend(60_u32.to_le_bytes());
    let segment = [b"Exif\0\0".as_slice(), &tiff].concat();
    let jpeg = jpeg(128);
    let length = u16::try_from(segment.len() + 2).unwrap().to_be_bytes();
    [&jpeg[..2], &[0xff, 0xe1], &length, &segment, &jpeg[2..]].concat()
}

#[test]
fn a_photo_is_told_and_straightened_beside_the_original() {
    let folder = folder();
    let path = folder.path().join("photo.jpg");
    assert!(opened("photo.jpg", &photo()).warnings.iter().any(|words| words.contains("keystone")));
    assert!(opened("plain.jpg", &jpeg(128)).warnings.is_empty());
    std::fs::write(&path, photo()).unwrap();
    let before = std::fs::read(&path).unwrap();
    // A white screen with a black square in its middle, seen from aside: the corners are known.
    let seen = folder.path().join("seen.png");
    let corners = [(30.0, 20.0), (170.0, 40.0), (160.0, 130.0), (40.0, 150.0)];
    let screen = stillmark::geom::projective::Projective::of_four(
        corners.map(|(x, y)| stillmark::geom::point::Point::new(x, y)),
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .map(|(x, y)| stillmark::geom::point::Point::new(x, y)),
    )
    .unwrap();
    GrayImage::from_fn(200, 170, |x, y| {
        let at = stillmark::geom::point::Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
        let dark = screen.of(at).is_some_and(|p| (p.x - 0.5).abs() < 0.25 && (p.y - 0.5).abs() < 0.25);
        Luma([if dark { 0 } else { 255 }])
    })
    .save(&seen)
    .unwrap();
    let out = folder.path().join("straight.png");
    let mut arguments =
        vec!["straighten", seen.to_str().unwrap(), "--aspect", "1", "--out", out.to_str().unwrap()];
    arguments.extend(["--corners", "30,20", "170,40", "160,130", "40,150"]);
    let run = stillmark_cli(&arguments).unwrap();
    assert_eq!((run.status, run.err.as_str()), (Some(0), ""));
    let straight = image::open(&out).unwrap().into_luma8();
    assert_eq!(straight.width(), straight.height());
    // The square is a square again: its share of each line and column through the middle is one half.
    let (side, half) = (straight.width(), straight.width() / 2);
    for dark in [
        (0..side).filter(|&x| straight.get_pixel(x, half)[0] < 128).count(),
        (0..side).filter(|&y| straight.get_pixel(half, y)[0] < 128).count(),
    ] {
        assert!(dark.abs_diff(half as usize) <= 2, "{dark} of {side}");
    }
    // Corners that cross, and a result that would take the photo's place.
    let crossed = [
        "straighten",
        path.to_str().unwrap(),
        "--out",
        out.to_str().unwrap(),
        "--corners",
        "0,0",
        "16,16",
        "16,0",
        "0,16",
    ];
    assert_one_sentence(&stillmark_cli(crossed).unwrap().err, &path);
    let own = [
        "straighten",
        path.to_str().unwrap(),
        "--out",
        path.to_str().unwrap(),
        "--corners",
        "0,0",
        "16,0",
        "16,16",
        "0,16",
    ];
    assert_eq!(stillmark_cli(own).unwrap().status, Some(2));
    assert_eq!(std::fs::read(&path).unwrap(), before, "the photo stays as it was");
}

#[cfg(feature = "window")]
mod window {
    use std::path::{Path, PathBuf};
    use std::sync::Arc;

    use eframe::egui::{self, ColorImage, Event};

    use super::{animated, jpeg, written};
    use crate::journey::{Journey, demonstration};
    use crate::support::names_in;

    /// What another program hands over without a file behind it.
    #[derive(Debug)]
    struct Bare(PathBuf, Vec<u8>);

    impl egui::DroppedFile for Bare {
        fn path(&self) -> &Path {
            &self.0
        }

        fn bytes(&self) -> Result<Vec<u8>, String> {
            Ok(self.1.clone())
        }
    }

    fn paste(journey: &mut Journey, size: [usize; 2]) {
        let image = ColorImage::filled(size, egui::Color32::from_gray(77));
        journey.window.event(Event::PasteImage(Arc::new(image)));
        journey.window.run();
    }

    fn drop_bytes(journey: &mut Journey, name: &str, bytes: Vec<u8>) {
        journey.window.input_mut().dropped_files.push(Arc::new(Bare(PathBuf::from(name), bytes)));
        journey.window.run();
    }

    fn shots(journey: &Journey) -> usize {
        journey
            .window
            .state()
            .state
            .editor
            .document
            .as_ref()
            .map_or(0, |document| document.case().shots.len())
    }

    #[test]
    fn images_without_a_file_join_the_case_and_nothing_is_replaced() {
        let name = "images_without_a_file_join_the_case_and_nothing_is_replaced";
        crate::journey::alone("odd_inputs::window", name, |folder| {
            let mut journey = Journey::begin(vec![demonstration(folder)]);
            let before = shots(&journey);
            paste(&mut journey, [40, 30]);
            paste(&mut journey, [30, 40]);
            assert_eq!(shots(&journey), before + 2);
            assert!(journey.shows("The image was saved as"));
            let names = names_in(folder).unwrap();
            assert!(
                names.contains(&"pasted.png".to_owned()) && names.contains(&"pasted-2.png".to_owned()),
                "{names:?}"
            );
            drop_bytes(&mut journey, "from-browser.jpg", jpeg(90));
            drop_bytes(&mut journey, "film.gif", animated(3));
            drop_bytes(&mut journey, "frame.webp", written(image::ImageFormat::WebP));
            assert_eq!(shots(&journey), before + 5);
            // What is no image is said, and nothing is left.
            for (name, bytes) in [
                ("page.html", b"<html>".to_vec()),
                ("none.png", Vec::new()),
                ("cut.gif", animated(2)[..9].to_vec()),
            ] {
                drop_bytes(&mut journey, name, bytes);
            }
            paste(&mut journey, [0, 0]);
            paste(&mut journey, [20_000, 1]);
            assert_eq!(shots(&journey), before + 5);
            assert!(journey.shows("too large"));
            let names = names_in(folder).unwrap();
            assert!(
                !names.iter().any(|name| name == "page.html" || name == "none.png" || name == "cut.gif"),
                "{names:?}"
            );
        });
    }

    #[test]
    fn without_a_case_the_user_says_where_a_pasted_image_goes() {
        let name = "without_a_case_the_user_says_where_a_pasted_image_goes";
        crate::journey::alone("odd_inputs::window", name, |folder| {
            let mut journey = Journey::begin(Vec::new());
            let file = folder.join("mine.png");
            journey.answer(&file);
            paste(&mut journey, [40, 30]);
            assert!(file.exists());
            assert_eq!(shots(&journey), 1);
        });
    }
}
