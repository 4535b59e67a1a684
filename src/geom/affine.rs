//! Affine maps of the plane: the one nearest to what pairs of points say, its inverse, and maps one after the other.

use crate::geom::point::{Point, Vec2};

/// `p ↦ origin + x·across + y·down`: straight lines stay straight and parallels parallel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Affine {
    /// Where the origin goes.
    pub origin: Point,
    /// What a step of one to the right becomes.
    pub across: Vec2,
    /// What a step of one down becomes.
    pub down: Vec2,
}

impl Affine {
    /// The map that leaves everything in its place.
    pub const IDENTITY: Self =
        Self { origin: Point::new(0.0, 0.0), across: Vec2::new(1.0, 0.0), down: Vec2::new(0.0, 1.0) };

    /// The map that carries `from` nearest to `to`, pair by pair, in the sense of least squares of the distances in the
    /// second plane; `None` for fewer than three pairs, pairs on a line, or places that are not finite.
    #[must_use]
    pub fn fit(pairs: &[(Point, Point)]) -> Option<Self> {
        let (p0, q0) = middles(pairs, 3)?;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        let (mut xq, mut yq) = (Vec2::default(), Vec2::default());
        for (p, q) in pairs {
            let (d, e) = (p.to_vec() - p0, q.to_vec() - q0);
            xx += d.x * d.x;
            xy += d.x * d.y;
            yy += d.y * d.y;
            xq += e * d.x;
            yq += e * d.y;
        }
        let det = xx * yy - xy * xy;
        if det <= 1e-14 * (xx + yy) * (xx + yy) {
            return None;
        }
        let across = (xq * yy - yq * xy) / det;
        let down = (yq * xx - xq * xy) / det;
        let origin = (q0 - across * p0.x - down * p0.y).to_point();
        (origin.is_finite() && across.length().is_finite() && down.length().is_finite()).then_some(Self {
            origin,
            across,
            down,
        })
    }

    /// The map that keeps shapes, or mirrors them where `mirrored`, and comes nearest to the pairs as [`Affine::fit`] does;
    /// `None` for fewer than two pairs or where their places coincide.
    #[must_use]
    pub fn fit_similar(pairs: &[(Point, Point)], mirrored: bool) -> Option<Self> {
        let (p0, q0) = middles(pairs, 2)?;
        let upright = |d: Vec2| if mirrored { Vec2::new(d.x, -d.y) } else { d };
        let (mut size, mut along, mut aside) = (0.0, 0.0, 0.0);
        for (p, q) in pairs {
            let (d, e) = (upright(p.to_vec() - p0), q.to_vec() - q0);
            size += d.dot(d);
            along += d.dot(e);
            aside += d.cross(e);
        }
        let across = Vec2::new(along / size, aside / size);
        let down = if mirrored { -across.perpendicular() } else { across.perpendicular() };
        let origin = (q0 - across * p0.x - down * p0.y).to_point();
        let sound = across.length() > 0.0 && across.to_point().is_finite() && origin.is_finite();
        sound.then_some(Self { origin, across, down })
    }

    /// Where a point goes.
    #[must_use]
    pub fn apply(self, p: Point) -> Point {
        self.origin + self.turned(p.to_vec())
    }

    /// What a displacement becomes.
    #[must_use]
    pub fn turned(self, d: Vec2) -> Vec2 {
        self.across * d.x + self.down * d.y
    }

    /// By how much areas grow; negative where the plane is mirrored.
    #[must_use]
    pub fn area(self) -> f64 {
        self.across.cross(self.down)
    }

    /// The map back; `None` where areas vanish.
    #[must_use]
    pub fn inverse(self) -> Option<Self> {
        let area = self.area();
        if !(area.is_finite()
            && area.abs() > 1e-12 * self.across.dot(self.across).max(self.down.dot(self.down)))
        {
            return None;
        }
        let linear = Self {
            origin: Point::default(),
            across: Vec2::new(self.down.y, -self.across.y) / area,
            down: Vec2::new(-self.down.x, self.across.x) / area,
        };
        let origin = linear.apply((-self.origin.to_vec()).to_point());
        Some(Self { origin, ..linear })
    }

