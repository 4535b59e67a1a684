//! The marks of a typical vertebra in millimetres, one pixel each, with a tip where a drawing needs it.

use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::measure::mark::{MarkKind, Marks, Side, Stage, View};
use crate::measure::pair::{ReadPair, read_pair};
use crate::measure::reading::{Lent, ShotInput};
use crate::measure::settings::Settings;
use crate::measure::true_view::known::Known;
use crate::scene::body_map::{front, side};
use crate::scene::drawing::shape::{Rect, Scene};
use crate::scene::overlay::LayerSet;
use crate::scene::overlay::of_shot::ShotOverlay;

fn points(list: &[Point]) -> Vec<Option<Point>> {
    list.iter().map(|p| Some(*p)).collect()
}

/// The borders of an outline as marks, its two walls under these names.
fn borders(outline: &Outline, walls: [MarkKind; 2]) -> Marks {
    let inner = |list: &[Point]| points(list.get(1..list.len() - 1).unwrap_or(&[]));
    let mut marks = Marks::new();
    marks.set(MarkKind::SuperiorEndPlate, points(&outline.first[0]));
    marks.set(MarkKind::InferiorEndPlate, points(&outline.first[1]));
    marks.set(walls[0], inner(&outline.first[2]));
    marks.set(walls[1], inner(&outline.first[3]));
    marks
}

/// A lateral with a tip at this depth and height.
#[must_use]
pub fn lateral_marks(depth: f64, height: f64) -> Option<Marks> {
    let outline = side::typical_outline();
    let tip = BodyMap::new(&outline).ok()?.to_image(BodyPoint::new(depth, height));
    let mut marks = borders(&outline, [MarkKind::PosteriorWall, MarkKind::AnteriorWall]);
    marks.set(MarkKind::Tip, vec![Some(tip)]);
    Some(marks)
}

/// An AP with the patient's right on its left and a tip at this place across, counted from the right, and height.
/// The spinous process deviates to the patient's left by a fraction of the width.
#[must_use]
pub fn ap_marks(across: f64, height: f64, deviation: f64) -> Option<Marks> {
    let outline = front::typical_outline();
    let map = BodyMap::new(&outline).ok()?;
    let at = |across: f64, height: f64| Some(map.to_image(BodyPoint::new(across, height)));
    let mut marks = borders(&outline, [MarkKind::RightWall, MarkKind::LeftWall]);
    marks.set(MarkKind::RightPedicle, vec![at(0.06, 0.33), at(0.26, 0.33)]);
    marks.set(MarkKind::LeftPedicle, vec![at(0.94, 0.33), at(0.74, 0.33)]);
    marks.set(MarkKind::SpinousProcess, vec![at(0.43 + deviation, 0.82), at(0.57 + deviation, 0.82)]);
    marks.set(MarkKind::Tip, vec![at(across, height)]);
    Some(marks)
}

/// A calibrated shot of these marks, entered from the patient's right.
#[must_use]
pub const fn input<'a>(
    view: View,
    marks: &'a Marks,
    stage: Option<Stage>,
    settings: &'a Settings,
) -> ShotInput<'a> {
    ShotInput {
        view,
        marks,
        side: Some(Side::Right),
        stage,
        patient_right: None,
        mm_per_px: Some(1.0),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: Known::NOTHING,
        mark_errors: None,
        lent: Lent { off_middle_mm: None, depth: None },
        monte_carlo: None,
    }
}

/// What the program draws over the image of such a shot, as it would in a case of nothing else.
#[must_use]
pub fn overlay(
    input: &ShotInput<'_>,
    map: Option<&BodyMap>,
    reading: Option<&ShotReading>,
    layers: LayerSet,
    bounds: Rect,
) -> Scene {
    let mut shot = Shot::new("typical", "", input.view);
    (shot.side, shot.stage) = (input.side, input.stage);
    let case = Case { settings: input.settings.clone(), ..Case::default() };
    let over = ShotOverlay { case: &case, shot: &shot, marks: input.marks, map, reading, layers, zoom: 1.0 };
    over.scene(bounds)
}

/// What a lateral and an AP of one tip tell together.
#[must_use]
pub fn pair(depth: f64, across: f64, heights: [f64; 2], stage: Stage) -> Option<ReadPair> {
    let settings = Settings::default();
    let (lateral, ap) = (lateral_marks(depth, heights[0])?, ap_marks(across, heights[1], 0.0)?);
    Some(read_pair(
        &input(View::Lateral, &lateral, Some(stage), &settings),
        &input(View::Ap, &ap, Some(stage), &settings),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::reading::MidlineBy;

    /// The tip is read where it was put, so the drawings' numbers are the program's own.
    #[test]
    fn the_typical_tip_is_read_where_it_was_put() {
        let read = pair(0.4, 0.46, [0.5, 0.5], Stage::Final).unwrap();
        let value = |q: &Option<crate::measure::quantity::Quantity>| q.as_ref().map_or(f64::NAN, |q| q.value);
        assert!((value(&read.pair.depth) - 0.4).abs() < 1e-9);
        assert!((value(&read.pair.across) - 0.46).abs() < 1e-9);
        assert!((value(&read.pair.height) - 0.5).abs() < 1e-9);
        let (by, offset) = read.pair.midline.unwrap();
        assert_eq!(by, MidlineBy::Pedicles);
        assert!((offset.value + 0.04).abs() < 1e-9);
    }
}
