//! Keys of the image that pages with images of their own take over.

use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::stride::{Stride, Way};
use crate::app::command::view::ViewCommand;

/// Such a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PageKey {
    /// A digit, from 1; 10 for 0.
    Number(u8),
    /// An arrow.
    Arrow(Way, Stride),
    /// Larger.
    ZoomIn,
    /// Smaller.
    ZoomOut,
    /// The whole image.
    Fit,
    /// The body.
    ZoomToBody,
    /// One step back.
    Undo,
    /// One step forth.
    Redo,
}

impl PageKey {
    /// The key that asks for this on the image, if pages may take it over.
    pub(crate) const fn of(command: &EditorCommand) -> Option<Self> {
        match command {
            EditorCommand::Marks(command) => of_marks(command),
            EditorCommand::View(command) => of_view(command),
            EditorCommand::Case(CaseCommand::Undo) => Some(Self::Undo),
            EditorCommand::Case(CaseCommand::Redo) => Some(Self::Redo),
            EditorCommand::Case(
                CaseCommand::Edit(_)
                | CaseCommand::SwitchDisc(_)
                | CaseCommand::SetPatientRight(_)
                | CaseCommand::AnswerView(_),
            )
            | EditorCommand::Shots(_)
            | EditorCommand::Annotations(_) => None,
        }
    }
}

const fn of_marks(command: &MarksCommand) -> Option<PageKey> {
    match command {
        MarksCommand::TakeNumber(number) => Some(PageKey::Number(*number)),
        MarksCommand::Nudge(way, stride) => Some(PageKey::Arrow(*way, *stride)),
        MarksCommand::Take(_)
        | MarksCommand::TakeMark(_)
        | MarksCommand::Skip
        | MarksCommand::Back
        | MarksCommand::PutDown
        | MarksCommand::AddPoints
        | MarksCommand::SecondContour
        | MarksCommand::AddPointsTo(_)
        | MarksCommand::Place(_)
        | MarksCommand::PlaceAtCrosshair
        | MarksCommand::Insert(..)
        | MarksCommand::Grab(..)
        | MarksCommand::Drag(_)
        | MarksCommand::Release
        | MarksCommand::Remove
        | MarksCommand::ClearMarks
        | MarksCommand::MirrorDiagram
        | MarksCommand::CopyMarks
        | MarksCommand::CopyMarksFrom(_)
        | MarksCommand::Propose
        | MarksCommand::ByHand
        | MarksCommand::ConfirmMarks => None,
    }
}

const fn of_view(command: &ViewCommand) -> Option<PageKey> {
    match command {
        ViewCommand::ZoomIn => Some(PageKey::ZoomIn),
        ViewCommand::ZoomOut => Some(PageKey::ZoomOut),
        ViewCommand::Fit => Some(PageKey::Fit),
        ViewCommand::ZoomToBody => Some(PageKey::ZoomToBody),
        ViewCommand::ZoomAt(..)
        | ViewCommand::Pan(_)
        | ViewCommand::OneToOne
        | ViewCommand::AutomaticWindow
        | ViewCommand::Invert
        | ViewCommand::DragWindow(..)
        | ViewCommand::NextPreset
        | ViewCommand::LocalContrast
        | ViewCommand::RotateRight
        | ViewCommand::RotateLeft
        | ViewCommand::RotateRightFine
        | ViewCommand::RotateLeftFine
        | ViewCommand::Flip
        | ViewCommand::ResetOrientation => None,
    }
}
