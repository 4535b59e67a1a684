//! What the page with all shots remembers.

use crate::app::display::viewport::Canvas;
use crate::app::pages::overview::listing::Listing;
use crate::geom::point::Vec2;
use crate::measure::mark::View;

/// So many images that arrive at once, or more, are seen here first: the row below an image shows them too small to tell a
/// stylet from a probe.
pub const FROM: usize = 5;

/// How much of each image is seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Framing {
    /// The body where it is marked, else where it is expected, as large in every image.
    #[default]
    Body,
    /// All of it.
    Whole,
}

/// Shots of one view in the order in which they are listed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShotGroup {
    /// The view; `None` for the shots of which nobody has set it.
    pub view: Option<View>,
    /// The shots by their ids.
    pub shots: Vec<String>,
}

/// How the shots are laid out just now, as the window tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverviewLayout {
    /// Shots beside each other.
    pub columns: usize,
    /// The room of one image.
    pub canvas: Canvas,
    /// Place of the first shot that is in sight, in the order of the page, and how many are.
    pub seen: (usize, usize),
}

impl Default for OverviewLayout {
    fn default() -> Self {
        Self { columns: 4, canvas: Canvas::default(), seen: (0, 24) }
    }
}

/// What the page remembers.
#[derive(Debug, Default)]
pub struct Overview {
    /// The shots as they are listed. It is made when the page comes up and when it is asked for anew: a label that is
    /// set moves nothing.
    pub order: Vec<ShotGroup>,
    /// What is listed, made of the order and the case.
    pub listing: Listing,
    /// Whether only the selected shots are shown.
    pub only: bool,
    /// How much of each image is seen.
    pub framing: Framing,
    /// Zoom beyond the framing, for all images alike; `None` as it comes.
    pub zoom: Option<f64>,
    /// By how much all images are moved, in heights of their room.
    pub moved: Vec2,
    /// How the shots are laid out.
    pub grid: OverviewLayout,
}

impl Overview {
    /// Whether the images are seen as the framing shows them, neither zoomed nor moved.
    #[must_use]
    pub fn is_as_framed(&self) -> bool {
        self.zoom.is_none() && self.moved == Vec2::default()
    }

    /// As the page comes up: every shot shown, in an order that is still to be made.
    #[must_use]
    pub fn begun(&self) -> Self {
        Self { grid: self.grid, ..Self::default() }
    }
}
