//! Whether a point lies inside a closed line.

use crate::geom::point::Point;

/// Whether a point lies inside a closed line through these points, by the even-odd rule: a ray from the point crosses it an
/// odd number of times. The end need not repeat the beginning; nothing lies inside fewer than three points.
#[must_use]
pub fn encloses(around: &[Point], p: Point) -> bool {
    let mut inside = false;
    for (i, &a) in around.iter().enumerate() {
        let b = around[(i + 1) % around.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * ((p.y - a.y) / (b.y - a.y)) {
            inside = !inside;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notch_is_outside() {
        let p = Point::new;
        let around = [p(0.0, 0.0), p(4.0, 0.0), p(4.0, 4.0), p(2.0, 1.0), p(0.0, 4.0)];
        assert!(encloses(&around, p(1.0, 1.0)) && encloses(&around, p(3.0, 1.0)));
        assert!(!encloses(&around, p(2.0, 2.0)) && !encloses(&around, p(5.0, 1.0)));
        assert!(!encloses(&[], p(0.0, 0.0)));
    }
}
