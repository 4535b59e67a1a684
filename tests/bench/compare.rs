//! What a frame of the window computes for two laid 2048 × 2048 pictures of 16 bits. See docs/speed.md.

use std::hint::black_box;
use std::sync::Arc;

use criterion::Criterion;
use stillmark::align::registration::Registration;
use stillmark::case::document::{Case, Shot};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::mark::{MarkKind, View};
use stillmark::measure::reading::Field;
use stillmark::scene::comparison::layers::{Blend, Layers};
use stillmark::scene::window_level::look::Look;
use stillmark::scene::window_level::{Region, WindowLevel};

const SIDE: u32 = 2048;

fn frame(shift: u32) -> Arc<Frame> {
    let value = |x: u32, y: u32| ((x * 17 + y * 11 + (x * y) % 257 + shift) % 60_000).to_le_bytes();
    let values = (0..SIDE)
        .flat_map(|y| (0..SIDE).map(move |x| value(x, y)))
        .map(|[low, high, ..]| u16::from_le_bytes([low, high]))
        .collect();
    Arc::new(Frame::of_samples(SIDE, SIDE, Samples::Gray16(values)))
}

/// A body of 560 × 400 px whose borders are curved, the later one turned and shifted a little.
fn shot(x: f64, y: f64, turn: f64) -> Shot {
    let mut shot = Shot::new("a", "a.png", View::Lateral);
    let at = |dx: f64, dy: f64| {
        let (sin, cos) = turn.sin_cos();
        (x + cos * dx - sin * dy, y + sin * dx + cos * dy)
    };
    shot.marks = shot
        .marks
        .with(MarkKind::SuperiorEndPlate, &[at(0.0, 0.0), at(280.0, 18.0), at(560.0, 0.0)])
        .with(MarkKind::InferiorEndPlate, &[at(0.0, 400.0), at(280.0, 380.0), at(560.0, 410.0)])
        .with(MarkKind::PosteriorWall, &[at(16.0, 200.0)])
        .with(MarkKind::AnteriorWall, &[at(540.0, 200.0)]);
    shot
}

fn compare(criterion: &mut Criterion) {
    let (first, second) = (frame(0), frame(9000));
    let shots = [shot(700.0, 800.0, 0.0), shot(740.0, 760.0, 0.06)];
    let Ok(registration) = Registration::of_shots(&Case::default(), [&shots[0], &shots[1]]) else { return };
    let lay = || Layers::of(&registration, [&first, &second], [&[], &[]]);
    criterion.bench_function("laid once, away from the window", |b| b.iter(|| black_box(lay())));
    let Ok(layers) = lay() else { return };
    let table = Look::default().table(&second, WindowLevel::automatic(&second, Field::Whole));
    // A canvas of 960 × 600 points in a window of 1280 × 800: the whole picture is shown three stored pixels to one, and
    // one to one a part of it, with a sixth more on every side.
    let whole = Region::whole(&second);
    let part = Region { x: 400, y: 600, width: 1250, height: 780 };
    for (name, region, step) in [("whole picture, 1:3", whole, 3), ("part, 1:1", part, 1)] {
        let seen = layers.seen(region, step);
        let line = Blend::Divided { at: Point::new(1000.0, 0.0), toward: Vec2::new(0.96, 0.28) };
        for (what, blend) in [
            ("blend: share dragged", Blend::Share(0.4)),
            ("alternate: changed", Blend::Share(1.0)),
            ("dividing line dragged", line),
            ("difference shown", Blend::Difference),
        ] {
            criterion.bench_function(&format!("{what}: {name}"), |b| {
                b.iter(|| black_box(&seen).greys(black_box(blend), &table));
            });
        }
        criterion.bench_function(&format!("both moved, blended: {name}"), |b| {
            b.iter(|| black_box(&layers).seen(region, step).greys(Blend::Share(0.4), &table));
        });
    }
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    compare(&mut criterion);
    criterion.final_summary();
}
