//! A body from the front: across and height, with its pedicles and its spinous process as they show through it.

use crate::geom::curve::Curve;
use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::measure::mark::{MarkKind, Marks, PatientRight, Side};
use crate::measure::settings::Rule;
use crate::scene::body_map::parts::{
    Reach, bone, borders, carried, electrodes, midline_band, midline_label, names_y, placing, sampled, sheet,
    side_words, tip, two_names,
};
use crate::scene::body_map::tip_path;
use crate::scene::body_map::{BodyDrawing, Described};
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Text};
use crate::scene::overlay::body_lines;
use crate::scene::overlay::{self, Layer};

/// How far the drawing reaches beyond the body: a tip at the pedicle's entry lies beside it.
const REACH: Reach = [-0.16, 1.16, -0.06, 1.12];

/// The outline of a typical lumbar body from the front, in the units of the one from the side: 46 wide at its
/// plates and 27 high, with waisted walls. Curvature is drawn a little stronger than it is.
pub(crate) fn typical_outline() -> Outline {
    let p = Point::new;
    Outline::new(
        vec![p(0.0, 0.0), p(11.0, 0.9), p(23.0, 1.3), p(35.0, 0.9), p(46.0, 0.0)],
        vec![p(-0.6, 27.2), p(11.0, 26.2), p(23.0, 25.8), p(35.0, 26.2), p(46.6, 27.2)],
        &[p(1.9, 7.0), p(2.6, 13.5), p(1.7, 20.5)],
        &[p(44.1, 7.0), p(43.4, 13.5), p(44.3, 20.5)],
    )
}

/// A pedicle seen through the body: the across fractions of its lateral and medial border, and its middle height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FrontPedicle {
    pub(crate) side: Option<Side>,
    pub(crate) lateral: f64,
    pub(crate) medial: f64,
    pub(crate) height: f64,
}

/// A typical pedicle on the start's (`true`) or the far side: its medial border a quarter of the width from the
/// wall, as an interpedicular distance of 24 mm leaves it.
const fn typical_pedicle(side: Option<Side>, at_start: bool) -> FrontPedicle {
    let (lateral, medial) = if at_start { (0.06, 0.26) } else { (0.94, 0.74) };
    FrontPedicle { side, lateral, medial, height: 0.33 }
}

/// The two borders of the spinous process across the body, and its middle height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FrontSpinous {
    pub(crate) borders: [f64; 2],
    pub(crate) height: f64,
}

const TYPICAL_SPINOUS: FrontSpinous = FrontSpinous { borders: [0.43, 0.57], height: 0.82 };

/// A body from the front in a drawing.
pub(crate) struct BodyFromFront {
    pub(crate) map: BodyMap,
    pub(crate) pedicles: Vec<FrontPedicle>,
    pub(crate) spinous: Option<FrontSpinous>,
    /// Whether the patient's right is on the left of the drawing, where it is known.
    pub(super) right_is_left: Option<bool>,
}

impl BodyFromFront {
    /// A typical body. Its fractions across run from the entry side where that is known, else from the left of the
    /// drawing.
    pub(crate) fn typical(right: PatientRight, entry: Option<Side>, room: Rect) -> Option<Self> {
        let outline = typical_outline();
        let right_is_left = right == PatientRight::ImageLeft;
        let from_left = entry.is_none_or(|side| right_is_left == (side == Side::Right));
        // A turn of the same symmetrical outline: its fractions then run from the other wall.
        let reach = [Point::new(-7.0, -0.6), Point::new(53.0, 30.0)];
        let bounds = Rect::around(outline.first.iter().flatten().copied().chain(reach))?;
        let map = BodyMap::new(&carried(&outline, &placing(bounds, room, !from_left))).ok()?;
        let at_start = if right_is_left == from_left { Side::Right } else { Side::Left };
        let pedicles =
            vec![typical_pedicle(Some(at_start), true), typical_pedicle(Some(at_start.other()), false)];
        Some(Self { map, pedicles, spinous: Some(TYPICAL_SPINOUS), right_is_left: Some(right_is_left) })
    }

