//! The curve ahead against the phantom's curved stylet: drawn from the cannula's mouth with the stylet's own radius, bend,
//! turn and lean, the course must fall on the projection of the stylet in space.

use glam::DVec3;
use stillmark::geom::point::{Point, Vec2};
use stillmark::measure::ahead::{Stylet, ahead};
use stillmark::measure::body::BodyPoint;
use stillmark::measure::lateral::lateral_body_map;
use stillmark::measure::mark::{Stage, View};
use stillmark::phantom::beam::Beam;
use stillmark::phantom::draw::Draw;
use stillmark::phantom::instrument::PlacedInstrument;
use stillmark::phantom::marks::Reader;
use stillmark::phantom::scenario::{Subject, drawn_pose, drawn_ray};

/// The arc that leaves the cannula straight on and ends at the tip, as it lies to the picture; `toward_inferior` says
/// whether clockwise across the axis is toward the inferior end plate.
fn shape(instrument: &PlacedInstrument, beam: &Beam, toward_inferior: bool) -> Stylet {
    let mouth = instrument.mouth;
    let axis = (mouth - instrument.outside).normalize();
    let chord = instrument.tip() - mouth;
    let half_bend = axis.angle_between(chord);
    let away = beam.ray_to(beam.project(mouth));
    // Two directions across the ray, and what a millimetre along each does in the picture.
    let (e, f) = away.any_orthonormal_pair();
    let shown = |d: DVec3| beam.project(mouth + d) - beam.project(mouth);
    let (se, sf, sa) = (shown(e), shown(f), shown(axis - away * axis.dot(away)));
    let clockwise = sa.perpendicular();
    let det = se.cross(sf);
    let across = (e * (clockwise.cross(sf) / det) + f * (se.cross(clockwise) / det)).normalize();
    let behind = axis.cross(across);
    let behind = if behind.dot(away) < 0.0 { -behind } else { behind };
    let aside = (chord - axis * axis.dot(chord)).normalize();
    let turn = aside.dot(behind).atan2(aside.dot(across)).to_degrees();
    Stylet {
        radius_mm: chord.length() / (2.0 * half_bend.sin()),
        bend_deg: (2.0 * half_bend).to_degrees(),
        turn_deg: if toward_inferior { turn } else { 180.0 - turn },
        lean_deg: axis.dot(away).asin().to_degrees(),
    }
}

/// The circle's arc in space from the mouth, straight on at first, to the tip, projected as the phantom projects.
fn in_space(instrument: &PlacedInstrument, beam: &Beam, steps: u32) -> Vec<Point> {
    let axis = (instrument.mouth - instrument.outside).normalize();
    let chord = instrument.tip() - instrument.mouth;
    let aside = (chord - axis * axis.dot(chord)).normalize();
    let half_bend = axis.angle_between(chord);
    let radius = chord.length() / (2.0 * half_bend.sin());
    let at = |t: f64| {
        let theta = t * 2.0 * half_bend;
        instrument.mouth + (axis * theta.sin() + aside * (1.0 - theta.cos())) * radius
    };
    (0..=steps).map(|i| beam.project(at(f64::from(i) / f64::from(steps)))).collect()
}

/// Sixty stylets of the phantom. The drawing is parallel and the picture a cone's, which costs up to a few tenths of a millimetre;
/// a lean or a turn of the wrong sign would cost several. The phantom's own course is a parabola's, so that only its end is
/// compared, and the way there with the circle through mouth and tip.
#[test]
fn a_drawn_course_ends_where_the_phantoms_stylet_ends() {
    let mut draw = Draw::new(63);
    let (mut ends, mut courses) = (Vec::new(), Vec::new());
    for _ in 0..60 {
        let subject = Subject::drawn(Stage::Stylet, &mut draw);
        let ray = drawn_ray(1.4, &mut draw);
        let pose = drawn_pose(View::Lateral, subject.side, ray, &mut draw);
        let beam = pose.beam(DVec3::NEG_X);
        let marks = subject.lateral_marks(&beam, &Reader::careful());
        let map = lateral_body_map(&marks).unwrap();
        let down: Vec2 = map.to_image(BodyPoint::new(0.5, 1.0)) - map.to_image(BodyPoint::new(0.5, 0.0));
        let instrument = &subject.instrument;
        let along = beam.project(instrument.mouth) - beam.project(instrument.outside);
        let stylet = shape(instrument, &beam, along.perpendicular().dot(down) > 0.0);
        let found = ahead(&marks, Some(pose.mm_per_px), &stylet).unwrap();
        assert!(stylet.bend_deg > 1.0, "{stylet:?}");
        let seen = in_space(instrument, &beam, u32::try_from(found.course.len() - 1).unwrap());
        let far = |a: Point, b: Point| a.distance(b) * pose.mm_per_px;
        ends.push(far(*found.course.last().unwrap(), beam.project(instrument.tip())));
        courses.push(found.course.iter().zip(&seen).map(|(&a, &b)| far(a, b)).fold(0.0, f64::max));
    }
    for list in [&mut ends, &mut courses] {
        list.sort_by(f64::total_cmp);
        let (half, most) = (list[list.len() / 2], list[list.len() - 1]);
        assert!(half < 0.15 && most < 0.3, "{half} {most}");
    }
}
