//! The manual's drawings are made by the program: each must be what the program draws now.
//!
//! To write them anew after a change: `STILLMARK_UPDATE=1 cargo test --test it drawings`; then look at each.

use std::fs;
use std::path::{Path, PathBuf};

use stillmark::io::export::{PageFormat, page_bytes};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::mark::{MarkKind, MarkRef, View};
use stillmark::measure::quantity::{Budget, Quantity};
use stillmark::measure::reading::Place;
use stillmark::measure::settings::Settings;
use stillmark::scene::body_map::{BodyDrawing, Outlined, Posterior, where_to_click};
use stillmark::scene::lesson;
use stillmark::scene::overlay::LayerSet;
use stillmark::scene::page::Page;
use stillmark::scene::shape::{Rect, Scene, Space};
use stillmark::scene::theme::Theme;

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
fn small_drawings() -> Vec<(&'static str, Scene)> {
    let settings = Settings::default();
    let quantity = |value: f64, sd: f64| Quantity {
        value,
        budget: Budget { bone: sd, metal: 0.0, view: 0.0 },
        influences: Vec::new(),
        monte_carlo: None,
    };
    let drawing = |along: f64, posterior, electrodes: &[BodyPoint]| {
        let tip = Place { along: quantity(along, 0.015), height: quantity(0.52, 0.02), covariance: 0.0 };
        let drawing = BodyDrawing {
            outlined: Outlined::Typical(posterior),
            tip: Some(&tip),
            electrodes,
            stage: None,
            settings: &settings,
            layers: LayerSet::default(),
            size: (260.0, 210.0),
        };
        drawing.scene()
    };
    let next = |kind, index| {
        where_to_click(MarkRef { kind, index }, View::Lateral, 2, Posterior::Right, (150.0, 120.0))
            .unwrap_or_else(|| Scene::new(Space::Points, Rect::new(0.0, 0.0, 1.0, 1.0)))
    };
    let pair = [BodyPoint::new(0.28, 0.49), BodyPoint::new(0.38, 0.52)];
    vec![
        ("small-inside", drawing(0.38, Posterior::Left, &pair)),
        ("small-pedicle", drawing(-0.2, Posterior::Right, &[])),
        ("small-corner", next(MarkKind::SuperiorEndPlate, 0)),
        ("small-second", next(MarkKind::PosteriorWallSecond, 0)),
        ("small-tip", next(MarkKind::Tip, 0)),
        ("small-cannula", next(MarkKind::Cannula, 1)),
    ]
}

/// Writes every drawing in both modes as PNG into a folder of the user's, to be looked at:
/// `STILLMARK_LOOK=folder cargo test --test it drawings_to_look_at`.
#[test]
fn drawings_to_look_at() {
    let Some(folder) = std::env::var_os("STILLMARK_LOOK").map(PathBuf::from) else { return };
    fs::create_dir_all(&folder).unwrap();
    for (name, scene) in lesson::all().into_iter().chain(small_drawings()) {
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
