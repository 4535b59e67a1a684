//! Placing, moving, copying and removing the marks of the shown shot.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::command::stride::{Stride, Way};
use crate::app::marking::copied_marks;
use crate::app::marking::guide::{self, Step};
use crate::app::marking::marks;
use crate::app::marking::proposal::change;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::Hand;
use crate::app::shots::frames;
use crate::case::document::edit::EditError;
use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, MarkRef};

/// Where a mark is asked for that is in hand.
const IN_HAND: &str = "That mark is selected already.";

/// Where the keys say what the shots show.
const LABELING: &str = "Shots are being labeled. Press Esc to go back to their marks.";

/// What can be asked for about the marks of the shown shot.
#[derive(Clone, Debug, PartialEq)]
pub enum MarksCommand {
    /// Take this step in hand: its mark if it is placed, else placing it.
    Take(Step),
    /// Take the guide's n-th step in hand, counted from 1.
    TakeNumber(u8),
    /// Take this placed point in hand.
    TakeMark(MarkRef),
    /// Leave the step in hand and go on to the next.
    Skip,
    /// Go back to the step before.
    Back,
    /// Put down what is in hand.
    PutDown,
    /// Add further points to the border in hand.
    AddPoints,
    /// Mark the second contour of the border in hand, from its first end.
    SecondContour,
    /// Add further points to this border.
    AddPointsTo(MarkKind),
    /// Put the point in hand at this place.
    Place(Point),
    /// Place the point in hand at the crosshair.
    PlaceAtCrosshair,
    /// Add a point to this border at this place.
    Insert(MarkKind, Point),
    /// Begin to drag a placed point; the pointer is at this place.
    Grab(MarkRef, Point),
    /// Drag the grabbed point to this place.
    Drag(Point),
    /// Let the dragged point go.
    Release,
    /// Move the mark in hand, or the crosshair.
    Nudge(Way, Stride),
    /// Take the mark in hand away.
    Remove,
    /// Take all marks of the shot away.
    ClearMarks,
    /// Show the view's diagram the other way round.
    MirrorDiagram,
    /// Carry marks from the nearest shot of the same level and view.
    CopyMarks,
    /// Carry marks from this shot.
    CopyMarksFrom(String),
    /// From now on the draft's marks, or those that are proposed, count.
    ConfirmMarks,
    /// Ask for clicks on both walls, so that an outline is proposed.
    Propose,
    /// Drop what is proposed, and mark by hand.
    ByHand,
}

/// Whether a place lies on an image of this size in pixels.
fn inside(at: Point, (width, height): (f64, f64)) -> bool {
    (0.0..=width).contains(&at.x) && (0.0..=height).contains(&at.y)
}

