//! How long a reading takes: marks → depth, height, their budget, verdicts and issues. See README.md here.

mod marks;

use std::hint::black_box;

use criterion::Criterion;
use stillmark::geom::point::Point;
use stillmark::measure::lateral::{lateral_body_map, read_lateral};
use stillmark::measure::mark::{Stage, View};
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;

use marks::{curved, straight};

fn reading(criterion: &mut Criterion) {
    let settings = Settings::default();
    // The depths are those that reading.py prints for the same marks.
    for (name, marks, depth) in
        [("straight, 5 marks", straight(), 0.300_352), ("curved, 14 marks", curved(), 0.286_530)]
    {
        let shot = ShotInput {
            view: View::Lateral,
            marks: &marks,
            side: None,
            stage: Some(Stage::Final),
            patient_right: None,
            mm_per_px: Some(0.31),
            mm_per_px_sd: None,
            frame: None,
            settings: &settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        };
        let tip = read_lateral(&shot).tip.expect("a readable tip");
        assert!((tip.along.value - depth).abs() < 1e-6, "{name}: {}", tip.along.value);
        criterion.bench_function(&format!("reading: {name}"), |b| b.iter(|| read_lateral(black_box(&shot))));
        if let Ok(map) = lateral_body_map(&marks) {
            let tip = Point::new(365.4, 356.9);
            criterion.bench_function(&format!("inverse: {name}"), |b| b.iter(|| map.to_body(black_box(tip))));
        }
    }
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    reading(&mut criterion);
    criterion.final_summary();
}
