//! Straight segments, by their ends.

use crate::geom::point::Point;

/// Whether two segments cross; segments that only share an end do not.
#[must_use]
pub fn cross([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// How far a place lies from a segment; from its one place where both ends are the same.
#[must_use]
pub fn distance([a, b]: [Point; 2], p: Point) -> f64 {
    let way = b - a;
    let square = way.dot(way);
    let t = if square > 0.0 { ((p - a).dot(way) / square).clamp(0.0, 1.0) } else { 0.0 };
    a.lerp(b, t).distance(p)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn segments_cross_between_their_ends_only() {
        assert!(cross([p(0.0, 0.0), p(2.0, 2.0)], [p(0.0, 2.0), p(2.0, 0.0)]));
        assert!(!cross([p(0.0, 0.0), p(2.0, 2.0)], [p(2.0, 2.0), p(4.0, 0.0)]));
    }

    #[test]
    fn the_nearest_place_may_be_an_end() {
        let level = [p(0.0, 0.0), p(10.0, 0.0)];
        let point = [p(1.0, 1.0), p(1.0, 1.0)];
        let known = [
            (level, p(5.0, 3.0), 3.0),
            (level, p(13.0, 4.0), 5.0),
            (level, p(-3.0, 4.0), 5.0),
            (point, p(4.0, 5.0), 5.0),
        ];
        for (segment, at, far) in known {
            assert!((distance(segment, at) - far).abs() < 1e-12, "{at:?}");
        }
    }
}
