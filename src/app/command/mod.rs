//! What a user can ask for, by subject: each command with its label, its tooltip, its keys, why it would do nothing at
//! present, and what it changes.
//!
//! Reading order: this file, [`entry`], [`key`] and `key_bindings` (how a command presents itself, and which key it has), [`refusal`], then the subjects
//! [`mod@file`], [`shots`], [`marks`], [`mod@case`], [`view`], [`annotations`], [`window`]; [`editing`] gathers those that concern images and marks; what pages can be asked for stands with
//! them ([`crate::app::pages`]).

pub mod annotations;
pub mod case;
pub mod editing;
pub mod entry;
pub mod file;
pub mod key;
pub(crate) mod key_bindings;
pub mod marks;
pub mod overlays;
pub mod refusal;
pub mod shots;
pub mod stride;
pub mod view;
pub mod window;

use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::case::CaseCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::Entry;
use crate::app::command::file::FileCommand;
use crate::app::command::key::{Key, Shortcut};
use crate::app::command::marks::MarksCommand;
use crate::app::command::refusal::Refusal;
use crate::app::command::shots::ShotsCommand;
use crate::app::command::stride::nudge_of;
use crate::app::command::view::ViewCommand;
use crate::app::command::window::WindowCommand;
use crate::app::pages;
use crate::app::pages::command::PageCommand;
use crate::app::pages::page::Page;
use crate::app::pages::presenting::command::PresentCommand;
use crate::app::session::state::State;

/// Something the user asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// About files: opening, adding, saving, leaving.
    File(FileCommand),
    /// About the shots of the case.
    Shots(ShotsCommand),
    /// About the marks of the shown shot.
    Marks(MarksCommand),
    /// About the case as a whole.
    Case(CaseCommand),
    /// About how the shown image is seen.
    View(ViewCommand),
    /// About what is drawn on an image beside its marks.
    Annotations(AnnotationsCommand),
    /// About pages in place of the image.
    Page(PageCommand),
    /// About the window itself.
    Window(WindowCommand),
}

impl From<EditorCommand> for Command {
    fn from(command: EditorCommand) -> Self {
        match command {
            EditorCommand::Shots(command) => Self::Shots(command),
            EditorCommand::Marks(command) => Self::Marks(command),
            EditorCommand::Case(command) => Self::Case(command),
            EditorCommand::View(command) => Self::View(command),
            EditorCommand::Annotations(command) => Self::Annotations(command),
        }
    }
}

impl Command {
    /// Every command with a fixed key, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all = Vec::new();
        all.extend(FileCommand::listed().into_iter().map(Self::File));
        all.extend(ShotsCommand::listed().into_iter().map(Self::Shots));
        all.extend(MarksCommand::listed().into_iter().map(Self::Marks));
        all.extend(CaseCommand::listed().into_iter().map(Self::Case));
        all.extend(ViewCommand::listed().into_iter().map(Self::View));
        all.extend(AnnotationsCommand::listed().into_iter().map(Self::Annotations));
        all.extend(Page::OTHERS.into_iter().map(|page| Self::Page(PageCommand::Go(page))));
        all.push(Self::Page(PageCommand::Present(PresentCommand::Questions)));
        all.extend(WindowCommand::listed().into_iter().map(Self::Window));
        all
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        match self {
            Self::File(command) => command.entry(),
            Self::Shots(command) => command.entry(),
            Self::Marks(command) => command.entry(),
            Self::Case(command) => command.entry(),
            Self::View(command) => command.entry(),
            Self::Annotations(command) => command.entry(),
            Self::Page(command) => pages::entry(command),
            Self::Window(command) => command.entry(),
        }
    }

    /// The command of a pressed key, if there is one. Arrows and digits included; holding Space is not a press.
    #[must_use]
    pub fn of(pressed: Shortcut) -> Option<Self> {
        if let Some((way, stride)) = nudge_of(pressed) {
            return Some(Self::Marks(MarksCommand::Nudge(way, stride)));
        }
        if let Shortcut { key: Key::Digit(d), ctrl: false, shift: false, alt: false } = pressed {
            return Some(Self::Marks(MarksCommand::TakeNumber(if d == 0 { 10 } else { d })));
        }
        Self::listed()
            .into_iter()
            .filter(|command| !matches!(command, Self::Window(WindowCommand::HideDrawing(_))))
            .find(|command| command.entry().is_some_and(|entry| entry.keys.contains(&pressed)))
    }

    /// The first key, as the user reads it.
    #[must_use]
    pub fn key_text(&self) -> Option<String> {
        self.entry()?.keys.first().map(ToString::to_string)
    }

    /// Why it would do nothing at present, whatever page is shown; `None` where it would do something.
    #[must_use]
    pub fn refusal(&self, state: &State) -> Option<Refusal> {
        match self {
            Self::File(command) => command.refusal(state),
            Self::Shots(command) => command.refusal(&state.editor),
            // Its key also closes what lies on top.
            Self::Marks(MarksCommand::PutDown) if state.has_something_on_top() => None,
            Self::Marks(command) => command.refusal(&state.editor),
            Self::Case(command) => command.refusal(&state.editor),
            Self::View(command) => command.refusal(&state.editor),
            Self::Annotations(command) => command.refusal(&state.editor),
            Self::Page(command) => pages::refusal(state, command),
            Self::Window(command) => command.refusal(state),
        }
    }

    /// Whether it would do something at present.
    #[must_use]
    pub fn available(&self, state: &State) -> bool {
        self.refusal(state).is_none()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::app::command::stride::Stride;
    use crate::app::command::stride::Way;

    #[test]
    fn every_key_belongs_to_one_command() {
        let mut seen = BTreeSet::new();
        for command in Command::listed() {
            let entry = command.entry().unwrap();
            assert!(!entry.keys.is_empty(), "{command:?} is listed without a key");
            for key in entry.keys {
                assert!(seen.insert(*key), "{key} twice");
                assert!(nudge_of(*key).is_none());
            }
        }
    }

    #[test]
    fn pressed_keys_find_their_command() {
        for command in Command::listed() {
            if matches!(command, Command::Window(WindowCommand::HideDrawing(_))) {
                continue;
            }
            for key in command.entry().unwrap().keys {
                assert_eq!(Command::of(*key).as_ref(), Some(&command));
            }
        }
        let fine = Shortcut { alt: true, ..Shortcut::plain(Key::Up) };
        assert_eq!(Command::of(fine), Some(Command::Marks(MarksCommand::Nudge(Way::Up, Stride::Fine))));
        assert_eq!(
            Command::of(Shortcut::plain(Key::Digit(3))),
            Some(Command::Marks(MarksCommand::TakeNumber(3)))
        );
        assert_eq!(Command::of(Shortcut::plain(Key::Space)), None);
    }

    #[test]
    fn tips_are_sentences_without_shouting() {
        for command in Command::listed() {
            let entry = command.entry().unwrap();
            assert!(entry.tip.ends_with('.') && !entry.tip.contains('!'), "{}", entry.tip);
        }
    }

    #[test]
    fn without_a_case_only_opening_and_the_window_are_available() {
        let state = State::default();
        assert!(
            Command::File(FileCommand::Open).available(&state)
                && Command::Window(WindowCommand::Help).available(&state)
        );
        assert!(
            !Command::File(FileCommand::Save).available(&state)
                && !Command::Shots(ShotsCommand::Next).available(&state)
        );
    }
}
