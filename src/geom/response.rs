//! How a place on a curve answers to the points that the curve goes through: its derivatives, in closed form.
//!
//! A natural spline read by normalised arc length answers to a point in three ways: the piece itself bends, the second
//! derivatives of all pieces change with the chords and the points (a tridiagonal system, differentiated), and the place
//! slides along, since the arc before it and the whole arc change. All three are followed here; finite differences, for
//! which the spline would have to be made again four times a point, are only in the tests.

use crate::geom::curve::Curve;
use crate::geom::point::Vec2;
use crate::geom::spline::{GAUSS_16, Spline};

/// What a place does when one point of the curve moves by one unit in x and in y.
pub type Columns = [Vec2; 2];

/// The unit steps by which a point is moved.
const STEPS: [Vec2; 2] = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)];

/// The derivatives of a curve's places by its points.
#[derive(Debug)]
pub struct Response<'a> {
    curve: &'a Curve,
    pieces: Vec<SplinePiece>,
    /// Derivative of the whole length by each coordinate; empty for a straight line.
    length: Vec<f64>,
}

/// One piece of a spline over τ from 0 to 1, with a = 1 − τ:
/// `c(τ) = a·p + τ·q + e·(a³ − a) + f·(τ³ − τ)`, e and f a sixth of its squared span times the second derivatives.
#[derive(Debug)]
struct SplinePiece {
    chord: Vec2,
    e: Vec2,
    f: Vec2,
    /// Derivatives of e and f by each coordinate of the curve's points: x and y of the first, of the second, …
    bends: Vec<[Vec2; 2]>,
    /// Derivative of the arc of all pieces before this one, by each coordinate.
    before: Vec<f64>,
}

/// Integrals of the unit tangent from the start of a piece: plain, and times the weights of e and f.
#[derive(Clone, Copy, Debug, Default)]
struct Swept {
    chord: Vec2,
    e: Vec2,
    f: Vec2,
}

impl SplinePiece {
    fn slope(&self, tau: f64) -> Vec2 {
        let a = 1.0 - tau;
        self.chord + self.e * (1.0 - 3.0 * a * a) + self.f * (3.0 * tau * tau - 1.0)
    }

    fn swept(&self, to: f64) -> Swept {
        let half = 0.5 * to;
        let mut sum = Swept::default();
        for (x, weight) in GAUSS_16 {
            for tau in [half - half * x, half + half * x] {
                let slope = self.slope(tau);
                let tangent = slope * (weight * half / slope.dot(slope).sqrt());
                let a = 1.0 - tau;
                sum.chord += tangent;
                sum.e += tangent * (1.0 - 3.0 * a * a);
                sum.f += tangent * (3.0 * tau * tau - 1.0);
            }
        }
        sum
    }

    /// Derivative of the arc swept, by one coordinate; `chord` is the chord's own derivative by it.
    fn arc(&self, swept: &Swept, coordinate: usize, chord: Vec2) -> f64 {
        let [e, f] = self.bends[coordinate];
        swept.chord.dot(chord) + swept.e.dot(e) + swept.f.dot(f)
    }
}

/// Derivative of the chord of piece `i` by one coordinate.
fn chord_step(i: usize, coordinate: usize) -> Vec2 {
    let (point, step) = (coordinate / 2, STEPS[coordinate % 2]);
    if point == i + 1 {
        step
    } else if point == i {
        -step
    } else {
        Vec2::default()
    }
}

impl<'a> Response<'a> {
    /// The derivatives of a curve.
    #[must_use]
    pub fn of(curve: &'a Curve) -> Self {
        match curve {
            Curve::Straight { .. } => Self { curve, pieces: Vec::new(), length: Vec::new() },
            Curve::Curved(spline) => {
                let mut pieces = pieces(spline);
                let mut length = vec![0.0; 2 * spline.points.len()];
                for (i, piece) in pieces.iter_mut().enumerate() {
                    piece.before.clone_from(&length);
                    let swept = piece.swept(1.0);
                    for (coordinate, sum) in length.iter_mut().enumerate() {
                        *sum += piece.arc(&swept, coordinate, chord_step(i, coordinate));
                    }
                }
                Self { curve, pieces, length }
            }
        }
    }

