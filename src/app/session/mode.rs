//! What the pointer and the keys are about on the shown image: one mode at a time, and with it what is under way.

use crate::app::annotation::label::grip::Grip;
use crate::app::annotation::screen_clicks::ScreenClicks;
use crate::app::marking::guide::Step;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{MarkKind, MarkRef};
use crate::propose::Edge;

/// The mode.
#[derive(Clone, Debug, PartialEq)]
pub enum Mode {
    /// Marks are placed and moved: what the next click is about.
    Marking(Hand),
    /// A placed point follows the pointer.
    Dragging(Grabbed),
    /// The point in hand is moved by keys: a run of such moves is one step back.
    Nudging(Hand),
    /// Marks are on their way from another shot; the next click points at a landmark.
    Copying(MarkCopy),
    /// Both walls of a body are pointed at, so that its outline can be proposed.
    Pointing(WallClicks),
    /// Keys label the selected shots.
    Labeling,
    /// Redactions are drawn, moved and selected.
    Redacting {
        /// The selected one, by its place in the shot's list.
        chosen: Option<usize>,
    },
    /// Annotations are made, moved and selected; a change that takes several steps may be under way.
    Annotating(Option<LabelChange>),
    /// A line is drawn along something whose length is known.
    Scaling {
        /// The line, once there is one.
        ends: Option<[Point; 2]>,
    },
    /// The screen in a photo is clicked, so that the photo can be straightened.
    Straightening(ScreenClicks),
}

/// What the next click is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hand {
    /// Nothing; a click puts nothing anywhere.
    #[default]
    Nothing,
    /// A point still to be placed.
    Next(Step),
    /// A placed point that is to be placed again.
    Again(MarkRef),
    /// A placed point, to be nudged or removed.
    Mark(MarkRef),
    /// Further points of a border.
    Adding(MarkKind),
    /// The first or the second landmark by which marks are copied from another shot.
    Landmark {
        /// Whether it is the second one.
        second: bool,
    },
    /// The middle of the posterior or of the anterior wall, by which an outline is proposed.
    Wall {
        /// Whether it is the anterior one.
        second: bool,
    },
    /// A border that was not found between the two walls.
    Border(Edge),
}

/// A point that is being dragged.
#[derive(Clone, Debug, PartialEq)]
pub struct Grabbed {
    /// The shot it belongs to.
    pub shot: String,
    /// The point.
    pub at: MarkRef,
    /// From the pointer to the point, so that it does not jump when grasped off its middle.
    pub offset: Vec2,
    /// What was in hand before.
    pub before: Hand,
    /// Whether it has moved.
    pub moved: bool,
}

/// Marks on their way from another shot.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkCopy {
    /// The shot they come from.
    pub source: String,
    /// Where its first landmark lies here, once it is clicked.
    pub first: Option<Point>,
}

/// Clicks on the middle of both walls.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WallClicks {
    /// The one on the posterior wall, once it is clicked.
    pub first: Option<Point>,
    /// The one on the anterior wall, once a border was not found by both.
    pub second: Option<Point>,
    /// Clicks on borders that were not found.
    pub helped: Vec<(Edge, Point)>,
    /// The border that is asked for, because it was not found.
    pub border: Option<Edge>,
}

/// A change of an annotation that takes several steps and is one step back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LabelChange {
    /// The text of this one is written.
    Words(usize),
    /// A part of this one is moved.
    Moving(usize, Grip),
}

/// What a press on the image draws or takes hold of.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Tool {
    /// Marks.
    #[default]
    Marks,
    /// Redactions.
    Redaction {
        /// The selected one, by its place in the shot's list.
        chosen: Option<usize>,
    },
    /// Annotations; what is under way is with the document.
    Annotations,
    /// A line along something whose length is known.
    Scale {
        /// The line, once there is one.
        ends: Option<[Point; 2]>,
    },
    /// Points of the screen in a photo; what is clicked is with the mode.
    Straighten,
}

impl Hand {
    /// Whether a click places a point.
    #[must_use]
    pub const fn places(self) -> bool {
        matches!(
            self,
            Self::Next(_)
                | Self::Again(_)
                | Self::Adding(_)
                | Self::Landmark { .. }
                | Self::Wall { .. }
                | Self::Border(_)
        )
    }

    /// The placed point in hand, if it is one.
    #[must_use]
    pub const fn mark(self) -> Option<MarkRef> {
        match self {
            Self::Again(at) | Self::Mark(at) => Some(at),
            Self::Nothing
            | Self::Next(_)
            | Self::Adding(_)
            | Self::Landmark { .. }
            | Self::Wall { .. }
            | Self::Border(_) => None,
        }
    }
}

