//! AP and pedicle views marked in every way a person might mark them: the right reading, or the issue that the
//! method names. The truth is the three-dimensional model's, never the picture's.

use glam::{DVec2, DVec3};
use stillmark::geom::point::Point;
use stillmark::measure::ap::read_ap;
use stillmark::measure::issue::IssueCode;
use stillmark::measure::mark::{Level, MarkKind, Marks, PatientRight, Side, Stage, View};
use stillmark::measure::pedicle::read_pedicle;
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{ApReading, Lent, MidlineBy, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::Known;
use stillmark::phantom::beam::{Pose, sign};
use stillmark::phantom::body::Body;
use stillmark::phantom::instrument::{PlacedInstrument, TipPlace};
use stillmark::phantom::marks::{self, Reader, Showing};
use stillmark::phantom::scenario::Subject;
use stillmark::phantom::size::{PosteriorWall, Sample, Size};

/// A true AP shot of an L4 entered from the right, in a picture that is not mirrored.
struct Shot {
    subject: Subject,
    marks: Marks,
}

const SCALE: f64 = 0.25;

fn shot() -> Shot {
    let body = Body::new(Size::typical(Level::L4, Sample::All));
    let (side, stage) = (Side::Right, Stage::Stylet);
    let tip = TipPlace { depth: 0.3, height: 0.45, off_middle: 6.0 * sign(side) };
    let instrument = PlacedInstrument::placed(&body, stage, side, tip);
    let subject = Subject { level: Level::L4, side, stage, body, instrument };
    let beam = Pose::true_view(View::Ap, SCALE, 768.0).beam(DVec3::NEG_X);
    let marks = subject.ap_marks(&beam, &Reader { showing: Showing::Both, ..Reader::careful() });
    Shot { subject, marks }
}

fn read(marks: &Marks, side: Side, right: Option<PatientRight>) -> ApReading {
    let settings = Settings::default();
    read_ap(&ShotInput {
        view: View::Ap,
        marks,
        side: Some(side),
        stage: Some(Stage::Stylet),
        patient_right: right,
        mm_per_px: Some(SCALE),
        mm_per_px_sd: None,
        frame: None,
        settings: &settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    })
}

/// Every number of a reading with its standard uncertainty, by name.
fn numbers(reading: &ApReading) -> Vec<(&'static str, Option<(f64, f64)>)> {
    let of = |q: Option<&Quantity>| q.map(|q| (q.value, q.sd()));
    let by = &reading.midline_by;
    vec![
        ("height", of(reading.height.as_ref())),
        ("across", of(reading.tip.as_ref().map(|tip| &tip.along))),
        ("pedicles", of(by.pedicles.as_ref())),
        ("spinous process", of(by.spinous_process.as_ref())),
        ("body", of(by.body.as_ref())),
        ("medial border", of(reading.medial_border.as_ref())),
        ("across the pedicle", of(reading.across_pedicle.as_ref())),
        ("over the process", reading.over_spinous_process.map(|over| (over.p_inside, 0.0))),
    ]
}

#[track_caller]
fn same(a: &ApReading, b: &ApReading) {
    for ((name, a), (_, b)) in numbers(a).into_iter().zip(numbers(b)) {
        let (a, b) = (a.expect(name), b.expect(name));
        assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-7, "{name}: {a:?} {b:?}");
    }
}

fn codes(reading: &ApReading) -> Vec<IssueCode> {
    reading.issues.iter().map(|issue| issue.code).collect()
}

/// Only the height is left, and the issue says why.
#[track_caller]
fn heights_only(reading: &ApReading, because: IssueCode, height: f64) {
    assert_eq!(codes(reading), [because]);
    assert!((reading.height.as_ref().expect("a height").value - height).abs() < 1e-9);
    assert!(numbers(reading).iter().skip(1).all(|(_, number)| number.is_none()));
}

fn reversed(marks: &Marks, kind: MarkKind) -> Vec<Option<Point>> {
    marks.slots(kind).iter().rev().copied().collect()
}

/// True marks in a true view read as the truth: what is left is the cone's, below what the view part allows.
#[test]
fn a_true_view_reads_the_truth() {
    let shot = shot();
    let reading = read(&shot.marks, Side::Right, None);
    assert!(codes(&reading).is_empty(), "{:?}", reading.issues);
    assert_eq!(reading.patient_right, Some(PatientRight::ImageRight));
    let (truth, beside) = {
        let truth = shot.subject.truth();
        (truth.ap.unwrap().curved, truth.beside.unwrap())
    };
    let by = &reading.midline_by;
    for (what, found, expected) in [
        ("across", &reading.tip.as_ref().unwrap().along, truth.along),
        ("height", reading.height.as_ref().unwrap(), truth.height),
        ("pedicles", by.pedicles.as_ref().unwrap(), beside.pedicles),
        ("spinous process", by.spinous_process.as_ref().unwrap(), beside.spinous_process),
        ("body", by.body.as_ref().unwrap(), truth.along - 0.5),
        ("medial border", reading.medial_border.as_ref().unwrap(), beside.medial_border),
    ] {
        let within = found.budget.view.max(0.002);
        assert!((found.value - expected).abs() < within, "{what}: {} for {expected}", found.value);
    }
}

