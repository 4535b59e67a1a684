//! The four borders of a body as their points are marked.

use crate::geom::point::Point;

/// One of the four borders of a body as a view shows it. `Start` is the wall where the end plates start: the
/// posterior wall (lateral), the entry side's wall (AP); `End` is the other one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Border {
    /// Superior end plate.
    Superior,
    /// Inferior end plate.
    Inferior,
    /// The wall at the end plates' start.
    Start,
    /// The wall at the end plates' end.
    End,
}

/// The points of the four borders, each from end to end, and of their second contours.
///
/// The walls' first and last points are the corners that the end plates carry.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// First contours, in the order of [`Border::ALL`].
    pub first: [Vec<Point>; 4],
    /// Second contours, where marked.
    pub second: [Option<Vec<Point>>; 4],
}

/// Why marks give no body map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyError {
    /// Neighbouring points of this border (of its second contour if true) lie closer than 5 % of its length.
    TooClose(Border, bool),
    /// The map is not one to one over the body.
    Folded,
}

/// The smallest distance of neighbours, as a fraction of the border's polyline length.
const CLOSEST: f64 = 0.05;

impl Border {
    /// All borders.
    pub const ALL: [Self; 4] = [Self::Superior, Self::Inferior, Self::Start, Self::End];

    /// Its place in arrays by border.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Superior => 0,
            Self::Inferior => 1,
            Self::Start => 2,
            Self::End => 3,
        }
    }

    /// The corners this border runs between: 0 and 1 are the superior end plate's start and end, 2 and 3 the
    /// inferior one's.
    pub(crate) const fn corners(self) -> [usize; 2] {
        match self {
            Self::Superior => [0, 1],
            Self::Inferior => [2, 3],
            Self::Start => [0, 2],
            Self::End => [1, 3],
        }
    }
}

impl Outline {
    /// The outline of two end plates, each from corner to corner, and the walls' interior points.
    ///
    /// # Panics
    /// Never for end plates with at least two points; each end plate must have them.
    #[must_use]
    pub fn new(superior: Vec<Point>, inferior: Vec<Point>, start: &[Point], end: &[Point]) -> Self {
        let wall = |from: Point, between: &[Point], to: Point| {
            std::iter::once(from).chain(between.iter().copied()).chain(std::iter::once(to)).collect()
        };
        let start = wall(superior[0], start, inferior[0]);
        let end = wall(superior[superior.len() - 1], end, inferior[inferior.len() - 1]);
        Self { first: [superior, inferior, start, end], second: [None, None, None, None] }
    }

    /// That no border's neighbouring points lie too close together.
    pub(crate) fn check_spacing(&self) -> Result<(), BodyError> {
        for border in Border::ALL {
            let b = border.index();
            let contours = [(Some(&self.first[b]), false), (self.second[b].as_ref(), true)];
            for (points, second) in contours {
                if points.is_some_and(|points| too_close(points)) {
                    return Err(BodyError::TooClose(border, second));
                }
            }
        }
        Ok(())
    }
}

/// Whether neighbours lie closer than [`CLOSEST`] of the polyline's length, or nowhere finite.
fn too_close(points: &[Point]) -> bool {
    let steps = || points.windows(2).map(|pair| pair[0].distance(pair[1]));
    let length: f64 = steps().sum();
    !(length > 0.0 && length.is_finite()) || steps().any(|step| step < CLOSEST * length)
}
