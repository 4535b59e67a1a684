//! How far and which way the arrow keys move.

use crate::app::command::key::{Key, Shortcut};
use crate::geom::point::Vec2;

/// How far a nudge goes, in pixels of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stride {
    /// A tenth of a pixel.
    Fine,
    /// One pixel.
    One,
    /// Ten pixels.
    Ten,
    /// Fifty pixels, for the crosshair's long ways.
    Fifty,
}

/// Which way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the left of the picture.
    Left,
    /// To the right.
    Right,
    /// Up.
    Up,
    /// Down.
    Down,
}

impl Stride {
    /// Its length in pixels of the frame.
    #[must_use]
    pub const fn px(self) -> f64 {
        match self {
            Self::Fine => 0.1,
            Self::One => 1.0,
            Self::Ten => 10.0,
            Self::Fifty => 50.0,
        }
    }
}

impl Way {
    /// The displacement by one pixel.
    #[must_use]
    pub const fn unit(self) -> Vec2 {
        match self {
            Self::Left => Vec2::new(-1.0, 0.0),
            Self::Right => Vec2::new(1.0, 0.0),
            Self::Up => Vec2::new(0.0, -1.0),
            Self::Down => Vec2::new(0.0, 1.0),
        }
    }
}

/// The arrows with the modifier of each stride.
pub const NUDGES: [(Stride, &str); 4] =
    [(Stride::Fine, "Alt"), (Stride::One, ""), (Stride::Ten, "Shift"), (Stride::Fifty, "Ctrl")];

/// What a pressed arrow key moves by.
#[must_use]
pub fn nudge_of(pressed: Shortcut) -> Option<(Way, Stride)> {
    let way = match pressed.key {
        Key::Left => Way::Left,
        Key::Right => Way::Right,
        Key::Up => Way::Up,
        Key::Down => Way::Down,
        _ => return None,
    };
    let stride = match (pressed.ctrl, pressed.shift, pressed.alt) {
        (false, false, false) => Stride::One,
        (false, true, false) => Stride::Ten,
        (false, false, true) => Stride::Fine,
        (true, false, false) => Stride::Fifty,
        _ => return None,
    };
    Some((way, stride))
}