/// A mirrored picture is the patient seen from the other side of the table: the pedicles say so, and every
/// reading stays.
#[test]
fn left_and_right_swapped_in_the_picture() {
    let shot = shot();
    let mirrored = shot.marks.map(|p| Point::new(768.0 - p.x, p.y));
    let (a, b) = (read(&shot.marks, Side::Right, None), read(&mirrored, Side::Right, None));
    same(&a, &b);
    assert_eq!(
        (a.patient_right, b.patient_right),
        (Some(PatientRight::ImageRight), Some(PatientRight::ImageLeft))
    );
}

/// Pedicles marked under each other's names contradict what is known of the picture. Where nothing else is known,
/// they are believed: the body is then measured from its other side, 1 − w.
#[test]
fn left_and_right_pedicle_swapped() {
    let shot = shot();
    let right = read(&shot.marks, Side::Right, None);
    let mut swapped = shot.marks.clone();
    swapped.set(MarkKind::RightPedicle, shot.marks.slots(MarkKind::LeftPedicle).to_vec());
    swapped.set(MarkKind::LeftPedicle, shot.marks.slots(MarkKind::RightPedicle).to_vec());
    let height = right.height.as_ref().unwrap().value;
    heights_only(&read(&swapped, Side::Right, right.patient_right), IssueCode::SideContradicts, height);
    let believed = read(&swapped, Side::Right, None);
    let across = |reading: &ApReading| reading.tip.as_ref().unwrap().along.value;
    assert!((across(&believed) - (1.0 - across(&right))).abs() < 1e-9);
    // One of the two swapped alone: both then lie in one half, which cannot be.
    let mut one = shot.marks.clone();
    one.set(MarkKind::LeftPedicle, shot.marks.slots(MarkKind::RightPedicle).to_vec());
    heights_only(&read(&one, Side::Right, None), IssueCode::SideContradicts, height);
}

/// A set side that the pedicles contradict.
#[test]
fn the_setting_contradicts_the_pedicles() {
    let shot = shot();
    let right = read(&shot.marks, Side::Right, None);
    let height = right.height.unwrap().value;
    let reading = read(&shot.marks, Side::Right, Some(PatientRight::ImageLeft));
    heights_only(&reading, IssueCode::SideContradicts, height);
    same(
        &read(&shot.marks, Side::Right, Some(PatientRight::ImageRight)),
        &read(&shot.marks, Side::Right, None),
    );
}

#[test]
fn the_picture_turned_by_thirty_degrees() {
    let shot = shot();
    let upright = read(&shot.marks, Side::Right, None);
    for angle in [30.0_f64, -30.0] {
        let (sin, cos) = angle.to_radians().sin_cos();
        let turned = shot.marks.map(|p| {
            let (x, y) = (p.x - 384.0, p.y - 384.0);
            Point::new(384.0 + cos * x - sin * y, 384.0 + sin * x + cos * y)
        });
        same(&upright, &read(&turned, Side::Right, None));
    }
}

#[test]
fn pedicles_clicked_in_the_wrong_order() {
    let shot = shot();
    let height = read(&shot.marks, Side::Right, None).height.unwrap().value;
    for kind in [MarkKind::RightPedicle, MarkKind::LeftPedicle] {
        let mut marks = shot.marks.clone();
        marks.set(kind, reversed(&shot.marks, kind));
        for side in Side::ALL {
            heights_only(&read(&marks, side, None), IssueCode::PedicleBordersSwapped, height);
        }
    }
}

/// The borders of the spinous process have no order.
#[test]
fn the_spinous_process_clicked_either_way_round() {
    let shot = shot();
    let mut marks = shot.marks.clone();
    marks.set(MarkKind::SpinousProcess, reversed(&shot.marks, MarkKind::SpinousProcess));
    same(&read(&shot.marks, Side::Right, None), &read(&marks, Side::Right, None));
}

