//! The Coons patch of four borders, each the mean of its contours carried to the shared corners.

use std::borrow::Borrow;

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyPoint, Border};

/// First and second contours by border; also used with borrowed curves, to try a moved mark without a copy.
#[derive(Clone, Debug)]
pub(crate) struct Curves<C> {
    pub(crate) first: [C; 4],
    pub(crate) second: [Option<C>; 4],
}

/// Place and derivative on a border, in the part of the Coons patch.
pub(crate) type Jet = (Point, Vec2);

impl<C: Borrow<Curve>> Curves<C> {
    /// The corners the map uses, in the order C00, C10, C01, C11 (along, height): those of the end plates, each moved
    /// by half of what every second contour that ends there lies off it *across* its own border. A second end plate
    /// moves its corners along the wall's chord only, a second wall along the end plate's, so that it does not matter
    /// where along its border a second contour was ended.
    pub(crate) fn corners(&self) -> [Point; 4] {
        let (s, i) = (self.first[0].borrow(), self.first[1].borrow());
        let marked = [s.at(0.0), s.at(1.0), i.at(0.0), i.at(1.0)];
        let mut corners = marked;
        for border in Border::ALL {
            let Some(second) = &self.second[border.index()] else { continue };
            for (corner, t) in border.corners().into_iter().zip([0.0, 1.0]) {
                // The places of a border's two corners differ in one bit: bit 0 tells start and end, bit 1 superior
                // and inferior.
                let plate = marked[corner ^ 1] - marked[corner];
                let wall = marked[corner ^ 2] - marked[corner];
                let off = second.borrow().at(t) - marked[corner];
                corners[corner] += match border {
                    Border::Superior | Border::Inferior => wall * (0.5 * plate.cross(off) / plate.cross(wall)),
                    Border::Start | Border::End => plate * (0.5 * off.cross(wall) / plate.cross(wall)),
                };
            }
        }
        corners
    }

    /// Place and derivative on the border the map uses.
    pub(crate) fn border(&self, border: Border, t: f64, corners: &[Point; 4]) -> Jet {
        let first = self.first[border.index()].borrow();
        let mean = |t: f64| -> Jet {
            let (b, db) = first.at_with_derivative(t);
            match &self.second[border.index()] {
                None => (b, db),
                Some(second) => {
                    let (q, dq) = second.borrow().at_with_derivative(t);
                    (b.midpoint(q), (db + dq) * 0.5)
                }
            }
        };
        let [from, to] = border.corners();
        let at_start = corners[from] - mean(0.0).0;
        let at_end = corners[to] - mean(1.0).0;
        let (m, dm) = mean(t);
        (m + at_start * (1.0 - t) + at_end * t, dm + at_end - at_start)
    }

    /// The image of a body place.
    pub(crate) fn place(&self, at: BodyPoint, corners: &[Point; 4]) -> Point {
        self.forward_from(at, corners).0
    }

    pub(crate) fn forward(&self, at: BodyPoint) -> (Point, Vec2, Vec2) {
        self.forward_from(at, &self.corners())
    }

    fn forward_from(&self, at: BodyPoint, corners: &[Point; 4]) -> (Point, Vec2, Vec2) {
        let jets = [
            self.border(Border::Superior, at.along, corners),
            self.border(Border::Inferior, at.along, corners),
            self.border(Border::Start, at.height, corners),
            self.border(Border::End, at.height, corners),
        ];
        coons(at, &jets, corners)
    }
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
