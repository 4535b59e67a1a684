//! How a shot's image is shown: its gray levels, and which way up. None of it is part of the case.

use crate::app::display::viewport::Turn;
use crate::scene::window_level::look::Look;

/// How a shot's picture is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Appearance {
    /// Its greys.
    pub look: Look,
    /// Which way up.
    pub turn: Turn,
}
