//! What the page of compared shots can be asked for.

use crate::app::command::Command;
use crate::app::entries::{Entry, Group};
use crate::app::pages::compare::ZOOM_STEP;
use crate::app::state::State;
use crate::app::viewport::Canvas;
use crate::geom::point::{Point, Vec2};
use crate::measure::compare::Position;

/// How two shots are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// Beside each other.
    SideBySide,
}

/// Whose marks are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// Nobody's.
    Neither,
    /// The earlier shot's.
    Earlier,
    /// The later shot's.
    Later,
    /// Both shots'.
    Both,
}

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// Take the shot with this id as the earlier one.
    From(String),
    /// Take it as the later one.
    To(String),
    /// Change the two.
    Swap,
    /// Show them so.
    As(Mode),
    /// Draw these marks.
    Marks(Whose),
    /// Whether both share one C-arm position.
    Position(Position),
    /// The room that one picture has.
    Room(Canvas),
    /// Zoom about a point of a picture's room.
    Zoom {
        /// The point that stays, in points from the room's top-left corner.
        at: Point,
        /// By how much.
        factor: f64,
    },
    /// Move both pictures, in points.
    Pan(Vec2),
    /// Show the whole picture.
    Whole,
    /// Show the body.
    Body,
}

impl Mode {
    /// All, in the order of their keys.
    pub const ALL: [Self; 1] = [Self::SideBySide];

    /// Its word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::SideBySide => "Side by side",
        }
    }

    const fn tip(self) -> &'static str {
        match self {
            Self::SideBySide => "Show both beside each other; zoom, place and pointer go together.",
        }
    }
}

impl Whose {
    /// All, in the order of their list.
    pub const ALL: [Self; 4] = [Self::Both, Self::Earlier, Self::Later, Self::Neither];

    /// Its word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Neither => "No marks",
            Self::Earlier => "Marks of the earlier",
            Self::Later => "Marks of the later",
            Self::Both => "Marks of both",
        }
    }

    /// Whether the earlier (0) or the later shot's (1) are drawn.
    #[must_use]
    pub const fn has(self, side: usize) -> bool {
        match self {
            Self::Neither => false,
            Self::Earlier => side == 0,
            Self::Later => side == 1,
            Self::Both => true,
        }
    }
}

/// What a command for the picture means on this page.
pub(super) fn of(state: &State, command: &Command) -> Option<Ask> {
    let page = &state.pages.compare;
    let middle = Point::new(0.5 * page.canvas.width, 0.5 * page.canvas.height);
    Some(match command {
        Command::TakeNumber(n) => Ask::As(*Mode::ALL.get(usize::from(*n).checked_sub(1)?)?),
        Command::ZoomIn => Ask::Zoom { at: middle, factor: ZOOM_STEP },
        Command::ZoomOut => Ask::Zoom { at: middle, factor: 1.0 / ZOOM_STEP },
        Command::ShowWhole => Ask::Whole,
        Command::ShowBody => Ask::Body,
        _ => return None,
    })
}

impl Ask {
    /// Those with a key, for the list of keys.
    pub(in crate::app::pages) fn listed() -> Vec<Self> {
        Vec::new()
    }

    pub(in crate::app::pages) fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Swap => ("Swap", "Change the earlier and the later shot."),
            Self::As(mode) => (mode.label(), mode.tip()),
            Self::Whole => ("Whole picture", "Show all of both pictures."),
            Self::Body => ("Body", "Show the body and a little about it."),
            _ => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    pub(in crate::app::pages) fn available(&self, state: &State) -> bool {
        let page = &state.pages.compare;
        match self {
            Self::Swap => page.shots.is_some(),
            Self::As(_) => page.shots.is_some(),
            _ => true,
        }
    }
}
