//! Zooming and moving the shown image.

use crate::app::display::viewport::{Showing, ZOOM_STEP};
use crate::app::session::editor::Editor;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::Material;

/// How near the canvas's edge a point in hand may come, as a share of the canvas.
const EDGE: f64 = 0.08;

/// The image place in the middle of the canvas.
#[must_use]
pub fn middle(editor: &Editor) -> Point {
    editor.transform().to_image(Point::new(0.5 * editor.canvas.width, 0.5 * editor.canvas.height))
}

fn see(editor: &mut Editor, change: impl FnOnce(Showing) -> Showing) {
    let showing = change(editor.showing());
    if let Some(document) = &mut editor.document
        && let Some(id) = &document.shown
    {
        document.showing.insert(id.clone(), showing);
    }
}

/// Zooms about what is in hand, else about the middle.
pub(crate) fn by_key(editor: &mut Editor, closer: bool) {
    let about = in_hand(editor).unwrap_or_else(|| middle(editor));
    at(editor, about, if closer { ZOOM_STEP } else { 1.0 / ZOOM_STEP });
}

/// Zooms about an image place.
pub(crate) fn at(editor: &mut Editor, about: Point, factor: f64) {
    let (canvas, frame) = (editor.canvas, editor.sheet());
    see(editor, |showing| showing.zoomed(canvas, frame, about, factor));
}

/// Moves the image by canvas points.
pub(crate) fn pan(editor: &mut Editor, by: Vec2) {
    let (canvas, frame) = (editor.canvas, editor.sheet());
    see(editor, |showing| showing.panned(canvas, frame, by));
}

/// Shows the whole image.
pub(crate) fn fit(editor: &mut Editor) {
    see(editor, |_| Showing::Whole);
}

/// Shows one pixel of the image as one of the screen.
pub(crate) fn one_to_one(editor: &mut Editor) {
    let (canvas, frame) = (editor.canvas, editor.sheet());
    see(editor, |showing| showing.one_to_one(canvas, frame));
}

/// Shows the marked bone as large as possible, else everything that is marked.
pub(crate) fn to_body(editor: &mut Editor) {
    let (canvas, turn) = (editor.canvas, editor.sheet().turn);
    let Some(shot) = editor.document.as_ref().and_then(|d| d.shot()) else { return };
    let bone = |(at, _): &(crate::measure::mark::MarkRef, Point)| {
        at.kind.belongs_to(shot.view) && at.kind.material() == Material::Bone
    };
    let points: Vec<Point> = shot.marks.placed().filter(bone).map(|(_, p)| p).collect();
    let all = shot.marks.placed().map(|(_, p)| p);
    let showing = Showing::around(canvas, turn, points).or_else(|| Showing::around(canvas, turn, all));
    if let Some(showing) = showing {
        see(editor, |_| showing);
    }
}

/// The image place of what is in hand: the mark, else the crosshair.
fn in_hand(editor: &Editor) -> Option<Point> {
    let document = editor.document.as_ref()?;
    let mark = document.hand().mark().and_then(|at| document.shot()?.marks.point(at));
    mark.or(document.crosshair)
}

/// Moves the image so far that what is in hand does not leave the canvas.
pub(crate) fn keep_in_sight(editor: &mut Editor) {
    let Some(at) = in_hand(editor) else { return };
    let seen = editor.transform().to_canvas(at);
    let (width, height) = (editor.canvas.width, editor.canvas.height);
    let over = |x: f64, side: f64| x.clamp(EDGE * side, (1.0 - EDGE) * side) - x;
    let by = Vec2::new(over(seen.x, width), over(seen.y, height));
    // A fitted frame shows all there is; its own edge may lie near the canvas's.
    if by.length() > 0.0 && editor.showing() != Showing::Whole {
        pan(editor, by);
    }
}
