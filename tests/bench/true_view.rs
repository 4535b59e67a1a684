//! How long it takes to work out what a true view would show, beside the readings it starts from. See README.md here.

use std::hint::black_box;

use criterion::Criterion;
use stillmark::measure::mark::{Level, MarkKind, Marks, Side, Stage, View};
use stillmark::measure::pair::read_pair;
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;
use stillmark::measure::true_view::of_pair;

/// A lateral with every second contour: most candidates.
fn lateral() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (364.0, 313.0), (316.0, 317.0), (268.0, 318.0)])
        .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (357.0, 401.0), (309.0, 409.0), (262.0, 421.0)])
        .with(MarkKind::SuperiorEndPlateSecond, &[(413.0, 312.0), (316.0, 324.0), (268.0, 324.0)])
        .with(MarkKind::InferiorEndPlateSecond, &[(405.0, 404.0), (309.0, 415.0), (262.0, 427.0)])
        .with(MarkKind::PosteriorWallSecond, &[(417.0, 306.0), (409.0, 350.0), (410.0, 399.0)])
        .with(MarkKind::Tip, &[(365.4, 356.9)])
}

fn ap() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(300.0, 250.0), (375.0, 254.0), (450.0, 250.0)])
        .with(MarkKind::InferiorEndPlate, &[(304.0, 334.0), (375.0, 330.0), (448.0, 334.0)])
        .with(MarkKind::SuperiorEndPlateSecond, &[(300.0, 254.0), (375.0, 258.0), (450.0, 254.0)])
        .with(MarkKind::InferiorEndPlateSecond, &[(304.0, 328.0), (375.0, 325.0), (448.0, 328.0)])
        .with(MarkKind::RightPedicle, &[(314.0, 276.0), (341.0, 276.0)])
        .with(MarkKind::LeftPedicle, &[(438.0, 276.0), (412.0, 276.0)])
        .with(MarkKind::SpinousProcess, &[(368.0, 318.0), (392.0, 318.0)])
        .with(MarkKind::Tip, &[(372.0, 291.0)])
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();
    let settings = Settings::default();
    let [lateral, ap] = [lateral(), ap()];
    let shot = |view, marks, mm_per_px| ShotInput {
        view,
        marks,
        side: Some(Side::Right),
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(mm_per_px),
        mm_per_px_sd: None,
        frame: None,
        settings: &settings,
        known: Known { level: Some(Level::L4), ..Known::NOTHING },
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    };
    let (side, front) = (shot(View::Lateral, &lateral, 0.25), shot(View::Ap, &ap, 0.32));
    let read = read_pair(&side, &front);
    assert!(read.pair.true_view.height.is_some() && read.pair.true_view.midline_by.pedicles.is_some());
    criterion.bench_function("true view: both views of a pair", |b| {
        b.iter(|| of_pair::pair(black_box((&read.lateral, &side)), black_box((&read.ap, &front))))
    });
    criterion.final_summary();
}
