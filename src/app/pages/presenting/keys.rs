//! The keys while slides are shown.

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::pages::command::PageCommand;
use crate::app::pages::presenting::command::PresentCommand;

/// The command of a key that is pressed while slides are shown; all other keys mean nothing then.
#[must_use]
pub fn of(pressed: Shortcut) -> Option<Command> {
    let all = [PresentCommand::Next, PresentCommand::Back, PresentCommand::Reveal, PresentCommand::End];
    let own = all.into_iter().find(|command| command.keys().contains(&pressed));
    let quit = || key_bindings::file::QUIT.contains(&pressed).then_some(Command::File(FileCommand::Quit));
    own.map(|command| Command::Page(PageCommand::Present(command))).or_else(quit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::key::Key;

    #[test]
    fn a_remote_control_turns_pages_and_a_letter_of_marking_does_nothing() {
        let next = Some(Command::Page(PageCommand::Present(PresentCommand::Next)));
        assert_eq!(of(Shortcut::plain(Key::PageDown)), next);
        assert_eq!(of(Shortcut::plain(Key::Space)), next);
        assert_eq!(of(Shortcut::plain(Key::Letter('D'))), None);
        assert_eq!(of(Shortcut::ctrl(Key::Letter('Q'))), Some(Command::File(FileCommand::Quit)));
    }
}