#[test]
fn one_pedicle_is_enough_for_the_sides() {
    let shot = shot();
    let both = read(&shot.marks, Side::Right, None);
    for (left_out, near_is_marked) in [(MarkKind::LeftPedicle, true), (MarkKind::RightPedicle, false)] {
        let mut marks = shot.marks.clone();
        marks.set(left_out, Vec::new());
        let reading = read(&marks, Side::Right, None);
        assert!(codes(&reading).is_empty(), "{:?}", reading.issues);
        assert_eq!(reading.patient_right, both.patient_right);
        assert!(
            (reading.tip.as_ref().unwrap().along.value - both.tip.as_ref().unwrap().along.value).abs()
                < 1e-12
        );
        assert!(reading.midline_by.pedicles.is_none());
        assert_eq!(reading.midline_by.best().map(|best| best.0), Some(MidlineBy::SpinousProcess));
        assert_eq!(reading.medial_border.is_some(), near_is_marked);
        assert_eq!(reading.across_pedicle.is_some(), near_is_marked);
    }
}

#[test]
fn without_pedicles_the_setting_decides_and_without_it_only_the_height_is_read() {
    let shot = shot();
    let both = read(&shot.marks, Side::Right, None);
    let across = |reading: &ApReading| reading.tip.as_ref().unwrap().along.value;
    let mut marks = shot.marks.clone();
    marks.set(MarkKind::RightPedicle, Vec::new());
    marks.set(MarkKind::LeftPedicle, Vec::new());
    heights_only(
        &read(&marks, Side::Right, None),
        IssueCode::SideUnknown,
        both.height.as_ref().unwrap().value,
    );
    for (right, expected) in
        [(PatientRight::ImageRight, across(&both)), (PatientRight::ImageLeft, 1.0 - across(&both))]
    {
        let reading = read(&marks, Side::Right, Some(right));
        assert!((across(&reading) - expected).abs() < 1e-9);
        assert!(reading.midline_by.pedicles.is_none() && reading.medial_border.is_none());
    }
}

#[test]
fn without_a_spinous_process_the_rest_is_read() {
    let shot = shot();
    let all = read(&shot.marks, Side::Right, None);
    let mut marks = shot.marks.clone();
    marks.set(MarkKind::SpinousProcess, Vec::new());
    let reading = read(&marks, Side::Right, None);
    assert!(reading.over_spinous_process.is_none() && reading.midline_by.spinous_process.is_none());
    assert_eq!(reading.midline_by.pedicles, all.midline_by.pedicles);
    assert_eq!(reading.tip, all.tip);
    // Nor pedicles, but a setting: the body's own middle is left.
    marks.set(MarkKind::RightPedicle, Vec::new());
    marks.set(MarkKind::LeftPedicle, Vec::new());
    let reading = read(&marks, Side::Right, Some(PatientRight::ImageRight));
    assert_eq!(reading.midline_by.best().map(|best| best.0), Some(MidlineBy::Body));
}

/// Each plate from the patient's right to left or back, with its second contour or the other way round from it.
#[test]
fn end_plates_clicked_either_way_round() {
    let shot = shot();
    let expected = read(&shot.marks, Side::Right, None);
    let plates = [
        MarkKind::SuperiorEndPlate,
        MarkKind::InferiorEndPlate,
        MarkKind::SuperiorEndPlateSecond,
        MarkKind::InferiorEndPlateSecond,
    ];
    for turned in 1..16_u32 {
        let mut marks = shot.marks.clone();
        for (bit, kind) in plates.into_iter().enumerate() {
            if turned >> bit & 1 == 1 {
                marks.set(kind, reversed(&shot.marks, kind));
            }
        }
        same(&expected, &read(&marks, Side::Right, None));
    }
}

/// The docking point down the pedicle, in a picture that is mirrored and turned: offsets stay; the hour is that
/// of the picture, so a mirror turns 1.5 into 10.5.
#[test]
fn a_docking_point_in_a_turned_and_a_mirrored_picture() {
    let body = Body::new(Size::typical(Level::L4, Sample::All));
    let pedicle = body.pedicle(sign(Side::Right));
    let place = pedicle.centre + pedicle.lateral * 0.4 + pedicle.superior * 0.5;
    let read = |mirrored: bool, roll_deg: f64| {
        let mut pose = Pose::true_view(View::Pedicle, SCALE, 768.0);
        (pose.mirrored, pose.roll_deg, pose.off_axis) = (mirrored, roll_deg, DVec2::new(5.0, -8.0));
        let beam = pose.beam(-pedicle.axis);
        let mut marks = marks::pedicle(&body, &beam, Side::Right);
        marks.set(MarkKind::Tip, vec![Some(beam.project(place))]);
        let settings = Settings::default();
        read_pedicle(&ShotInput {
            view: View::Pedicle,
            marks: &marks,
            side: Some(Side::Right),
            stage: Some(Stage::Docking),
            patient_right: None,
            mm_per_px: Some(SCALE),
            mm_per_px_sd: None,
            frame: None,
            settings: &settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        })
    };
    for (mirrored, roll) in [(false, 0.0), (true, 0.0), (false, 30.0), (true, -30.0)] {
        let reading = read(mirrored, roll);
        // The cone magnifies what lies nearer the source by a few thousandths.
        let value = |q: Option<Quantity>| q.unwrap().value;
        assert!((value(reading.lateral_offset) - 0.4).abs() < 0.01);
        assert!((value(reading.superior_offset) - 0.5).abs() < 0.01);
        // atan2(0.4, 0.5) is 38.66°, 1.2887 hours. In this view the patient's right lies on the picture's right.
        let hour = if mirrored { 12.0 - 1.2887 } else { 1.2887 };
        assert!((reading.clock_hour.unwrap() - hour).abs() < 0.03, "{:?}", reading.clock_hour);
    }
}

