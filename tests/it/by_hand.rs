//! AP readings, docking points and pairs against cases worked out by hand; the arithmetic stands beside each
//! check, from the formulas of the method's sections 3 and 4.
//!
//! The body of the AP cases is a rectangle 50 px wide and 30 px high at 1 mm to a pixel, its left edge at
//! x = 100 and its upper edge at y = 100. On a rectangle the weight of each corner at (w, v) is N: (1−w)(1−v),
//! w(1−v), (1−w)v, wv; a corner moved sideways by d moves what is read across by −N d/50.

use stillmark::measure::ap::read_ap;
use stillmark::measure::issue::IssueCode;
use stillmark::measure::mark::{MarkKind, Marks, PatientRight, Side, Stage, View};
use stillmark::measure::pair::{ReadPair, read_pair};
use stillmark::measure::pedicle::read_pedicle;
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{ApReading, Lent, PedicleReading, Quadrant, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;
use stillmark::measure::verdict::{Nominal, State, VerdictRule};

fn input<'a>(view: View, marks: &'a Marks, settings: &'a Settings) -> ShotInput<'a> {
    ShotInput {
        view,
        marks,
        side: Some(Side::Right),
        stage: Some(Stage::Final),
        patient_right: None,
        mm_per_px: Some(1.0),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    }
}

/// The patient's right is on the left of the picture: right pedicle from 106 to 114, left from 144 to 136, spinous
/// process from 121 to 129.
fn ap_marks() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
        .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)])
        .with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)])
        .with(MarkKind::LeftPedicle, &[(144.0, 108.0), (136.0, 108.0)])
        .with(MarkKind::SpinousProcess, &[(121.0, 120.0), (129.0, 120.0)])
        .with(MarkKind::Tip, &[(122.5, 115.0)])
}

fn ap() -> ApReading {
    read_ap(&input(View::Ap, &ap_marks(), &Settings::default()))
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} instead of {expected}");
}

/// Value, bone, metal and view of a quantity.
#[track_caller]
fn check(found: Option<&Quantity>, value: f64, [bone, metal, view]: [f64; 3]) {
    let q = found.expect("it is read");
    near(q.value, value, 1e-9);
    near(q.budget.bone, bone, 1e-6);
    near(q.budget.metal, metal, 1e-6);
    near(q.budget.view, view, 1e-6);
    near(q.sd(), (bone * bone + metal * metal + view * view).sqrt(), 2e-6);
}

/// w = 22.5/50 = 0.45, v = 15/30 = 0.5. ΣN² = (0.55² + 0.45²)(0.5² + 0.5²) = 0.2525, so bone is
/// 0.5·√0.2525/50 = 0.0050249 across and 0.5·√0.2525/30 = 0.0083749 in height; metal 0.25/50 = 0.005 and
/// 0.25/30 = 0.0083333.
///
/// View across: turn 35·0.1·ρ/50 = 0.0009874 with ρ = sin 1.4°/√3 = 0.0141059, cone 35/700·(−0.05)(−0.1) =
/// 0.00025, together 0.0010186. View in height: A² = 2·7.5² = 112.5, t = 35·(−0.1) = −3.5;
/// (ρ/30)²·(112.5 + 12.25) = 2.75806e-5, (½/700)²·112.5 = 5.73980e-5, together 0.0092184.
#[test]
fn across_and_height() {
    let reading = ap();
    let tip = reading.tip.as_ref().unwrap();
    check(Some(&tip.along), 0.45, [0.005_024_94, 0.005, 0.001_018_56]);
    check(reading.height.as_ref(), 0.5, [0.008_374_89, 0.008_333_33, 0.009_218_38]);
}

/// Medial borders at (0.28, 8/30) and (0.72, 8/30); half their weights on the corners sum to 0.366667, 0.366667,
/// 0.133333, 0.133333, the tip's are 0.275, 0.225, 0.275, 0.225. The squares of the differences sum to
/// 0.0569444, and the two borders themselves add 2·(½)²: bone is 0.5/50·√0.5569444 = 0.0074629. View: turn
/// 35·(0.4 + 0.15)·ρ/50 = 0.0054308, cone 0.00025.
#[test]
fn offset_from_the_pedicles() {
    let reading = ap();
    check(reading.midline_by.pedicles.as_ref(), -0.05, [0.007_462_87, 0.005, 0.005_436_52]);
}

/// Middle of the process at (0.5, 2/3): weights 1/6, 1/6, 1/3, 1/3; the squares of the differences sum to
/// 0.0302778, the borders add 0.5: bone 0.01·√0.5302778 = 0.0072820. View: turn 35·1.7·ρ/50 = 0.0167861, cone
/// 0.00025. Standard uncertainty √(0.00728202² + 0.005² + 0.0167879²) = 0.0189704; the process reaches
/// 4/50 = 0.08 to both sides: Φ(0.13/0.0189704) − Φ(−0.03/0.0189704) = 0.943112.
#[test]
fn offset_from_the_spinous_process_and_whether_over_it() {
    let reading = ap();
    check(reading.midline_by.spinous_process.as_ref(), -0.05, [0.007_282_02, 0.005, 0.016_787_92]);
    let over = reading.over_spinous_process.unwrap();
    assert_eq!((over.nominal, over.state), (Nominal::Inside, State::Undecided));
    near(over.p_inside, 0.943_112, 2e-5);
}

