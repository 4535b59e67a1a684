//! Two shots of one level and view laid on each other through the body coordinates they share (method, section 7).

use crate::geom::point::Point;
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
            }
        }
    }
}
