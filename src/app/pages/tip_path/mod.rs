//! The page with the run of one body's shots, and the curve ahead on one of them.
//!
//! Reading order: this file (the run), [`curve`].

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::display::viewport::Canvas;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Level, Side};
use crate::scene::tip_path::{Way, bodies};

pub mod curve;
pub mod keys;
pub mod memory;
pub mod work;

pub use memory::{Tab, TipPathPage};
pub use work::{TipPathDone, TipPathWork};

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
    Shape(curve::Shape),
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
}

impl TipPathCommand {
    /// Those with a key, for the list of keys.
    pub(super) fn listed() -> Vec<Self> {
        Vec::new()
    }

    pub(super) fn entry(&self) -> Option<Entry> {
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

    /// Why it would do nothing at present; `None` where it would.
    pub(super) fn refusal(&self, state: &State) -> Option<Refusal> {
        let curve = &state.pages.tip_path.curve;
        match self {
            Self::Forget => unless(!curve.clicks.is_empty(), "No place is clicked along a curve."),
            Self::TakeRadius => {
                unless(curve.circle.is_some(), "Click at least three places along a curve first.")
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
                "That shot is no lateral of this body.",
            ),
            Self::Click(_) | Self::Zoom { .. } | Self::Pan(_) => {
                unless(curve::shot(state).is_some(), NO_LATERAL)
            }
            Self::About => unless(curve.showing.is_some(), "The body is shown already."),
            Self::Body(..) | Self::Shape(_) | Self::Room(_) => None,
        }
    }
}

/// Where there is nothing to draw a curve on.
const NO_LATERAL: &str = "This body has no lateral shot to draw the stylet path on.";

/// Whether there is anything to show.
pub(super) fn can_open(state: &State) -> bool {
    state.editor.document.as_ref().is_some_and(|document| document.shot().is_some())
}

/// The page comes up with the shown shot's body.
pub(super) fn opened(state: &mut State, _effects: &mut Vec<Effect>) {
    let Some(document) = &state.editor.document else { return };
    let own = document.shot().and_then(|shot| shot.level.zip(shot.side));
    let all = bodies(document.case());
    let page = &mut state.pages.tip_path;
    page.body = own.filter(|body| all.contains(body)).or(page.body).or(all.first().copied());
    page.tab = Tab::Way;
    curve::begin(state);
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: TipPathCommand, _effects: &mut Vec<Effect>) {
    match ask {
        TipPathCommand::Body(level, side) => {
            state.pages.tip_path.body = Some((level, side));
            curve::begin(state);
        }
        TipPathCommand::Tab(tab) => state.pages.tip_path.tab = tab,
        ask => curve::update(state, ask),
    }
}

/// What follows every change while the page is shown.
pub(super) fn follow(state: &mut State) {
    let State { editor, pages, .. } = &mut *state;
    let page = &mut pages.tip_path;
    page.way = editor.document.as_ref().and_then(|document| {
        let body = page.body.filter(|body| bodies(document.case()).contains(body))?;
        Some(Way::of(document.case(), &document.readings()?, body))
    });
    curve::follow(state);
}

/// The picture that the curve is drawn on.
pub(super) fn pictures(state: &State) -> Vec<PictureKey> {
    let shown = state.pages.tip_path.tab == Tab::Curve;
    curve::shot(state).filter(|_| shown).and_then(|shot| state.editor.key_of(shot)).into_iter().collect()
}

/// Work at the edge: files, long computations.
pub(super) fn perform(work: TipPathWork) -> TipPathDone {
    match work {}
}

/// Takes in what came of it.
pub(super) fn receive(_state: &mut State, done: TipPathDone, _effects: &mut Vec<Effect>) {
    match done {}
}
