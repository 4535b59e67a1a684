//! How long a figure of a 1024² still takes to PNG, PDF and SVG, and a case report of twelve pages or more to PDF. See README.md here.

use std::hint::black_box;
use std::sync::Arc;

use criterion::Criterion;
use stillmark::case::document::figure_spec::{FigureKind, FigureSpec, FigureWidth};
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::case::readings::{CaseReadings, Picture, read_case};
use stillmark::io::export::{PageFormat, page_bytes, pdf};
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::reading::Field;
use stillmark::scene::drawing::theme::Theme;
use stillmark::scene::figure::{Extent, FigureOptions, FigureShot, figure};
use stillmark::scene::page::paper::PaperSize;
use stillmark::scene::report::report;

const SIDE: u16 = 1024;

/// The same greys as figure.py makes: smooth, with a fine pattern.
fn frame() -> Frame {
    let grey =
        |x: u32, y: u32| u16::try_from(20_000 + 16 * (x + y) + 37 * ((x * 7 + y * 13) % 31)).unwrap_or(0);
    let side = u32::from(SIDE);
    Frame::of_samples(
        side,
        side,
        Samples::Gray16((0..side).flat_map(|y| (0..side).map(move |x| grey(x, y))).collect()),
    )
}

fn shot(level: Level, stage: Stage, id: usize) -> Shot {
    let mut shot = Shot::new(format!("{id}"), "x.png", View::Lateral);
    (shot.level, shot.side, shot.stage) = (Some(level), Some(Side::Right), Some(stage));
    shot.mm_per_px = Some(0.2);
    shot.marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(612.0, 405.0), (540.0, 416.0), (468.0, 418.0)])
        .with(MarkKind::InferiorEndPlate, &[(605.0, 498.0), (533.0, 505.0), (462.0, 521.0)])
        .with(MarkKind::PosteriorWall, &[(607.0, 452.0)])
        .with(MarkKind::Tip, &[(550.4, 460.9)])
        .with(MarkKind::Cannula, &[(900.0, 380.0), (620.0, 440.0)]);
    shot
}

/// Eight levels with eight shots each: a cover, a page for each level, and the pages of all shots.
fn long_case() -> Case {
    let mut case = Case { title: Some("Benchmark".to_owned()), ..Case::default() };
    let mut level = Level::from_name("T10");
    while let Some(this) = level.filter(|_| case.shots.len() < 8 * 8) {
        for i in 0..8 {
            let stage = Stage::ALL[i % Stage::ALL.len()];
            case.shots.push(shot(this, stage, case.shots.len()));
        }
        level = this.below();
    }
    case
}

fn read(case: &Case) -> CaseReadings {
    read_case(case, |_| Picture::NotLookedAt, None)
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let mut case = long_case();
    let frames: Vec<Option<Arc<Frame>>> = case.shots.iter().map(|_| Some(Arc::new(frame()))).collect();
    let readings = read(&case);
    let pages = report(&case, &readings, &frames, (PaperSize::A4, &[])).len();
    assert!(pages >= 12, "the report has {pages} pages");
    criterion.bench_function(&format!("case report of {pages} pages, 64 shots, to PDF"), |b| {
        b.iter(|| {
            pdf::document(
                &report(black_box(&case), &readings, &frames, (PaperSize::A4, &[])),
                &Theme::light(),
            )
            .map(|f| f.len())
        });
    });
    case.shots.truncate(1);
    let frame = frame();
    let readings = read(&case);
    let shots = [FigureShot {
        shot: &case.shots[0],
        reading: &readings.shots[0],
        frame: Some(&frame),
        field: Field::Whole,
    }];
    let spec = FigureSpec { kind: FigureKind::Shot, width: FigureWidth::Double, ..FigureSpec::default() };
    let mut options = FigureOptions::of_spec(&spec, Some("Benchmark"));
    options.extent = Extent::Whole;
    for (name, format) in [("PNG", PageFormat::Png), ("PDF", PageFormat::Pdf), ("SVG", PageFormat::Svg)] {
        criterion.bench_function(&format!("figure of a 1024² still to {name}"), |b| {
            b.iter(|| {
                let page = figure(black_box(&case), &shots, &[], &options);
                page_bytes(&page, &Theme::light(), format).map(|file| file.len())
            });
        });
    }
    criterion.final_summary();
}
