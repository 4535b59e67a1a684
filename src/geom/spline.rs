//! The natural cubic spline through points, over cumulative chord length, measured along its arc.

use crate::geom::point::{Point, Vec2};

/// A natural cubic spline through three or more points, per coordinate over cumulative chord length: second
/// derivative zero at both ends (de Boor, *A Practical Guide to Splines*, chapter IV; the same as SciPy's
/// `CubicSpline(…, bc_type="natural")`).
#[derive(Clone, Debug, PartialEq)]
pub struct Spline {
    pub(super) knots: Vec<f64>,
    pub(super) points: Vec<Point>,
    pub(super) second: Vec<Vec2>,
    /// Arc length from the start to each knot.
    arc: Vec<f64>,
}

impl Spline {
    /// The spline through `points`, or `None` for fewer than two points, neighbours that coincide or places
    /// that are not finite.
    #[must_use]
    pub fn through(points: &[Point]) -> Option<Self> {
        if points.len() < 2 {
            return None;
        }
        let mut knots = Vec::with_capacity(points.len());
        let mut total = 0.0;
        knots.push(total);
        for pair in points.windows(2) {
            let chord = pair[0].distance(pair[1]);
            if !(chord > 0.0 && chord.is_finite()) {
                return None;
            }
            total += chord;
            knots.push(total);
        }
        let second = second_derivatives(&knots, points);
        let mut spline =
            Self { knots, points: points.to_vec(), second, arc: Vec::with_capacity(points.len()) };
        let mut length = 0.0;
        spline.arc.push(length);
        for i in 0..points.len() - 1 {
            let slope = spline.slope(i);
            length += slope.arc(slope.span);
            spline.arc.push(length);
        }
        (length > 0.0 && length.is_finite()).then_some(spline)
    }

    /// Length along the arc.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.arc[self.arc.len() - 1]
    }

    /// The place and the unit tangent at a fraction `u` of the arc length, 0 ≤ u ≤ 1.
    #[must_use]
    pub fn at(&self, u: f64) -> (Point, Vec2) {
        let (segment, s) = self.place(u);
        let tangent = self.slope(segment).at(s);
        (self.value(segment, s), tangent.normalized().unwrap_or(tangent))
    }

    /// The segment in which a fraction `u` of the arc length ends, and the parameter from its start.
    pub(super) fn place(&self, u: f64) -> (usize, f64) {
        let wanted = u * self.length();
        let last = self.points.len() - 2;
        let segment = self.arc[1..].iter().position(|&end| wanted <= end).unwrap_or(last).min(last);
        let slope = self.slope(segment);
        let s = if u <= 0.0 {
            0.0
        } else if u >= 1.0 {
            slope.span
        } else {
            let whole = self.arc[segment + 1] - self.arc[segment];
            slope.reach(wanted - self.arc[segment], whole)
        };
        (segment, s)
    }

    /// The place a parameter `s` after the start of a segment.
    fn value(&self, i: usize, s: f64) -> Point {
        let h = self.knots[i + 1] - self.knots[i];
        let (b, a) = (s / h, (h - s) / h);
        let bend = self.second[i] * (a * a * a - a) + self.second[i + 1] * (b * b * b - b);
        self.points[i] + (self.points[i + 1] - self.points[i]) * b + bend * (h * h / 6.0)
    }

    /// The derivative on a segment.
    fn slope(&self, i: usize) -> Slope {
        let span = self.knots[i + 1] - self.knots[i];
        let (from, to) = (self.second[i], self.second[i + 1]);
        Slope {
            span,
            constant: (self.points[i + 1] - self.points[i]) / span - (from * 2.0 + to) * (span / 6.0),
            linear: from,
            square: (to - from) * (0.5 / span),
        }
    }
}

/// The derivative of one segment by its parameter, a quadratic counted from the segment's start. Whatever asks
/// for arc lengths evaluates it dozens of times, so that its coefficients are worked out once.
#[derive(Clone, Copy, Debug)]
struct Slope {
    span: f64,
    constant: Vec2,
    linear: Vec2,
    square: Vec2,
}

impl Slope {
    fn at(self, s: f64) -> Vec2 {
        self.constant + (self.linear + self.square * s) * s
    }

    /// Over chord length the speed is near one, so that its square neither over- nor underflows.
    fn speed(self, s: f64) -> f64 {
        let d = self.at(s);
        d.dot(d).sqrt()
    }

    /// Arc length from the segment's start, by Gauss–Legendre quadrature with 16 nodes.
    fn arc(self, to: f64) -> f64 {
        let half = 0.5 * to;
        let mut sum = 0.0;
        for (x, weight) in GAUSS_16 {
            let d = half * x;
            sum += weight * (self.speed(half - d) + self.speed(half + d));
        }
        sum * half
    }

