//! What pages can be asked for.

use crate::app::command::refusal::{Refusal, unless};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::compare::command::CompareCommand;
use crate::app::pages::figure::command::FigureCommand;
use crate::app::pages::overview::command::OverviewCommand;
use crate::app::pages::page::Page;
use crate::app::pages::practice::command::PracticeCommand;
use crate::app::pages::presenting::command::PresentCommand;
use crate::app::pages::rereading::command::RereadingCommand;
use crate::app::pages::series::command::SeriesCommand;
use crate::app::pages::tip_path::command::TipPathCommand;
use crate::app::session::state::State;

/// What a page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum PageCommand {
    /// Show this page in the middle, or the picture again where it is the one shown.
    Go(Page),
    /// One step back, as far as the shown page shows what it changes.
    Undo,
    /// One step forth, likewise.
    Redo,
    /// All shots, large.
    Overview(OverviewCommand),
    /// Two shots of one body, registered.
    Compare(CompareCommand),
    /// The tip path of one body.
    TipPath(TipPathCommand),
    /// A teaching figure and the case report.
    Figure(FigureCommand),
    /// The bodies of many cases.
    Series(SeriesCommand),
    /// Blinded re-reading.
    Rereading(RereadingCommand),
    /// Practice with known truth.
    Practice(PracticeCommand),
    /// Slides for a room.
    Present(PresentCommand),
}

impl PageCommand {
    /// What a certain page is asked for; `None` for what goes for all pages.
    pub(crate) const fn of_page(&self) -> Option<&dyn CommandOfPage> {
        match self {
            Self::Go(_) | Self::Undo | Self::Redo => None,
            Self::Overview(command) => Some(command),
            Self::Compare(command) => Some(command),
            Self::TipPath(command) => Some(command),
            Self::Figure(command) => Some(command),
            Self::Series(command) => Some(command),
            Self::Rereading(command) => Some(command),
            Self::Practice(command) => Some(command),
            Self::Present(command) => Some(command),
        }
    }
}

/// Why there is no step back or forth.
pub(crate) fn no_step(state: &State, forward: bool) -> Option<Refusal> {
    let history = state.editor.document.as_ref().map(|document| &document.history);
    let can = history.is_some_and(|history| if forward { history.can_redo() } else { history.can_undo() });
    unless(can, if forward { "There is nothing to redo." } else { "There is nothing to undo." })
}
