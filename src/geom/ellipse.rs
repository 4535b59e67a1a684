//! The ellipse nearest to some points, by direct least squares: the sum of squared algebraic distances is least among
//! ellipses (Fitzgibbon, Pilu and Fisher 1999, *IEEE PAMI* 21:476–480, in the stable form of Halíř and Flusser 1998).

use std::f64::consts::TAU;

use crate::geom::linear::inverse;
use crate::geom::point::{Point, Vec2};

/// The fewest points that tell an ellipse.
pub const FEWEST: usize = 5;

/// An ellipse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Its center.
    pub centre: Point,
    /// Half of its axes: along `angle`, and across it. Above 0.
    pub half_axes: [f64; 2],
    /// Direction of the first axis, in radians from the x axis toward the y axis.
    pub angle: f64,
}

impl Ellipse {
    /// The ellipse nearest to these points; `None` for fewer than five, or where they tell none.
    #[must_use]
    pub fn of_points(points: &[Point]) -> Option<Self> {
        if points.len() < FEWEST || points.iter().any(|p| !p.is_finite()) {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
        let n = points.len() as f64;
        let mean = points.iter().fold(Vec2::default(), |sum, p| sum + p.to_vec()) / n;
        // About their mean and in units of their spread, so that the equations are well scaled.
        let spread =
            (points.iter().map(|p| (p.to_vec() - mean).dot(p.to_vec() - mean)).sum::<f64>() / n).sqrt();
        if spread <= 0.0 {
            return None;
        }
        let scaled: Vec<Vec2> = points.iter().map(|p| (p.to_vec() - mean) / spread).collect();
        let found = of_conic(nearest_conic(&scaled)?)?;
        Some(Self {
            centre: Point::default() + mean + found.centre.to_vec() * spread,
            half_axes: found.half_axes.map(|half| half * spread),
            angle: found.angle,
        })
    }

    /// The place of the plane that a place of the unit disc has when the disc is stretched along the axes, without being
    /// rotated: its center lies in the center of the ellipse, its edge on the ellipse.
    #[must_use]
    pub fn of_disc(&self, at: Vec2) -> Point {
        let axis = Vec2::new(self.angle.cos(), self.angle.sin());
        let across = Vec2::new(-axis.y, axis.x);
        self.centre
            + axis * (self.half_axes[0] * at.dot(axis))
            + across * (self.half_axes[1] * at.dot(across))
    }

    /// The place of the unit disc that lies at this place of the plane: the inverse of [`Self::of_disc`].
    #[must_use]
    pub fn to_disc(&self, at: Point) -> Vec2 {
        let axis = Vec2::new(self.angle.cos(), self.angle.sin());
        let across = Vec2::new(-axis.y, axis.x);
        let from = at - self.centre;
        axis * (from.dot(axis) / self.half_axes[0]) + across * (from.dot(across) / self.half_axes[1])
    }

    /// Points on the ellipse, all around.
    #[must_use]
    pub fn outline(&self, count: u16) -> Vec<Point> {
        let turn = |i: u16| TAU * f64::from(i) / f64::from(count.max(1));
        (0..count).map(|i| self.of_disc(Vec2::new(turn(i).cos(), turn(i).sin()))).collect()
    }
}

/// Coefficients of `a x² + b x y + c y² + d x + e y + f = 0`.
type Conic = [f64; 6];

fn nearest_conic(points: &[Vec2]) -> Option<Conic> {
    let mut quadratic = [[0.0; 3]; 3];
    let mut mixed = [[0.0; 3]; 3];
    let mut linear = [[0.0; 3]; 3];
    for p in points {
        let (square, plain) = ([p.x * p.x, p.x * p.y, p.y * p.y], [p.x, p.y, 1.0]);
        for i in 0..3 {
            for j in 0..3 {
                quadratic[i][j] += square[i] * square[j];
                mixed[i][j] += square[i] * plain[j];
                linear[i][j] += plain[i] * plain[j];
            }
        }
    }
    // The linear part follows from the quadratic one: −linear⁻¹ · mixedᵀ.
    let back = inverse(linear)?;
    let follows = |i: usize, j: usize| -(0..3).map(|k| back[i][k] * mixed[j][k]).sum::<f64>();
    let reduced =
        |i: usize, j: usize| quadratic[i][j] + (0..3).map(|k| mixed[i][k] * follows(k, j)).sum::<f64>();
    let row = |i: usize, by: f64| [0, 1, 2].map(|j| by * reduced(i, j));
    let wanted = [row(2, 0.5), row(1, -1.0), row(0, 0.5)];
    // One of the three solutions is an ellipse.
    let [a, b, c] = eigenvalues(wanted)?
        .into_iter()
        .filter_map(|value| eigenvector(wanted, value))
        .find(|[a, b, c]| 4.0 * a * c - b * b > 1e-12)?;
    let [d, e, f] = [0, 1, 2].map(|i| follows(i, 0) * a + follows(i, 1) * b + follows(i, 2) * c);
    Some([a, b, c, d, e, f])
}

/// The three eigenvalues, where they are real: roots of the characteristic polynomial, by cosines (Viète).
fn eigenvalues(m: [[f64; 3]; 3]) -> Option<[f64; 3]> {
    let trace = m[0][0] + m[1][1] + m[2][2];
    let minor = |i: usize, j: usize| m[i][i] * m[j][j] - m[i][j] * m[j][i];
    let minors = minor(0, 1) + minor(0, 2) + minor(1, 2);
    let det = m[0][0] * minor(1, 2) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    let width = trace * trace / 9.0 - minors / 3.0;
    if width <= 0.0 || width.is_nan() {
        return None;
    }
    let skew = (2.0 * trace.powi(3) - 9.0 * trace * minors + 27.0 * det) / 54.0;
    let turn = (skew / width.powf(1.5)).clamp(-1.0, 1.0).acos();
    Some([0.0, 1.0, 2.0].map(|k| trace / 3.0 + 2.0 * width.sqrt() * ((turn + k * TAU) / 3.0).cos()))
}

/// A vector of length 1 that the matrix only stretches by this value: at right angles to two of the rows that are left.
fn eigenvector(mut m: [[f64; 3]; 3], value: f64) -> Option<[f64; 3]> {
    (0..3).for_each(|i| m[i][i] -= value);
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    };
    let length = |v: &[f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let longest = [cross(m[0], m[1]), cross(m[0], m[2]), cross(m[1], m[2])]
        .into_iter()
        .max_by(|a, b| length(a).total_cmp(&length(b)))?;
    let long = length(&longest);
    (long > 0.0 && long.is_finite()).then(|| longest.map(|x| x / long))
}

fn of_conic([a, b, c, d, e, f]: Conic) -> Option<Ellipse> {
    let det = 4.0 * a * c - b * b;
    let centre = Point::new((b * e - 2.0 * c * d) / det, (b * d - 2.0 * a * e) / det);
    let left = f + 0.5 * (d * centre.x + e * centre.y);
    let angle = 0.5 * b.atan2(a - c);
    let stretch = |at: f64| a * at.cos().powi(2) + b * at.cos() * at.sin() + c * at.sin().powi(2);
    let half_axes = [angle, angle + 0.25 * TAU].map(|at| (-left / stretch(at)).sqrt());
    let is_one = centre.is_finite() && half_axes.iter().all(|half| half.is_finite() && *half > 0.0);
    is_one.then_some(Ellipse { centre, half_axes, angle })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(all: &[(f64, f64)]) -> Vec<Point> {
        all.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// scikit-image 0.26.0, `EllipseModel().estimate`: center 401.3918129, 301.51149996, half axes 248.88692777 and
    /// 179.95529051, angle 0.40360944; OpenCV 5.0.0 `fitEllipseDirect`: 401.3918, 301.5115, axes 497.7739 and 359.9106.
    #[test]
    fn eight_points_that_were_clicked_give_the_ellipse_of_others() {
        let clicked = points(&[
            (628.7, 398.9),
            (510.6, 489.3),
            (329.4, 466.3),
            (188.5, 345.9),
            (172.0, 200.7),
            (287.0, 117.1),
            (469.0, 134.6),
            (610.8, 248.1),
        ]);
        let found = Ellipse::of_points(&clicked).unwrap();
        assert!(found.centre.distance(Point::new(401.391_812_9, 301.511_499_96)) < 1e-6, "{found:?}");
        let (long, short) = if found.half_axes[0] > found.half_axes[1] { (0, 1) } else { (1, 0) };
        assert!((found.half_axes[long] - 248.886_927_77).abs() < 1e-6, "{found:?}");
        assert!((found.half_axes[short] - 179.955_290_51).abs() < 1e-6, "{found:?}");
        let angle = found.angle + if long == 0 { 0.0 } else { 0.25 * TAU };
        assert!((2.0 * (angle - 0.403_609_44)).sin().abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn five_points_of_an_ellipse_tell_it() {
        let known = Ellipse { centre: Point::new(40.0, -7.0), half_axes: [30.0, 11.0], angle: 2.1 };
        let found = Ellipse::of_points(&known.outline(5)).unwrap();
        for p in known.outline(16) {
            let at = found.to_disc(p);
            assert!((at.dot(at) - 1.0).abs() < 1e-7, "{found:?}");
            assert!(found.of_disc(at).distance(p) < 1e-9);
        }
        // A circle is one, too.
        let round = Ellipse { half_axes: [9.0, 9.0], ..known };
        let found = Ellipse::of_points(&round.outline(7)).unwrap();
        assert!(found.half_axes.iter().all(|half| (half - 9.0).abs() < 1e-7), "{found:?}");
    }

    #[test]
    fn what_tells_no_ellipse_gives_none() {
        assert_eq!(Ellipse::of_points(&points(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])), None);
        let line: Vec<Point> = (0..9).map(|i| Point::new(f64::from(i), 2.0 * f64::from(i))).collect();
        assert_eq!(Ellipse::of_points(&line), None);
        assert_eq!(Ellipse::of_points(&[Point::new(3.0, 3.0); 6]), None);
        let mut unknown = points(&[(0.0, 0.0); 4]);
        unknown.push(Point::new(f64::NAN, 0.0));
        assert_eq!(Ellipse::of_points(&unknown), None);
    }
}
