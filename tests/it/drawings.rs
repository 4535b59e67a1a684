//! The manual's drawings are made by the program: each must be what the program draws now.
//!
//! To write them anew after a change: `STILLMARK_UPDATE=1 cargo test --test it drawings`; then look at each.

use std::fs;
use std::path::{Path, PathBuf};

use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::mark::{MarkKind, MarkRef, PatientRight, Side, Stage, View};
use stillmark::measure::reading::MidlineBy;
use stillmark::measure::settings::Settings;
use stillmark::scene::body_map::click::{Facing, where_to_click};
use stillmark::scene::body_map::{BodyDrawing, Coordinate, Position, Posterior, Sides};
use stillmark::scene::drawing::shape::Scene;
use stillmark::scene::drawing::theme::Theme;
use stillmark::scene::lesson;
use stillmark::scene::page::Page;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/drawings")
}

#[test]
fn the_manuals_drawings_are_the_programs_own() {
    let update = std::env::var_os("STILLMARK_UPDATE").is_some();
    let mut stale = Vec::new();
    for (name, scene) in lesson::all() {
        let bytes = page_bytes(&Page::of_drawing(scene), &Theme::light(), PageFormat::Svg).unwrap();
        let file = folder().join(format!("{name}.svg"));
        if update {
            fs::create_dir_all(folder()).unwrap();
            fs::write(&file, &bytes).unwrap();
        } else if fs::read(&file).ok().as_deref() != Some(bytes.as_slice()) {
            stale.push(name);
        }
    }
    assert!(stale.is_empty(), "not as the program draws them now: {stale:?}; see the head of this file");
}

#[test]
fn every_drawing_of_the_manual_is_shown_in_it() {
    let manual = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/method.md")).unwrap();
    for (name, _) in lesson::all() {
        assert!(manual.contains(&format!("](drawings/{name}.svg)")), "{name}");
    }
    let mut files: Vec<_> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    files.sort();
    let mut known: Vec<_> = lesson::all().iter().map(|(name, _)| format!("{name}.svg")).collect();
    known.sort();
    assert_eq!(files, known);
}

/// The small drawings of the window: where the tip is, and where the next mark belongs.
fn small_drawings() -> Vec<(String, Scene)> {
    let settings = Settings::default();
    let known = |value: f64, sd: f64| Some(Coordinate { value, sd });
    let place = |depth, across, height| Position {
        depth,
        across,
        height,
        midline: across.map(|across: Coordinate| (MidlineBy::Pedicles, across.value - 0.49)),
        ..Position::default()
    };
    let (near, far) = (known(0.38, 0.015), known(-0.2, 0.05));
    let (middle, beside) = (known(0.45, 0.02), known(0.18, 0.03));
    let height = known(0.52, 0.02);
    let positions = [
        ("pair", place(near, middle, height), Stage::Final),
        ("pedicle", place(far, beside, known(0.36, 0.03)), Stage::Pedicle),
        ("lateral-alone", place(near, None, height), Stage::Final),
        ("ap-alone", place(None, middle, height), Stage::Final),
        ("height-alone", place(None, None, height), Stage::Final),
        ("nothing", Position::default(), Stage::PosteriorWall),
    ];
    let sides = [
        (PatientRight::ImageLeft, Side::Right),
        (PatientRight::ImageRight, Side::Right),
        (PatientRight::ImageLeft, Side::Left),
    ];
    let mut drawings = Vec::new();
    for (i, (name, position, stage)) in positions.into_iter().enumerate() {
        let mut drawing = BodyDrawing { position, ..BodyDrawing::new(&settings, Some(stage)) };
        let (right, entry) = sides[i % sides.len()];
        drawing.sides = Sides { patient_right: Some(right), entry: Some(entry) };
        drawing.posterior = if i % 2 == 0 { Posterior::Left } else { Posterior::Right };
        if name == "pair" {
            drawing.lateral_electrodes = vec![BodyPoint::new(0.28, 0.49), BodyPoint::new(0.38, 0.52)];
            drawing.ap_electrodes = vec![BodyPoint::new(0.36, 0.49), BodyPoint::new(0.45, 0.52)];
        }
        for (how, size) in [("", (260.0, 210.0)), ("-narrow", (136.0, 124.0))] {
            for (view, drawn) in
                [("side", drawing.side(size)), ("front", drawing.front(size)), ("above", drawing.above(size))]
            {
                drawings.push((format!("small-{view}-{name}{how}"), drawn.scene));
            }
        }
    }
    for view in View::ALL {
        for kind in MarkKind::ALL.into_iter().filter(|kind| kind.belongs_to(view)) {
            for (how, right) in [("known", Some(PatientRight::ImageRight)), ("unknown", None)] {
                let sides = Sides { patient_right: right, entry: Some(Side::Right) };
                let facing = Facing { posterior: Posterior::Right, sides };
                let at = MarkRef { kind, index: 0 };
                let name = format!("click-{}-{}-{how}", view.key(), kind.key());
                drawings
                    .extend(where_to_click(at, view, 2, facing, (168.0, 96.0)).map(|scene| (name, scene)));
            }
        }
    }
    drawings
}

/// Writes every drawing in both modes as PNG into a folder of the user's, to be looked at:
/// `STILLMARK_LOOK=folder cargo test --test it drawings_to_look_at`.
#[test]
fn drawings_to_look_at() {
    let Some(folder) = std::env::var_os("STILLMARK_LOOK").map(PathBuf::from) else { return };
    fs::create_dir_all(&folder).unwrap();
    let lessons = lesson::all().into_iter().map(|(name, scene)| (name.to_owned(), scene));
    for (name, scene) in lessons.chain(small_drawings()) {
        for (mode, theme) in [("dark", Theme::dark()), ("light", Theme::light())] {
            let page = Page::of_drawing(scene.clone());
            fs::write(
                folder.join(format!("{name}-{mode}.png")),
                page_bytes(&page, &theme, PageFormat::Png).unwrap(),
            )
            .unwrap();
        }
    }
}