impl MarksCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![
            Self::PlaceAtCrosshair,
            Self::Skip,
            Self::Back,
            Self::AddPoints,
            Self::SecondContour,
            Self::Remove,
            Self::PutDown,
            Self::MirrorDiagram,
            Self::CopyMarks,
            Self::ConfirmMarks,
            Self::Propose,
            Self::ByHand,
        ]
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Skip => ("Skip", "Skip this mark and continue with the next.", key_bindings::marks::SKIP),
            Self::Back => ("Back", "Go back to the previous mark to correct it.", key_bindings::marks::BACK),
            Self::PutDown => {
                ("Cancel", "Deselect the mark, or close what is open on top.", key_bindings::marks::PUT_DOWN)
            }
            Self::SecondContour => (
                "Mark the other line",
                "Mark the other line of the selected border, where it shows twice; without a border selected, the one that tells most about the view.",
                key_bindings::marks::SECOND_CONTOUR,
            ),
            Self::AddPoints => (
                "Add points",
                "Add more points to the selected border; each is inserted in order along the border.",
                key_bindings::marks::ADD_POINTS,
            ),
            Self::PlaceAtCrosshair => (
                "Place at crosshair",
                "Place the mark at the crosshair; the arrow keys show and move it. Without one, confirm proposed marks.",
                key_bindings::marks::PLACE_AT_CROSSHAIR,
            ),
            Self::Remove => ("Delete mark", "Delete the selected mark.", key_bindings::marks::REMOVE),
            Self::ClearMarks => {
                ("Delete all marks", "Delete all marks of this shot. Undo restores them.", &[])
            }
            Self::MirrorDiagram => (
                "Flip diagram",
                "Show the small diagram with posterior on the other side.",
                key_bindings::marks::MIRROR_DIAGRAM,
            ),
            Self::CopyMarks => (
                "Copy marks",
                "Copy the bone marks from the nearest shot of this level and view. Two clicks place them as a draft for you to confirm.",
                key_bindings::marks::COPY_MARKS,
            ),
            Self::ConfirmMarks => (
                "Confirm marks",
                "Confirm the draft or proposed marks so that they are read. Enter alone does it where no crosshair is shown.",
                key_bindings::marks::CONFIRM_MARKS,
            ),
            Self::Propose => (
                "Propose outline",
                "Click the middle of the posterior wall, then of the anterior wall: the outline and the tip are proposed.",
                key_bindings::marks::PROPOSE,
            ),
            Self::ByHand => (
                "Mark by hand",
                "Drop what is proposed and mark corner by corner.",
                key_bindings::marks::BY_HAND,
            ),
            Self::Take(..)
            | Self::TakeNumber(..)
            | Self::TakeMark(..)
            | Self::AddPointsTo(..)
            | Self::Place(..)
            | Self::Insert(..)
            | Self::Grab(..)
            | Self::Drag(..)
            | Self::Release
            | Self::Nudge(..)
            | Self::CopyMarksFrom(..) => return None,
        };
        Some(Entry { label, tip, group: Group::Marks, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        let Some((document, shot)) = editor.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
            return unless(false, NO_SHOT);
        };
        if document.asks_for_view() && *self != Self::PutDown {
            let place = !document.is_labeling() || matches!(self, Self::Place(_));
            return match place {
                true => unless(false, "First set the view: E for lateral, A for AP, P for en face pedicle."),
                false => unless(false, LABELING),
            };
        }
        if document.is_labeling() && *self != Self::PutDown {
            return unless(false, LABELING);
        }
        if self.is_about_a_place()
            && let Some(why) = frames::elsewhere(editor)
        {
            return Some(why.into());
        }
        if let Self::Place(at) | Self::Insert(_, at) = self
            && !inside(*at, editor.frame_size())
        {
            return unless(false, "That click is outside the image. Click on the image to place the mark.");
        }
        let hand = document.hand();
        let placed = |at: MarkRef| unless(shot.marks.point(at).is_some(), "That mark is not placed.");
        let dragged = || unless(document.grabbed().is_some(), "No mark is being dragged.");
        let belongs =
            |kind: MarkKind| unless(kind.belongs_to(shot.view), "That mark does not belong to this view.");
        match self {
            Self::Take(step) if marks::is_in_hand(document, *step) => unless(false, IN_HAND),
            Self::Take(step) => belongs(step.kind),
            Self::TakeNumber(_) if !hand.places() => unless(
                false,
                "Numbers select marks only while a mark is asked for. Press N for the next one.",
            ),
            Self::TakeNumber(n) => match guide::steps(shot.view).get(usize::from(*n).wrapping_sub(1)) {
                Some(step) => unless(!marks::is_in_hand(document, *step), IN_HAND),
                None => unless(false, "This view has no mark of that number."),
            },
            Self::TakeMark(at) | Self::Grab(at, _) => placed(*at),
            Self::AddPointsTo(kind) | Self::Insert(kind, _) => belongs(*kind),
            Self::Skip => unless(
                hand != Hand::Nothing || document.mode().is_marking() && document.next_step(None).is_some(),
                "No mark is asked for, so there is none to skip.",
            ),
            Self::Back => unless(
                document.copying().is_some()
                    || document.pointing().is_some_and(|walls| walls.first.is_some())
                    || !shot.marks.is_empty(),
                "No mark is placed yet, so there is none to go back to.",
            ),
            Self::PutDown => {
                let proposal = marks::has_proposal(document);
                let something = hand != Hand::Nothing || document.crosshair.is_some() || proposal;
                unless(something, "No mark is selected.")
            }
            Self::SecondContour => unless(
                marks::second_contour(document).is_some(),
                "Select a mark of a border first: its other line is marked then.",
            ),
            Self::AddPoints => unless(
                document.border_in_hand().is_some(),
                "Select a border first; further points belong to a border.",
            ),
            Self::Place(_) => {
                unless(hand.places(), "No mark is asked for. Select one in the list of marks first.")
            }
            Self::PlaceAtCrosshair => unless(
                hand.places() && document.crosshair.is_some(),
                "Select a mark and show the crosshair with the arrow keys first.",
            ),
            Self::Drag(_) | Self::Release => dragged(),
            Self::Nudge(..) => unless(
                hand != Hand::Nothing,
                "No mark is selected. Select one, then move it with the arrow keys.",
            ),
            Self::Remove => unless(hand.mark().is_some(), "No mark is selected."),
            Self::ClearMarks => unless(!shot.marks.is_empty(), "This shot has no marks."),
            Self::MirrorDiagram => None,
            Self::Propose => unless(
                change::can_click_walls(document),
                "Outlines are proposed for lateral shots without bone marks of their own. Mark by hand, or copy marks.",
            ),
            Self::ByHand => unless(
                document.pointing().is_some() || marks::has_proposal(document),
                "Nothing is proposed for this shot, so there is nothing to drop.",
            ),
            Self::CopyMarks => unless(
                !copied_marks::sources_of(document).is_empty(),
                "There are no marks to copy: no other shot of this level and view is marked, or this shot has bone marks of its own.",
            ),
            Self::CopyMarksFrom(id) => unless(
                copied_marks::sources_of(document).iter().any(|source| source.id == *id),
                "The marks of that shot cannot be copied here.",
            ),
            Self::ConfirmMarks => {
                unless(document.is_unconfirmed(), "The marks of this shot are not a draft.")
            }
        }
    }

    /// Carries it out on a case; `middle` is the place of the image in the middle of the canvas, where the crosshair
    /// comes up.
    ///
    /// # Errors
    /// Says why a change is impossible; the case is then as it was.
    pub fn apply(self, document: &mut Document, middle: Point) -> Result<(), EditError> {
        match self {
            Self::Take(step) => marks::take(document, step),
            Self::TakeNumber(n) => marks::take_number(document, n),
            Self::TakeMark(at) => document.take(Hand::Mark(at)),
            Self::Skip => document.skip(),
            Self::Back => document.back(),
            Self::PutDown => marks::put_down(document)?,
            Self::SecondContour => {
                if let Some(step) = marks::second_contour(document) {
                    marks::take(document, step);
                }
            }
            Self::AddPoints => {
                if let Some(kind) = document.border_in_hand() {
                    document.take(Hand::Adding(kind));
                }
            }
            Self::AddPointsTo(kind) => document.take(Hand::Adding(kind)),
            Self::Place(to) => {
                document.crosshair = None;
                marks::place(document, to)?;
            }
            Self::PlaceAtCrosshair => {
                if let Some(to) = document.crosshair {
                    marks::place(document, to)?;
                }
            }
            Self::Insert(kind, to) => {
                let at = marks::insert(document, kind, to)?;
                if let Some(at) = at {
                    document.take(Hand::Mark(at));
                }
            }
            Self::Grab(at, pointer) => marks::grab(document, at, pointer),
            Self::Drag(to) => marks::drag(document, to)?,
            Self::Release => document.end_change(),
            Self::Nudge(way, stride) => marks::nudge(document, way, stride, middle)?,
            Self::Remove => marks::remove(document)?,
            Self::ClearMarks => marks::clear(document)?,
            Self::MirrorDiagram => marks::mirror_diagram(document),
            Self::CopyMarks => {
                let nearest = copied_marks::sources_of(document).first().map(|shot| shot.id.clone());
                if let Some(source) = nearest {
                    copied_marks::begin(document, &source);
                }
            }
            Self::CopyMarksFrom(source) => copied_marks::begin(document, &source),
            Self::ConfirmMarks => copied_marks::confirm(document)?,
            Self::Propose => change::begin(document),
            Self::ByHand => change::by_hand(document)?,
        }
        Ok(())
    }

    /// Whether it touches marks: what is offered is taken up as a draft before it.
    #[must_use]
    pub const fn touches_marks(&self) -> bool {
        match self {
            Self::Take(_)
            | Self::TakeNumber(_)
            | Self::TakeMark(_)
            | Self::Back
            | Self::AddPoints
            | Self::SecondContour
            | Self::AddPointsTo(_)
            | Self::Place(_)
            | Self::Insert(..)
            | Self::Grab(..)
            | Self::Remove => true,
            Self::PlaceAtCrosshair
            | Self::Skip
            | Self::PutDown
            | Self::Drag(_)
            | Self::Release
            | Self::Nudge(..)
            | Self::ClearMarks
            | Self::MirrorDiagram
            | Self::CopyMarks
            | Self::CopyMarksFrom(_)
            | Self::ConfirmMarks
            | Self::Propose
            | Self::ByHand => false,
        }
    }

    /// Whether it goes on with the walls that are being pointed at; any other command on marks leaves them.
    #[must_use]
    pub const fn keeps_pointing(&self) -> bool {
        match self {
            Self::Place(_)
            | Self::PlaceAtCrosshair
            | Self::Nudge(..)
            | Self::Back
            | Self::PutDown
            | Self::ByHand
            | Self::MirrorDiagram
            | Self::CopyMarks
            | Self::CopyMarksFrom(_)
            | Self::ConfirmMarks
            | Self::Propose
            | Self::Drag(_)
            | Self::Release => true,
            Self::Take(_)
            | Self::TakeNumber(_)
            | Self::TakeMark(_)
            | Self::Skip
            | Self::AddPoints
            | Self::SecondContour
            | Self::AddPointsTo(_)
            | Self::Insert(..)
            | Self::Grab(..)
            | Self::Remove
            | Self::ClearMarks => false,
        }
    }

    /// Whether it puts a mark on what is seen, or takes hold of one there.
    #[must_use]
    pub const fn is_about_a_place(&self) -> bool {
        matches!(self, Self::Place(_) | Self::PlaceAtCrosshair | Self::Insert(..) | Self::Grab(..))
    }

    /// Whether the mark in hand has to be kept in sight afterwards.
    #[must_use]
    pub const fn moves_or_takes(&self) -> bool {
        matches!(self, Self::Nudge(..) | Self::TakeMark(_) | Self::Take(_))
    }
}
