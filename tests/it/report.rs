//! The case on paper: what is in it, what must never be, and that it is the same every time.

use std::path::Path;
use std::{fs, sync::Arc};

use image::{GrayImage, Luma};
use stillmark::case::document::Case;
use stillmark::case::document::record::BodyRecord;
use stillmark::case::document::redaction::Cover;
use stillmark::geom::point::Point;
use stillmark::io::case_file::to_text;
use stillmark::io::export::report::{OpenedCase, bytes};
use stillmark::io::store::save::open_case;
use stillmark::measure::compare::Position;
use stillmark::measure::mark::{Level, Side};
use stillmark::scene::comparison::page::ShownAs;
use stillmark::scene::drawing::shape::{Greys, Picture, Rect, Scene, Shape};
use stillmark::scene::drawing::theme::Ground;
use stillmark::scene::page::Page;
use stillmark::scene::page::paper::PaperSize;
use stillmark::scene::report::{ReportPart, report};

use crate::support::{folder, lateral_shot, stillmark_cli};

fn demonstration() -> (Case, OpenedCase) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/demonstration.case.json");
    let mut case = open_case(&file).expect("the demonstration").case;
    case.reference = Some("Shelf 12".to_owned());
    let mut record = BodyRecord::new(Level::L4, Side::Right);
    record.lesion_s = Some(900.0);
    record.remarks = Some("Cannula turned once.\nCalm.".to_owned());
    case.bodies.push(record);
    let opened = OpenedCase::new(&file, &case);
    (case, opened)
}

fn pages(case: &Case, opened: &OpenedCase) -> Vec<Page> {
    report(case, &opened.readings, &opened.frames, (PaperSize::A4, &[]))
}

/// Where the images of a page stand.
fn rooms(page: &Page) -> Vec<Rect> {
    let picture = |shape: &Shape| matches!(shape, Shape::Picture { .. });
    page.parts.iter().filter(|part| part.scene.shapes.iter().any(picture)).map(|part| part.room).collect()
}

/// Height of what is drawn in lines of a drawing whose points are those of the page, in millimeters of paper.
fn body_mm(scene: &Scene, scale: f64) -> f64 {
    let line = |shape: &'_ Shape| match shape {
        Shape::Line { points, .. } => points.iter().map(|p| p.y).collect(),
        _ => Vec::new(),
    };
    let heights: Vec<f64> = scene.shapes.iter().flat_map(line).collect();
    let (least, most) = heights.iter().fold((f64::MAX, f64::MIN), |(a, b), y| (a.min(*y), b.max(*y)));
    (most - least) * scale / 72.0 * 25.4
}

fn words(page: &Page) -> String {
    page.words().collect::<Vec<_>>().join("\n")
}

fn pictures(pages: &[Page]) -> Vec<Arc<Picture>> {
    let shapes = pages.iter().flat_map(|page| &page.parts).flat_map(|part| &part.scene.shapes);
    let picture = |shape: &Shape| match shape {
        Shape::Picture { picture, .. } => Some(Arc::clone(picture)),
        _ => None,
    };
    shapes.filter_map(picture).collect()
}

#[test]
fn there_is_a_cover_and_a_page_for_each_level() {
    let (case, opened) = demonstration();
    let pages = pages(&case, &opened);
    // A cover, two bodies, and the appendix.
    assert_eq!(pages.len(), 4);
    let cover = words(&pages[0]);
    for said in [
        "Demonstration A",
        "Shelf 12",
        "9 of 9",
        "900 s",
        "30–50 %",
        "0.25 mm on metal",
        "not a medical device",
        env!("CARGO_PKG_VERSION"),
    ] {
        assert!(cover.contains(said), "{said} is not in\n{cover}");
    }
    let level = words(&pages[1]);
    for said in [
        "L4, patient's right",
        "37 to 42 %",
        "at least 95 % likely inside",
        "Lesion time 900 s.",
        "Cannula turned once.",
        "Calm.",
    ] {
        assert!(level.contains(said), "{said} is not in\n{level}");
    }
    assert!(words(&pages[2]).contains("No lesion time and no remarks entered."));
    for page in &pages {
        assert!(words(page).contains("Not a medical device"));
    }
    // Every shot that has a level stands in the appendix, and the final ones stand large on their page.
    assert!(words(&pages[3]).contains("Appendix: all shots"));
    let with_level = case.shots.iter().filter(|shot| shot.level.is_some()).count();
    assert_eq!(pictures(&pages[3..]).len(), with_level);
    for page in &pages[1..3] {
        let wide: Vec<f64> = rooms(page).iter().map(|room| room.width() * page.scale / 72.0 * 25.4).collect();
        assert!(wide.len() == 2 && wide.iter().all(|mm| *mm >= 80.0), "{wide:?}");
        // The body from the side, from the front and from above: each is large enough to be seen.
        let drawn = page.parts.iter().filter(|part| (90.0..200.0).contains(&part.room.height()));
        let drawn = drawn.filter(|part| part.ground == Ground::Panel);
        let high: Vec<f64> = drawn.map(|part| body_mm(&part.scene, page.scale)).collect();
        assert!(high.len() == 3 && high.iter().all(|mm| *mm >= 12.0), "{high:?}");
        assert!(words(page).contains("body border") && words(page).contains("tip with its 95 % region"));
    }
}

