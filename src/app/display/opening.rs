//! How a shot is shown when it is opened: the body large, its display as on the shot before where that fits.

use crate::app::display::viewport::{Canvas, Showing};
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::case::document::{Case, Shot};
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Marks, Material, View};

/// Share of the canvas's height that the body fills when its shot is opened.
pub const BODY_SHARE: f64 = 0.5;
/// The same while the line of the labels takes room from the canvas: the image stays as large when the line goes.
const SHARE_WHILE_LABELING: f64 = 0.58;
/// Share of the frame's width and height that a body fills on a usual still, by view; it lies in the middle.
/// Common practice, no source: the level of interest is centered, and the field is 17 to 25 cm wide.
const fn usual(view: View) -> (f64, f64) {
    match view {
        View::Lateral => (0.23, 0.19),
        View::Ap => (0.31, 0.18),
        View::Pedicle => (0.20, 0.20),
    }
}

/// The image has this room on the screen; the first time it is seen it is decided how. `local` is whether images show with
/// local contrast where nobody has chosen otherwise.
pub fn enter(editor: &mut Editor, canvas: Canvas, local: bool) {
    hold(editor, canvas);
    editor.canvas = canvas;
    if let Some(document) = &mut editor.document {
        document.usual.look.local = local;
    }
    settle(editor);
}

/// The line of the labels makes the canvas lower while it is there. The image stays where it is on the screen all the same,
/// so that a click which ends labeling is not followed by another image under the pointer.
fn hold(editor: &mut Editor, canvas: Canvas) {
    let before = editor.canvas;
    let turn = editor.sheet().turn;
    let Some(document) = &mut editor.document else { return };
    let labeling = document.is_labeling();
    if std::mem::replace(&mut editor.labeled, labeling) == labeling
        || (before.width - canvas.width).abs() > 0.5
    {
        return;
    }
    let Some(id) = document.shown.clone() else { return };
    let Some(Showing::Free { centre, zoom }) = document.showing.get(&id).copied() else { return };
    let down = Vec2::new(0.0, 0.5 * (canvas.height - before.height));
    let held = Showing::Free { centre: centre + turn.unseen(down) / zoom, zoom };
    document.showing.insert(id.clone(), held);
    if document.settled.as_ref().is_some_and(|(of, ..)| *of == id) {
        document.settled = Some((id, held, canvas));
    }
}

/// Decides once how the shown shot is shown, as soon as its size and its view are known. What was decided, or what
/// the user has set since, stays.
fn settle(editor: &mut Editor) {
    follow_window(editor);
    let Some(document) = &editor.document else { return };
    let Some(shot) = document.shot() else { return };
    if document.showing.contains_key(&shot.id) || editor.shown_frame().is_none() || document.asks_for_view() {
        return;
    }
    let id = shot.id.clone();
    let from = document.came_from.as_deref().and_then(|id| document.case().shot(id));
    let from = from.filter(|from| alike(editor, from, shot)).map(|from| from.id.clone());
    let kept = from.as_ref().and_then(|from| document.showing.get(from)).copied();
    let aspect = from.as_ref().and_then(|from| document.aspects.get(from)).copied();
    let turn = aspect.unwrap_or_else(|| document.aspect()).turn;
    let share = if document.is_labeling() { SHARE_WHILE_LABELING } else { BODY_SHARE };
    let showing =
        kept.unwrap_or_else(|| Showing::about_body(editor.canvas, turn, expected(editor, shot), share));
    let canvas = editor.canvas;
    let Some(document) = &mut editor.document else { return };
    document.showing.insert(id.clone(), showing);
    document.settled = Some((id.clone(), showing, canvas));
    if let Some(aspect) = aspect {
        document.aspects.entry(id).or_insert(aspect);
    }
    if editor.document.as_ref().is_some_and(Document::is_unconfirmed) {
        bring_marks_into_sight(editor);
    }
}

/// A window that is made larger or smaller shows the body as large as before, unless the user has zoomed or panned since.
fn follow_window(editor: &mut Editor) {
    let canvas = editor.canvas;
    let Some(document) = &mut editor.document else { return };
    let Some((id, showing, decided_for)) = &document.settled else { return };
    if *decided_for != canvas && document.showing.get(id) == Some(showing) {
        document.showing.remove(id);
        document.settled = None;
    }
}

/// Whether the display of one shot suits the other: the same level and view, in frames of one size.
fn alike(editor: &Editor, a: &Shot, b: &Shot) -> bool {
    let size = |shot: &Shot| {
        let known = editor.pictures.known.get(&editor.key_of(shot)?)?;
        Some((known.extent.width, known.extent.height))
    };
    a.view == b.view && a.level.is_some() && a.level == b.level && size(a).is_some() && size(a) == size(b)
}