    /// For each point of the curve, what its place at `u` does when the point moves by one unit in x and in y; places
    /// beyond the ends too.
    #[must_use]
    pub fn at(&self, u: f64) -> Vec<Columns> {
        match self.curve {
            Curve::Straight { .. } => [1.0 - u, u].map(|w| STEPS.map(|step| step * w)).to_vec(),
            Curve::Curved(spline) if u > 0.0 && u < 1.0 => self.inside(spline, u),
            Curve::Curved(spline) => self.beyond(spline, u),
        }
    }

    fn inside(&self, spline: &Spline, u: f64) -> Vec<Columns> {
        let (i, s) = spline.place(u);
        let piece = &self.pieces[i];
        let tau = s / (spline.knots[i + 1] - spline.knots[i]);
        let a = 1.0 - tau;
        let (by_e, by_f) = (a * a * a - a, tau * tau * tau - tau);
        let swept = piece.swept(tau);
        let slope = piece.slope(tau);
        let slide = slope / slope.dot(slope).sqrt();
        let column = |coordinate: usize| {
            let (point, step) = (coordinate / 2, STEPS[coordinate % 2]);
            let chord = chord_step(i, coordinate);
            let own = if point == i { step } else { Vec2::default() };
            let [e, f] = piece.bends[coordinate];
            let still = own + chord * tau + e * by_e + f * by_f;
            let arc = piece.before[coordinate] + piece.arc(&swept, coordinate, chord);
            still + slide * (u * self.length[coordinate] - arc)
        };
        (0..spline.points.len()).map(|point| [column(2 * point), column(2 * point + 1)]).collect()
    }

    /// At the ends and beyond, where the curve goes on along its end tangent at the rate of its length.
    fn beyond(&self, spline: &Spline, u: f64) -> Vec<Columns> {
        let (end, i, tau) =
            if u <= 0.0 { (0, 0, 0.0) } else { (spline.points.len() - 1, self.pieces.len() - 1, 1.0) };
        let past = u - tau;
        let piece = &self.pieces[i];
        let slope = piece.slope(tau);
        let size = slope.dot(slope).sqrt();
        let tangent = slope / size;
        let (by_e, by_f) = if u <= 0.0 { (-2.0, -1.0) } else { (1.0, 2.0) };
        let column = |coordinate: usize| {
            let own = if coordinate / 2 == end { STEPS[coordinate % 2] } else { Vec2::default() };
            if past == 0.0 {
                return own;
            }
            let [e, f] = piece.bends[coordinate];
            let slope = chord_step(i, coordinate) + e * by_e + f * by_f;
            let turn = (slope - tangent * tangent.dot(slope)) * (spline.length() / size);
            own + (turn + tangent * self.length[coordinate]) * past
        };
        (0..spline.points.len()).map(|point| [column(2 * point), column(2 * point + 1)]).collect()
    }
}

/// The pieces of a spline with the derivatives of their bends; the arcs before them are still empty.
fn pieces(spline: &Spline) -> Vec<SplinePiece> {
    let n = spline.points.len();
    let spans: Vec<f64> = spline.knots.windows(2).map(|knots| knots[1] - knots[0]).collect();
    let chords: Vec<Vec2> = spline.points.windows(2).map(|ends| ends[1] - ends[0]).collect();
    let system = System::new(&spans);
    let mut pieces: Vec<SplinePiece> = (0..n - 1)
        .map(|i| {
            let sixth = spans[i] * spans[i] / 6.0;
            SplinePiece {
                chord: chords[i],
                e: spline.second[i] * sixth,
                f: spline.second[i + 1] * sixth,
                bends: Vec::with_capacity(2 * n),
                before: Vec::new(),
            }
        })
        .collect();
    let mut second = vec![Vec2::default(); n];
    for coordinate in 0..2 * n {
        let span_step = |i: usize| chord_step(i, coordinate).dot(chords[i]) / spans[i];
        system.solve(&mut second, |k| {
            let (h0, h1) = (span_step(k - 1), span_step(k));
            let rate =
                |i: usize| (chord_step(i, coordinate) - chords[i] * (span_step(i) / spans[i])) / spans[i];
            let m = &spline.second;
            (rate(k) - rate(k - 1)) * 6.0 - m[k - 1] * h0 - m[k] * (2.0 * (h0 + h1)) - m[k + 1] * h1
        });
        for (i, piece) in pieces.iter_mut().enumerate() {
            let (h, dh) = (spans[i], span_step(i));
            let bend = |m: Vec2, dm: Vec2| (m * (2.0 * h * dh) + dm * (h * h)) / 6.0;
            let (from, to) = (bend(spline.second[i], second[i]), bend(spline.second[i + 1], second[i + 1]));
            piece.bends.push([from, to]);
        }
    }
    pieces
}