/// Still to go to the medial border: 0.28 − 0.45 = −0.17. Its weights are 0.528, 0.205333, 0.192, 0.074667; less
/// the tip's, squared and summed: 0.0938849; the border itself
/// adds 1: bone 0.01·√1.0938849 = 0.0104589. View: turn as against the pedicles 0.0054308, cone
/// 0.05·[(−0.05)(−0.1) − (−0.22)(−0.65)] = −0.0069, together 0.0087808.
///
/// Across the pedicle: lateral border at 6/50 = 0.12, so (0.45 − 0.12)/0.16 = 2.0625, and its view part is
/// 0.0087808/0.16 = 0.0548802.
#[test]
fn the_way_to_the_medial_border() {
    let reading = ap();
    check(reading.medial_border.as_ref(), -0.17, [0.010_458_9, 0.005, 0.008_780_83]);
    let fraction = reading.across_pedicle.unwrap();
    near(fraction.value, 2.0625, 1e-9);
    near(fraction.budget.view, 0.054_880_2, 1e-6);
    near(fraction.budget.metal, 0.005 / 0.16, 1e-9);
}

/// From the left the body is measured from its other side: 1 − 0.45 = 0.55, past the midline by 0.05, and
/// 0.28 − 0.55 = −0.27 past the left pedicle's medial border.
#[test]
fn entered_from_the_left() {
    let (marks, settings) = (ap_marks(), Settings::default());
    let reading = read_ap(&ShotInput { side: Some(Side::Left), ..input(View::Ap, &marks, &settings) });
    near(reading.tip.unwrap().along.value, 0.55, 1e-9);
    near(reading.midline_by.pedicles.unwrap().value, 0.05, 1e-9);
    near(reading.medial_border.unwrap().value, -0.27, 1e-9);
    assert_eq!(reading.patient_right, Some(PatientRight::ImageLeft));
}

/// A pedicle with half axes of 20 px (to the right, lateral) and 30 px (up, superior) about (100, 100). Uncalibrated,
/// its 60 px are 15 mm: 0.25 mm to a pixel, so bone is off by 2 px and metal by 1 px.
fn docking(x: f64, y: f64) -> PedicleReading {
    let marks = Marks::new()
        .with(MarkKind::Pedicle, &[(100.0, 70.0), (100.0, 130.0), (80.0, 100.0), (120.0, 100.0)])
        .with(MarkKind::Tip, &[(100.0 + 20.0 * x, 100.0 - 30.0 * y)]);
    let settings = Settings::default();
    let shot = input(View::Pedicle, &marks, &settings);
    read_pedicle(&ShotInput { stage: Some(Stage::Docking), mm_per_px: None, ..shot })
}

/// At x = y = ½ the sideways weights of superior, inferior, medial and lateral point are −¼ ∓ ¼ and −¼ ± ¼: −½, 0,
/// 0, −½, those of height the same. Bone of x: 2·√½/20 = 0.0707107, of y 2·√½/30 = 0.0471405; metal 1/20 and
/// 1/30. The radius is √½ and goes along both by √½: bone √(½·0.0707107² + ½·0.0471405²) = 0.0600925. The
/// angle is atan2(½, ½) = 45°, an hour and a half.
#[test]
fn a_docking_point() {
    let reading = docking(0.5, 0.5);
    check(reading.lateral_offset.as_ref(), 0.5, [0.070_710_7, 0.05, 0.0]);
    check(reading.superior_offset.as_ref(), 0.5, [0.047_140_5, 1.0 / 30.0, 0.0]);
    let metal = (0.5 * 0.05_f64.powi(2) + 0.5 / 900.0).sqrt();
    check(reading.radius.as_ref(), 0.5_f64.sqrt(), [0.060_092_5, metal, 0.0]);
    near(reading.clock_hour.unwrap(), 1.5, 1e-9);
    assert_eq!(reading.quadrant, Some(Quadrant::SuperiorLateral));
}

/// Hours by hand: the four borders are at 12, 6, 9 and 3; half way between superior and medial border is half past
/// ten.
#[test]
fn hours_and_quadrants_round_the_pedicle() {
    for (x, y, hour, quadrant) in [
        (0.0, 1.0, 12.0, Quadrant::SuperiorMedial),
        (1.0, 0.0, 3.0, Quadrant::InferiorLateral),
        (0.0, -1.0, 6.0, Quadrant::InferiorMedial),
        (-1.0, 0.0, 9.0, Quadrant::InferiorMedial),
        (-0.5, 0.5, 10.5, Quadrant::SuperiorMedial),
        (0.5, -0.5, 4.5, Quadrant::InferiorLateral),
    ] {
        let reading = docking(x, y);
        near(reading.clock_hour.unwrap(), hour, 1e-9);
        assert_eq!(reading.quadrant, Some(quadrant), "{x} {y}");
    }
}

