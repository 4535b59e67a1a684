//! From a fitted shape to the marks of a shot, each border with its uncertainty.

use crate::geom::affine::Affine;
use crate::geom::point::Point;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks};
use crate::propose::level::Second;
use crate::propose::model::{Edge, Shape, Target, locate};

/// Standard deviations of a border's marks across it, and of the error that all of them share, in millimetres, in the order
/// of [`Edge::ALL`]: between what was found on simulated stills (0.1–0.4, docs/proposals.md) and on stills computed from a
/// real spine (0.6–0.7).
const ACROSS_MM: [f64; 4] = [0.5, 0.5, 0.6, 0.5];
const COMMON_MM: [f64; 4] = [0.33, 0.33, 0.38, 0.33];
/// How far beyond the body's ends, in fractions of it, its instrument may end.
const BEYOND: f64 = 0.6;
/// Along the border.
const ALONG_MM: f64 = 1.5;

/// How sure a border's proposed marks are, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BorderSd {
    /// Each mark's standard deviation across the border, the shared error included.
    pub across: f64,
    /// Along the border.
    pub along: f64,
    /// The part of `across` that all marks of the border share.
    pub common: f64,
}

/// The marks of a border: its kind and where on the border each lies. Corners belong to the end plates.
fn places(edge: Edge) -> (MarkKind, Vec<Target>) {
    let on = |t: f64| Target::On(edge, t);
    match edge {
        Edge::Superior => {
            let [a, b] = [0, 1].map(Target::Corner);
            (MarkKind::SuperiorEndPlate, vec![a, on(0.25), on(0.5), on(0.75), b])
        }
        Edge::Inferior => {
            let [a, b] = [2, 3].map(Target::Corner);
            (MarkKind::InferiorEndPlate, vec![a, on(0.25), on(0.5), on(0.75), b])
        }
        Edge::Posterior => (MarkKind::PosteriorWall, vec![on(0.35), on(0.65)]),
        Edge::Anterior => (MarkKind::AnteriorWall, vec![on(0.5)]),
    }
}

impl Edge {
    /// The mark that this border's points belong to.
    #[must_use]
    pub const fn mark_kind(self) -> MarkKind {
        match self {
            Self::Superior => MarkKind::SuperiorEndPlate,
            Self::Inferior => MarkKind::InferiorEndPlate,
            Self::Posterior => MarkKind::PosteriorWall,
            Self::Anterior => MarkKind::AnteriorWall,
        }
    }

    /// The border of a mark, if it is one of the four.
    #[must_use]
    pub fn of_mark(kind: MarkKind) -> Option<Self> {
        Self::ALL.into_iter().find(|edge| edge.mark_kind() == kind)
    }
}

/// What a point of a proposed mark stands for in the shape.
#[must_use]
pub fn target_of(kind: MarkKind, index: usize) -> Option<Target> {
    places(Edge::of_mark(kind)?).1.get(index).copied()
}

/// The outline's marks in pixels of the frame.
pub(crate) fn marks(shape: &Shape, to_image: Affine) -> Marks {
    let mut marks = Marks::new();
    for edge in Edge::ALL {
        let (kind, targets) = places(edge);
        let points: Vec<Option<Point>> =
            targets.into_iter().map(|target| Some(to_image.apply(locate(shape, target)))).collect();
        marks.set(kind, points);
    }
    marks
}

/// Whether a place lies far beyond the body's ends.
pub(crate) fn far_from(marks: &Marks, p: Point) -> bool {
    let Ok(map) = lateral_body_map(marks) else { return false };
    map.to_body(p).is_none_or(|at| {
        let beyond = |x: f64| (x - x.clamp(0.0, 1.0)).abs() > BEYOND;
        beyond(at.along) || beyond(at.height)
    })
}

/// How sure each border is, given how far the fits spread and its other line, if it seems to show twice: how far it lies off is
/// told to about half of it, and one that may be another bone's leaves open which of the two is meant.
pub(crate) fn sds(spread: &[f64; 4], twice: &[Option<Second>; 4]) -> [BorderSd; 4] {
    std::array::from_fn(|i| {
        let open = twice[i].map_or(0.0, |second| if second.sure { 0.25 } else { 0.5 } * second.apart);
        let more = spread[i].hypot(open);
        BorderSd { across: ACROSS_MM[i].hypot(more), along: ALONG_MM, common: COMMON_MM[i].hypot(more) }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::propose::model::Prior;

    #[test]
    fn thirteen_points_in_the_order_of_the_case_file() {
        let marks = marks(&Prior::BODY.mean, Affine::IDENTITY);
        let counts = Edge::ALL.map(|edge| marks.complete(edge.mark_kind()).map_or(0, |p| p.len()));
        assert_eq!(counts, [5, 5, 2, 1]);
        let plate = marks.complete(MarkKind::SuperiorEndPlate).unwrap();
        assert!(plate.windows(2).all(|pair| pair[0].x < pair[1].x));
        assert_eq!(target_of(MarkKind::AnteriorWall, 0), Some(Target::On(Edge::Anterior, 0.5)));
        assert_eq!(target_of(MarkKind::Tip, 0), None);
    }
}
