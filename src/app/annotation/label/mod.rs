//! Labels on the picture: making, choosing, moving, saying, ordering, bringing in line, carrying to another shot.
//!
//! Reading order: this file for what is under way and what can be asked for, [`entry`] for how that presents itself,
//! [`grip`] for what the pointer and the arrows take hold of, `escape` for what Esc does, `change` for the changes themselves, `alignment` for words that come in line while they
//! are dragged.

use crate::app::command::refusal::{Refusal, unless};
use crate::app::command::stride::{Stride, Way};
use crate::app::display::drawn_over;
use crate::app::display::preferences::Display;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{LabelChange, Mode, Tool};
use crate::case::annotation::list::PointedLine;
use crate::case::annotation::{Corner, LabelKind};
use crate::geom::point::{Point, Vec2};
use crate::scene::annotation::{self, PlacedAnnotations};
use crate::scene::drawing::shape::Rect;
use crate::scene::overlay::{Layer, LayerSet};

mod alignment;
mod change;
pub mod draft;
pub mod entry;
pub(crate) mod escape;
pub mod grip;

pub use draft::LabelDraft;
pub use grip::Grip;

/// What can be asked for on labels.
#[derive(Clone, Debug, PartialEq)]
pub enum LabelCommand {
    /// Begin or end working on labels.
    Begin,
    /// The next click makes a label of this kind.
    Kind(LabelKind),
    /// Make outlines and regions round, or of corners; of the chosen one too.
    Round,
    /// A point of the label under way is here.
    At(Point),
    /// The label under way has all its points.
    Finish,
    /// Choose this label, or none.
    Choose(Option<usize>),
    /// Choose this label beside the others, or leave it out again.
    ChooseToo(usize),
    /// Choose the next label of the list.
    Next,
    /// The arrows move the next part of the chosen label.
    NextGrip,
    /// Take hold of a part of a label.
    Grab(usize, Grip),
    /// Move a part of a label by pixels of the picture.
    Drag(usize, Grip, Vec2),
    /// What was moved has arrived, or the words are written.
    Done,
    /// The words of a label.
    Say(usize, String),
    /// The words of the chosen labels find their own places again.
    FreeWords,
    /// Draw the chosen label before the one it is drawn after; a numbered one counts earlier.
    Earlier,
    /// The other way.
    Later,
    /// Bring the words of the chosen labels in line.
    Align(PointedLine),
    /// The chosen inset stands in this corner.
    Corner(Corner),
    /// The chosen inset is this many times larger than its region.
    Times(f64),
    /// Take the chosen labels away.
    Remove,
    /// Put the chosen labels on this shot too.
    CarryTo(String),
    /// Move the chosen part, or the crosshair, by arrows.
    Nudge(Way, Stride),
    /// A point of the label under way is at the crosshair; without a crosshair the label has all its points.
    PlaceAtCrosshair,
    /// Take the last point of the label under way back.
    Back,
    /// Choose every label of the shot.
    SelectAll,
    /// Leave the label under way, then the crosshair, then what is chosen, then the work itself.
    PutDown,
}

/// Whether labels are worked on.
#[must_use]
pub fn is_on(editor: &Editor) -> bool {
    editor.document.as_ref().is_some_and(|document| document.tool() == Tool::Annotations)
}

/// Whether the shown shot's labels are drawn just now.
#[must_use]
pub fn is_drawn(editor: &Editor, display: &Display) -> bool {
    let elsewhere = crate::app::shots::frames::is_elsewhere(editor);
    !elsewhere && (editor.drawn(display).has(Layer::Teaching) || is_on(editor) && !display.drawing_hidden)
}

/// The shown shot's labels laid out on the canvas, in its points, clear of what these layers draw.
#[must_use]
pub fn drawn(editor: &Editor, layers: LayerSet) -> Option<PlacedAnnotations> {
    let document = editor.document.as_ref()?;
    let shot = document.shot().filter(|shot| !shot.labels.is_empty())?;
    let bounds = drawn_over::bounds(editor);
    let (width, height) = (bounds.width(), bounds.height());
    let transform = editor.transform();
    let place = |p: Point| transform.to_canvas(p);
    let corners = [bounds.min, Point::new(width, 0.0), bounds.max, Point::new(0.0, height)];
    let room = Rect::around(corners.map(place))?;
    let of_shown = drawn_over::of_shown(editor, document, shot, layers);
    let (map, overlay) = (of_shown.map, of_shown.scene(bounds));
    let overlay = Some(&overlay);
    Some(
        annotation::AnnotatedView {
            case: document.case(),
            shot,
            map,
            overlay,
            kept: &[],
            bounds,
            room,
            without_room: annotation::WithoutRoom::Anywhere,
            place: &place,
        }
        .drawn(),
    )
}

