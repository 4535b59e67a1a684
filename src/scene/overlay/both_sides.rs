//! A frame with both probes in it: whose tip is whose.
//!
//! Each of its shots reads one tip. The other's is drawn faintly, and both are named by the side they came from, so
//! that neither is taken for the other.

use crate::case::document::duplicate::siblings;
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, MarkRef, Side};
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Role, Scene, Text};
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};

/// Adds the names of the tips and the other shots' tips to a shot's overlay; nothing where the picture belongs to
/// one side only.
pub fn tips(scene: &mut Scene, case: &Case, shot: &Shot, layers: LayerSet) {
    let others = siblings(case, shot);
    if others.is_empty() || !layers.has(Layer::Tip) {
        return;
    }
    if let (Some(at), Some(side)) = (tip(shot), shot.side) {
        name(scene, at, side, Role::Tip, layers);
    }
    for other in others {
        if let (Some(at), Some(side)) = (tip(other), other.side) {
            scene.marker(at, Glyph::Ring, Role::Leader);
            name(scene, at, side, Role::Leader, layers);
        }
    }
}

fn tip(shot: &Shot) -> Option<Point> {
    shot.marks.point(MarkRef { kind: MarkKind::Tip, index: 0 })
}

/// Below the tip, where the target's numbers are not.
fn name(scene: &mut Scene, at: Point, side: Side, role: Role, layers: LayerSet) {
    if layers.has(Layer::Labels) {
        let words = format!("tip, {}", format::side(side));
        let text = Text::new(at, words, role).aligned(AlignX::Middle, AlignY::Middle);
        scene.text(text.shifted(0.0, 20.0).on_plate());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::duplicate::for_other_side;
    use crate::case::document::edit::Edit;
    use crate::measure::mark::View;
    use crate::scene::drawing::shape::{Rect, Shape, Space};

    #[test]
    fn each_tip_is_named_by_its_side_and_the_others_is_faint() {
        let mut case = Case::default();
        let mut shot = Shot::new("a-right", "a.png", View::Lateral);
        shot.side = Some(Side::Right);
        shot.marks = shot.marks.with(MarkKind::Tip, &[(10.0, 10.0)]);
        case.shots.push(shot);
        let drawn = |case: &Case, id: &str, layers| {
            let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 100.0, 100.0));
            tips(&mut scene, case, case.shot(id).unwrap(), layers);
            scene.shapes
        };
        assert!(drawn(&case, "a-right", LayerSet::all()).is_empty(), "one side needs no name");
        case.apply(&for_other_side(&case, "a-right").unwrap()).unwrap();
        let at = MarkRef { kind: MarkKind::Tip, index: 0 };
        case.apply(&Edit::Place { shot: "a-left".to_owned(), at, to: Point::new(30.0, 10.0) }).unwrap();
        let words = |shapes: &[Shape]| -> Vec<(String, Role)> {
            let text = |shape: &Shape| match shape {
                Shape::Text(text) => Some((text.words.clone(), text.role)),
                _ => None,
            };
            shapes.iter().filter_map(text).collect()
        };
        let named = |words: &str, role| (words.to_owned(), role);
        let right = drawn(&case, "a-right", LayerSet::all());
        assert_eq!(words(&right), [named("tip, right", Role::Tip), named("tip, left", Role::Leader)]);
        let faint =
            |shape: &Shape| matches!(shape, Shape::Marker { at, role: Role::Leader, .. } if at.x > 29.0);
        assert!(right.iter().any(faint));
        let left = drawn(&case, "a-left", LayerSet::all());
        assert_eq!(words(&left), [named("tip, left", Role::Tip), named("tip, right", Role::Leader)]);
        assert!(words(&drawn(&case, "a-left", LayerSet::all().without(Layer::Labels))).is_empty());
        assert!(drawn(&case, "a-left", LayerSet::all().without(Layer::Tip)).is_empty());
    }
}
