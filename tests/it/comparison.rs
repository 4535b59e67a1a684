//! Pictures of a comparison from the command line: every way and format, and no pixel of what a cover hides.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its test")]

use std::path::Path;

use image::Luma;
use stillmark::case::document::redaction::Cover;
use stillmark::geom::point::Point;
use stillmark::io::store::save::{Over, open_case, save_case};

use crate::support::stillmark_cli;

const FROM: &str = "l4-right-lateral-stylet";
const TO: &str = "l4-right-lateral-final-1";
const WAYS: [&str; 4] = ["side-by-side", "blend", "divider", "difference"];

fn samples() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/sample-images"))
}

fn drawn(case: &Path, out: &Path, way: &str) -> Vec<u8> {
    let (case, out) = (case.to_str().unwrap(), out.to_str().unwrap());
    let run = stillmark_cli(["compare", case, FROM, TO, "--picture", out, "--as", way, "--force"]).unwrap();
    assert_eq!(run.status, Some(0), "{way}: {}", run.err);
    assert!(run.out.contains("moved"), "the words come too: {}", run.out);
    std::fs::read(out).unwrap()
}

#[test]
fn every_way_is_drawn_in_every_format() {
    let folder = tempfile::tempdir().unwrap();
    let case = samples().join("demonstration.case.json");
    let mut seen = Vec::new();
    for way in WAYS {
        let png = drawn(&case, &folder.path().join(format!("{way}.png")), way);
        let picture = image::load_from_memory(&png).unwrap();
        assert!(picture.width() > 1000, "{}", picture.width());
        assert!(!seen.contains(&png), "{way} is a picture of its own");
        seen.push(png);
    }
    assert!(drawn(&case, &folder.path().join("a.svg"), "blend").starts_with(b"<svg"));
    assert!(drawn(&case, &folder.path().join("a.pdf"), "blend").starts_with(b"%PDF"));
}

#[test]
fn what_cannot_be_drawn_is_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let case = samples().join("demonstration.case.json");
    let case = case.to_str().unwrap();
    let out = folder.path().join("a.png");
    let name = out.to_str().unwrap();
    for (extra, why) in [
        (["--picture", name, "--share", "1.5"], "enter a number from 0 to 1"),
        (["--picture", "a.bmp", "--share", "0.5"], "use a name ending in .png, .svg or .pdf"),
    ] {
        let run = stillmark_cli([&["compare", case, FROM, TO][..], &extra[..]].concat()).unwrap();
        assert_eq!(run.status, Some(2));
        assert!(run.err.contains(why) && run.out.is_empty(), "{}", run.err);
    }
    assert!(!out.exists());
}

/// The same case twice; beneath the covers stands something else each time. Every picture is the same to the last byte.
#[test]
fn nothing_beneath_a_cover_gets_into_a_picture() {
    let cases = [0_u16, 60_000].map(|value| {
        let folder = tempfile::tempdir().unwrap();
        let mut case = open_case(&samples().join("demonstration.case.json")).unwrap().case;
        case.shots.retain(|shot| shot.id == FROM || shot.id == TO);
        std::fs::create_dir_all(folder.path().join("images")).unwrap();
        for shot in &mut case.shots {
            // Over the body's corner, where every way shows it.
            let at = shot.marks.placed().next().unwrap().1;
            let (min, max) = (Point::new(at.x - 30.0, at.y - 20.0), Point::new(at.x + 10.0, at.y + 10.0));
            shot.covers = vec![Cover::between(min, max).unwrap()];
            shot.digest = None;
            let mut picture = image::open(samples().join(&shot.image)).unwrap().into_luma16();
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the picture")]
            for (x, y) in (min.x.ceil() as u32..max.x as u32)
                .flat_map(|x| (min.y.ceil() as u32..max.y as u32).map(move |y| (x, y)))
            {
                picture.put_pixel(x, y, Luma([if (x + y) % 3 == 0 { value } else { 9000 }]));
            }
            picture.save(folder.path().join(&shot.image)).unwrap();
        }
        let file = folder.path().join("a.case.json");
        save_case(&file, &case, &Over::Nothing).unwrap();
        (folder, file)
    });
    for way in WAYS {
        let [one, other] =
            cases.each_ref().map(|(folder, file)| drawn(file, &folder.path().join("a.png"), way));
        assert!(one == other, "{way} shows what is beneath a cover");
    }
}
