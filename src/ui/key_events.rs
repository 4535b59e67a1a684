//! egui's keys as the program's.

use egui::{Event, Key as E, Modifiers};

use crate::app::command::key::{Key, Shortcut};

/// The shortcut of a pressed key; keys that no command uses give none.
#[must_use]
pub fn shortcut(key: E, held: Modifiers) -> Option<Shortcut> {
    let (key, shift) = match key {
        // Which key carries these signs, and whether with Shift, is the layout's affair.
        E::Plus | E::Equals => (Key::Plus, false),
        E::Minus => (Key::Minus, false),
        E::Questionmark => (Key::QuestionMark, false),
        E::Slash if held.shift => (Key::QuestionMark, false),
        other => (plain(other)?, held.shift),
    };
    Some(Shortcut { key, ctrl: held.command || held.ctrl, shift, alt: held.alt })
}

fn plain(key: E) -> Option<Key> {
    Some(match key {
        E::ArrowLeft => Key::Left,
        E::ArrowRight => Key::Right,
        E::ArrowUp => Key::Up,
        E::ArrowDown => Key::Down,
        E::Enter => Key::Enter,
        E::Escape => Key::Escape,
        E::Space => Key::Space,
        E::Backspace => Key::Backspace,
        E::Delete => Key::Delete,
        E::Comma => Key::Comma,
        E::Period => Key::Period,
        E::PageUp => Key::PageUp,
        E::PageDown => Key::PageDown,
        E::Home => Key::Home,
        E::End => Key::End,
        E::F1 => Key::Function(1),
        E::F2 => Key::Function(2),
        E::F3 => Key::Function(3),
        E::F4 => Key::Function(4),
        E::F5 => Key::Function(5),
        E::F6 => Key::Function(6),
        E::F7 => Key::Function(7),
        E::F8 => Key::Function(8),
        E::F9 => Key::Function(9),
        E::F10 => Key::Function(10),
        E::F11 => Key::Function(11),
        E::F12 => Key::Function(12),
        E::Num0 => Key::Digit(0),
        E::Num1 => Key::Digit(1),
        E::Num2 => Key::Digit(2),
        E::Num3 => Key::Digit(3),
        E::Num4 => Key::Digit(4),
        E::Num5 => Key::Digit(5),
        E::Num6 => Key::Digit(6),
        E::Num7 => Key::Digit(7),
        E::Num8 => Key::Digit(8),
        E::Num9 => Key::Digit(9),
        other => {
            let mut letters = other.name().chars();
            let letter = letters.next().filter(|c| c.is_ascii_uppercase())?;
            letters.next().is_none().then_some(Key::Letter(letter))?
        }
    })
}

/// Who takes the keys just now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Focus {
    /// The picture, or nothing in particular.
    Picture,
    /// A control: Space, Enter and the arrows are its own.
    Control,
    /// A field being typed in.
    Typing,
}

/// Whether a key goes to the commands.
#[must_use]
pub const fn is_ours(shortcut: Shortcut, focus: Focus) -> bool {
    match focus {
        Focus::Picture => true,
        Focus::Control => {
            shortcut.ctrl
                || !matches!(
                    shortcut.key,
                    Key::Left | Key::Right | Key::Up | Key::Down | Key::Enter | Key::Space | Key::Escape
                )
        }
        // Cut, copy, paste, undo and the like belong to the field.
        Focus::Typing => match shortcut.key {
            Key::Letter(c) => shortcut.ctrl && matches!(c, 'S' | 'O' | 'W' | 'Q'),
            Key::PageUp | Key::PageDown | Key::Function(_) => true,
            _ => false,
        },
    }
}

/// The pressed keys of this pass that go to the commands.
#[must_use]
pub fn pressed(ctx: &egui::Context, focus: Focus) -> Vec<Shortcut> {
    ctx.input(|input| {
        let key = |event: &Event| match event {
            Event::Key { key, pressed: true, modifiers, .. } => shortcut(*key, *modifiers),
            _ => None,
        };
        input.events.iter().filter_map(key).filter(|shortcut| is_ours(*shortcut, focus)).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_found_on_any_layout() {
        let shift = Modifiers { shift: true, ..Modifiers::NONE };
        assert_eq!(shortcut(E::Slash, shift), Some(Shortcut::plain(Key::QuestionMark)));
        assert_eq!(shortcut(E::Equals, Modifiers::CTRL), Some(Shortcut::ctrl(Key::Plus)));
        assert_eq!(shortcut(E::B, shift), Some(Shortcut::shift(Key::Letter('B'))));
        assert_eq!(shortcut(E::Insert, Modifiers::NONE), None);
    }

    #[test]
    fn a_field_keeps_its_letters_and_a_control_its_arrows() {
        assert!(!is_ours(Shortcut::plain(Key::Letter('N')), Focus::Typing));
        assert!(!is_ours(Shortcut::ctrl(Key::Letter('Z')), Focus::Typing));
        assert!(is_ours(Shortcut::ctrl(Key::Letter('S')), Focus::Typing));
        assert!(!is_ours(Shortcut::plain(Key::Left), Focus::Control));
        assert!(is_ours(Shortcut::plain(Key::Letter('N')), Focus::Control));
    }
}