    /// The marked body's own outline, upright as it lies in the picture, with what is marked on it.
    fn own(map: &BodyMap, marks: &Marks, right: Option<PatientRight>, room: Rect) -> Option<Self> {
        let corners = [(REACH[0], 0.1), (REACH[1], 0.1), (0.5, REACH[3]), (0.0, 1.0), (1.0, 1.0)];
        let reach = corners.map(|(w, v)| map.to_image(BodyPoint::new(w, v)));
        let outline = sampled(map);
        let bounds = Rect::around(outline.first.iter().flatten().copied().chain(reach))?;
        let two = |kind| {
            let points = marks.complete(kind)?;
            Some([map.to_body(*points.first()?)?, map.to_body(*points.get(1)?)?])
        };
        let pedicle = |(kind, side)| {
            let [lateral, medial] = two(kind)?;
            let height = 0.5 * (lateral.height + medial.height);
            Some(FrontPedicle { side: Some(side), lateral: lateral.along, medial: medial.along, height })
        };
        let pedicles = [(MarkKind::RightPedicle, Side::Right), (MarkKind::LeftPedicle, Side::Left)]
            .into_iter()
            .filter_map(pedicle)
            .collect();
        let spinous = two(MarkKind::SpinousProcess)
            .map(|[a, b]| FrontSpinous { borders: [a.along, b.along], height: 0.5 * (a.height + b.height) });
        let map = BodyMap::new(&carried(&outline, &placing(bounds, room, false))).ok()?;
        Some(Self { map, pedicles, spinous, right_is_left: right.map(|r| r == PatientRight::ImageLeft) })
    }
}

/// The drawing with its sentence, and the map into it.
pub(super) fn drawing(of: &BodyDrawing<'_>, size: (f64, f64)) -> (Described, Option<BodyMap>) {
    let (mut scene, room) = sheet(size);
    let sides = of.sides;
    let drawn = match of.ap {
        Some((map, marks)) => BodyFromFront::own(map, marks, sides.patient_right, room),
        None => {
            BodyFromFront::typical(sides.patient_right.unwrap_or(PatientRight::ImageLeft), sides.entry, room)
        }
    };
    let right = sides.patient_right.or_else(|| of.ap.is_none().then_some(PatientRight::ImageLeft));
    let from = match right {
        Some(PatientRight::ImageRight) => "from posterior",
        Some(PatientRight::ImageLeft) | None => "from anterior",
    };
    let words = format!(
        "AP drawing of the body, seen {from}{}: {}{}",
        of.sides_words(right),
        of.tip_words([Rule::Midline, Rule::Height]),
        of.target_words([Rule::Midline, Rule::Height])
    );
    if let Some(drawn) = &drawn {
        fill(&mut scene, of, drawn, names_y(size));
    }
    (Described { scene, words }, drawn.map(|drawn| drawn.map))
}

fn fill(scene: &mut Scene, of: &BodyDrawing<'_>, drawn: &BodyFromFront, names: f64) {
    let map = &drawn.map;
    bone(scene, map);
    midline_band(scene, map, of);
    if let Some(band) = of.band(Rule::Height) {
        overlay::height_band(scene, map, band);
    }
    if let Some(spinous) = drawn.spinous {
        spinous_shape(scene, map, spinous);
    }
    borders(scene, map);
    for pedicle in &drawn.pedicles {
        let entry = pedicle.side.is_some() && pedicle.side == of.sides.entry;
        pedicle_shape(scene, map, *pedicle, if entry { Role::Pedicle } else { Role::Neighbour });
    }
    if of.layers.has(Layer::Electrodes) {
        electrodes(scene, map, &of.ap_electrodes, REACH);
    }
    let place = of.position;
    tip(scene, map, (place.across, place.height, place.across_height), REACH, of.layers);
    tip_path::way(scene, map, &of.way, tip_path::FRONT, REACH);
    let top = map.to_image(BodyPoint::new(place.midline_across().clamp(0.0, 1.0), 0.0));
    midline_label(scene, top, of);
    if of.layers.has(Layer::Labels) {
        side_names(scene, drawn.right_is_left, of.sides.entry, names);
    }
}

/// Which side is which, below the body.
pub(super) fn side_names(scene: &mut Scene, right_is_left: Option<bool>, entry: Option<Side>, y: f64) {
    match right_is_left {
        Some(right_is_left) => {
            let [left, right] = side_words(right_is_left, entry);
            two_names(scene, y, &left, &right);
        }
        None => {
            let at = Point::new(scene.bounds.centre().x, y);
            scene
                .text(Text::new(at, "sides unknown", Role::WeakText).aligned(AlignX::Middle, AlignY::Middle));
        }
    }
}

