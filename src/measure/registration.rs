//! Two shots of one level and view laid on each other through the body coordinates they share (method, section 7).

use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyMap;

/// The transform `to_from_from = map_to ∘ map_from⁻¹`, over the body and a little around it.
#[derive(Clone, Debug)]
pub struct Registration {
    from: BodyMap,
    to: BodyMap,
}

impl Registration {
    /// The registration of two body maps of one view; in AP both must run from the same entry side.
    #[must_use]
    pub const fn new(from: BodyMap, to: BodyMap) -> Self {
        Self { from, to }
    }

    /// Where a place of the first picture lies in the second; `None` where the first body map cannot read it.
    #[must_use]
    pub fn carry(&self, p: Point) -> Option<Point> {
        self.from.to_body(p).map(|at| self.to.to_image(at))
    }
}

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

    fn map(at: impl Fn(f64, f64) -> Point) -> BodyMap {
        let line = |points: &[(f64, f64)]| -> Vec<Point> { points.iter().map(|&(x, y)| at(x, y)).collect() };
        let outline = crate::measure::body::Outline::new(
            line(&[(0.0, 0.0), (17.0, 1.0), (35.0, 0.0)]),
            line(&[(1.0, 27.0), (18.0, 25.0), (36.0, 28.0)]),
            &line(&[(1.5, 13.0)]),
            &line(&[(33.0, 14.0)]),
        );
        BodyMap::new(&outline).unwrap()
    }

    /// A picture that was zoomed, turned, shifted and mirrored: a similarity carries body maps along exactly, so the
    /// registration must be that similarity everywhere.
    #[test]
    fn zoom_turn_shift_and_mirror_are_found() {
        let moved = |x: f64, y: f64| {
            let (sin, cos) = 0.2_f64.sin_cos();
            Point::new(500.0 - 1.7 * (cos * x - sin * y), 40.0 + 1.7 * (sin * x + cos * y))
        };
        let (a, b) = (map(Point::new), map(moved));
        let (there, back) = (Registration::new(a.clone(), b.clone()), Registration::new(b, a));
        let mut pairs = Vec::new();
        for i in 0..9 {
            for j in 0..9 {
                let (x, y) = (4.0 * f64::from(i), 3.2 * f64::from(j));
                let p = Point::new(x, y);
                let q = there.carry(p).unwrap();
                assert!(q.distance(moved(x, y)) < 1e-7, "{p:?} {q:?}");
                // The other way round is the inverse.
                assert!(back.carry(q).unwrap().distance(p) < 1e-7);
                pairs.push((p, q));
            }
        }
        let link = Link::nearest(&pairs, true).unwrap();
        assert!(
            (link.scale - 1.7).abs() < 1e-9 && pairs.iter().all(|(p, q)| link.apply(*p).distance(*q) < 1e-7)
        );
        assert_eq!(Link::nearest(&[], false), None);
    }
}