/// Pedicles of a turned body in a parallel beam: at ± w/2 off the middle and d behind it they show at a, b =
/// (w/2) cos θ ± d sin θ, so that θ = atan[(w/2d)(a − b)/(a + b)] (Stokes IAF, Bigalow LC, Moreland MS. *Spine*
/// 1986;11:213–218). Every row of `axial_rotation_parallel.csv` (RECOMPUTED), to its printed digits.
#[test]
fn a_turn_moves_the_pedicles_as_in_a_parallel_view() {
    let table = include_str!("../reference/axial_rotation_parallel.csv");
    let mut lines = table.lines();
    assert_eq!(
        lines.next(),
        Some("pedicle_separation_w,pedicle_depth_d,theta_deg,a,b,(a-b)/(a+b),theta_recovered")
    );
    let mut rows = 0;
    for line in lines {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let &[w, d, theta, a, b, ratio, recovered] = row.as_slice() else { panic!("seven columns: {line}") };
        // A body without waist or lean, so deep that the pedicles, 5 mm behind it, lie d behind its middle.
        let mut size = Size::typical(Level::L4, Sample::All);
        (size.posterior_waist, size.lean, size.wall) = (0.0, 0.0, PosteriorWall::Hollow(0.0));
        (size.superior_depth, size.inferior_depth) = (2.0 * (d - 5.0), 2.0 * (d - 5.0));
        (size.canal_width, size.pedicle_width) = (w - 12.0, 12.0);
        let body = Body::new(size);
        let mut pose = Pose::true_view(View::Ap, 1.0, 0.0);
        (pose.source_to_body, pose.source_to_detector, pose.turn_deg) = (1e9, 1e9, theta);
        let beam = pose.beam(DVec3::NEG_X);
        let off = |side: f64| (beam.project(body.pedicle(side).centre) - beam.project(DVec3::ZERO)).x.abs();
        let (one, other) = (off(1.0), off(-1.0));
        let (far, near) = (one.max(other), one.min(other));
        assert!((far - a).abs() < 2e-6 && (near - b).abs() < 2e-6, "{line}: {far} {near}");
        let found = (far - near) / (far + near);
        assert!((found - ratio).abs() < 1e-7, "{line}: {found}");
        let angle = (w / (2.0 * d) * found).atan().to_degrees();
        assert!((angle - recovered).abs() < 1e-5, "{line}: {angle}");
        rows += 1;
    }
    assert_eq!(rows, 14);
}

/// Where the relation comes from in the program: pedicles seen in a turned view lie unevenly about the middle of
/// the body, and the spinous process moves against them by (L − d) sin θ (references as above).
#[test]
fn a_turn_moves_the_spinous_process_against_the_pedicles() {
    let shot = shot();
    let (pedicle, spinous) = (shot.subject.body.pedicle(1.0).centre, shot.subject.body.spinous().tip);
    for theta in [2.0_f64, 5.0, 10.0] {
        let mut pose = Pose::true_view(View::Ap, SCALE, 768.0);
        (pose.source_to_body, pose.source_to_detector, pose.turn_deg) = (1e9, 1e9, theta);
        let beam = pose.beam(DVec3::NEG_X);
        let [a, b] = [1.0, -1.0].map(|side| beam.project(shot.subject.body.pedicle(side).centre));
        let moved = (beam.project(spinous).x - 0.5 * (a.x + b.x)).abs() * SCALE;
        let expected = (pedicle.x - spinous.x) * theta.to_radians().sin();
        assert!((moved - expected).abs() < 1e-5, "{theta}: {moved} {expected}");
    }
}
