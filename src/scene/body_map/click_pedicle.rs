//! Where the next mark of a view down the pedicle belongs.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{MarkKind, MarkRef, PatientRight, Side};
use crate::scene::body_map::Sides;
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Text};
use crate::scene::overlay::body_lines;

/// The arch about the pedicle's outline as an oblique view shows it, lateral on the left, in half widths of the
/// pedicle: the superior articular process above it, the transverse process beside it, the lamina below.
const AROUND: [(f64, f64); 15] = [
    (-0.70, -1.75),
    (-0.05, -2.10),
    (0.55, -1.80),
    (0.95, -1.30),
    (1.70, -0.85),
    (2.30, -0.20),
    (2.35, 0.60),
    (1.65, 1.05),
    (1.15, 1.60),
    (0.35, 1.90),
    (-0.55, 1.60),
    (-1.55, 1.05),
    (-2.40, 0.55),
    (-2.35, -0.25),
    (-1.45, -0.85),
];
/// Height of a pedicle over its width.
const TALL: f64 = 1.25;

/// Draws the view with the point; always `Some`, as the other views may not be.
pub(super) fn draw(scene: &mut Scene, room: Rect, at: MarkRef, sides: Sides) -> Option<()> {
    let lateral_left = lateral_is_left(sides);
    let bounds = Rect::around(AROUND.iter().map(|&(x, y)| Point::new(x, y)))?;
    let (scale, _) = fit(bounds, room);
    let mirrored = lateral_left == Some(false);
    // The outline's own middle stands in the middle of the room's width.
    let centre = Point::new(room.centre().x, room.centre().y - bounds.centre().y * scale);
    let place = |x: f64, y: f64| centre + Vec2::new(if mirrored { -x } else { x }, y) * scale;
    let mut arch: Vec<Point> = AROUND.iter().map(|&(x, y)| place(x, y)).collect();
    arch.extend(arch.first().copied());
    if let Some(curve) = Curve::through(&arch) {
        let edge: Vec<_> = (0..96).map(|i| curve.at(f64::from(i) / 96.0)).collect();
        let (a, b) = body_lines::halves(&edge);
        scene.strip(a, b, Role::Neighbour);
        scene.outline(edge, Role::Neighbour);
    }
    let outline: Vec<_> = (0..48)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 48.0).sin_cos();
            place(cos, TALL * sin)
        })
        .collect();
    let (a, b) = body_lines::halves(&outline);
    scene.strip(a, b, Role::Bone);
    let docking = at.kind == MarkKind::Tip;
    scene.outline(outline, if docking { Role::Outline } else { Role::Accent });
    // Superior, inferior, medial, lateral, as the mark's points are; lateral lies at −x.
    let extremes = [(0.0, -TALL), (0.0, TALL), (1.0, 0.0), (-1.0, 0.0)];
    let (x, y) = if docking {
        for ((x0, y0), (x1, y1)) in [(extremes[0], extremes[1]), (extremes[2], extremes[3])] {
            scene.line(vec![place(x0, y0), place(x1, y1)], Role::Quadrants);
        }
        (-0.45, -0.55)
    } else {
        extremes.get(at.index).copied().unwrap_or_default()
    };
    scene.marker(place(x, y), Glyph::Target, Role::Accent);
    names(scene, lateral_left);
    Some(())
}

/// Whether lateral lies to the left in the picture, where the sides are known: on the right pedicle it does where
/// the patient's right is on the left.
fn lateral_is_left(sides: Sides) -> Option<bool> {
    let (right, entry) = (sides.patient_right?, sides.entry?);
    Some((right == PatientRight::ImageLeft) == (entry == Side::Right))
}

/// Lateral and medial below the drawing; where the sides are not known, that the picture may be the other way round.
fn names(scene: &mut Scene, lateral_left: Option<bool>) {
    let y = scene.bounds.max.y - 10.0;
    match lateral_left {
        Some(left) => {
            let (a, b) = if left { ("lateral", "medial") } else { ("medial", "lateral") };
            crate::scene::body_map::parts::two_names(scene, y, a, b);
        }
        None => {
            let at = Point::new(scene.bounds.centre().x, y);
            let words = "lateral left, or mirrored";
            scene.text(Text::new(at, words, Role::WeakText).aligned(AlignX::Middle, AlignY::Middle));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lateral_of_the_right_pedicle_is_toward_the_patients_right() {
        let of = |right, entry| lateral_is_left(Sides { patient_right: Some(right), entry: Some(entry) });
        assert_eq!(of(PatientRight::ImageLeft, Side::Right), Some(true));
        assert_eq!(of(PatientRight::ImageLeft, Side::Left), Some(false));
        assert_eq!(of(PatientRight::ImageRight, Side::Left), Some(true));
        assert_eq!(lateral_is_left(Sides::default()), None);
    }
}