/// The line of a pedicle's outline.
pub(crate) fn pedicle_shape(scene: &mut Scene, map: &BodyMap, pedicle: FrontPedicle, role: Role) {
    let FrontPedicle { lateral, medial, height, .. } = pedicle;
    let at = |i| {
        body_lines::pedicle_at(map, (lateral, medial), height, f64::from(i) * std::f64::consts::TAU / 48.0)
    };
    scene.outline((0..48).map(at).collect(), role);
}

/// The outline of the spinous process end on: a drop, narrow above.
pub(crate) fn spinous_outline(map: &BodyMap, spinous: FrontSpinous) -> Vec<Point> {
    let [a, b] = spinous.borders;
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    // Points around the drop: across in half widths, down in fractions of the body's height.
    let around = [
        (0.0, -0.34),
        (0.62, -0.12),
        (1.0, 0.10),
        (0.72, 0.24),
        (0.0, 0.28),
        (-0.72, 0.24),
        (-1.0, 0.10),
        (-0.62, -0.12),
        (0.0, -0.34),
    ];
    let place = |(x, y): (f64, f64)| {
        // The drop ends within the drawing, however low the marks are.
        let height = (spinous.height - 0.10).min(REACH[3] - 0.30) + y;
        map.to_image(BodyPoint::new(middle + half * x, height))
    };
    let points: Vec<_> = around.into_iter().map(place).collect();
    let Some(curve) = Curve::through(&points) else { return points };
    (0..48).map(|i| curve.at(f64::from(i) / 48.0)).collect()
}

fn spinous_shape(scene: &mut Scene, map: &BodyMap, spinous: FrontSpinous) {
    scene.outline(spinous_outline(map, spinous), Role::Neighbour);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Settings;

    /// By hand: with the patient's right on the left of the drawing and entry from the right, the fractions run
    /// from the left; entered from the left, from the right.
    #[test]
    fn fractions_run_from_the_entry_side() {
        let room = Rect::new(0.0, 0.0, 240.0, 180.0);
        for (right, entry, from_left) in [
            (PatientRight::ImageLeft, Some(Side::Right), true),
            (PatientRight::ImageLeft, Some(Side::Left), false),
            (PatientRight::ImageRight, Some(Side::Left), true),
            (PatientRight::ImageRight, None, true),
        ] {
            let drawn = BodyFromFront::typical(right, entry, room).unwrap();
            let x = |w| drawn.map.to_image(BodyPoint::new(w, 0.5)).x;
            assert_eq!(x(0.0) < x(1.0), from_left, "{right:?} {entry:?}");
            // The pedicle named right lies where the picture has the patient's right.
            let pedicle = drawn.pedicles.iter().find(|p| p.side == Some(Side::Right)).unwrap();
            assert_eq!(x(pedicle.medial) < 120.0, right == PatientRight::ImageLeft);
            assert!((x(pedicle.lateral) - 120.0).abs() > (x(pedicle.medial) - 120.0).abs());
        }
    }

    #[test]
    fn only_what_is_marked_is_drawn_on_a_marked_body() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)])
            .with(MarkKind::LeftPedicle, &[(144.0, 108.0), (136.0, 110.0)]);
        let map = crate::measure::ap::ap_body_map(&marks, None, None).unwrap();
        let drawn = BodyFromFront::own(&map, &marks, None, Rect::new(0.0, 0.0, 240.0, 180.0)).unwrap();
        assert!(drawn.spinous.is_none() && drawn.right_is_left.is_none());
        let [pedicle] = drawn.pedicles.as_slice() else { panic!("{:?}", drawn.pedicles) };
        assert!((pedicle.lateral - 0.88).abs() < 1e-9 && (pedicle.medial - 0.72).abs() < 1e-9);
        assert!((pedicle.height - 0.3).abs() < 1e-9);
    }

    #[test]
    fn a_body_whose_sides_are_not_known_says_so() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)]);
        let map = crate::measure::ap::ap_body_map(&marks, None, None).unwrap();
        let settings = Settings::default();
        let drawing = BodyDrawing { ap: Some((&map, &marks)), ..BodyDrawing::new(&settings, None) };
        let drawn = drawing.front((240.0, 200.0));
        assert!(crate::scene::body_map::tests::words(&drawn.scene).contains(&"sides unknown"));
    }
}
