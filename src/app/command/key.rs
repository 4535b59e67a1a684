//! Keys as the user names them, free of any window library. Which command has which key stands in
//! `key_bindings`.

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

impl fmt::Display for Shortcut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.ctrl {
            f.write_str("Ctrl ")?;
        }
        if self.alt {
            f.write_str("Alt ")?;
        }
        if self.shift {
            f.write_str("Shift ")?;
        }
        self.key.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortcuts_are_written_with_their_modifiers_first() {
        assert_eq!(Shortcut::ctrl_shift(Key::Letter('Z')).to_string(), "Ctrl Shift Z");
        assert_eq!(Shortcut::plain(Key::Left).to_string(), "←");
    }
}