impl Grabbed {
    /// What is in hand while it is dragged.
    #[must_use]
    pub const fn hand(&self) -> Hand {
        if self.moved { Hand::Mark(self.at) } else { self.before }
    }

    /// What is in hand once it is let go: a drag that moved the point goes back to the step in hand, any other one
    /// takes the point.
    #[must_use]
    pub const fn after(&self) -> Hand {
        match self.before {
            Hand::Next(step) if self.moved => Hand::Next(step),
            Hand::Next(_)
            | Hand::Nothing
            | Hand::Again(_)
            | Hand::Mark(_)
            | Hand::Adding(_)
            | Hand::Landmark { .. }
            | Hand::Wall { .. }
            | Hand::Border(_) => Hand::Mark(self.at),
        }
    }
}

impl Default for Mode {
    fn default() -> Self {
        Self::Marking(Hand::Nothing)
    }
}

impl Mode {
    /// What the next click is about; nothing while something else than marks is drawn.
    #[must_use]
    pub const fn hand(&self) -> Hand {
        match self {
            Self::Marking(hand) | Self::Nudging(hand) => *hand,
            Self::Dragging(grabbed) => grabbed.hand(),
            Self::Copying(copy) => Hand::Landmark { second: copy.first.is_some() },
            Self::Pointing(walls) => match walls.border {
                Some(border) => Hand::Border(border),
                None => Hand::Wall { second: walls.first.is_some() },
            },
            Self::Labeling
            | Self::Redacting { .. }
            | Self::Annotating(_)
            | Self::Scaling { .. }
            | Self::Straightening(_) => Hand::Nothing,
        }
    }

    /// What a press on the image draws or takes hold of.
    #[must_use]
    pub const fn tool(&self) -> Tool {
        match self {
            Self::Marking(_)
            | Self::Dragging(_)
            | Self::Nudging(_)
            | Self::Copying(_)
            | Self::Pointing(_)
            | Self::Labeling => Tool::Marks,
            Self::Redacting { chosen } => Tool::Redaction { chosen: *chosen },
            Self::Annotating(_) => Tool::Annotations,
            Self::Scaling { ends } => Tool::Scale { ends: *ends },
            Self::Straightening(_) => Tool::Straighten,
        }
    }

    /// Whether marks are made.
    #[must_use]
    pub const fn is_marking(&self) -> bool {
        matches!(
            self,
            Self::Marking(_) | Self::Dragging(_) | Self::Nudging(_) | Self::Copying(_) | Self::Pointing(_)
        )
    }

    /// The same mode with the change that is under way ended, if there is one.
    #[must_use]
    pub const fn settled(&self) -> Option<Self> {
        match self {
            Self::Dragging(grabbed) => Some(Self::Marking(grabbed.after())),
            Self::Nudging(hand) => Some(Self::Marking(*hand)),
            Self::Annotating(Some(_)) => Some(Self::Annotating(None)),
            Self::Marking(_)
            | Self::Copying(_)
            | Self::Pointing(_)
            | Self::Labeling
            | Self::Redacting { .. }
            | Self::Annotating(None)
            | Self::Scaling { .. }
            | Self::Straightening(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

    #[test]
    fn a_drag_goes_back_to_the_step_in_hand_only_where_it_moved_the_point() {
        let step = crate::app::marking::guide::steps(crate::measure::mark::View::Lateral)[0];
        let drag = |before, moved| {
            Mode::Dragging(Grabbed { shot: "a".to_owned(), at: TIP, offset: Vec2::default(), before, moved })
        };
        assert_eq!(drag(Hand::Next(step), true).settled(), Some(Mode::Marking(Hand::Next(step))));
        assert_eq!(drag(Hand::Next(step), false).settled(), Some(Mode::Marking(Hand::Mark(TIP))));
        assert_eq!(drag(Hand::Nothing, true).hand(), Hand::Mark(TIP));
        assert_eq!(drag(Hand::Nothing, false).hand(), Hand::Nothing);
    }

    #[test]
    fn nothing_is_in_hand_while_something_else_is_drawn() {
        for mode in [Mode::Labeling, Mode::Redacting { chosen: None }, Mode::Annotating(None)] {
            assert_eq!((mode.hand(), mode.is_marking(), mode.settled()), (Hand::Nothing, false, None));
        }
        assert_eq!(Mode::Scaling { ends: None }.tool(), Tool::Scale { ends: None });
    }
}
