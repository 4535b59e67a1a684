//! What the page with the tip path can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::display::viewport::Canvas;
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::figure::memory::InReport;
use crate::app::pages::tip_path::curve;
use crate::app::pages::tip_path::memory::Tab;
use crate::app::session::state::State;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Level, Side};

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum TipPathCommand {
    /// Show the run of this body.
    Body(Level, Side),
    /// Show this.
    Tab(Tab),
    /// Draw the curve on the shot with this id.
    Shot(String),
    /// Draw a curve of this shape.
    Shape(curve::StyletShape),
    /// A click along a visible curve, in image coordinates.
    Click(Point),
    /// Forget the clicks.
    Forget,
    /// Take the clicked circle's radius.
    TakeRadius,
    /// The room that the picture has.
    Room(Canvas),
    /// Zoom about a point of its room.
    Zoom {
        /// The point that stays, in points from the room's top-left corner.
        at: Point,
        /// By how much.
        factor: f64,
    },
    /// Move the picture, in points.
    Pan(Vec2),
    /// Show what is about the body.
    About,
    /// Save the way as a page.
    Save,
    /// Put it on the clipboard.
    Copy,
    /// Put it into the report.
    IntoReport,
}

impl CommandOfPage for TipPathCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Tab(Tab::Way) => {
                ("Tip path", "The tip path through the body, with values by shot and each step in words.")
            }
            Self::Tab(Tab::Curve) => {
                ("Projected stylet path", "For teaching: where a curved stylet of a given shape would run.")
            }
            Self::Forget => ("Clear points", "Remove the points clicked along a visible curve."),
            Self::TakeRadius => ("Use this radius", "Draw the path with the radius of the fitted circle."),
            Self::About => ("Zoom to body", "Zoom to the body."),
            Self::Save => (
                "Save the tip path",
                "Save the drawings, the values by shot and the steps as PNG, SVG or PDF.",
            ),
            Self::Copy => ("Copy", "Copy the tip path to the clipboard as an image."),
            Self::IntoReport => ("Add to report", "Add this tip path to the case report."),
            Self::Body(..)
            | Self::Shot(_)
            | Self::Shape(_)
            | Self::Click(_)
            | Self::Room(_)
            | Self::Zoom { .. }
            | Self::Pan(_) => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let curve = &state.pages.tip_path.curve;
        match self {
            Self::Forget => unless(!curve.clicks.is_empty(), "No point has been clicked along a curve."),
            Self::TakeRadius => {
                unless(curve.circle.is_some(), "Click at least three points along a curve first.")
            }
            Self::Tab(tab) => unless(state.pages.tip_path.tab != *tab, "That is shown already."),
            Self::Shot(id) if curve.shot.as_ref() == Some(id) => {
                unless(false, "The stylet path is drawn on that shot already.")
            }
            Self::Shape(shape) if shape.fault().is_some() => {
                unless(false, "A stylet cannot have that shape.")
            }
            Self::Shot(id) => unless(
                curve::candidates(state).iter().any(|shot| shot.id == *id),
                "That shot is not a lateral of this body.",
            ),
            Self::Click(_) | Self::Zoom { .. } | Self::Pan(_) => {
                unless(curve::shot(state).is_some(), NO_LATERAL)
            }
            Self::About => unless(curve.showing.is_some(), "The body is shown already."),
            Self::IntoReport => {
                let page = &state.pages.tip_path;
                let moments = page.way.as_ref().map_or(0, |way| way.moments.len());
                match page.body {
                    Some((level, side)) if moments > 0 => unless(
                        !state.pages.figure.in_report.contains(&InReport::TipPath(level, side)),
                        "This tip path is in the report already.",
                    ),
                    _ => unless(false, "No shot of this body has a reading yet, so there is no tip path."),
                }
            }
            Self::Save | Self::Copy => {
                let moments = state.pages.tip_path.way.as_ref().map_or(0, |way| way.moments.len());
                match (moments, state.pages.figure.writing) {
                    (0, _) => {
                        unless(false, "No shot of this body has a reading yet, so there is no tip path.")
                    }
                    (_, true) => unless(false, "A file is being written. Wait until it is done."),
                    (_, false) => None,
                }
            }
            Self::Body(..) | Self::Shape(_) | Self::Room(_) => None,
        }
    }
}

/// Where there is nothing to draw a curve on.
const NO_LATERAL: &str = "This body has no lateral shot to draw the stylet path on.";