    /// This map, and `next` after it.
    #[must_use]
    pub fn then(self, next: Self) -> Self {
        Self {
            origin: next.apply(self.origin),
            across: next.turned(self.across),
            down: next.turned(self.down),
        }
    }
}

/// The middles of both lists; `None` for fewer than `least` pairs or places that are not finite.
fn middles(pairs: &[(Point, Point)], least: usize) -> Option<(Vec2, Vec2)> {
    if pairs.len() < least || pairs.iter().any(|(p, q)| !(p.is_finite() && q.is_finite())) {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a list of points")]
    let n = pairs.len() as f64;
    let sum = |of: fn(&(Point, Point)) -> Point| {
        pairs.iter().fold(Vec2::default(), |sum, pair| sum + of(pair).to_vec()) / n
    };
    Some((sum(|pair| pair.0), sum(|pair| pair.1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheared() -> Affine {
        Affine { origin: Point::new(300.0, -20.0), across: Vec2::new(-1.2, 0.3), down: Vec2::new(0.25, 0.9) }
    }

    #[test]
    fn pairs_without_error_give_their_map() {
        let places = [(0.0, 0.0), (100.0, 3.0), (40.0, 80.0), (90.0, 95.0)].map(|(x, y)| Point::new(x, y));
        let map = Affine::fit(&places.map(|p| (p, sheared().apply(p)))).unwrap();
        for p in places {
            assert!(map.apply(p).distance(sheared().apply(p)) < 1e-10);
        }
        let line = [0.0, 1.0, 2.0].map(|t| (Point::new(t, 2.0 * t), Point::new(t, t)));
        assert_eq!(Affine::fit(&line), None);
        assert_eq!(Affine::fit(&line[..2]), None);
    }

    /// A linear map is found by hand from four corners of a square of which one is off by 4 in x: the least squares
    /// spread it as ¼ of it to each corner's sign, so that the corner keeps 1 of the 4 as its residual.
    #[test]
    fn an_error_is_spread_as_least_squares_do() {
        let at = |x: f64, y: f64, off: f64| (Point::new(x, y), Point::new(x + off, y));
        let map =
            Affine::fit(&[at(-1.0, -1.0, 0.0), at(1.0, -1.0, 0.0), at(-1.0, 1.0, 0.0), at(1.0, 1.0, 4.0)])
                .unwrap();
        assert!(map.apply(Point::new(1.0, 1.0)).distance(Point::new(4.0, 1.0)) < 1e-12);
        assert!(map.apply(Point::new(-1.0, -1.0)).distance(Point::new(-2.0, -1.0)) < 1e-12);
    }

    #[test]
    fn a_similarity_is_found_mirrored_or_not() {
        let (sin, cos) = 0.3_f64.sin_cos();
        for (mirrored, m) in [(false, 1.0), (true, -1.0)] {
            let turned = |x: f64, y: f64| {
                Point::new(9.0 + 1.4 * (cos * x - sin * m * y), 2.0 + 1.4 * (sin * x + cos * m * y))
            };
            let at = |(x, y)| (Point::new(x, y), turned(x, y));
            let pairs = [(0.0, 0.0), (50.0, 10.0), (-20.0, 70.0)].map(at);
            let map = Affine::fit_similar(&pairs, mirrored).unwrap();
            for (p, q) in pairs {
                assert!(map.apply(p).distance(q) < 1e-10, "{map:?}");
            }
            assert!(map.area() * m > 0.0);
        }
        let p = Point::new(1.0, 1.0);
        assert_eq!(Affine::fit_similar(&[(p, p), (p, p)], false), None);
    }

    #[test]
    fn there_and_back_and_one_after_the_other() {
        let (a, p) = (sheared(), Point::new(17.0, 5.0));
        let back = a.inverse().unwrap();
        assert!(back.apply(a.apply(p)).distance(p) < 1e-10);
        assert!(a.then(back).apply(p).distance(p) < 1e-10 && a.area() < 0.0);
        assert_eq!(Affine { down: a.across, ..a }.inverse(), None);
        assert_eq!(Affine::IDENTITY.apply(p), p);
    }
}
