//! What the pointer and the arrows take hold of on a label.

use crate::app::display::viewport::Transform;
use crate::case::annotation::{Label, LabelKind};
use crate::case::document::Shot;
use crate::geom::point::Point;
use crate::geom::segment;
use crate::scene::annotation::PlacedAnnotations;
use crate::scene::drawing::shape::Shape;

/// A part of a label.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Grip {
    /// All of it.
    #[default]
    Whole,
    /// One of its points.
    Point(usize),
    /// Its words.
    Words,
}

impl Grip {
    /// The next part of a label: all of it, its points in their order, its words.
    #[must_use]
    pub fn next(self, label: &Label) -> Self {
        let points = label.points().len();
        let after_points = if has_words(label) { Self::Words } else { Self::Whole };
        match self {
            Self::Whole if points > 0 => Self::Point(0),
            Self::Point(slot) if slot + 1 < points => Self::Point(slot + 1),
            Self::Whole | Self::Point(_) => after_points,
            Self::Words => Self::Whole,
        }
    }

    /// Its name, for the next line and for assistive technology.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::Whole => "the whole annotation".to_owned(),
            Self::Point(slot) => format!("point {}", slot + 1),
            Self::Words => "the text".to_owned(),
        }
    }
}

/// Whether something is written beside the label, be it worked out.
fn has_words(label: &Label) -> bool {
    !label.words().is_empty()
        || matches!(label.kind(), Some(LabelKind::Angle | LabelKind::Length | LabelKind::Number))
}

/// The label and the part of it that a press at this image place takes hold of: a point of the chosen label, then
/// words, then any label's point, then any line. `radius` is in points of the canvas.
#[must_use]
pub fn hit(
    shot: &Shot,
    drawn: &PlacedAnnotations,
    chosen: Option<usize>,
    at: Point,
    (transform, radius): (Transform, f64),
) -> Option<(usize, Grip)> {
    let reach = radius / transform.zoom;
    let point_of = |index: usize| {
        let points = shot.labels.get(index)?.points();
        let near = |(_, p): &(usize, &Point)| p.distance(at) <= reach;
        let slots = points.iter().enumerate().filter(near);
        let (slot, _) = slots.min_by(|a, b| a.1.distance(at).total_cmp(&b.1.distance(at)))?;
        Some((index, Grip::Point(slot)))
    };
    let on_canvas = transform.to_canvas(at);
    let words = || drawn.boxes.iter().rev().find(|(_, rect)| rect.contains(on_canvas));
    let all = || (0..shot.labels.len()).rev();
    chosen
        .and_then(point_of)
        .or_else(|| words().map(|(index, _)| (*index, Grip::Words)))
        .or_else(|| all().find_map(point_of))
        .or_else(|| all().find(|&index| on_line(shot, index, at, reach)).map(|index| (index, Grip::Whole)))
}

/// Whether a label's line passes this near.
fn on_line(shot: &Shot, index: usize, at: Point, reach: f64) -> bool {
    let Some(label) = shot.labels.get(index) else { return false };
    crate::scene::annotation::line_of(label).iter().any(|shape| match shape {
        Shape::Line { points, closed, .. } => {
            let back = closed.then(|| points.first().zip(points.last())).flatten();
            let pairs = points.windows(2).map(|w| (w[0], w[1]));
            pairs.chain(back.map(|(a, b)| (*b, *a))).any(|(a, b)| segment::distance([a, b], at) <= reach)
        }
        _ => false,
    })
}
