//! A border between two ends, read by normalised arc length and continued straight beyond them.

use crate::geom::point::{Point, Vec2};
use crate::geom::spline::Spline;

/// A straight or curved line from `u = 0` to `u = 1` by arc length. Outside 0–1 it continues along its end
/// tangent at the same rate.
#[derive(Clone, Debug, PartialEq)]
pub enum Curve {
    /// A straight segment.
    Straight {
        /// At `u = 0`.
        start: Point,
        /// At `u = 1`.
        end: Point,
    },
    /// A natural cubic spline.
    Curved(Spline),
}

impl Curve {
    /// The curve through two points (a segment) or more (a spline); `None` for fewer, or where neighbours
    /// coincide or are not finite.
    #[must_use]
    pub fn through(points: &[Point]) -> Option<Self> {
        match points {
            [start, end] => {
                let length = start.distance(*end);
                (length > 0.0 && length.is_finite()).then_some(Self::Straight { start: *start, end: *end })
            }
            _ => Spline::through(points).map(Self::Curved),
        }
    }

    /// Arc length between the ends.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Straight { start, end } => start.distance(*end),
            Self::Curved(spline) => spline.length(),
        }
    }

    /// The place at `u`.
    #[must_use]
    pub fn at(&self, u: f64) -> Point {
        self.at_with_derivative(u).0
    }

    /// The place at `u` and its derivative by `u`, whose length is the arc length.
    #[must_use]
    pub fn at_with_derivative(&self, u: f64) -> (Point, Vec2) {
        match self {
            Self::Straight { start, end } => (start.lerp(*end, u), *end - *start),
            Self::Curved(spline) => {
                let inside = u.clamp(0.0, 1.0);
                let (p, tangent) = spline.at(inside);
                let rate = tangent * spline.length();
                (p + rate * (u - inside), rate)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beyond_its_ends_a_curve_goes_on_straight() {
        let points = [(0.0, 0.0), (5.0, 3.0), (9.0, 0.0)].map(|(x, y)| Point::new(x, y));
        let curve = Curve::through(&points).unwrap();
        let (end, rate) = curve.at_with_derivative(1.0);
        assert!(curve.at(1.5).distance(end + rate * 0.5) < 1e-12);
        assert!((rate.length() - curve.length()).abs() < 1e-9);
        let (start, rate) = curve.at_with_derivative(0.0);
        assert!(curve.at(-0.25).distance(start - rate * 0.25) < 1e-12);
    }

    #[test]
    fn two_points_give_a_segment() {
        let curve = Curve::through(&[Point::new(0.0, 0.0), Point::new(10.0, 0.0)]).unwrap();
        assert_eq!(curve.at(1.2), Point::new(12.0, 0.0));
        assert_eq!(Curve::through(&[Point::new(0.0, 0.0)]), None);
    }
}
