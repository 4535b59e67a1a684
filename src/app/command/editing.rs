//! What can be asked for of one image that is marked apart from the open case, as in blinded re-reading and in practice.

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::refusal::Refusal;
use crate::app::command::view::ViewCommand;
use crate::app::session::editor::Editor;

/// What can be asked for there.
#[derive(Clone, Debug, PartialEq)]
pub enum EditorCommand {
    /// About its marks.
    Marks(MarksCommand),
    /// About how it is seen.
    View(ViewCommand),
    /// Back and forth through its changes, and which side is the patient's right.
    Case(CaseCommand),
}

impl EditorCommand {
    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        match self {
            Self::Marks(command) => command.refusal(editor),
            Self::View(command) => command.refusal(editor),
            Self::Case(command) => command.refusal(editor),
        }
    }
}

impl From<EditorCommand> for Command {
    fn from(command: EditorCommand) -> Self {
        match command {
            EditorCommand::Marks(command) => Self::Marks(command),
            EditorCommand::View(command) => Self::View(command),
            EditorCommand::Case(command) => Self::Case(command),
        }
    }
}
