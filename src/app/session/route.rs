//! Where a command goes: to the open case, to the page that is shown, to the image that is marked on a page, or nowhere,
//! with a sentence that says why. The keys mean something else on some pages and while annotations or redactions are
//! drawn; that is decided here and nowhere else.

use crate::app::annotation::label::LabelCommand;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::refusal::Refusal;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::view::ViewCommand;
use crate::app::pages::compare::keys as compare;
use crate::app::pages::figure::FigureCommand;
use crate::app::pages::practice::{Phase, PracticeCommand};
use crate::app::pages::rereading::RereadingCommand;
use crate::app::pages::tip_path::keys as tip_path;
use crate::app::pages::{Page, PageCommand, editor};
use crate::app::session::mode::Tool;
use crate::app::session::state::State;
use crate::case::annotation::LabelKind;

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

/// On pages without an image of their own.
const NO_IMAGE: &str = "This page does not show the image. Go back to it with Esc first.";
/// On pages that do not show the case.
const CASE_UNSEEN: &str =
    "Undo would change the open case, which this page does not show. Go back to the image with Esc first.";
/// While one image is marked apart from the case.
const ONE_IMAGE: &str =
    "Only this one image is marked here: its marks and how it is seen can be changed, nothing else.";

/// Where a command goes as things are.
#[must_use]
pub fn route(state: &State, command: Command) -> Route {
    match command {
        Command::File(_) | Command::Page(_) | Command::Window(_) => Route::Here(command),
        Command::Case(CaseCommand::Edit(_) | CaseCommand::SwitchDisc(_)) => Route::Here(command),
        Command::Shots(_)
        | Command::Marks(_)
        | Command::View(_)
        | Command::Annotations(_)
        | Command::Case(CaseCommand::Undo | CaseCommand::Redo | CaseCommand::SetPatientRight(_)) => {
            match state.pages.shown {
                Page::Picture => Route::Here(by_tool(state, command)),
                Page::Compare => on_compare(state, command),
                Page::TipPath => on_tip_path(state, command),
                Page::Figure => on_figure(command),
                Page::Series => on_series(command),
                Page::Rereading => on_rereading(state, command),
                Page::Practice => on_practice(state, command),
            }
        }
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

/// What a command means while the pointer draws something else than marks.
fn by_tool(state: &State, command: Command) -> Command {
    let tool = state.editor.document.as_ref().map(|document| document.tool()).unwrap_or_default();
    let annotations = |command| Command::Annotations(command);
    match (tool, command) {
        (Tool::Marks, command) => command,
        (Tool::Annotations, Command::Marks(command)) => label_or_mark(command),
        (Tool::Annotations, Command::Shots(ShotsCommand::SelectAll)) => {
            annotations(AnnotationsCommand::Label(LabelCommand::SelectAll))
        }
        (Tool::Redaction { .. }, Command::Marks(MarksCommand::Remove)) => {
            annotations(AnnotationsCommand::RemoveRedaction)
        }
        (Tool::Redaction { .. } | Tool::Scale { .. }, Command::Marks(MarksCommand::PutDown)) => {
            annotations(AnnotationsCommand::Finish)
        }
        (Tool::Redaction { .. } | Tool::Scale { .. } | Tool::Annotations, command) => command,
    }
}

/// What the keys of marks mean while annotations are drawn.
fn label_or_mark(command: MarksCommand) -> Command {
    let label = match command {
        MarksCommand::TakeNumber(n) => match LabelKind::ALL.get(usize::from(n).saturating_sub(1)) {
            Some(kind) => LabelCommand::Kind(*kind),
            None => return Command::Marks(command),
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
        | MarksCommand::ConfirmMarks => return Command::Marks(command),
    };
    Command::Annotations(AnnotationsCommand::Label(label))
}

fn page(command: PageCommand) -> Route {
    Route::Here(Command::Page(command))
}

fn nowhere(why: &'static str) -> Route {
    Route::Nowhere(why.into())
}

/// What the page shows is of the open case, so a step back is seen there.
fn on_compare(state: &State, command: Command) -> Route {
    let meant = match &command {
        Command::Marks(command) => compare::of_marks(state, command),
        Command::View(command) => compare::of_view(state, command),
        Command::Case(_) => return Route::Here(command),
        Command::Shots(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => None,
    };
    meant.map_or_else(|| nowhere(NO_IMAGE), |command| page(PageCommand::Compare(command)))
}

fn on_tip_path(state: &State, command: Command) -> Route {
    let meant = match &command {
        Command::Marks(command) => tip_path::of_marks(command),
        Command::View(command) => tip_path::of_view(state, command),
        Command::Case(_) => return Route::Here(command),
        Command::Shots(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => None,
    };
    meant.map_or_else(|| nowhere(NO_IMAGE), |command| page(PageCommand::TipPath(command)))
}

/// The page has steps of its own.
fn on_figure(command: Command) -> Route {
    match command {
        Command::Case(CaseCommand::Undo) => page(PageCommand::Figure(FigureCommand::Undo)),
        Command::Case(CaseCommand::Redo) => page(PageCommand::Figure(FigureCommand::Redo)),
        Command::Case(_)
        | Command::Shots(_)
        | Command::Marks(_)
        | Command::View(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => nowhere(NO_IMAGE),
    }
}

fn on_series(command: Command) -> Route {
    match command {
        Command::Case(_) => nowhere(CASE_UNSEEN),
        Command::Shots(_)
        | Command::Marks(_)
        | Command::View(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => nowhere(NO_IMAGE),
    }
}

/// While a session is under way its image takes what concerns marks; without one the page goes back and forth through
/// its own changes of the case only.
fn on_rereading(state: &State, command: Command) -> Route {
    let reading = state.pages.rereading.session.is_some();
    match command {
        Command::Shots(ShotsCommand::Next) => page(PageCommand::Rereading(RereadingCommand::Next)),
        Command::Marks(command) if reading => Route::Editor(EditorCommand::Marks(command)),
        Command::View(command) if reading => Route::Editor(EditorCommand::View(command)),
        Command::Case(command) if reading => Route::Editor(EditorCommand::Case(command)),
        Command::Case(CaseCommand::Undo) => page(PageCommand::Rereading(RereadingCommand::Undo)),
        Command::Case(CaseCommand::Redo) => page(PageCommand::Rereading(RereadingCommand::Redo)),
        Command::Shots(_)
        | Command::Marks(_)
        | Command::View(_)
        | Command::Case(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => nowhere(if reading { ONE_IMAGE } else { NO_IMAGE }),
    }
}

/// Before the guess and after the error the image of an exercise can only be looked at.
fn on_practice(state: &State, command: Command) -> Route {
    let phase = state.pages.practice.exercise.as_ref().map(|exercise| &exercise.phase);
    match command {
        Command::Shots(ShotsCommand::Next) => page(PageCommand::Practice(PracticeCommand::Begin)),
        Command::View(command) => match phase {
            Some(_) => Route::Editor(EditorCommand::View(command)),
            None => nowhere(NO_IMAGE),
        },
        Command::Marks(command) => marked_in(phase, EditorCommand::Marks(command), NO_IMAGE),
        Command::Case(command) => marked_in(phase, EditorCommand::Case(command), CASE_UNSEEN),
        Command::Shots(_)
        | Command::Annotations(_)
        | Command::File(_)
        | Command::Page(_)
        | Command::Window(_) => nowhere(if phase.is_some() { ONE_IMAGE } else { NO_IMAGE }),
    }
}

/// What changes the marks of an exercise, where it has come to them; without an exercise the reason given.
fn marked_in(phase: Option<&Phase>, command: EditorCommand, without: &'static str) -> Route {
    match phase {
        Some(Phase::Mark) => Route::Editor(command),
        Some(Phase::Guess) => nowhere("Enter your guess first; then the image can be marked."),
        Some(Phase::Seen { .. }) => {
            nowhere("The error of this exercise is shown already. Begin the next one to mark again.")
        }
        None => nowhere(without),
    }
}

/// Whether a command only looks closer, so that a drag goes on meanwhile.
#[must_use]
pub const fn looks_closer(command: &ViewCommand) -> bool {
    matches!(
        command,
        ViewCommand::Pan(_) | ViewCommand::ZoomAt(..) | ViewCommand::ZoomIn | ViewCommand::ZoomOut
    )
}
