//! What a label works out from its points: an angle, a length.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::mark::View;

/// A length that is drawn on a picture, in the unit that the shot has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DrawnLength {
    /// Millimetres, where the shot has a scale.
    Mm(f64),
    /// A fraction of the body's size in the direction in which the line runs.
    OfBody(f64, Along),
    /// Pixels, where neither is known.
    Px(f64),
}

/// A direction of the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// From the posterior to the anterior wall.
    Depth,
    /// From side to side.
    Width,
    /// From end plate to end plate.
    Height,
}

/// The angle at `corner` between the directions to the two other points, 0 to 180 degrees; `None` where one of them
/// lies on the corner. It is that of the stored picture, so no turning or mirroring of the display changes it.
#[must_use]
pub fn angle_deg(a: Point, corner: Point, b: Point) -> Option<f64> {
    let (u, v) = ((a - corner).normalized()?, (b - corner).normalized()?);
    Some(u.cross(v).abs().atan2(u.dot(v)).to_degrees())
}

/// The length from `a` to `b`: in millimetres with a scale; else as a fraction of the body's depth or width at mid
/// height, or of its height at the place of the line's middle, whichever of the two directions of the body at that
/// place the line runs nearer to; else in pixels.
#[must_use]
pub fn size(a: Point, b: Point, mm_per_px: Option<f64>, map: Option<&BodyMap>, view: View) -> DrawnLength {
    let px = a.distance(b);
    if let Some(scale) = mm_per_px {
        return DrawnLength::Mm(px * scale);
    }
    let of_body = map.and_then(|map| {
        let at = map.to_body(a.midpoint(b))?;
        let (_, across, down) = map.to_image_with_derivatives(at);
        let along = (b - a).normalized()?;
        let nearer = |way: crate::geom::point::Vec2| Some(along.dot(way.normalized()?).abs());
        let upright = nearer(down)? > nearer(across)?;
        let whole = if upright { height_at(map, at) } else { map.depth_px() };
        let which = match (upright, view) {
            (true, _) => Along::Height,
            (false, View::Lateral) => Along::Depth,
            (false, View::Ap | View::Pedicle) => Along::Width,
        };
        (whole > 0.0).then_some(DrawnLength::OfBody(px / whole, which))
    });
    of_body.unwrap_or(DrawnLength::Px(px))
}

/// The body's height at a place's fraction; beside the body that at its nearer wall.
fn height_at(map: &BodyMap, at: BodyPoint) -> f64 {
    map.height_px(at.along.clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::lateral::lateral_body_map;
    use crate::measure::mark::{MarkKind, Marks};

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    /// 3-4-5: the angle opposite to 3 is asin(3/5) = 36.8699°.
    #[test]
    fn angles_are_those_of_the_triangle_whichever_way_round() {
        for (a, b) in [(p(4.0, 0.0), p(4.0, 3.0)), (p(4.0, 3.0), p(4.0, 0.0)), (p(-4.0, 0.0), p(-4.0, 3.0))] {
            assert!((angle_deg(a, p(0.0, 0.0), b).unwrap() - 36.869_897_645_844).abs() < 1e-9);
        }
        assert!((angle_deg(p(1.0, 0.0), p(0.0, 0.0), p(-1.0, 0.0)).unwrap() - 180.0).abs() < 1e-12);
        assert_eq!(angle_deg(p(1.0, 1.0), p(1.0, 1.0), p(2.0, 1.0)), None);
    }

    /// A square body 100 wide and 80 high: by hand, 50 px are half its depth, 20 px a quarter of its height.
    #[test]
    fn a_length_is_told_in_the_unit_there_is() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (100.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 80.0), (100.0, 80.0)]);
        let map = lateral_body_map(&marks).unwrap();
        let found = |a, b, scale| size(a, b, scale, Some(&map), View::Lateral);
        assert_eq!(found(p(10.0, 40.0), p(60.0, 40.0), Some(0.3)), DrawnLength::Mm(15.0));
        let near = |size: DrawnLength, value: f64, which: Along| match size {
            DrawnLength::OfBody(x, along) => {
                assert!((x - value).abs() < 1e-9 && along == which, "{x} {along:?}")
            }
            other => panic!("{other:?}"),
        };
        near(found(p(10.0, 40.0), p(60.0, 40.0), None), 0.5, Along::Depth);
        near(found(p(50.0, 30.0), p(50.0, 50.0), None), 0.25, Along::Height);
        near(size(p(10.0, 40.0), p(60.0, 40.0), None, Some(&map), View::Ap), 0.5, Along::Width);
        assert_eq!(size(p(0.0, 0.0), p(3.0, 4.0), None, None, View::Lateral), DrawnLength::Px(5.0));
    }
}