/// US Letter is 8.5 × 11 inches.
#[test]
fn it_is_made_for_either_paper() {
    let (case, opened) = demonstration();
    let pages = report(&case, &opened.readings, &opened.frames, (PaperSize::Letter, &[]));
    for page in &pages {
        assert!(
            (page.size.0 * page.scale - 612.0).abs() < 1e-6
                && (page.size.1 * page.scale - 792.0).abs() < 1e-6
        );
    }
    let wide: Vec<f64> =
        rooms(&pages[1]).iter().map(|room| room.width() * pages[1].scale / 72.0 * 25.4).collect();
    assert!(wide.len() == 2 && wide.iter().all(|mm| *mm >= 80.0), "{wide:?}");
}

/// A page for each, before the appendix; what cannot be compared is said in its place.
#[test]
fn comparisons_and_tip_paths_have_pages_of_their_own() {
    let (case, opened) = demonstration();
    let place = |id: &str| case.shots.iter().position(|shot| shot.id == id).expect("a shot");
    let [first, last, ap] =
        ["l4-right-lateral-stylet", "l4-right-lateral-final", "l4-right-ap-final"].map(place);
    let parts = [
        ReportPart::Comparison([first, last], Position::Own, ShownAs::SideBySide),
        ReportPart::Comparison([first, last], Position::Own, ShownAs::Blend(0.5)),
        ReportPart::Comparison([last, ap], Position::Own, ShownAs::SideBySide),
        ReportPart::TipPath(Level::L4, Side::Right),
    ];
    let pages = report(&case, &opened.readings, &opened.frames, (PaperSize::A4, &parts));
    let without = report(&case, &opened.readings, &opened.frames, (PaperSize::A4, &[])).len();
    assert_eq!(pages.len(), without + parts.len());
    let has = |part: &str| pages.iter().find(|page| words(page).contains(part)).map(words).expect("a page");
    let compared = has("Comparison: L4");
    assert!(
        compared.contains("earlier: l4-right-lateral-stylet") && compared.contains("depth"),
        "{compared}"
    );
    assert!(has("the views differ").contains("These two cannot be compared"));
    assert!(has("Tip path: L4").contains("tip path as seen in the saved frames"));
    for page in &pages {
        assert!(words(page).contains("Not a medical device"), "the caution stands on every page");
        let lowest = page.parts.iter().filter(|part| part.room.max.y < page.size.1 - 1.0);
        assert!(lowest.map(|part| part.room.max.y).fold(0.0, f64::max) < page.size.1 - 60.0);
    }
}

/// No advice: a time that nobody wrote down is not proposed, and nothing says what it ought to be.
#[test]
fn no_lesion_time_is_proposed() {
    let (mut case, opened) = demonstration();
    case.bodies.clear();
    let said: String = pages(&case, &opened).iter().map(words).collect();
    assert!(!said.contains(" s.") && !said.to_lowercase().contains("recommend"), "{said}");
}

/// ISO 32000-1, 14.3: an information dictionary would have these keys.
#[test]
fn the_same_case_gives_the_same_bytes_and_they_say_nothing_of_the_machine() {
    let (mut case, opened) = demonstration();
    case.shots.truncate(2);
    let opened = OpenedCase {
        frames: opened.frames[..2].to_vec(),
        readings: stillmark::case::readings::read_case(
            &case,
            |_| stillmark::case::readings::Picture::NotLookedAt,
            None,
        ),
    };
    let file = bytes(&case, &opened, PaperSize::A4, &[]).expect("a report");
    assert!(
        file.starts_with(b"%PDF-") && file == bytes(&case, &opened, PaperSize::A4, &[]).expect("a report")
    );
    for told in [env!("CARGO_MANIFEST_DIR"), "images/", "/Producer", "/CreationDate", "/Author", "/Metadata"]
    {
        assert!(!file.windows(told.len()).any(|part| part == told.as_bytes()), "{told}");
    }
}

