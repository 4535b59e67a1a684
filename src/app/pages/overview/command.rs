//! What the page with all shots can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::command::stride::Way;
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::overview::memory::{Framing, OverviewLayout};
use crate::app::pages::overview::{order, walk};
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

impl CommandOfPage for OverviewCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Mark => (
                "Mark this shot",
                "Show this shot by itself and mark it. A double-click does the same.\nKey: Enter",
            ),
            Self::OnlySelected => (
                "Only selected",
                "Show only the selected shots, larger, or all shots again. Ctrl click selects several.\nKey: O",
            ),
            Self::Frame(Framing::Body) => {
                ("Body", "Show the body in each image, where it is marked or expected.\nKey: Z")
            }
            Self::Frame(Framing::Whole) => ("Whole image", "Show each image whole.\nKey: Z"),
            Self::Order => ("Order by view and time", "Group the shots by view again, each group by time."),
            Self::Step(_)
            | Self::End(_)
            | Self::Through(_)
            | Self::SelectAll
            | Self::Zoom { .. }
            | Self::Pan(_)
            | Self::Laid(_) => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let page = &state.pages.overview;
        match self {
            Self::Step(way) => {
                unless(walk::next(state, *way).is_some(), "There is no further shot this way.")
            }
            Self::End(last) => {
                let why = if *last { "This is the last shot." } else { "This is the first shot." };
                unless(walk::end(state, *last).is_some(), why)
            }
            Self::Through(id) => unless(walk::listed(state).contains(id), "That shot is not listed here."),
            Self::Frame(framing) => unless(
                page.framing != *framing || page.zoom.is_some() || page.moved != Vec2::default(),
                "The images are shown that way already.",
            ),
            Self::Order => unless(
                state
                    .editor
                    .document
                    .as_ref()
                    .is_some_and(|document| order::sections(document.case()) != page.order),
                "The shots are in this order already.",
            ),
            Self::Mark
            | Self::SelectAll
            | Self::OnlySelected
            | Self::Zoom { .. }
            | Self::Pan(_)
            | Self::Laid(_) => None,
        }
    }
}
