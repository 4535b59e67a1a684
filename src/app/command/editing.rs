//! What can be asked for of an editor: the five subjects that concern images and their marks, whether they are those of the
//! open case or the one image that is marked on a page.

use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::refusal::Refusal;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::view::ViewCommand;
use crate::app::session::editor::Editor;

/// What can be asked for of an editor.
#[derive(Clone, Debug, PartialEq)]
pub enum EditorCommand {
    /// About its shots.
    Shots(ShotsCommand),
    /// About the marks of the shown shot.
    Marks(MarksCommand),
    /// About its case as a whole, and back and forth through the changes of it.
    Case(CaseCommand),
    /// About how the shown image is seen.
    View(ViewCommand),
    /// About what is drawn on an image beside its marks.
    Annotations(AnnotationsCommand),
}

impl EditorCommand {
    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        match self {
            Self::Shots(command) => command.refusal(editor),
            Self::Marks(command) => command.refusal(editor),
            Self::Case(command) => command.refusal(editor),
            Self::View(command) => command.refusal(editor),
            Self::Annotations(command) => command.refusal(editor),
        }
    }
}
