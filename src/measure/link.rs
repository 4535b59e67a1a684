//! The shift, turn, scale and mirror by which two shots of one level and view hang together.

use crate::geom::point::{Point, Vec2};

/// Shift, turn, scale and mirror: `p ↦ to + scale · turn · mirror (p − from)`, the mirror changing left and right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// A place of the first picture.
    pub from: Point,
    /// Where it lies in the second.
    pub to: Point,
    /// Pixels of the second to one of the first.
    pub scale: f64,
    /// The turn in radians, clockwise on the screen.
    pub turn_rad: f64,
    /// Whether left and right change places first.
    pub mirrored: bool,
}

impl Link {
    /// The one that comes nearest, by least squares, to carrying the first place of each pair to the second; `None` where
    /// the first places all coincide.
    #[must_use]
    pub fn nearest(pairs: &[(Point, Point)], mirrored: bool) -> Option<Self> {
        #[expect(clippy::cast_precision_loss, reason = "a number of places")]
        let n = pairs.len() as f64;
        let middle = |of: fn(&(Point, Point)) -> Point| {
            pairs.iter().fold(Vec2::default(), |sum, pair| sum + of(pair).to_vec()) / n
        };
        let (from, to) = (middle(|pair| pair.0), middle(|pair| pair.1));
        let (mut along, mut across, mut size) = (0.0, 0.0, 0.0);
        for (p, q) in pairs {
            let (d, e) = (reflected(p.to_vec() - from, mirrored), q.to_vec() - to);
            along += d.dot(e);
            across += d.cross(e);
            size += d.dot(d);
        }
        let scale = along.hypot(across) / size;
        (scale > 0.0 && scale.is_finite()).then(|| Self {
            from: from.to_point(),
            to: to.to_point(),
            scale,
            turn_rad: across.atan2(along),
            mirrored,
        })
    }

    /// Where a place of the first picture lies in the second.
    #[must_use]
    pub fn apply(&self, p: Point) -> Point {
        let d = reflected(p - self.from, self.mirrored) * self.scale;
        let (sin, cos) = self.turn_rad.sin_cos();
        self.to + Vec2::new(cos * d.x - sin * d.y, sin * d.x + cos * d.y)
    }
}

fn reflected(v: Vec2, mirrored: bool) -> Vec2 {
    if mirrored { Vec2::new(-v.x, v.y) } else { v }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture that was zoomed, turned, shifted and mirrored is found as such.
    #[test]
    fn zoom_turn_shift_and_mirror_are_found() {
        let moved = |x: f64, y: f64| {
            let (sin, cos) = 0.2_f64.sin_cos();
            Point::new(500.0 - 1.7 * (cos * x - sin * y), 40.0 + 1.7 * (sin * x + cos * y))
        };
        let pairs: Vec<(Point, Point)> = (0..81)
            .map(|i| (4.0 * f64::from(i % 9), 3.2 * f64::from(i / 9)))
            .map(|(x, y)| (Point::new(x, y), moved(x, y)))
            .collect();
        let link = Link::nearest(&pairs, true).unwrap();
        assert!((link.scale - 1.7).abs() < 1e-9);
        assert!(pairs.iter().all(|(p, q)| link.apply(*p).distance(*q) < 1e-7));
        assert_eq!(Link::nearest(&[], false), None);
    }
}
