//! What is under way while annotations are worked on: the one that is drawn, and those that are selected.

use crate::app::annotation::label::grip::Grip;
use crate::case::annotation::LabelKind;
use crate::geom::point::Point;

/// What is under way while labels are worked on.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelDraft {
    /// What the next click makes.
    pub kind: LabelKind,
    /// Whether an outline or a region is to be round.
    pub round: bool,
    /// The points of the label under way.
    pub placed: Vec<Point>,
    /// The labels that are chosen, by their places in the list; the last is the one that is worked on.
    pub chosen: Vec<usize>,
    /// What of it the arrows move.
    pub grip: Grip,
    /// How many labels have been made, so that whoever shows their words can tell a new one.
    pub made: u32,
    /// The words that are being dragged.
    pub dragged: Option<DraggedWords>,
}

/// Words that are being dragged.
#[derive(Clone, Debug, PartialEq)]
pub struct DraggedWords {
    /// Where their middle would be if nothing brought them in line, in image coordinates.
    pub free: Point,
    /// The lines that they came to stand on, likewise.
    pub guides: Vec<[Point; 2]>,
}

impl Default for LabelDraft {
    fn default() -> Self {
        Self {
            kind: LabelKind::Text,
            round: false,
            placed: Vec::new(),
            chosen: Vec::new(),
            grip: Grip::Whole,
            made: 0,
            dragged: None,
        }
    }
}

impl LabelDraft {
    /// The label that is worked on, by its place in the list.
    #[must_use]
    pub fn primary(&self) -> Option<usize> {
        self.chosen.last().copied()
    }
}
