//! Signs beside words: one for a command, from the open icon typefaces that come with the window's toolkit. A sign never
//! stands alone; where there is no room for the word, the word is the tooltip and the name for assistive technology.

use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::file::FileCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::view::ViewCommand;
use crate::app::command::window::WindowCommand;
use crate::app::pages::{Page, PageCommand};

/// The sign of a command, where it has one.
#[must_use]
pub fn icon(command: &Command) -> Option<&'static str> {
    match command {
        Command::File(command) => of_file(command),
        Command::Case(CaseCommand::Undo) => Some("↶"),
        Command::Case(CaseCommand::Redo) => Some("↷"),
        Command::View(command) => of_view(command),
        Command::Window(WindowCommand::CaseSettings) => Some("⚙"),
        Command::Window(WindowCommand::SwitchMode) => Some("◑"),
        Command::Window(WindowCommand::Help) => Some("⌨"),
        Command::Annotations(AnnotationsCommand::Scale) => Some("📏"),
        Command::Shots(ShotsCommand::Label) => Some("🏷"),
        Command::Marks(MarksCommand::Remove | MarksCommand::ClearMarks) => Some("🗑"),
        Command::Page(PageCommand::Go(page)) => Some(of_page(*page)),
        Command::Case(_)
        | Command::Window(_)
        | Command::Annotations(_)
        | Command::Shots(_)
        | Command::Marks(_)
        | Command::Page(_) => None,
    }
}

const fn of_file(command: &FileCommand) -> Option<&'static str> {
    match command {
        FileCommand::Open => Some("📂"),
        FileCommand::OpenFolder => Some("🗁"),
        FileCommand::OpenDemonstration => Some("🎓"),
        FileCommand::AddImages => Some("➕"),
        FileCommand::Save => Some("💾"),
        FileCommand::Export => Some("📤"),
        _ => None,
    }
}

const fn of_view(command: &ViewCommand) -> Option<&'static str> {
    match command {
        ViewCommand::LocalContrast => Some("◐"),
        ViewCommand::Fit => Some("⛶"),
        ViewCommand::ZoomToBody => Some("🔍"),
        ViewCommand::RotateRight => Some("⟳"),
        ViewCommand::RotateLeft => Some("⟲"),
        _ => None,
    }
}

const fn of_page(page: Page) -> &'static str {
    match page {
        Page::Picture => "⬅",
        Page::Overview => "▦",
        Page::Compare => "⇄",
        Page::TipPath => "📈",
        Page::Figure => "📄",
        Page::Series => "📊",
        Page::Rereading => "🔁",
        Page::Practice => "🎓",
        Page::Presenting => "🖵",
    }
}
