//! Shift, turn and scale of the plane, fixed by where two points go.

use crate::geom::point::{Point, Vec2};

/// A map that keeps shapes: `p ↦ to + M (p − from)` with M a turn and a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Similarity {
    from: Point,
    to: Point,
    /// First column of M; the second is its quarter turn.
    column: Vec2,
}

impl Similarity {
    /// The map that carries `a` to `a2` and `b` to `b2`; `None` where `a` and `b`, or `a2` and `b2`, coincide.
    #[must_use]
    pub fn between((a, b): (Point, Point), (a2, b2): (Point, Point)) -> Option<Self> {
        let (d, e) = (b - a, b2 - a2);
        let size = d.dot(d);
        let column = Vec2::new(d.dot(e) / size, d.cross(e) / size);
        let sound = column.length() > 0.0 && column.x.is_finite() && column.y.is_finite();
        sound.then_some(Self { from: a, to: a2, column })
    }

    /// Where a point goes.
    #[must_use]
    pub fn apply(self, p: Point) -> Point {
        let d = p - self.from;
        self.to + self.column * d.x + self.column.perpendicular() * d.y
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_points_go_where_they_should_and_shapes_stay() {
        let (a, b, c) = (Point::new(1.0, 2.0), Point::new(4.0, 6.0), Point::new(-2.0, 5.0));
        let (a2, b2) = (Point::new(10.0, 10.0), Point::new(10.0, 20.0));
        let map = Similarity::between((a, b), (a2, b2)).unwrap();
        assert!(map.apply(a).distance(a2) < 1e-12 && map.apply(b).distance(b2) < 1e-12);
        let scale = a2.distance(b2) / a.distance(b);
        assert!((map.apply(c).distance(a2) - scale * c.distance(a)).abs() < 1e-12);
        assert!((b - a).cross(c - a) * (b2 - a2).cross(map.apply(c) - a2) > 0.0);
    }

    #[test]
    fn coinciding_points_fix_nothing() {
        let p = Point::new(1.0, 1.0);
        assert_eq!(Similarity::between((p, p), (p, Point::new(2.0, 2.0))), None);
        assert_eq!(Similarity::between((p, Point::new(2.0, 2.0)), (p, p)), None);
    }
}