    /// The parameter at which `rest` of the `whole` arc has gone by: Halley's method, kept inside the segment, from the
    /// cubic that has the right ends and the right speeds there. Its error is cubed at each step, so that after a step
    /// of 1e-6 of the segment nothing is left.
    fn reach(self, rest: f64, whole: f64) -> f64 {
        let mut s = self.guess(rest, whole);
        for _ in 0..30 {
            let (slope, bend) = (self.at(s), self.linear + self.square * (2.0 * s));
            let speed = slope.dot(slope).sqrt();
            if speed <= 0.0 {
                break;
            }
            let newton = (self.arc(s) - rest) / speed;
            // The speed's own derivative by the parameter is slope · bend / speed.
            let curbed = 1.0 - 0.5 * newton * slope.dot(bend) / (speed * speed);
            let step = if (0.5..2.0).contains(&curbed) { newton / curbed } else { newton };
            s = (s - step).clamp(0.0, self.span);
            if step.abs() <= 1e-6 * self.span {
                break;
            }
        }
        s
    }

    /// The cubic in arc length with the segment's ends and the reciprocal of its speed at both.
    fn guess(self, rest: f64, whole: f64) -> f64 {
        let x = (rest / whole).clamp(0.0, 1.0);
        let (from, to) = (whole / self.speed(0.0), whole / self.speed(self.span));
        let s =
            self.span * x * x * (3.0 - 2.0 * x) + from * x * (x - 1.0) * (x - 1.0) + to * x * x * (x - 1.0);
        if s.is_finite() { s.clamp(0.0, self.span) } else { self.span * x }
    }
}

/// Second derivatives at the knots, by the tridiagonal (Thomas) algorithm.
fn second_derivatives(knots: &[f64], points: &[Point]) -> Vec<Vec2> {
    let n = points.len();
    let mut second = vec![Vec2::default(); n];
    let mut upper = vec![0.0; n];
    for i in 1..n - 1 {
        let (h0, h1) = (knots[i] - knots[i - 1], knots[i + 1] - knots[i]);
        let slope = (points[i + 1] - points[i]) / h1 - (points[i] - points[i - 1]) / h0;
        let pivot = 2.0 * (h0 + h1) - h0 * upper[i - 1];
        upper[i] = h1 / pivot;
        second[i] = (slope * 6.0 - second[i - 1] * h0) / pivot;
    }
    for i in (1..n - 1).rev() {
        second[i] = second[i] - second[i + 1] * upper[i];
    }
    second
}

/// Positive nodes and weights of 16-point Gauss–Legendre quadrature on −1…1 (NumPy `leggauss(16)`).
pub(super) const GAUSS_16: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_6),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_6),
    (0.617_876_244_402_643_8, 0.149_595_988_816_576_7),
    (0.755_404_408_355_003, 0.124_628_971_255_534_1),
    (0.865_631_202_387_831_8, 0.095_158_511_682_492_6),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_46),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_18),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_goes_through_its_points_and_ends_straight() {
        let points = [(0.0, 0.0), (3.0, 1.0), (5.0, 4.0), (9.0, 4.5)].map(|(x, y)| Point::new(x, y));
        let spline = Spline::through(&points).unwrap();
        for (i, p) in points.iter().enumerate() {
            let (q, _) = spline.at(spline.arc[i] / spline.length());
            assert!(p.distance(q) < 1e-12, "{p:?} {q:?}");
        }
        assert_eq!(spline.second[0], Vec2::default());
        assert_eq!(spline.second[3], Vec2::default());
    }

    #[test]
    fn points_on_a_line_give_that_line() {
        let points = [0.0, 1.0, 4.0, 10.0].map(|t| Point::new(3.0 * t, 4.0 * t));
        let spline = Spline::through(&points).unwrap();
        assert!((spline.length() - 50.0).abs() < 1e-12);
        let (p, tangent) = spline.at(0.25);
        assert!(p.distance(Point::new(7.5, 10.0)) < 1e-12);
        assert!((tangent - Vec2::new(0.6, 0.8)).length() < 1e-12);
    }

    #[test]
    fn equal_steps_of_u_are_equal_steps_of_arc() {
        let points = [(0.0, 0.0), (5.0, 3.0), (9.0, 0.0)].map(|(x, y)| Point::new(x, y));
        let spline = Spline::through(&points).unwrap();
        let fine = 4000;
        let places: Vec<Point> = (0..=fine).map(|i| spline.at(f64::from(i) / f64::from(fine)).0).collect();
        let steps: Vec<f64> = places.windows(2).map(|w| w[0].distance(w[1])).collect();
        let (least, most) = steps.iter().fold((f64::MAX, 0.0_f64), |(a, b), &s| (a.min(s), b.max(s)));
        assert!((most - least) / most < 1e-5, "{least} {most}");
        assert!((steps.iter().sum::<f64>() - spline.length()).abs() < 1e-5);
    }

    #[test]
    fn coinciding_neighbours_give_none() {
        let p = Point::new(1.0, 1.0);
        assert_eq!(Spline::through(&[p, p, Point::new(2.0, 2.0)]), None);
        assert_eq!(Spline::through(&[p, Point::new(f64::MAX, f64::MAX), Point::new(-f64::MAX, 0.0)]), None);
    }
}
