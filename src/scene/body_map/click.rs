//! Where the next mark belongs: a small drawing of the view with the point that is meant.

use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::scene::body_map::parts::{borders, names_y};
use crate::scene::body_map::side::{BodyFromSide, side_names};
use crate::scene::body_map::{Posterior, Sides, click_ap, click_pedicle};
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::shape::{Glyph, Rect, Role, Scene, Space};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::theme::space;
use crate::scene::overlay::body_lines;

/// Which way round a picture is, as far as that is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Facing {
    /// On which side a lateral has the back of the spine.
    pub posterior: Posterior,
    /// The patient's sides, for the other views.
    pub sides: Sides,
}

/// The drawing that shows which point of a view is meant by a mark; `slots` is how many points the mark has or is
/// to have. `None` where there is no room for one.
#[must_use]
pub fn where_to_click(
    at: MarkRef,
    view: View,
    slots: usize,
    facing: Facing,
    size: (f64, f64),
) -> Option<Scene> {
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, size.0, size.1));
    let names = Theme::points(TextSize::Small) + space::S2;
    let room = Rect::new(space::S3, space::S3, size.0 - space::S3, size.1 - names - space::S2);
    match view {
        View::Lateral => {
            let drawn = BodyFromSide::typical(facing.posterior, room, 0.0)?;
            drawn.inside(&mut scene);
            borders(&mut scene, &drawn.map);
            highlight(&mut scene, &drawn.map, at, slots);
            side_names(&mut scene, &drawn.map, names_y(size));
        }
        View::Ap => click_ap::draw(&mut scene, room, at, slots, facing.sides)?,
        View::Pedicle => click_pedicle::draw(&mut scene, room, at, facing.sides)?,
    }
    Some(scene)
}

/// Whether this is the last point of its mark.
pub(super) fn is_last(at: MarkRef, slots: usize) -> bool {
    at.index + 1 >= slots.max(at.kind.count().0)
}

/// Where along a border a point between its ends is drawn.
pub(super) fn between(index: usize, slots: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "marks have few points")]
    let t = index as f64 / slots.max(1) as f64;
    t.clamp(0.15, 0.85)
}

/// Where along an end plate one of its points is drawn.
pub(super) fn along_plate(at: MarkRef, slots: usize) -> f64 {
    if at.index == 0 {
        0.0
    } else if is_last(at, slots) {
        1.0
    } else {
        between(at.index, slots - 1)
    }
}

/// A border with one of its points.
pub(super) fn on_border(scene: &mut Scene, map: &BodyMap, border: Border, t: f64) {
    scene.line(body_lines::border(map, border), Role::Accent);
    scene.marker(map.border(border, t), Glyph::Target, Role::Accent);
}

/// One of two electrodes on their probe.
pub(super) fn one_electrode(scene: &mut Scene, places: [crate::geom::point::Point; 2], index: usize) {
    for (i, place) in places.into_iter().enumerate() {
        let (glyph, role) =
            if i == index { (Glyph::Target, Role::Accent) } else { (Glyph::Square, Role::Electrode) };
        scene.marker(place, glyph, role);
    }
}

/// A typical way of an instrument through the pedicle, in body coordinates; its last place is the tip.
const WAY: [BodyPoint; 3] =
    [BodyPoint::new(-0.27, 0.19), BodyPoint::new(0.06, 0.40), BodyPoint::new(0.40, 0.50)];

fn highlight(scene: &mut Scene, map: &BodyMap, at: MarkRef, slots: usize) {
    let index = at.index;
    let way = WAY.map(|place| map.to_image(place));
    // A wall's corners belong to the end plates, so its own points lie between.
    let on_wall = between(index + 1, slots.max(index + 1) + 1);
    match at.kind {
        MarkKind::SuperiorEndPlate => on_border(scene, map, Border::Superior, along_plate(at, slots)),
        MarkKind::InferiorEndPlate => on_border(scene, map, Border::Inferior, along_plate(at, slots)),
        MarkKind::PosteriorWall => on_border(scene, map, Border::Start, on_wall),
        MarkKind::AnteriorWall => on_border(scene, map, Border::End, on_wall),
        MarkKind::SuperiorEndPlateSecond => second_contour(scene, map, Border::Superior),
        MarkKind::InferiorEndPlateSecond => second_contour(scene, map, Border::Inferior),
        MarkKind::PosteriorWallSecond => second_contour(scene, map, Border::Start),
        MarkKind::AnteriorWallSecond => second_contour(scene, map, Border::End),
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
            one_electrode(scene, [way[1].lerp(way[2], 0.55), way[2]], index);
        }
        // The others belong to other views.
        MarkKind::RightWall
        | MarkKind::LeftWall
        | MarkKind::RightWallSecond
        | MarkKind::LeftWallSecond
        | MarkKind::RightPedicle
        | MarkKind::LeftPedicle
        | MarkKind::SpinousProcess
        | MarkKind::Pedicle => {}
    }
}

/// A border's second contour beside it, as the other side of a slightly turned body shows it.
pub(super) fn second_contour(scene: &mut Scene, map: &BodyMap, border: Border) {
    let line: Vec<_> = (0..=16)
        .map(|i| {
            let t = f64::from(i) / 16.0;
            map.to_image(match border {
                Border::Superior => BodyPoint::new(t, 0.10),
                Border::Inferior => BodyPoint::new(t, 0.90),
                Border::Start => BodyPoint::new(0.08, t),
                Border::End => BodyPoint::new(0.92, t),
            })
        })
        .collect();
    scene.line(line, Role::Accent);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{PatientRight, Side};
    use crate::scene::body_map::tests::points;
    use crate::scene::drawing::shape::Shape;

    #[test]
    fn every_mark_of_every_view_has_its_drawing() {
        for view in View::ALL {
            for kind in MarkKind::ALL.into_iter().filter(|kind| kind.belongs_to(view)) {
                for index in 0..kind.count().0.max(1) {
                    for right in [None, Some(PatientRight::ImageLeft), Some(PatientRight::ImageRight)] {
                        let sides = Sides { patient_right: right, entry: Some(Side::Left) };
                        let facing = Facing { posterior: Posterior::Left, sides };
                        let at = MarkRef { kind, index };
                        let size = (128.0, 96.0);
                        let scene = where_to_click(at, view, kind.count().0, facing, size).unwrap();
                        let accented = scene.shapes.iter().any(|shape| {
                            matches!(
                                shape,
                                Shape::Marker { role: Role::Accent, .. }
                                    | Shape::Line { role: Role::Accent, .. }
                            )
                        });
                        assert!(accented, "{view:?} {kind:?} {index}");
                        assert!(
                            points(&scene).iter().all(|&p| scene.bounds.contains(p)),
                            "{view:?} {kind:?}"
                        );
                    }
                }
            }
        }
    }
}