/// Whether a command goes on with a change of an annotation that is under way.
#[must_use]
pub(crate) fn goes_on(change: LabelChange, command: &LabelCommand) -> bool {
    match (change, command) {
        (LabelChange::Words(index), LabelCommand::Say(of, _)) => *of == index,
        (LabelChange::Moving(index, grip), LabelCommand::Drag(of, part, _)) => (*of, *part) == (index, grip),
        (LabelChange::Moving(..), LabelCommand::Nudge(..)) => true,
        (
            LabelChange::Words(_) | LabelChange::Moving(..),
            LabelCommand::Begin
            | LabelCommand::Kind(_)
            | LabelCommand::Round
            | LabelCommand::At(_)
            | LabelCommand::Finish
            | LabelCommand::Choose(_)
            | LabelCommand::ChooseToo(_)
            | LabelCommand::Next
            | LabelCommand::NextGrip
            | LabelCommand::Grab(..)
            | LabelCommand::Drag(..)
            | LabelCommand::Done
            | LabelCommand::Say(..)
            | LabelCommand::FreeWords
            | LabelCommand::Earlier
            | LabelCommand::Later
            | LabelCommand::Align(_)
            | LabelCommand::Corner(_)
            | LabelCommand::Times(_)
            | LabelCommand::Remove
            | LabelCommand::CarryTo(_)
            | LabelCommand::Nudge(..)
            | LabelCommand::PlaceAtCrosshair
            | LabelCommand::Back
            | LabelCommand::SelectAll
            | LabelCommand::PutDown,
        ) => false,
    }
}

pub(crate) fn forget(document: &mut Document) {
    let LabelDraft { kind, round, made, .. } = document.labelling;
    document.labelling = LabelDraft { kind, round, made, ..LabelDraft::default() };
    document.crosshair = None;
}

/// What is chosen must still be there.
pub(crate) fn tidy(document: &mut Document) {
    let Some(shot) = document.history.case().shot(document.shown.as_deref().unwrap_or_default()) else {
        return;
    };
    let count = shot.labels.len();
    document.labelling.chosen.retain(|&index| index < count);
    if let (Grip::Point(slot), Some(index)) = (document.labelling.grip, document.labelling.primary())
        && shot.labels.get(index).is_none_or(|label| slot >= label.points().len())
    {
        document.labelling.grip = Grip::Whole;
    }
}

/// Begins or ends working on labels; no mark is in hand meanwhile.
fn begin(document: &mut Document) {
    forget(document);
    if document.tool() == Tool::Annotations {
        document.back_to_marking();
    } else {
        document.enter(Mode::Annotating(None));
    }
}

impl LabelCommand {
    /// Carries it out on the shown shot.
    pub(crate) fn apply(self, editor: &mut Editor, layers: LayerSet) {
        if let Some(document) = &mut editor.document {
            tidy(document);
        }
        change::act(editor, layers, self);
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, document: &Document) -> Option<Refusal> {
        let labels = document.shot().map_or(&[][..], |shot| &shot.labels);
        if *self == Self::Begin {
            return None;
        }
        if document.tool() != Tool::Annotations {
            return unless(false, "Begin working on annotations first.");
        }
        let labelling = &document.labelling;
        let one = labelling.primary().and_then(|index| Some((index, labels.get(index)?)));
        match self {
            Self::Begin | Self::Round | Self::At(_) | Self::Nudge(..) | Self::PutDown => None,
            Self::Kind(kind) => {
                let same = labelling.kind == *kind && labelling.placed.is_empty();
                unless(!same, "That kind is selected already.")
            }
            Self::Choose(index) if labelling.chosen.as_slice() == index.as_slice() => {
                unless(false, "It is selected already.")
            }
            Self::Choose(None) => None,
            Self::Choose(Some(index))
            | Self::ChooseToo(index)
            | Self::Grab(index, _)
            | Self::Drag(index, ..)
            | Self::Say(index, _) => unless(*index < labels.len(), "That annotation is no longer there."),
            Self::Finish => unless(is_whole(labelling), "The annotation needs more points."),
            Self::PlaceAtCrosshair => unless(
                document.crosshair.is_some() || is_whole(labelling),
                "Show the crosshair with the arrow keys first.",
            ),
            Self::Back => unless(!labelling.placed.is_empty(), "The annotation has no point to take back."),
            Self::Next | Self::SelectAll if labels.is_empty() => {
                unless(false, "This shot has no annotations.")
            }
            Self::Next => unless(
                labels.len() > 1 || labelling.chosen.is_empty() || labelling.grip != Grip::Whole,
                "This shot has no other annotation.",
            ),
            Self::SelectAll => {
                unless(labelling.chosen.len() < labels.len(), "All annotations are selected already.")
            }
            Self::NextGrip | Self::Remove | Self::CarryTo(_) => {
                unless(one.is_some(), "No annotation is selected.")
            }
            Self::Done => unless(document.is_changing_label(), "No annotation is being changed."),
            Self::FreeWords => {
                let by_hand = |&i: &usize| labels.get(i).is_some_and(|label| label.text_at.is_some());
                unless(
                    labelling.chosen.iter().any(by_hand),
                    "The text of the selected annotations is placed automatically already.",
                )
            }
            Self::Earlier => {
                unless(one.is_some_and(|(i, _)| i > 0), "This is the first annotation, or none is selected.")
            }
            Self::Later => unless(
                one.is_some_and(|(i, _)| i + 1 < labels.len()),
                "This is the last annotation, or none is selected.",
            ),
            Self::Align(_) => unless(labelling.chosen.len() > 1, "Select at least two annotations first."),
            Self::Corner(_) | Self::Times(_) => unless(
                one.is_some_and(|(_, label)| label.kind() == Some(LabelKind::Inset)),
                "Select an inset first.",
            ),
        }
    }
}

/// Whether the label under way has as many points as it needs.
fn is_whole(labelling: &LabelDraft) -> bool {
    let (least, _) = labelling.kind.count(labelling.round && labelling.kind.can_be_round());
    !labelling.placed.is_empty() && labelling.placed.len() >= least
}

#[cfg(test)]
mod tests;
