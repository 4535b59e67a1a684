//! The change between two shots by a refined registration: the first shot's tip is carried into the second picture by what the
//! pictures say, and both tips are read there by the second shot's marks.
//!
//! What errs alike at both tips then drops out. The bone's part of the uncertainty is what the second shot's bone marks
//! do to the difference of both places, and the refinement's own error; the metal's part stays as it is between two
//! readings. The view's part is what the two directions do to tips off the middle plane, and what the second one does to its borders,
//! for as much as the tip moved: the pictures lay the body's middle plane on itself, whatever the directions.

use crate::align::refine::REFINED_SD_MM;
use crate::align::registration::{Registration, body_map};
use crate::case::document::{Case, Shot};
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::compare::{self, Change, Moved, ShotChange};
use crate::measure::length::BodyLengths;
use crate::measure::mark::{MarkKind, MarkRef, Marks, Material};
use crate::measure::marked::TYPICAL_HEIGHT_MM;

/// The change from the first to the second of two lateral shots by a refined registration, beside `by_marks`, the change between
/// their readings; `sizes` are the second body's, where it is calibrated. `None` where a tip cannot be read.
#[must_use]
pub fn refined_change(
    case: &Case,
    [from, to]: [&Shot; 2],
    refined: &Registration,
    by_marks: &ShotChange,
    sizes: Option<&BodyLengths>,
) -> Option<ShotChange> {
    let tip = |shot: &Shot| shot.marks.point(MarkRef { kind: MarkKind::Tip, index: 0 });
    let tips = [refined.there(tip(from)?), tip(to)?];
    let map = refined.to();
    let [a, b] = [map.to_body(tips[0])?, map.to_body(tips[1])?];
    let scale = to
        .mm_per_px
        .filter(|s| s.is_finite() && *s > 0.0)
        .unwrap_or(TYPICAL_HEIGHT_MM / map.mean_height_px());
    let marks = unalike(case, to, tips, case.settings.bone_sd_mm / scale)?;
    let own = per_px(map, a).map(|fraction| fraction * REFINED_SD_MM / scale);
    let changed = |by_marks: &Change, value: f64, bone: f64| {
        let mut quantity = by_marks.quantity.clone();
        quantity.value = value;
        quantity.budget.bone = bone;
        let view = by_marks.laid.tip.hypot(by_marks.laid.borders * value);
        quantity.budget.view = view.min(quantity.budget.view);
        let moved = Moved::of(&quantity, case.settings.change_that_matters);
        Change { moved, quantity, ..by_marks.clone() }
    };
    let along = changed(by_marks.along.as_ref()?, b.along - a.along, marks[0].hypot(own[0]));
    let height = changed(by_marks.height.as_ref()?, b.height - a.height, marks[1].hypot(own[1]));
    let mm = sizes.and_then(|sizes| compare::in_mm(&along, &height, None, Some(sizes)));
    Some(ShotChange { along: Some(along), height: Some(height), midline: None, mm })
}

/// Standard deviations of the difference between two places of the body, along and height, when every bone mark is off by
/// `sd_px` in each direction.
fn unalike(case: &Case, shot: &Shot, tips: [Point; 2], sd_px: f64) -> Option<[f64; 2]> {
    let difference = |marks: Marks| -> Option<[f64; 2]> {
        let map = body_map(case, &Shot { marks, ..shot.clone() }).ok()?;
        let [a, b] = [map.to_body(tips[0])?, map.to_body(tips[1])?];
        Some([b.along - a.along, b.height - a.height])
    };
    let mut squares = [0.0; 2];
    for (at, place) in shot.marks.placed().filter(|(at, _)| at.kind.material() == Material::Bone) {
        for off in [Vec2::new(sd_px, 0.0), Vec2::new(0.0, sd_px)] {
            let [more, less] = [place + off, place - off].map(|p| difference(with(&shot.marks, at, p)));
            for ((sum, more), less) in squares.iter_mut().zip(more?).zip(less?) {
                *sum += (0.5 * (more - less)).powi(2);
            }
        }
    }
    Some(squares.map(f64::sqrt))
}

/// Marks with one of them in another place.
fn with(marks: &Marks, at: MarkRef, place: Point) -> Marks {
    let mut slots = marks.slots(at.kind).to_vec();
    if let Some(slot) = slots.get_mut(at.index) {
        *slot = Some(place);
    }
    let mut moved = marks.clone();
    moved.set(at.kind, slots);
    moved
}

/// How much along and height change for a pixel in the direction in which each changes most.
fn per_px(map: &BodyMap, at: BodyPoint) -> [f64; 2] {
    let (_, du, dv) = map.to_image_with_derivatives(at);
    let area = du.cross(dv).abs();
    [dv.length() / area, du.length() / area]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::compare::{Position, change};
    use crate::measure::mark::View;
    use crate::measure::quantity::{Budget, Quantity};
    use crate::measure::unknown_view::LaidView;

    /// A body of 140 × 90 px at 0.3 mm a pixel.
    fn shot(id: &str, tip: (f64, f64)) -> Shot {
        let mut shot = Shot::new(id, "a.png", View::Lateral);
        shot.mm_per_px = Some(0.3);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(300.0, 100.0), (440.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(300.0, 190.0), (440.0, 190.0)])
            .with(MarkKind::Tip, &[tip]);
        shot
    }

    /// By hand. The first tip is carried 2 px forward by the refinement: from 342 to 344, to 370: 26 of 140 px. The four
    /// corners act on the difference of depths by the difference of their shares only, and the refinement adds 0.15 mm, half a
    /// pixel, 1/280 of the depth.
    #[test]
    fn the_change_by_hand() {
        let (from, to) = (shot("a", (342.0, 145.0)), shot("b", (370.0, 145.0)));
        let case = Case::default();
        let registration = Registration::of_shots(&case, [&from, &to]).unwrap();
        let mut shift = registration.affine();
        shift.origin += Vec2::new(2.0, 0.0);
        let refined = registration.straight(shift).unwrap();
        let reading = |value: f64| Quantity {
            value,
            budget: Budget { bone: 0.02, metal: 0.01, view: 0.015, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        };
        let laid = LaidView { tip: 0.006, borders: 0.02 };
        let found = Change { laid, ..change(&reading(0.3), &reading(0.5), Position::Own, 0.08) };
        let by_marks =
            ShotChange { along: Some(found.clone()), height: Some(found), midline: None, mm: None };
        let refined = refined_change(&case, [&from, &to], &refined, &by_marks, None).unwrap();
        let along = refined.along.unwrap().quantity;
        assert!((along.value - 26.0 / 140.0).abs() < 1e-9, "{along:?}");
        // On the middle line each posterior corner moves depth u by (1 − u)/2 of its own shift over 140 px, each anterior
        // one by u/2: the difference of both tips, 26/140, is left of either. Bone sd: 0.5/0.3 px.
        let left = 26.0 / 140.0 / 2.0;
        let expected = (4.0 * (left * (0.5 / 0.3) / 140.0_f64).powi(2) + (0.5_f64 / 140.0).powi(2)).sqrt();
        assert!((along.budget.bone - expected).abs() < 1e-5, "{} {expected}", along.budget.bone);
        assert!((along.budget.metal - 0.01 * 2.0_f64.sqrt()).abs() < 1e-12);
        // Tips that leave 0.006 open and borders 0.02 a unit: √(0.006² + (0.02·26/140)²).
        assert!((along.budget.view - 0.006_f64.hypot(0.02 * 26.0 / 140.0)).abs() < 1e-12);
        assert!(refined.mm.is_none());
    }
}
