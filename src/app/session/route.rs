//! Where a command goes: to the open case, to the page that is shown, to the image that is marked on a page, or nowhere,
//! with a sentence that says why. What the keys of the image mean on a page stands with the page
//! ([`crate::app::pages::behavior`]).

use crate::app::command::Command;
use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::refusal::Refusal;
use crate::app::pages::behavior::{Meaning, NO_IMAGE};
use crate::app::pages::{editor, meaning};
use crate::app::session::state::State;

/// Where a command goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Route {
    /// It is carried out on the window, the open case or the shown page.
    Here(Command),
    /// It is carried out on the image that is marked on the shown page, apart from the open case.
    Editor(EditorCommand),
    /// Nowhere, for this reason.
    Nowhere(Refusal),
}

/// Where a command goes as things are.
#[must_use]
pub fn route(state: &State, command: Command) -> Route {
    let asked = match command {
        Command::File(_) | Command::Page(_) | Command::Window(_) => return Route::Here(command),
        Command::Case(CaseCommand::Edit(_) | CaseCommand::SwitchDisc(_)) => return Route::Here(command),
        Command::Shots(command) => EditorCommand::Shots(command),
        Command::Marks(command) => EditorCommand::Marks(command),
        Command::View(command) => EditorCommand::View(command),
        Command::Annotations(command) => EditorCommand::Annotations(command),
        Command::Case(command) => EditorCommand::Case(command),
    };
    match meaning(state, asked) {
        Meaning::Case(command) => Route::Here(command.into()),
        Meaning::Own(command) => Route::Editor(command),
        Meaning::Page(command) => Route::Here(Command::Page(command)),
        Meaning::Nothing(why) => Route::Nowhere(why),
    }
}

/// Why a command would do nothing on whatever page is shown; `None` where it would do something.
#[must_use]
pub fn refusal(state: &State, command: &Command) -> Option<Refusal> {
    match route(state, command.clone()) {
        Route::Here(command) => command.refusal(state),
        Route::Editor(command) => match editor(&state.pages) {
            Some(editor) => command.refusal(editor),
            None => Some(NO_IMAGE.into()),
        },
        Route::Nowhere(why) => Some(why),
    }
}
