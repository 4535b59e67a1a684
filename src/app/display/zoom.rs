//! Zooming and moving the shown image.

use crate::app::display::viewport::Showing;
use crate::app::session::state::State;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::Material;

/// One step of the zoom keys.
const ZOOM_STEP: f64 = 1.25;
/// How near the canvas's edge a point in hand may come, as a share of the canvas.
const EDGE: f64 = 0.08;

/// The image place in the middle of the canvas.
#[must_use]
pub fn middle(state: &State) -> Point {
    state.transform().to_image(Point::new(0.5 * state.canvas.width, 0.5 * state.canvas.height))
}

fn see(state: &mut State, change: impl FnOnce(Showing) -> Showing) {
    let showing = change(state.showing());
    if let Some(document) = &mut state.document
        && let Some(id) = &document.shown
    {
        document.showing.insert(id.clone(), showing);
    }
}

/// Zooms about what is in hand, else about the middle.
pub(crate) fn by_key(state: &mut State, closer: bool) {
    let about = in_hand(state).unwrap_or_else(|| middle(state));
    at(state, about, if closer { ZOOM_STEP } else { 1.0 / ZOOM_STEP });
}

/// Zooms about an image place.
pub(crate) fn at(state: &mut State, about: Point, factor: f64) {
    let (canvas, frame) = (state.canvas, state.sheet());
    see(state, |showing| showing.zoomed(canvas, frame, about, factor));
}

/// Moves the image by canvas points.
pub(crate) fn pan(state: &mut State, by: Vec2) {
    let (canvas, frame) = (state.canvas, state.sheet());
    see(state, |showing| showing.panned(canvas, frame, by));
}

/// Shows the whole image.
pub(crate) fn fit(state: &mut State) {
    see(state, |_| Showing::Whole);
}

/// Shows one pixel of the image as one of the screen.
pub(crate) fn one_to_one(state: &mut State) {
    let (canvas, frame) = (state.canvas, state.sheet());
    see(state, |showing| showing.one_to_one(canvas, frame));
}

/// Shows the marked bone as large as possible, else everything that is marked.
pub(crate) fn to_body(state: &mut State) {
    let (canvas, turn) = (state.canvas, state.sheet().turn);
    let Some(shot) = state.document.as_ref().and_then(|d| d.shot()) else { return };
    let bone = |(at, _): &(crate::measure::mark::MarkRef, Point)| {
        at.kind.belongs_to(shot.view) && at.kind.material() == Material::Bone
    };
    let points: Vec<Point> = shot.marks.placed().filter(bone).map(|(_, p)| p).collect();
    let all = shot.marks.placed().map(|(_, p)| p);
    let showing = Showing::around(canvas, turn, points).or_else(|| Showing::around(canvas, turn, all));
    if let Some(showing) = showing {
        see(state, |_| showing);
    }
}

/// The image place of what is in hand: the mark, else the crosshair.
fn in_hand(state: &State) -> Option<Point> {
    let document = state.document.as_ref()?;
    let mark = document.hand().mark().and_then(|at| document.shot()?.marks.point(at));
    mark.or(document.crosshair)
}

/// Moves the image so far that what is in hand does not leave the canvas.
pub(crate) fn keep_in_sight(state: &mut State) {
    let Some(at) = in_hand(state) else { return };
    let seen = state.transform().to_canvas(at);
    let (width, height) = (state.canvas.width, state.canvas.height);
    let over = |x: f64, side: f64| x.clamp(EDGE * side, (1.0 - EDGE) * side) - x;
    let by = Vec2::new(over(seen.x, width), over(seen.y, height));
    // A fitted frame shows all there is; its own edge may lie near the canvas's.
    if by.length() > 0.0 && state.showing() != Showing::Whole {
        pan(state, by);
    }
}