/// Where the body of a shot is marked, else where it is expected: as on the shot most like it, else in the middle.
#[must_use]
pub fn expected(editor: &Editor, shot: &Shot) -> (Point, Point) {
    expected_in(editor, shot, editor.frame_size())
}

/// The same of a shot whose image has this many columns and rows.
#[must_use]
pub fn expected_in(editor: &Editor, shot: &Shot, (width, height): (f64, f64)) -> (Point, Point) {
    let offered = editor.document.as_ref().and_then(|document| document.proposals.offered(shot));
    if let Some(own) = offered.and_then(|offer| boxed(shot.view, &offer.marks)).or_else(|| marked(shot)) {
        return own;
    }
    let case = editor.document.as_ref().map(|document| document.case());
    let others = |same_level: bool| {
        let fits = move |other: &&Shot| {
            other.view == shot.view && (!same_level || (other.level.is_some() && other.level == shot.level))
        };
        case.into_iter().flat_map(|case: &Case| case.shots.iter()).filter(fits).find_map(marked)
    };
    others(true).or_else(|| others(false)).unwrap_or_else(|| {
        let (across, down) = usual(shot.view);
        let at = |x: f64, y: f64| Point::new(x * width, y * height);
        (at(0.5 - 0.5 * across, 0.5 - 0.5 * down), at(0.5 + 0.5 * across, 0.5 + 0.5 * down))
    })
}

/// Moves the image where a part of the marks that are seen on the shown shot lies out of sight: they came from the program
/// or from another shot, and each is to be checked.
pub(crate) fn bring_marks_into_sight(editor: &mut Editor) {
    let Some(document) = &editor.document else { return };
    let (Some(shot), Some(marks)) = (document.shot(), document.seen_marks()) else { return };
    let Some((low, high)) = boxed(shot.view, marks) else { return };
    let (transform, canvas) = (editor.transform(), editor.canvas);
    let seen = |p: Point| {
        let at = transform.to_canvas(p);
        (0.0..=canvas.width).contains(&at.x) && (0.0..=canvas.height).contains(&at.y)
    };
    let corners = [low, high, Point::new(low.x, high.y), Point::new(high.x, low.y)];
    if corners.into_iter().all(seen) {
        return;
    }
    let (id, turn) = (shot.id.clone(), document.aspect().turn);
    let showing = Showing::about_body(canvas, turn, (low, high), BODY_SHARE);
    if let Some(document) = &mut editor.document {
        document.showing.insert(id, showing);
    }
}

/// The box about a shot's marks on bone, if it has any height.
fn marked(shot: &Shot) -> Option<(Point, Point)> {
    boxed(shot.view, &shot.marks)
}

/// The box about marks on bone, if it has any height.
fn boxed(view: View, marks: &Marks) -> Option<(Point, Point)> {
    let bone =
        marks.placed().filter(|(at, _)| at.kind.belongs_to(view) && at.kind.material() == Material::Bone);
    let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
    let mut count = 0;
    for (_, p) in bone {
        low = Point::new(low.x.min(p.x), low.y.min(p.y));
        high = Point::new(high.x.max(p.x), high.y.max(p.y));
        count += 1;
    }
    (count >= 3 && high.y - low.y > 8.0 && high.x - low.x > 8.0).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::session::mode::Mode;

    /// The line of the labels comes and goes below the image, which stays where it is on the screen.
    #[test]
    fn nothing_moves_under_the_pointer_when_labeling_ends() {
        let case = Case { shots: vec![Shot::new("a", "a.png", View::Lateral)].into(), ..Case::default() };
        let mut editor = Editor::new(Document::fresh(case));
        let canvas = |height| Canvas { width: 800.0, height, pixels_per_point: 1.0 };
        editor.document.as_mut().unwrap().enter(Mode::Labeling);
        enter(&mut editor, canvas(500.0), false);
        let free = Showing::Free { centre: Point::new(200.0, 300.0), zoom: 1.7 };
        editor.document.as_mut().unwrap().showing.insert("a".to_owned(), free);
        let before = editor.transform();
        editor.document.as_mut().unwrap().back_to_marking();
        enter(&mut editor, canvas(582.0), false);
        let after = editor.transform();
        for p in [Point::new(0.0, 0.0), Point::new(210.0, 330.0)] {
            assert!(before.to_canvas(p).distance(after.to_canvas(p)) < 1e-9);
        }
        enter(&mut editor, canvas(600.0), false);
        assert!((editor.transform().origin.y - after.origin.y - 9.0).abs() < 1e-9, "a window made higher");
    }
}
