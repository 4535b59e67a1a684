//! Where the next mark of an AP view belongs.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, MarkRef, PatientRight, Side};
use crate::scene::body_map::Sides;
use crate::scene::body_map::click::{
    along_plate, between, is_last, on_border, one_electrode, second_contour,
};
use crate::scene::body_map::front::{
    BodyFromFront, FrontPedicle, pedicle_shape, side_names, spinous_outline,
};
use crate::scene::body_map::parts::{bone, borders};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Text};

/// A typical way of an instrument through the pedicle; its last place is the tip.
const WAY: [BodyPoint; 3] =
    [BodyPoint::new(0.02, 0.22), BodyPoint::new(0.26, 0.38), BodyPoint::new(0.50, 0.50)];

/// Draws the view with the point; `None` where the body has no room.
pub(super) fn draw(scene: &mut Scene, room: Rect, at: MarkRef, slots: usize, sides: Sides) -> Option<()> {
    let right = sides.patient_right;
    // Without a known right side end plates run from the left of the picture, as in any picture.
    let drawn = BodyFromFront::typical(right.unwrap_or(PatientRight::ImageLeft), None, room)?;
    let map = &drawn.map;
    bone(scene, map);
    if let Some(spinous) = drawn.spinous {
        scene.outline(spinous_outline(map, spinous), Role::Neighbour);
    }
    borders(scene, map);
    for &pedicle in &drawn.pedicles {
        pedicle_shape(scene, map, pedicle, Role::Neighbour);
    }
    highlight(scene, &drawn, at, slots, sides);
    let y = scene.bounds.max.y - 10.0;
    if right.is_some() {
        side_names(scene, drawn.right_is_left, None, y);
    } else if by_side(at.kind).is_some() {
        let words = "this or the other side";
        let at = Point::new(scene.bounds.centre().x, y);
        scene.text(Text::new(at, words, Role::WeakText).aligned(AlignX::Middle, AlignY::Middle));
    }
    Some(())
}

/// The patient's side a mark lies on, where it has one.
const fn by_side(kind: MarkKind) -> Option<Side> {
    match kind {
        MarkKind::RightWall | MarkKind::RightWallSecond | MarkKind::RightPedicle => Some(Side::Right),
        MarkKind::LeftWall | MarkKind::LeftWallSecond | MarkKind::LeftPedicle => Some(Side::Left),
        _ => None,
    }
}

fn highlight(scene: &mut Scene, drawn: &BodyFromFront, at: MarkRef, slots: usize, sides: Sides) {
    let map = &drawn.map;
    if let Some(side) = by_side(at.kind) {
        // Where the patient's right is not known, both places are shown.
        let other = sides.patient_right.is_none().then(|| side.other());
        for side in std::iter::once(side).chain(other) {
            on_side(scene, drawn, at, slots, side);
        }
        return;
    }
    let entry_left =
        sides.entry.is_none_or(|side| (side == Side::Right) == (drawn.right_is_left == Some(true)));
    let way =
        WAY.map(|p| map.to_image(BodyPoint::new(if entry_left { p.along } else { 1.0 - p.along }, p.height)));
    match at.kind {
        MarkKind::SuperiorEndPlate => on_border(scene, map, Border::Superior, along_plate(at, slots)),
        MarkKind::InferiorEndPlate => on_border(scene, map, Border::Inferior, along_plate(at, slots)),
        MarkKind::SuperiorEndPlateSecond => second_contour(scene, map, Border::Superior),
        MarkKind::InferiorEndPlateSecond => second_contour(scene, map, Border::Inferior),
        MarkKind::SpinousProcess => {
            let Some(spinous) = drawn.spinous else { return };
            scene.outline(spinous_outline(map, spinous), Role::Accent);
            let across = spinous.borders[at.index.min(1)];
            scene.marker(map.to_image(BodyPoint::new(across, spinous.height)), Glyph::Target, Role::Accent);
        }
        MarkKind::Tip => {
            scene.line(way.to_vec(), Role::Cannula);
            scene.marker(way[2], Glyph::Target, Role::Accent);
        }
        MarkKind::Cannula => {
            scene.line(way[..2].to_vec(), Role::Cannula);
            scene.marker(if is_last(at, slots) { way[1] } else { way[0] }, Glyph::Target, Role::Accent);
        }
        MarkKind::Electrodes => {
            scene.line(way.to_vec(), Role::Cannula);
            one_electrode(scene, [way[1].lerp(way[2], 0.5), way[2]], at.index);
        }
        // Marks on a side are drawn above; the others belong to other views.
        _ => {}
    }
}

fn on_side(scene: &mut Scene, drawn: &BodyFromFront, at: MarkRef, slots: usize, side: Side) {
    let map = &drawn.map;
    let border = wall(drawn, side);
    match at.kind {
        MarkKind::RightWall | MarkKind::LeftWall => {
            on_border(scene, map, border, between(at.index + 1, slots.max(at.index + 1) + 1));
        }
        MarkKind::RightWallSecond | MarkKind::LeftWallSecond => second_contour(scene, map, border),
        _ => {
            let Some(&pedicle) = drawn.pedicles.iter().find(|p| p.side == Some(side)) else { return };
            pedicle_shape(scene, map, pedicle, Role::Accent);
            scene.marker(border_of(map, pedicle, at.index), Glyph::Target, Role::Accent);
        }
    }
}

/// The lateral (0) or medial (1) border of a pedicle.
fn border_of(map: &BodyMap, pedicle: FrontPedicle, index: usize) -> Point {
    let across = if index == 0 { pedicle.lateral } else { pedicle.medial };
    map.to_image(BodyPoint::new(across, pedicle.height))
}

/// The wall on the patient's side; the drawing's fractions run from its left.
fn wall(drawn: &BodyFromFront, side: Side) -> Border {
    let right_is_left = drawn.right_is_left != Some(false);
    if right_is_left == (side == Side::Right) { Border::Start } else { Border::End }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;
    use crate::scene::body_map::click::{Facing, where_to_click};
    use crate::scene::drawing::shape::Shape;

    fn targets(kind: MarkKind, index: usize, right: Option<PatientRight>) -> Vec<f64> {
        let facing = Facing { sides: Sides { patient_right: right, entry: None }, ..Facing::default() };
        let at = MarkRef { kind, index };
        let scene = where_to_click(at, View::Ap, 2, facing, (160.0, 110.0)).unwrap();
        let mut found: Vec<_> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Marker { at, glyph: Glyph::Target, .. } => Some(at.x - 80.0),
                _ => None,
            })
            .collect();
        found.sort_by(f64::total_cmp);
        found
    }

    #[test]
    fn a_side_is_shown_where_the_picture_has_it_and_on_both_where_that_is_not_known() {
        let right = |at| targets(MarkKind::RightPedicle, 1, at);
        assert!(matches!(right(Some(PatientRight::ImageLeft))[..], [x] if x < 0.0));
        assert!(matches!(right(Some(PatientRight::ImageRight))[..], [x] if x > 0.0));
        assert!(matches!(right(None)[..], [a, b] if a < 0.0 && b > 0.0));
        let left = targets(MarkKind::LeftWall, 0, Some(PatientRight::ImageLeft));
        assert!(matches!(left[..], [x] if x > 0.0));
    }

    #[test]
    fn a_lateral_border_lies_farther_out_than_a_medial_one() {
        let at = |index| targets(MarkKind::RightPedicle, index, Some(PatientRight::ImageLeft))[0];
        assert!(at(0) < at(1));
    }
}
