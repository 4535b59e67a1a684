//! A border's points in order, with a wall's corners, as far as they are placed; and the scale they give.

use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, MarkRef, Marks, View};
use crate::measure::typical::{TYPICAL_HEIGHT_MM, TYPICAL_PEDICLE_HEIGHT_MM};

/// A border's points in order, with the corners at both ends of a wall.
#[must_use]
pub fn border_line(marks: &Marks, kind: MarkKind) -> Vec<Point> {
    let own = marks.slots(kind).iter().copied().flatten();
    let [start, end] = wall_ends(marks, kind).map(|end| end.map(|(_, p)| p));
    start.into_iter().chain(own).chain(end).collect()
}

/// Millimetres to a pixel of a shot: its calibration, else that of the typical size (28 mm as the mean of a body's two
/// end heights, 15 mm as the height of a pedicle seen on face); `None` while the marks give neither.
#[must_use]
pub fn scale_of(view: View, marks: &Marks, mm_per_px: Option<f64>) -> Option<f64> {
    let calibrated = mm_per_px.filter(|scale| scale.is_finite() && *scale > 0.0);
    let height = || match view {
        View::Lateral | View::Ap => {
            let ends = |kind| {
                let points = marks.complete(kind)?;
                Some((*points.first()?, *points.last()?))
            };
            let ((a, b), (c, d)) = (ends(MarkKind::SuperiorEndPlate)?, ends(MarkKind::InferiorEndPlate)?);
            // End plates may run either way: the way in which their ends lie nearer is the body's.
            Some(0.5 * (a.distance(c) + b.distance(d)).min(a.distance(d) + b.distance(c)))
        }
        View::Pedicle => {
            let outline = marks.complete(MarkKind::Pedicle)?;
            Some(outline.first()?.distance(*outline.get(1)?))
        }
    };
    let typical = if view == View::Pedicle { TYPICAL_PEDICLE_HEIGHT_MM } else { TYPICAL_HEIGHT_MM };
    calibrated.or_else(|| height().filter(|height| *height > 0.0).map(|height| typical / height))
}

/// The corners at the ends of a wall: of each end plate the end nearer the wall. No other mark has any.
pub(crate) fn wall_ends(marks: &Marks, wall: MarkKind) -> [Option<(MarkRef, Point)>; 2] {
    let walls = [MarkKind::PosteriorWall, MarkKind::AnteriorWall, MarkKind::RightWall, MarkKind::LeftWall];
    if !walls.contains(&wall) {
        return [None, None];
    }
    let own: Vec<Point> = marks.slots(wall).iter().copied().flatten().collect();
    let end = |plate: MarkKind, last: bool| {
        let slots = marks.slots(plate);
        let ends = [0, slots.len().checked_sub(1)?];
        let ends = ends.map(|index| Some((MarkRef { kind: plate, index }, slots[index]?)));
        // A wall without points of its own is told by its name: the posterior wall is at the plates' start. In AP
        // views the plates may run either way, so that such a wall has no corners here.
        let Some(near) = (if last { own.last() } else { own.first() }) else {
            return match wall {
                MarkKind::PosteriorWall => ends[0],
                MarkKind::AnteriorWall => ends[1],
                _ => None,
            };
        };
        ends.into_iter().flatten().min_by(|a, b| a.1.distance(*near).total_cmp(&b.1.distance(*near)))
    };
    [end(MarkKind::SuperiorEndPlate, false), end(MarkKind::InferiorEndPlate, true)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_begins_and_ends_at_its_corners() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (35.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 27.0), (35.0, 29.0)])
            .with(MarkKind::AnteriorWall, &[(34.0, 14.0)]);
        let line = border_line(&marks, MarkKind::AnteriorWall);
        assert_eq!(line, [(35.0, 0.0), (34.0, 14.0), (35.0, 29.0)].map(|(x, y)| Point::new(x, y)));
        assert_eq!(border_line(&marks, MarkKind::PosteriorWall).len(), 2);
        assert_eq!(border_line(&marks, MarkKind::SuperiorEndPlate).len(), 2);
    }

    /// By hand: heights of 27 and 29 px are 28 px in the mean, so that the typical 28 mm make 1 mm of a pixel.
    #[test]
    fn the_typical_size_gives_a_scale() {
        let plates = |turned: bool| {
            let mut inferior = vec![(0.0, 27.0), (35.0, 29.0)];
            if turned {
                inferior.reverse();
            }
            Marks::new()
                .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (35.0, 0.0)])
                .with(MarkKind::InferiorEndPlate, &inferior)
        };
        for turned in [false, true] {
            let scale = scale_of(View::Ap, &plates(turned), None);
            assert!(scale.is_some_and(|scale| (scale - 1.0).abs() < 1e-12), "{scale:?}");
        }
        assert_eq!(scale_of(View::Lateral, &plates(false), Some(0.31)), Some(0.31));
        assert_eq!(scale_of(View::Lateral, &Marks::new(), None), None);
    }
}
