//! The circle nearest to some points.
//!
//! The geometric fit: the sum of squared distances from the circle is least (Gander, Golub and Strebel 1994, *BIT*
//! 34:558–578). It starts from the algebraic circle (Kåsa 1976), which is found directly but pulls inward where points
//! cover a short arc.

use crate::geom::linear::solve;
use crate::geom::point::{Point, Vec2};

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its centre.
    pub centre: Point,
    /// Its radius, above 0.
    pub radius: f64,
}

/// A circle larger than this many times the points' extent is no longer told from a line.
const LARGEST: f64 = 1e4;

/// The circle nearest to these points; `None` for fewer than three, or where they lie on a line.
#[must_use]
pub fn fit(points: &[Point]) -> Option<Circle> {
    if points.len() < 3 || points.iter().any(|p| !p.is_finite()) {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
    let n = points.len() as f64;
    let mean = points.iter().fold(Vec2::default(), |sum, p| sum + p.to_vec()) / n;
    // About their mean and in units of their spread, so that the equations are well scaled.
    let spread = (points.iter().map(|p| (p.to_vec() - mean).dot(p.to_vec() - mean)).sum::<f64>() / n).sqrt();
    if spread <= 0.0 {
        return None;
    }
    let scaled: Vec<Vec2> = points.iter().map(|p| (p.to_vec() - mean) / spread).collect();
    let mut at = algebraic(&scaled)?;
    let mut cost = cost_of(&scaled, at);
    let mut damping = 1e-6;
    for _ in 0..500 {
        let Some(step) = step(&scaled, at, damping) else { break };
        let next = [at[0] + step[0], at[1] + step[1], at[2] + step[2]];
        let next_cost = cost_of(&scaled, next);
        if next[2] > 0.0 && next_cost <= cost {
            let size = step.iter().map(|s| s.abs()).fold(0.0, f64::max);
            (at, cost) = (next, next_cost);
            damping = (damping * 0.1).max(1e-14);
            if size <= 1e-13 * (1.0 + at[2]) {
                break;
            }
        } else {
            damping *= 10.0;
            if damping > 1e8 {
                break;
            }
        }
    }
    let [x, y, radius] = at;
    (radius < LARGEST && x.is_finite() && y.is_finite())
        .then(|| Circle { centre: (mean + Vec2::new(x, y) * spread).to_point(), radius: radius * spread })
}

/// `x² + y² = 2ax + 2by + c` in the least-squares sense.
fn algebraic(points: &[Vec2]) -> Option<[f64; 3]> {
    let (mut m, mut side) = ([[0.0; 3]; 3], [0.0; 3]);
    for p in points {
        let row = [2.0 * p.x, 2.0 * p.y, 1.0];
        let right = p.dot(*p);
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += row[i] * row[j];
            }
            side[i] += row[i] * right;
        }
    }
    let [a, b, c] = solve(m, side)?;
    let square = c + a * a + b * b;
    (square > 0.0).then(|| [a, b, square.sqrt()])
}

fn cost_of(points: &[Vec2], [x, y, r]: [f64; 3]) -> f64 {
    points.iter().map(|p| ((p.x - x).hypot(p.y - y) - r).powi(2)).sum()
}

/// A damped Gauss–Newton step (Levenberg and Marquardt).
fn step(points: &[Vec2], [x, y, r]: [f64; 3], damping: f64) -> Option<[f64; 3]> {
    let (mut m, mut side) = ([[0.0; 3]; 3], [0.0; 3]);
    for p in points {
        let distance = (p.x - x).hypot(p.y - y);
        if distance <= 0.0 {
            continue;
        }
        let row = [(x - p.x) / distance, (y - p.y) / distance, -1.0];
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += row[i] * row[j];
            }
            side[i] -= row[i] * (distance - r);
        }
    }
    for (i, row) in m.iter_mut().enumerate() {
        row[i] *= 1.0 + damping;
        row[i] += 1e-300;
    }
    solve(m, side)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The six points of Gander, Golub and Strebel (1994), recomputed: tests/reference, `line_circle_expected.json`.
    #[test]
    fn the_published_points() {
        let points = [(1.0, 7.0), (2.0, 6.0), (5.0, 8.0), (7.0, 7.0), (9.0, 5.0), (3.0, 7.0)];
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let found = fit(&points).unwrap();
        assert!((found.centre.x - 4.739_782_419_348).abs() < 1e-7, "{found:?}");
        assert!((found.centre.y - 2.983_532_747_422).abs() < 1e-7, "{found:?}");
        assert!((found.radius - 4.714_226_000_843).abs() < 1e-7, "{found:?}");
        let squares: f64 = points.iter().map(|p| (p.distance(found.centre) - found.radius).powi(2)).sum();
        assert!((squares - 1.227_599_078_184).abs() < 1e-9);
    }

    #[test]
    fn three_points_lie_on_it_and_a_line_has_none() {
        let at = |a: f64| Point::new(300.0 + 80.0 * a.cos(), 200.0 + 80.0 * a.sin());
        let found = fit(&[at(0.1), at(0.5), at(0.9)]).unwrap();
        assert!(found.centre.distance(Point::new(300.0, 200.0)) < 1e-6 && (found.radius - 80.0).abs() < 1e-6);
        assert_eq!(fit(&[Point::new(0.0, 0.0), Point::new(1.0, 1.0), Point::new(5.0, 5.0)]), None);
        assert_eq!(fit(&[Point::new(0.0, 0.0); 3]), None);
        assert_eq!(fit(&[at(0.0), at(1.0)]), None);
    }
}
