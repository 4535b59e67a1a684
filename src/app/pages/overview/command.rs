//! What the page with all shots can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{Refusal, unless};
use crate::app::command::stride::Way;
use crate::app::display::viewport::ZOOM_STEP;
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::overview::memory::{Framing, OverviewLayout};
use crate::app::pages::overview::walk;
use crate::app::session::state::State;
use crate::geom::point::{Point, Vec2};

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum OverviewCommand {
    /// Go to the selected shot's image and mark it.
    Mark,
    /// Select the next shot this way alone.
    Step(Way),
    /// Select the first or, with `true`, the last listed shot alone.
    End(bool),
    /// Select every shot between the shown one and this one, too.
    Through(String),
    /// Select every listed shot.
    SelectAll,
    /// Show only the selected shots, larger, or all of them again.
    OnlySelected,
    /// Show the body, or the whole images.
    Frame(Framing),
    /// Zoom all images about the same point of each, in shares of its room.
    Zoom {
        /// The point that stays, from the room's middle, in heights of the room.
        at: Point,
        /// By how much.
        factor: f64,
    },
    /// Move all images, in heights of their room.
    Pan(Vec2),
    /// Put the shots into order by view and time.
    Order,
    /// How the shots are laid out.
    Laid(OverviewLayout),
}

impl OverviewCommand {
    /// All images one step larger, about their middles.
    pub const ZOOM_IN: Self = Self::Zoom { at: Point::new(0.0, 0.0), factor: ZOOM_STEP };
    /// All images one step smaller.
    pub const ZOOM_OUT: Self = Self::Zoom { at: Point::new(0.0, 0.0), factor: 1.0 / ZOOM_STEP };
}

impl CommandOfPage for OverviewCommand {
    /// The keys are those of the image whose meaning on this page leads here (`OverviewPage::meaning`).
    fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Mark => (
                "Measure this shot",
                "Show this shot by itself and mark it, to measure where the tip is. A double-click does the same.",
                key_bindings::marks::PLACE_AT_CROSSHAIR,
            ),
            Self::OnlySelected => (
                "Only selected",
                "Show only the selected shots, larger, or all shots again. Ctrl click selects several.",
                key_bindings::view::ONE_TO_ONE,
            ),
            Self::Frame(Framing::Body) => (
                "Body",
                "Show the body in each image, where it is marked or expected.",
                key_bindings::view::ZOOM_TO_BODY,
            ),
            Self::Frame(Framing::Whole) => {
                ("Whole image", "Show each image whole.", key_bindings::view::ZOOM_TO_BODY)
            }
            Self::Order => {
                ("Order by view and time", "Group the shots by view again, each group by time.", &[])
            }
            Self::Zoom { factor, .. } if *factor < 1.0 => (
                "Zoom all images out",
                "Show more of every image. Ctrl wheel does the same.",
                key_bindings::view::ZOOM_OUT,
            ),
            Self::Zoom { .. } => (
                "Zoom all images in",
                "Show every image larger. Ctrl wheel does the same.",
                key_bindings::view::ZOOM_IN,
            ),
            Self::Step(_)
            | Self::End(_)
            | Self::Through(_)
            | Self::SelectAll
            | Self::Pan(_)
            | Self::Laid(_) => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let page = &state.pages.overview;
        match self {
            Self::Step(way) => {
                unless(walk::next(state, *way).is_some(), "There is no shot in that direction.")
            }
            Self::End(last) => {
                let why = if *last { "This is the last shot." } else { "This is the first shot." };
                unless(walk::end(state, *last).is_some(), why)
            }
            Self::Through(id) => unless(walk::listed(state).contains(id), "That shot is not listed here."),
            Self::Frame(framing) => unless(
                page.framing != *framing || !page.is_as_framed(),
                "The images are shown that way already.",
            ),
            Self::Order => unless(page.listing.sorted != page.order, "The shots are in this order already."),
            Self::Mark
            | Self::SelectAll
            | Self::OnlySelected
            | Self::Zoom { .. }
            | Self::Pan(_)
            | Self::Laid(_) => None,
        }
    }
}
