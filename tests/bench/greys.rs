//! What a frame of the window computes for a 2048 × 2048 picture of 16 bits. See docs/speed.md.

use std::hint::black_box;

use criterion::Criterion;
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::measure::reading::Field;
use stillmark::scene::window_level::local_contrast::LocalContrast;
use stillmark::scene::window_level::look::Look;
use stillmark::scene::window_level::{Region, WindowLevel, sample};

const SIDE: u32 = 2048;

fn frame() -> Frame {
    let value = |x: u32, y: u32| ((x * 17 + y * 11 + (x * y) % 257) % 60_000).to_le_bytes();
    let values = (0..SIDE)
        .flat_map(|y| (0..SIDE).map(move |x| value(x, y)))
        .map(|[low, high, ..]| u16::from_le_bytes([low, high]))
        .collect();
    Frame::of_samples(SIDE, SIDE, Samples::Gray16(values))
}

fn greys(criterion: &mut Criterion) {
    let frame = frame();
    let automatic = WindowLevel::automatic(&frame, Field::Whole);
    let look = Look::default();
    // A canvas of 700 × 600 points in a window of 1280 × 800: the whole picture is shown three stored pixels to
    // one, and one to one a part of it, with a sixth more on every side.
    let whole = Region::whole(&frame);
    let part = Region { x: 500, y: 500, width: 910, height: 780 };
    for (name, region, step) in [("whole picture, 1:3", whole, 3), ("part, 1:1", part, 1)] {
        let sampled = sample(&frame, region, step);
        criterion.bench_function(&format!("greys dragged: {name}"), |b| {
            b.iter(|| black_box(&sampled).greys(&black_box(look).table(&frame, automatic)));
        });
        criterion.bench_function(&format!("picture moved: {name}"), |b| {
            let table = look.table(&frame, automatic);
            b.iter(|| sample(black_box(&frame), region, step).greys(&table));
        });
        let local = LocalContrast::of(&frame, Field::Whole, automatic);
        criterion.bench_function(&format!("picture moved with local contrast: {name}"), |b| {
            let table = look.table(&frame, automatic);
            b.iter(|| {
                let mut sampled = sample(black_box(&frame), region, step);
                local.apply(&mut sampled);
                sampled.greys(&table)
            });
        });
    }
    criterion.bench_function("local contrast turned on", |b| {
        b.iter(|| LocalContrast::of(black_box(&frame), Field::Whole, automatic));
    });
    criterion.bench_function("all greys anew, every stored pixel (as before)", |b| {
        let table = look.table(&frame, automatic);
        b.iter(|| sample(black_box(&frame), whole, 1).greys(&table));
    });
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    greys(&mut criterion);
    criterion.final_summary();
}
