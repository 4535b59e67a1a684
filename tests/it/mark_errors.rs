//! Marks that are less certain than the settings say: on soft borders, and as the program proposed them.

use stillmark::geom::point::Vec2;
use stillmark::measure::lateral::read_lateral;
use stillmark::measure::mark::{MarkKind, MarkRef, Marks, Stage, View};
use stillmark::measure::mark_error::{MarkErrors, Proposed, Softness};
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{LateralReading, Lent, MonteCarlo, ShotInput};
use stillmark::measure::settings::Settings;

fn read(marks: &Marks, errors: &MarkErrors, monte_carlo: Option<MonteCarlo>) -> LateralReading {
    let settings = Settings { view_half_width_deg: 0.0, ..Settings::default() };
    read_lateral(&ShotInput {
        view: View::Lateral,
        marks,
        side: None,
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(1.0),
        mm_per_px_sd: None,
        frame: None,
        settings: &settings,
        known: stillmark::measure::true_view::known::Known::NOTHING,
        mark_errors: Some(errors),
        lent: Lent::default(),
        monte_carlo,
    })
}

/// A rectangle of 35 × 27 mm with its tip in the middle.
fn rectangle() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (35.0, 0.0)])
        .with(MarkKind::InferiorEndPlate, &[(0.0, 27.0), (35.0, 27.0)])
        .with(MarkKind::Tip, &[(17.5, 13.5)])
}

fn at(kind: MarkKind, index: usize) -> MarkRef {
    MarkRef { kind, index }
}

fn proposed(across_mm: f64, along_mm: f64) -> Proposed {
    Proposed { across_mm, along_mm, along: None }
}

fn of(reading: LateralReading) -> [Quantity; 2] {
    let tip = reading.tip.expect("a reading");
    [tip.along, tip.height]
}

/// By hand: in the middle of the rectangle each corner moves the height by a quarter of 1/27 a millimetre. Corners of
/// 0.5 mm give ½·0.5/27 = 0.009259; one corner with 1.2 mm more has 1.3 mm: its softness brings ¼·1.2/27 = 0.011111, and
/// the bone part is √(3·0.25 + 1.69)·¼/27 = 0.014464.
#[test]
fn a_soft_corner_by_hand() {
    let mut errors = MarkErrors::new();
    let [_, sharp] = of(read(&rectangle(), &errors, None));
    assert!((sharp.budget.bone - 0.009_259).abs() < 1e-6 && sharp.budget.softness == 0.0);
    errors.soften(at(MarkKind::SuperiorEndPlate, 1), Softness::Adds(1.2));
    let [_, soft] = of(read(&rectangle(), &errors, None));
    assert!((soft.budget.softness - 0.011_111).abs() < 1e-6, "{:?}", soft.budget);
    assert!((soft.budget.bone - 0.014_464).abs() < 1e-6, "{:?}", soft.budget);
    assert_eq!(soft.influences[0].mark, at(MarkKind::SuperiorEndPlate, 1));
}

/// By hand: a superior end plate whose both corners were proposed and are off together by 0.4 mm moves the height in the
/// middle by half of 0.4/27 = 0.007407. Had each corner its own 0.4 mm it were half of √½ as much.
#[test]
fn a_border_moves_as_one() {
    let mut errors = MarkErrors::new();
    for index in [0, 1] {
        errors.propose(at(MarkKind::SuperiorEndPlate, index), proposed(0.0, 0.0));
    }
    errors.share(MarkKind::SuperiorEndPlate, 0.4);
    let [depth, height] = of(read(&rectangle(), &errors, None));
    assert!((height.budget.proposal - 0.007_407).abs() < 1e-6, "{:?}", height.budget);
    assert!(depth.budget.proposal < 1e-12, "a shift across the endplate moves no depth: {:?}", depth.budget);
    // The shares of all marks add up to the marks' variance.
    let shares: f64 = height.influences.iter().map(|influence| influence.sd.powi(2)).sum();
    let marked = height.budget.bone.powi(2) + height.budget.metal.powi(2);
    assert!((shares / marked - 1.0).abs() < 1e-12);
}

/// By hand: a tip proposed with 0.6 mm along its shaft, which runs forward, and 0.4 mm across it.
#[test]
fn a_proposed_tip_is_less_certain_along_its_shaft() {
    let mut errors = MarkErrors::new();
    let along = Some(Vec2::new(3.0, 0.0));
    errors.propose(at(MarkKind::Tip, 0), Proposed { across_mm: 0.4, along_mm: 0.6, along });
    let [depth, height] = of(read(&rectangle(), &errors, None));
    assert!(
        (depth.budget.metal - 0.6 / 35.0).abs() < 1e-9 && (height.budget.metal - 0.4 / 27.0).abs() < 1e-9
    );
    assert!(depth.budget.proposal == 0.0, "proposals are named as a part of bone");
}

/// Curved borders, soft, without an edge, and proposed with an error in common: simulation finds what first order says.
#[test]
fn first_order_and_simulation_agree() {
    let marks = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 1.2), (17.5, 1.7), (26.0, 1.1), (35.0, -1.0)])
        .with(MarkKind::InferiorEndPlate, &[(0.0, 27.0), (17.5, 25.5), (35.0, 28.0)])
        .with(MarkKind::PosteriorWall, &[(1.1, 9.0), (1.2, 18.0)])
        .with(MarkKind::AnteriorWall, &[(33.4, 14.0)])
        .with(MarkKind::Tip, &[(14.0, 13.0)]);
    let mut errors = MarkErrors::new();
    for index in 0..5 {
        errors.propose(at(MarkKind::SuperiorEndPlate, index), proposed(0.62, 1.0));
    }
    errors.share(MarkKind::SuperiorEndPlate, 0.45);
    errors.propose(at(MarkKind::PosteriorWall, 0), proposed(0.7, 1.0));
    errors.propose(at(MarkKind::PosteriorWall, 1), proposed(0.7, 1.0));
    errors.share(MarkKind::PosteriorWall, 0.5);
    errors.soften(at(MarkKind::InferiorEndPlate, 1), Softness::Adds(0.8));
    errors.soften(at(MarkKind::AnteriorWall, 0), Softness::NoEdge);
    let plain = of(read(&marks, &MarkErrors::new(), None));
    let run = Some(MonteCarlo { draws: 20_000, seed: 5 });
    for (q, plain) in of(read(&marks, &errors, run)).iter().zip(&plain) {
        let simulated = q.monte_carlo.unwrap();
        let ratio = simulated.sd / q.sd();
        assert!((ratio - 1.0).abs() < 0.03, "simulation finds {ratio} of {}", q.sd());
        assert!((q.value - plain.value).abs() < 1e-15 && q.sd() > plain.sd());
        assert!(q.budget.proposal > 0.0 && q.budget.softness > 0.0 && q.budget.proposal < q.budget.bone);
    }
}