/// The tridiagonal system of a natural spline's second derivatives, eliminated once for many right-hand sides.
struct System<'a> {
    spans: &'a [f64],
    pivots: Vec<f64>,
    upper: Vec<f64>,
}

impl<'a> System<'a> {
    fn new(spans: &'a [f64]) -> Self {
        let n = spans.len() + 1;
        let (mut pivots, mut upper) = (vec![1.0; n], vec![0.0; n]);
        for k in 1..n - 1 {
            pivots[k] = 2.0 * (spans[k - 1] + spans[k]) - spans[k - 1] * upper[k - 1];
            upper[k] = spans[k] / pivots[k];
        }
        Self { spans, pivots, upper }
    }

    /// The solution for this right-hand side at each inner knot; zero at both ends.
    fn solve(&self, out: &mut [Vec2], right: impl Fn(usize) -> Vec2) {
        let n = out.len();
        out[0] = Vec2::default();
        out[n - 1] = Vec2::default();
        for k in 1..n - 1 {
            out[k] = (right(k) - out[k - 1] * self.spans[k - 1]) / self.pivots[k];
        }
        for k in (1..n - 1).rev() {
            out[k] = out[k] - out[k + 1] * self.upper[k];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::point::Point;

    /// The same derivatives by central differences of the curve made again, for tests.
    fn by_differences(points: &[Point], u: f64, step: f64) -> Vec<Columns> {
        let at = |index: usize, by: Vec2| {
            let mut moved = points.to_vec();
            moved[index] += by;
            Curve::through(&moved).map_or(Point::new(f64::NAN, f64::NAN), |curve| curve.at(u))
        };
        let column = |index: usize, unit: Vec2| {
            // Two step widths, extrapolated: what is left is of the fourth order (Richardson).
            let slope = |h: f64| (at(index, unit * h) - at(index, unit * -h)) / (2.0 * h);
            (slope(0.5 * step) * 4.0 - slope(step)) / 3.0
        };
        (0..points.len()).map(|index| STEPS.map(|unit| column(index, unit))).collect()
    }

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// The curve made again with each point moved, two step widths extrapolated: what is left is rounding, near 1e-9.
    #[test]
    fn closed_form_and_differences_agree_inside_and_beyond() {
        let curves = [
            points(&[(0.0, 0.0), (40.0, 3.0)]),
            points(&[(0.0, 0.0), (5.0, 3.0), (9.0, 0.0)]),
            points(&[(412.0, 305.0), (376.0, 313.0), (340.0, 316.0), (268.0, 318.0)]),
            points(&[(0.0, 0.0), (9.0, 1.2), (17.5, 1.7), (20.0, 4.0), (26.0, 1.1), (35.0, -2.0)]),
        ];
        for list in &curves {
            let curve = Curve::through(list).unwrap();
            let response = Response::of(&curve);
            for u in [-0.6, -0.1, 0.0, 0.03, 0.25, 0.5, 0.77, 0.999, 1.0, 1.4] {
                let step = 1e-3 * curve.length() / 10.0;
                for (own, other) in response.at(u).iter().zip(by_differences(list, u, step)) {
                    for (a, b) in own.iter().zip(other) {
                        assert!((*a - b).length() < 2e-8, "{} points at {u}: {a:?} {b:?}", list.len());
                    }
                }
            }
        }
    }

    /// Moving all points alike moves every place alike.
    #[test]
    fn a_shift_of_all_points_shifts_every_place() {
        let list = points(&[(0.0, 0.0), (9.0, 1.2), (17.5, 1.7), (26.0, 1.1), (35.0, -2.0)]);
        let curve = Curve::through(&list).unwrap();
        let response = Response::of(&curve);
        for u in [-0.3, 0.2, 0.5, 0.9, 1.2] {
            let sum = response
                .at(u)
                .into_iter()
                .fold([Vec2::default(); 2], |[x, y], [by_x, by_y]| [x + by_x, y + by_y]);
            assert!((sum[0] - STEPS[0]).length() < 1e-12 && (sum[1] - STEPS[1]).length() < 1e-12, "{sum:?}");
        }
    }
}