/// A round field with bright strokes beside it, as a machine would write words; a body with marks in its middle, or
/// none.
fn written_on(root: &Path, marked: bool) -> Case {
    let (width, height) = (600_u32, 500_u32);
    let picture = GrayImage::from_fn(width, height, |x, y| {
        let (dx, dy) = (f64::from(x) - 300.0, f64::from(y) - 250.0);
        let in_field = dx.hypot(dy) < 240.0;
        let written = (8..60).contains(&x) && (10..24).contains(&y) && x % 6 < 3;
        Luma([if in_field {
            120 + u8::try_from((x + y) % 40).expect("small")
        } else if written {
            251
        } else {
            0
        }])
    });
    picture.save(root.join("a.png")).expect("a picture");
    let mut shot = lateral_shot("a", "a.png");
    if !marked {
        shot.marks = stillmark::measure::mark::Marks::new();
    }
    shot.side = Some(Side::Right);
    Case { shots: vec![shot].into(), ..Case::default() }
}

#[test]
fn what_may_be_words_is_covered_even_where_the_case_does_not() {
    let place = folder();
    let mut case = written_on(place.path(), false);
    case.shots[0].level = Some(Level::L4);
    let file = place.path().join("a.case.json");
    let opened = OpenedCase::new(&file, &case);
    let frame = opened.frames[0].as_ref().expect("a frame");
    assert!(frame.value(12, 15) == Some(251), "the strokes are in the picture");
    let pages = pages(&case, &opened);
    let shown = pictures(&pages);
    assert_eq!((shown[0].width, shown[0].height), (600, 500), "the whole frame is shown");
    let Greys::Eight(greys) = &shown[0].greys else { panic!("8 bits") };
    for y in 10..24 {
        assert!(greys[y * 600 + 8..y * 600 + 60].iter().all(|grey| *grey == greys[0]), "row {y}");
    }
}

#[test]
fn covers_are_in_the_pixels() {
    let place = folder();
    let mut case = written_on(place.path(), true);
    case.shots[0].level = Some(Level::L4);
    let whole = Cover::between(Point::new(0.0, 0.0), Point::new(600.0, 500.0)).expect("a box");
    case.shots[0].covers = vec![whole];
    let opened = OpenedCase::new(&place.path().join("a.case.json"), &case);
    for picture in pictures(&pages(&case, &opened)) {
        let Greys::Eight(greys) = &picture.greys else { panic!("8 bits") };
        assert!(greys.iter().all(|grey| *grey == greys[0]));
    }
}

#[test]
fn the_command_line_writes_it_and_says_what_is_wrong() {
    let place = folder();
    let mut case = written_on(place.path(), true);
    case.shots[0].level = Some(Level::L4);
    let file = place.path().join("a.case.json");
    fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    let run = |out: &str| {
        let out = place.path().join(out);
        let run = stillmark_cli(["report".as_ref(), file.as_os_str(), "--out".as_ref(), out.as_os_str()]);
        (run.expect("the command line"), fs::read(out).ok())
    };
    let (done, first) = run("a.pdf");
    assert_eq!((done.status, done.err.as_str()), (Some(0), ""));
    assert!(first.is_some() && first == run("b.pdf").1);
    let file_of = file.as_os_str();
    let added = place.path().join("added.pdf");
    let with = |more: &[&str]| {
        let mut all = vec!["report".as_ref(), file_of, "--out".as_ref(), added.as_os_str()];
        all.extend(more.iter().map(std::ffi::OsStr::new));
        stillmark_cli(all).expect("the command line")
    };
    assert_eq!(with(&["--tip-path"]).status, Some(0));
    let wrong = with(&["--compare", "a", "nobody"]);
    assert!(wrong.status == Some(2) && wrong.err.contains("no shot “nobody”"), "{}", wrong.err);
    let (refused, written) = run("d.png");
    assert_eq!((refused.status, written), (Some(2), None));
    assert!(refused.err.contains("ending in .pdf") && refused.err.lines().count() == 1, "{}", refused.err);
    case.shots[0].marks = stillmark::measure::mark::Marks::new();
    fs::write(&file, to_text(&file, &case).expect("a case")).expect("a file");
    assert_eq!(run("c.pdf").0.status, Some(1), "a shot without a reading");
}
