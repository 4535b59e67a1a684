//! A projective map of the plane, by four points and their images (Hartley and Zisserman, *Multiple View Geometry*, 4.1):
//! what a camera makes of a flat screen.

use crate::geom::linear::solve;
use crate::geom::point::Point;

/// A projective map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Projective {
    /// `x' = (a x + b y + c) / (g x + h y + 1)`, `y' = (d x + e y + f) / (g x + h y + 1)`.
    parts: [f64; 8],
}

impl Projective {
    /// The map that takes each of four points to its image; `None` where three of them lie on a line.
    #[must_use]
    pub fn of_four(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        // Scaled to about 1, as the solver asks.
        let size = |all: &[Point; 4]| all.iter().fold(1.0_f64, |most, p| most.max(p.x.abs()).max(p.y.abs()));
        let (s, t) = (size(&from), size(&to));
        let mut rows = [[0.0; 8]; 8];
        let mut right = [0.0; 8];
        for (i, (p, q)) in from.iter().zip(&to).enumerate() {
            let (x, y, u, v) = (p.x / s, p.y / s, q.x / t, q.y / t);
            rows[2 * i] = [x, y, 1.0, 0.0, 0.0, 0.0, -x * u, -y * u];
            rows[2 * i + 1] = [0.0, 0.0, 0.0, x, y, 1.0, -x * v, -y * v];
            (right[2 * i], right[2 * i + 1]) = (u, v);
        }
        let [a, b, c, d, e, f, g, h] = solve(rows, right)?;
        let map = Self { parts: [a * t / s, b * t / s, c * t, d * t / s, e * t / s, f * t, g / s, h / s] };
        let exact = from.iter().zip(&to).all(|(p, q)| map.of(*p).is_some_and(|r| r.distance(*q) < 1e-6 * t));
        exact.then_some(map)
    }

    /// The image of a point; `None` on or beyond the horizon.
    #[must_use]
    pub fn of(&self, p: Point) -> Option<Point> {
        let [a, b, c, d, e, f, g, h] = self.parts;
        let w = g * p.x + h * p.y + 1.0;
        (w > 1e-9).then(|| Point::new((a * p.x + b * p.y + c) / w, (d * p.x + e * p.y + f) / w))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> [Point; 4] {
        [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(|(x, y)| Point::new(x, y))
    }

    #[test]
    fn the_diagonals_meet_where_those_of_the_image_do() {
        let to = [(10.0, 20.0), (400.0, 60.0), (380.0, 300.0), (30.0, 330.0)].map(|(x, y)| Point::new(x, y));
        let map = Projective::of_four(square(100.0), to).unwrap();
        for (p, q) in square(100.0).iter().zip(to) {
            assert!(map.of(*p).unwrap().distance(q) < 1e-9);
        }
        // By geometry: the middle of a square is where its diagonals cross, and a projective map keeps that.
        let (u, v) = (to[2] - to[0], to[3] - to[1]);
        let along = (to[1] - to[0]).cross(v) / u.cross(v);
        assert!(map.of(Point::new(50.0, 50.0)).unwrap().distance(to[0] + u * along) < 1e-9);
    }

    #[test]
    fn three_points_on_a_line_give_no_map() {
        let line = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (0.0, 5.0)].map(|(x, y)| Point::new(x, y));
        assert_eq!(Projective::of_four(square(1.0), line), None);
        assert_eq!(Projective::of_four(line, square(1.0)), None);
    }
}
