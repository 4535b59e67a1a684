//! The image itself, as one of the pages: what keys and pointer mean on it, by what is drawn on it just now.

use crate::app::annotation::label::LabelCommand;
use crate::app::annotation::straighten::StraightenCommand;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::pages::behavior::{Meaning, PageBehavior};
use crate::app::session::mode::Tool;
use crate::app::session::state::{Pages, State};
use crate::case::annotation::LabelKind;

/// The image.
pub(super) struct ImagePage;

impl PageBehavior for ImagePage {
    fn entry(&self) -> Entry {
        let (label, tip) = ("Back to image", "Close this page and show the image.");
        Entry { label, tip, group: Group::Pages, keys: &[] }
    }

    fn can_open(&self, _state: &State) -> bool {
        true
    }

    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        let tool = state.editor.document.as_ref().map(|document| document.tool()).unwrap_or_default();
        Meaning::Case(by_tool(tool, by_proposal(state, command)))
    }

    fn shows(&self, _pages: &Pages, _shot: &str) -> bool {
        true
    }
}

/// What the key that places at the crosshair means without one, while proposed marks or a draft wait to be confirmed.
fn by_proposal(state: &State, command: EditorCommand) -> EditorCommand {
    let waits = state.editor.document.as_ref().is_some_and(|document| {
        document.tool() == Tool::Marks && document.crosshair.is_none() && document.is_unconfirmed()
    });
    match command {
        EditorCommand::Marks(MarksCommand::PlaceAtCrosshair) if waits => {
            EditorCommand::Marks(MarksCommand::ConfirmMarks)
        }
        other => other,
    }
}

/// What a command means while the pointer draws something else than marks.
fn by_tool(tool: Tool, command: EditorCommand) -> EditorCommand {
    let annotations = |command| EditorCommand::Annotations(command);
    match (tool, command) {
        (Tool::Marks, command) => command,
        (Tool::Annotations, EditorCommand::Marks(command)) => label_or_mark(command),
        (Tool::Annotations, EditorCommand::Shots(ShotsCommand::SelectAll)) => {
            annotations(AnnotationsCommand::Label(LabelCommand::SelectAll))
        }
        (Tool::Redaction { .. }, EditorCommand::Marks(MarksCommand::Remove)) => {
            annotations(AnnotationsCommand::RemoveRedaction)
        }
        (Tool::Redaction { .. } | Tool::Scale { .. }, EditorCommand::Marks(MarksCommand::PutDown)) => {
            annotations(AnnotationsCommand::Finish)
        }
        (Tool::Straighten, command) => point_of_screen(command),
        (Tool::Redaction { .. } | Tool::Scale { .. } | Tool::Annotations, command) => command,
    }
}

/// What a command means while the screen in a photo is clicked: the last point is what is taken back or removed.
fn point_of_screen(command: EditorCommand) -> EditorCommand {
    let straighten = match command {
        EditorCommand::Case(CaseCommand::Undo)
        | EditorCommand::Marks(MarksCommand::Back | MarksCommand::Remove) => StraightenCommand::Back,
        // Begun, it ends.
        EditorCommand::Marks(MarksCommand::PutDown) => StraightenCommand::Begin,
        EditorCommand::Marks(MarksCommand::Nudge(way, stride)) => StraightenCommand::Nudge(way, stride),
        EditorCommand::Marks(MarksCommand::PlaceAtCrosshair) => StraightenCommand::PlaceAtCrosshair,
        other => return other,
    };
    EditorCommand::Annotations(AnnotationsCommand::Straighten(straighten))
}

/// What the keys of marks mean while annotations are drawn.
fn label_or_mark(command: MarksCommand) -> EditorCommand {
    let label = match command {
        MarksCommand::TakeNumber(n) => match LabelKind::ALL.get(usize::from(n).saturating_sub(1)) {
            Some(kind) => LabelCommand::Kind(*kind),
            None => return EditorCommand::Marks(command),
        },
        MarksCommand::Nudge(way, stride) => LabelCommand::Nudge(way, stride),
        MarksCommand::PlaceAtCrosshair => LabelCommand::PlaceAtCrosshair,
        MarksCommand::Skip => LabelCommand::Next,
        MarksCommand::Back => LabelCommand::Back,
        MarksCommand::Remove => LabelCommand::Remove,
        MarksCommand::PutDown => LabelCommand::PutDown,
        MarksCommand::Take(_)
        | MarksCommand::TakeMark(_)
        | MarksCommand::AddPoints
        | MarksCommand::SecondContour
        | MarksCommand::AddPointsTo(_)
        | MarksCommand::Place(_)
        | MarksCommand::Insert(..)
        | MarksCommand::Grab(..)
        | MarksCommand::Drag(_)
        | MarksCommand::Release
        | MarksCommand::ClearMarks
        | MarksCommand::MirrorDiagram
        | MarksCommand::CopyMarks
        | MarksCommand::CopyMarksFrom(_)
        | MarksCommand::Propose
        | MarksCommand::ByHand
        | MarksCommand::ConfirmMarks => return EditorCommand::Marks(command),
    };
    EditorCommand::Annotations(AnnotationsCommand::Label(label))
}
