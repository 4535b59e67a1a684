//! The Coons patch of four borders, each the mean of its contours carried to the shared corners.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::BodyPoint;
use crate::measure::outline::Border;

/// Points a side of the grid on which the Jacobian must keep one sign.
const GRID: usize = 21;

/// First and second contours by border, with the corners they share.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Curves {
    pub(crate) first: [Curve; 4],
    pub(crate) second: [Option<Curve>; 4],
    /// The corners the map uses, in the order C00, C10, C01, C11 (along, height).
    pub(crate) corners: [Point; 4],
    /// From the mean of each border's contours to its corners, at its start and its end.
    carried: [[Vec2; 2]; 4],
}

/// Place and derivative on a border, in the part of the Coons patch.
pub(crate) type Jet = (Point, Vec2);

/// What a corner moves by where a second contour lies `off` it: half of the part across its own border. `plate` and
/// `wall` are the first contours' chords from this corner. A second end plate moves its corners along the wall only, a
/// second wall along the end plate, so that it does not matter where along its border a second contour was ended.
pub(crate) fn corner_step(border: Border, plate: Vec2, wall: Vec2, off: Vec2) -> Vec2 {
    match border {
        Border::Superior | Border::Inferior => wall * (0.5 * plate.cross(off) / plate.cross(wall)),
        Border::Start | Border::End => plate * (0.5 * off.cross(wall) / plate.cross(wall)),
    }
}

impl Curves {
    /// Contours with the corners of the end plates, moved by every second contour that ends there.
    pub(crate) fn new(first: [Curve; 4], second: [Option<Curve>; 4]) -> Self {
        let marked = [first[0].at(0.0), first[0].at(1.0), first[1].at(0.0), first[1].at(1.0)];
        let mut corners = marked;
        for border in Border::ALL {
            let Some(second) = &second[border.index()] else { continue };
            for (corner, t) in border.corners().into_iter().zip([0.0, 1.0]) {
                let [plate, wall] = neighbours(corner).map(|other| marked[other] - marked[corner]);
                corners[corner] += corner_step(border, plate, wall, second.at(t) - marked[corner]);
            }
        }
        let carried = Border::ALL.map(|border| {
            let mean = |t: f64| {
                let b = first[border.index()].at(t);
                second[border.index()].as_ref().map_or(b, |second| b.midpoint(second.at(t)))
            };
            let [from, to] = border.corners();
            [corners[from] - mean(0.0), corners[to] - mean(1.0)]
        });
        Self { first, second, corners, carried }
    }

    /// Place and derivative on the border the map uses.
    pub(crate) fn border(&self, border: Border, t: f64) -> Jet {
        let (b, db) = self.first[border.index()].at_with_derivative(t);
        let (m, dm) = match &self.second[border.index()] {
            None => (b, db),
            Some(second) => {
                let (q, dq) = second.at_with_derivative(t);
                (b.midpoint(q), (db + dq) * 0.5)
            }
        };
        let [at_start, at_end] = self.carried[border.index()];
        (m + at_start * (1.0 - t) + at_end * t, dm + at_end - at_start)
    }

    /// The image of a body place, with the derivatives by `along` and by `height`.
    pub(crate) fn forward(&self, at: BodyPoint) -> (Point, Vec2, Vec2) {
        let jets = [
            self.border(Border::Superior, at.along),
            self.border(Border::Inferior, at.along),
            self.border(Border::Start, at.height),
            self.border(Border::End, at.height),
        ];
        coons(at, &jets, &self.corners)
    }

    /// The sign of the Jacobian if it is the same, and not zero, on the whole grid of the unit square.
    ///
    /// Along a row of the grid and down a column most of the Jacobian repeats, so that only what changes is worked
    /// out 441 times. With straight borders the determinant is linear in both fractions: its signs at the four corners
    /// are those of all places between them.
    pub(crate) fn one_sign(&self) -> Option<f64> {
        let straight = |curve: &Curve| matches!(curve, Curve::Straight { .. });
        let all_straight = self.first.iter().chain(self.second.iter().flatten()).all(straight);
        let places: Vec<f64> = if all_straight { vec![0.0, 1.0] } else { (0..GRID).map(grid).collect() };
        let [c00, c10, c01, c11] = self.corners;
        // By `along`: both end plates, and the part of the derivative by height that does not change down a column.
        let columns: Vec<[Vec2; 3]> = places
            .iter()
            .map(|&u| {
                let (s, ds) = self.border(Border::Superior, u);
                let (i, di) = self.border(Border::Inferior, u);
                [ds, di, (i - s) - ((c01 - c00) * (1.0 - u) + (c11 - c10) * u)]
            })
            .collect();
        let mut sign = 0.0;
        for &v in &places {
            let (p, dp) = self.border(Border::Start, v);
            let (a, da) = self.border(Border::End, v);
            let row = (a - p) - ((c10 - c00) * (1.0 - v) + (c11 - c01) * v);
            for (&u, [ds, di, column]) in places.iter().zip(&columns) {
                let du = row + *ds * (1.0 - v) + *di * v;
                let dv = *column + dp * (1.0 - u) + da * u;
                let det = du.cross(dv);
                if !det.is_finite() || det == 0.0 || det * sign < 0.0 {
                    return None;
                }
                sign = det.signum();
            }
        }
        Some(sign)
    }
}

/// The corners beside a corner: along its end plate and along its wall. Their places differ in one bit, of which the
/// first tells start and end, the second superior and inferior.
pub(crate) const fn neighbours(corner: usize) -> [usize; 2] {
    [corner ^ 1, corner ^ 2]
}

/// The Coons patch from the jets of superior and inferior at `along` and of start and end at `height`.
pub(crate) fn coons(at: BodyPoint, [s, i, p, a]: &[Jet; 4], corners: &[Point; 4]) -> (Point, Vec2, Vec2) {
    let (u, v) = (at.along, at.height);
    let [c00, c10, c01, c11] = corners.map(Point::to_vec);
    let x = s.0.to_vec() * (1.0 - v) + i.0.to_vec() * v + p.0.to_vec() * (1.0 - u) + a.0.to_vec() * u
        - (c00 * ((1.0 - u) * (1.0 - v)) + c10 * (u * (1.0 - v)) + c01 * ((1.0 - u) * v) + c11 * (u * v));
    let du =
        s.1 * (1.0 - v) + i.1 * v - p.0.to_vec() + a.0.to_vec() - ((c10 - c00) * (1.0 - v) + (c11 - c01) * v);
    let dv = i.0 - s.0 + p.1 * (1.0 - u) + a.1 * u - ((c01 - c00) * (1.0 - u) + (c11 - c10) * u);
    (x.to_point(), du, dv)
}

#[expect(clippy::cast_precision_loss, reason = "the grid has 21 points")]
fn grid(i: usize) -> f64 {
    i as f64 / (GRID - 1) as f64
}
