//! How every command presents itself: its word, its explanation, its keys, and the list they stand in.

use crate::app::command::key::{Key, Shortcut};

/// What the list of keys is grouped by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Opening and saving.
    File,
    /// Going from shot to shot.
    Shots,
    /// Marking.
    Marks,
    /// Zoom, greys, what is drawn.
    Picture,
    /// Pages beside the picture.
    Pages,
    /// The window itself.
    Window,
}

/// How a command presents itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Its word, as on a button.
    pub label: &'static str,
    /// One sentence of explanation.
    pub tip: &'static str,
    /// Its group.
    pub group: Group,
    /// Its keys, the first the one that is shown.
    pub keys: &'static [Shortcut],
}

impl Group {
    /// All groups, in the order of the list of keys.
    pub const ALL: [Self; 6] =
        [Self::File, Self::Shots, Self::Marks, Self::Picture, Self::Pages, Self::Window];

    /// Its heading.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::File => "Case",
            Self::Shots => "Shots",
            Self::Marks => "Marks",
            Self::Picture => "Image",
            Self::Pages => "Pages",
            Self::Window => "Window",
        }
    }

    /// What belongs to the group but has no single key: keys and what they do.
    #[must_use]
    pub const fn gestures(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::File | Self::Window => &[],
            Self::Pages => &[
                ("While presenting: Page down, →, Space", "Show the answer or the next slide"),
                ("While presenting: Page up, ←", "Hide the answer or show the slide before"),
                ("While presenting: A, Enter", "Show or hide the answer"),
                ("While presenting: Esc", "End the presentation"),
            ],
            Self::Shots => &[
                ("Click a shot", "Show it"),
                ("Ctrl click a shot", "Add it to the selection"),
                ("Shift click a shot", "Select all up to it"),
                ("S, then 9, 0, 1 – 5, S", "Level T11, T12, L1 to L5, S1"),
                ("S, then R, L", "Side: the patient's right, left"),
                ("S, then E, A, P", "View: lateral, AP, en face pedicle"),
                (
                    "S, then D, I, W, Y, F",
                    "Stage: docking, transpedicular, at the posterior wall, stylet, final",
                ),
                ("S, then Shift E, Shift A", "Final lateral, final AP: view and stage with one key"),
                ("S, then arrows", "Previous and next shot; with Shift extend the selection"),
            ],
            Self::Marks => &[
                ("Click", "Place the mark asked for"),
                ("Drag a mark", "Move it"),
                ("Ctrl click", "Place even on top of another mark; on a border, add a point"),
                ("1 – 9, 0", "Select a mark of the list while a mark is asked for"),
                ("Arrows", "Move the selected mark or the crosshair by 1 pixel"),
                ("Shift arrows", "By 10 pixels"),
                ("Alt arrows", "By 0.1 pixel"),
                ("Ctrl arrows", "By 50 pixels"),
            ],
            Self::Picture => &[
                ("Wheel, pinch", "Zoom at the pointer"),
                ("Middle drag, Shift drag", "Pan the image"),
                ("Right drag", "Window/level: up and down changes the level, left and right the width"),
                ("Drag with Redact text", "Draw a box; drag a box to move it"),
                ("Drag with Scale", "Draw a line across something whose width is known"),
                ("1 – 9, 0 with Annotations", "Kind of the next annotation: text, arrow, line, …"),
            ],
        }
    }
}

pub(crate) const fn letter(c: char) -> Key {
    Key::Letter(c)
}