/// On the very centre both offsets are as likely positive as negative, and independent: one chance in four. Five
/// standard errors of 4,096 draws are 5·√(0.25·0.75/4096) = 0.034. Four standard uncertainties (each √(0.0707² + 0.05²) = 0.087 at
/// most) inside every edge the target is as good as certain, and as far outside it is excluded.
#[test]
fn chances_of_docking() {
    let p = |x, y| docking(x, y).verdicts[0].p_inside;
    near(p(0.0, 0.0), 0.25, 0.034);
    near(p(0.4, 0.4), 1.0, 0.005);
    near(p(-0.4, 0.4), 0.0, 0.005);
    near(p(0.4, -0.4), 0.0, 0.005);
    let verdict = docking(0.9, 0.9).verdicts[0];
    assert_eq!((verdict.nominal, verdict.rule), (Nominal::High, VerdictRule::Docking));
}

/// A lateral body 35 px deep and 27 px high, its back at x = 200 on the right, at 1 mm to a pixel; and the AP body
/// above, its tip `across` and both tips as high as given.
fn pair(depth: f64, heights: (f64, f64), across: f64) -> ReadPair {
    let lateral = Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(200.0, 100.0), (165.0, 100.0)])
        .with(MarkKind::InferiorEndPlate, &[(200.0, 127.0), (165.0, 127.0)])
        .with(MarkKind::Tip, &[(200.0 - 35.0 * depth, 100.0 + 27.0 * heights.0)]);
    let ap = ap_marks().with(MarkKind::Tip, &[(100.0 + 50.0 * across, 100.0 + 30.0 * heights.1)]);
    let settings = Settings::default();
    read_pair(&input(View::Lateral, &lateral, &settings), &input(View::Ap, &ap, &settings))
}

fn passage(read: &ReadPair) -> (State, Nominal, f64, bool) {
    let verdict = read.pair.verdicts.iter().find(|v| v.rule == VerdictRule::SafePassage).expect("a verdict");
    let speaks = read.pair.issues.iter().any(|issue| issue.code == IssueCode::MedialBeforeWall);
    (verdict.state, verdict.nominal, verdict.q.expect("its chance"), speaks)
}

/// 0.3 behind the wall and 0.17 past the medial border, each many standard uncertainties (about 0.03 and 0.02): q
/// is 1. As far behind the wall but 0.13 lateral to the border: q is 0. At depth 0.4 nothing is shown of the way.
#[test]
fn safe_passage_where_there_is_no_doubt() {
    let crossed = passage(&pair(-0.3, (0.4, 0.4), 0.45));
    assert_eq!((crossed.0, crossed.1, crossed.3), (State::Outside, Nominal::Past, true));
    near(crossed.2, 1.0, 1e-6);
    let lateral = passage(&pair(-0.3, (0.4, 0.4), 0.15));
    assert_eq!((lateral.0, lateral.1, lateral.3), (State::Inside, Nominal::Inside, false));
    near(lateral.2, 0.0, 1e-6);
    let last = passage(&pair(0.4, (0.5, 0.5), 0.48));
    assert_eq!((last.0, last.1, last.3), (State::NotShown, Nominal::Inside, false));
}

/// Just on the wall and just on the border each chance is one half: q = 0.25, too close to call, and it speaks. On
/// the wall and clearly medial q = 0.5, which speaks too.
#[test]
fn a_doubtful_passage_speaks() {
    let doubtful = passage(&pair(0.0, (0.4, 0.4), 0.28));
    assert_eq!((doubtful.0, doubtful.3), (State::Undecided, true));
    near(doubtful.2, 0.25, 1e-6);
    let medial = passage(&pair(0.0, (0.4, 0.4), 0.45));
    assert_eq!((medial.0, medial.3), (State::Undecided, true));
    near(medial.2, 0.5, 1e-6);
}

/// The AP's height has the standard uncertainty √(0.0083749² + 0.0083333² + 0.0092184²) = 0.0149904 at depth 0.4;
/// the lateral's, with t = 0.02·50 = 1 mm lent: ΣN² = (0.6² + 0.4²)·0.5 = 0.26, bone 0.5·√0.26/27 = 0.0094427,
/// metal 0.25/27 = 0.0092593, view √((ρ/27)²·(200 + 1) + (½/700)²·200) with A² = 2·10² = 200: 0.0125262; together
/// 0.0182154. Of their difference: 0.0235905, so 1.96 of it is 0.0462365.
#[test]
fn heights_disagree_beyond_their_uncertainty() {
    let codes = |apart: f64| {
        let read = pair(0.4, (0.5, 0.5 + apart), 0.48);
        let lateral = read.lateral.tip.as_ref().unwrap().height.sd();
        near(lateral, 0.018_215_4, 2e-6);
        read.pair.issues.iter().any(|issue| issue.code == IssueCode::HeightsDisagree)
    };
    assert!(!codes(0.045) && codes(0.0475));
}
