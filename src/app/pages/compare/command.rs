//! What the page of compared shots can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::display::viewport::{Canvas, Showing};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::compare::memory::CompareMode;
use crate::app::pages::compare::refine;
use crate::app::session::state::State;
use crate::geom::point::{Point, Vec2};
use crate::measure::compare::Position;
pub use crate::scene::comparison::arrow_and_marks::Whose;

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum CompareCommand {
    /// Take the shot with this id as the earlier one.
    From(String),
    /// Take it as the later one.
    To(String),
    /// Change the two.
    Swap,
    /// Show them so.
    As(CompareMode),
    /// Blend with this share of the later one.
    Share(f64),
    /// The dividing line at this share of the room's width.
    Line(f64),
    /// So many changes a second.
    Rate(f64),
    /// Change from one to the other by itself, or stop.
    Alternate(bool),
    /// Change to the other one.
    Change,
    /// Draw these marks.
    Marks(Whose),
    /// Whether both share one C-arm position.
    Position(Position),
    /// Ask the pictures how the one lies on the other.
    Refine,
    /// Take what the pictures say in the place of what the marks say, or put it back.
    TakeRefinement(bool),
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
    /// Save what is shown as a page.
    Save,
    /// Put it on the clipboard.
    Copy,
    /// Put it into the report.
    IntoReport,
}

impl CompareMode {
    /// All, in the order of their keys.
    pub const ALL: [Self; 5] =
        [Self::SideBySide, Self::Blend, Self::Alternate, Self::Divider, Self::Difference];

    /// Its word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::SideBySide => "Side by side",
            Self::Blend => "Blend",
            Self::Alternate => "Alternate",
            Self::Divider => "Split",
            Self::Difference => "Difference",
        }
    }

    const fn tip(self) -> &'static str {
        match self {
            Self::SideBySide => "Show both side by side with linked zoom, position and pointer.",
            Self::Blend => "Blend the earlier shot with the later one.",
            Self::Alternate => "Alternate between the two in the same position.",
            Self::Divider => "Show the earlier shot on one side of a line and the later on the other.",
            Self::Difference => "Show the difference: mid-gray is equal, dark is darker in the earlier shot.",
        }
    }
}

impl CommandOfPage for CompareCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Swap => ("Swap", "Swap the earlier and the later shot."),
            Self::As(mode) => (mode.label(), mode.tip()),
            Self::Alternate(true) => ("Alternate automatically", "Switch back and forth automatically."),
            Self::Alternate(false) => ("Stop", "Stay with the image shown."),
            Self::Change => ("Show other", "Switch to the other image once."),
            Self::Whole => ("Whole image", "Fit both images."),
            Self::Body => ("Zoom to body", "Zoom to the body."),
            Self::Save => (
                "Save the comparison",
                "Save both shots as shown here, with what changed, as PNG, SVG or PDF.",
            ),
            Self::Copy => ("Copy", "Copy the comparison to the clipboard as an image."),
            Self::IntoReport => ("Add to report", "Add this comparison, as shown here, to the case report."),
            Self::Refine => (
                "Refine registration",
                "Refine the registration from the images, and report how far that moves it and whether it is reliable.",
            ),
            Self::TakeRefinement(true) => (
                "Apply",
                "Use the refined registration for the change; the readings remain those of the marks.",
            ),
            Self::TakeRefinement(false) => ("Back to the marks", "Use the registration by marks again."),
            Self::From(_)
            | Self::To(_)
            | Self::Share(_)
            | Self::Line(_)
            | Self::Rate(_)
            | Self::Marks(_)
            | Self::Position(_)
            | Self::Room(_)
            | Self::Zoom { .. }
            | Self::Pan(_) => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let page = &state.pages.compare;
        let refining = page.refining.as_ref();
        match self {
            Self::Refine => unless(
                refine::possible(state),
                "There is nothing to refine: both shots need their images and a registration by their marks.",
            ),
            Self::TakeRefinement(true) => unless(
                refining.is_some_and(|refining| !refining.taken && refining.trusted().is_some()),
                "There is no reliable refinement to apply.",
            ),
            Self::TakeRefinement(false) => {
                unless(refining.is_some_and(|refining| refining.taken), "No refinement is applied.")
            }
            Self::Swap => unless(page.shots.is_some(), "Select two shots first."),
            Self::As(_) if page.shots.is_none() => unless(false, "Select two shots first."),
            Self::As(mode) => {
                unless(page.mode != *mode || page.alternating, "The two shots are shown that way already.")
            }
            Self::From(id) | Self::To(id) => unless(
                state.editor.document.as_ref().is_some_and(|document| document.case().shot(id).is_some()),
                "That shot is no longer in the case.",
            ),
            Self::Share(_)
            | Self::Line(_)
            | Self::Rate(_)
            | Self::Alternate(_)
            | Self::Change
            | Self::Marks(_)
            | Self::Position(_)
            | Self::Room(_)
            | Self::Zoom { .. }
            | Self::Pan(_) => None,
            Self::Whole => {
                unless(page.showing != Some(Showing::Whole), "The whole images are shown already.")
            }
            Self::Body => unless(page.showing.is_some(), "The body is shown already."),
            Self::IntoReport => match (&page.registered, page.in_report()) {
                (Some(Ok(_)), Some(part)) => unless(
                    !state.pages.figure.in_report.contains(&part),
                    "This comparison is in the report already.",
                ),
                _ => unless(false, "There is no comparison: select two shots that can be compared."),
            },
            Self::Save | Self::Copy => match (&page.registered, state.pages.figure.writing) {
                (Some(Ok(_)), false) => None,
                (Some(Ok(_)), true) => unless(false, "A file is being written. Wait until it is done."),
                (Some(Err(_)) | None, _) => {
                    unless(false, "There is no comparison to save: select two shots that can be compared.")
                }
            },
        }
    }
}
