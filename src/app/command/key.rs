//! Keys as the user names them, free of any window library. Which command has which key stands in
//! `key_bindings`.

use std::borrow::Cow;
use std::fmt;

/// A key of the keyboard that a command can be bound to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Key {
    /// A letter, in upper case.
    Letter(char),
    /// A digit of either row, 0–9.
    Digit(u8),
    /// Arrow to the left.
    Left,
    /// Arrow to the right.
    Right,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Enter.
    Enter,
    /// Escape.
    Escape,
    /// The space bar.
    Space,
    /// Backspace.
    Backspace,
    /// Delete.
    Delete,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
    /// Home.
    Home,
    /// End.
    End,
    /// Plus, whichever key carries it.
    Plus,
    /// Minus.
    Minus,
    /// The comma.
    Comma,
    /// The full stop.
    Period,
    /// The question mark.
    QuestionMark,
    /// A function key, from 1.
    Function(u8),
}

/// What is written for the keys that are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeldKeyNames {
    alt: &'static str,
    shift: &'static str,
    ctrl: &'static str,
    /// Whether Control, which is Command on a Mac, stands last, next to the key.
    ctrl_last: bool,
}

impl HeldKeyNames {
    /// As keyboards for Linux and Windows say.
    pub const WORDS: Self = Self { alt: "Alt ", shift: "Shift ", ctrl: "Ctrl ", ctrl_last: false };
    /// As a Mac's keyboard says, in the order of its menus (from memory). In words but for Command: the window's typefaces
    /// have no sign for Option.
    pub const MAC: Self = Self { alt: "Option ", shift: "Shift ", ctrl: "⌘ ", ctrl_last: true };
    /// Those of this system.
    pub const HERE: Self = if cfg!(target_os = "macos") { Self::MAC } else { Self::WORDS };
}

/// A sentence that names held keys in words, as this system names them.
#[must_use]
pub fn as_here(sentence: &'static str) -> Cow<'static, str> {
    renamed(sentence, HeldKeyNames::HERE)
}

fn renamed(sentence: &'static str, names: HeldKeyNames) -> Cow<'static, str> {
    if names == HeldKeyNames::WORDS {
        return Cow::Borrowed(sentence);
    }
    let word = |word: &str| {
        let words = HeldKeyNames::WORDS;
        let held = [(words.ctrl, names.ctrl), (words.alt, names.alt), (words.shift, names.shift)];
        let same = held.into_iter().find(|(before, _)| before.trim_end() == word);
        same.map_or_else(|| word.to_owned(), |(_, after)| after.trim_end().to_owned())
    };
    Cow::Owned(sentence.split(' ').map(word).collect::<Vec<_>>().join(" "))
}

/// A key with the modifiers that must be held, and no others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Shortcut {
    /// The key.
    pub key: Key,
    /// Control, or Command on a Mac.
    pub ctrl: bool,
    /// Shift.
    pub shift: bool,
    /// Alt, or Option on a Mac.
    pub alt: bool,
}

impl Shortcut {
    /// The key alone.
    #[must_use]
    pub const fn plain(key: Key) -> Self {
        Self { key, ctrl: false, shift: false, alt: false }
    }

    /// The key with Control.
    #[must_use]
    pub const fn ctrl(key: Key) -> Self {
        Self { key, ctrl: true, shift: false, alt: false }
    }

    /// The key with Shift.
    #[must_use]
    pub const fn shift(key: Key) -> Self {
        Self { key, ctrl: false, shift: true, alt: false }
    }

    /// The key with Alt.
    #[must_use]
    pub const fn alt(key: Key) -> Self {
        Self { key, ctrl: false, shift: false, alt: true }
    }

    /// The key with Control and Shift.
    #[must_use]
    pub const fn ctrl_shift(key: Key) -> Self {
        Self { key, ctrl: true, shift: true, alt: false }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Letter(c) => write!(f, "{c}"),
            Self::Digit(d) => write!(f, "{d}"),
            Self::Left => f.write_str("←"),
            Self::Right => f.write_str("→"),
            Self::Up => f.write_str("↑"),
            Self::Down => f.write_str("↓"),
            Self::Enter => f.write_str("Enter"),
            Self::Escape => f.write_str("Esc"),
            Self::Space => f.write_str("Space"),
            Self::Backspace => f.write_str("Backspace"),
            Self::Delete => f.write_str("Delete"),
            Self::PageUp => f.write_str("Page up"),
            Self::PageDown => f.write_str("Page down"),
            Self::Home => f.write_str("Home"),
            Self::End => f.write_str("End"),
            Self::Plus => f.write_str("+"),
            Self::Minus => f.write_str("−"),
            Self::Comma => f.write_str(","),
            Self::Period => f.write_str("."),
            Self::QuestionMark => f.write_str("?"),
            Self::Function(n) => write!(f, "F{n}"),
        }
    }
}

impl Shortcut {
    /// The key with what is held, in these names.
    #[must_use]
    pub fn written(self, names: HeldKeyNames) -> String {
        let ctrl = if self.ctrl { names.ctrl } else { "" };
        let alt = if self.alt { names.alt } else { "" };
        let shift = if self.shift { names.shift } else { "" };
        let held = if names.ctrl_last { [alt, shift, ctrl] } else { [ctrl, alt, shift] };
        format!("{}{}", held.concat(), self.key)
    }
}

impl fmt::Display for Shortcut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written(HeldKeyNames::HERE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortcuts_are_written_with_their_modifiers_first() {
        let undo = Shortcut::ctrl_shift(Key::Letter('Z'));
        assert_eq!(undo.written(HeldKeyNames::WORDS), "Ctrl Shift Z");
        assert_eq!(undo.written(HeldKeyNames::MAC), "Shift ⌘ Z");
        assert_eq!(Shortcut::alt(Key::Left).written(HeldKeyNames::MAC), "Option ←");
        assert_eq!(undo.to_string(), undo.written(HeldKeyNames::HERE));
        let said = "Ctrl click selects several shots, Shift click a range.";
        assert_eq!(renamed(said, HeldKeyNames::WORDS), said);
        let on_a_mac = "⌘ click selects several shots, Shift click a range.";
        assert_eq!(renamed(said, HeldKeyNames::MAC), on_a_mac);
        assert_eq!(renamed("Alt arrows", HeldKeyNames::MAC), "Option arrows");
        assert_eq!(Shortcut::plain(Key::Left).to_string(), "←");
    }
}
