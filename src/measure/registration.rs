//! Two shots of one level and view laid on each other through the body coordinates they share (method, section 7).

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};

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

    /// The body map of the first picture.
    #[must_use]
    pub const fn from(&self) -> &BodyMap {
        &self.from
    }

    /// The body map of the second.
    #[must_use]
    pub const fn to(&self) -> &BodyMap {
        &self.to
    }

    /// The shift, turn, scale and mirror that come nearest to the registration over the body: by least squares over a
    /// 9 × 9 grid of body places, mirrored where the two maps turn against each other.
    #[must_use]
    pub fn link(&self) -> Link {
        let grid: Vec<(Vec2, Vec2)> = (0..81)
            .map(|i| BodyPoint::new(f64::from(i % 9) / 8.0, f64::from(i / 9) / 8.0))
            .map(|at| (self.from.to_image(at).to_vec(), self.to.to_image(at).to_vec()))
            .collect();
        let (a, b) = grid.iter().fold((Vec2::default(), Vec2::default()), |(a, b), (p, q)| (a + *p, b + *q));
        let (from, to) = (a / 81.0, b / 81.0);
        let mirrored = self.from.orientation() * self.to.orientation() < 0.0;
        let (mut along, mut across, mut size) = (0.0, 0.0, 0.0);
        for (p, q) in grid {
            let (d, e) = (reflected(p - from, mirrored), q - to);
            along += d.dot(e);
            across += d.cross(e);
            size += d.dot(d);
        }
        Link {
            from: from.to_point(),
            to: to.to_point(),
            scale: along.hypot(across) / size,
            turn_rad: across.atan2(along),
            mirrored,
        }
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
        for i in 0..9 {
            for j in 0..9 {
                let (x, y) = (4.0 * f64::from(i), 3.2 * f64::from(j));
                let p = Point::new(x, y);
                let q = there.carry(p).unwrap();
                assert!(q.distance(moved(x, y)) < 1e-7, "{p:?} {q:?}");
                // The other way round is the inverse.
                assert!(back.carry(q).unwrap().distance(p) < 1e-7);
                // The nearest similarity is it, whichever way round.
                assert!(there.link().apply(p).distance(q) < 1e-7 && back.link().apply(q).distance(p) < 1e-7);
            }
        }
        assert!(there.link().mirrored && (there.link().scale - 1.7).abs() < 1e-9);
    }
}
