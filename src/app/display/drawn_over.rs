//! What is drawn over the shown image: the overlay with what the next mark would add, the handles of the marks, the crosshair.

use crate::app::display::viewport::{Canvas, Transform};
use crate::app::marking::guide::Need;
use crate::app::marking::{copied_marks, placement, proposal};
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{Hand, Tool};
use crate::case::document::edit::Edit;
use crate::case::document::{Case, Shot};
use crate::case::readings::body_map::body_map_of;
use crate::geom::point::Point;
use crate::measure::mark::{MarkRef, Marks};
use crate::scene::drawing::shape::{Glyph, Rect, Role, Scene, Space};
use crate::scene::overlay::LayerSet;
use crate::scene::overlay::of_shot::ShotOverlay;

/// Handles of marks within this distance of the pointer are shown, in points.
const HANDLES_NEAR: f64 = 96.0;

/// The overlay of the shown shot in image coordinates: its own marks, or those that are offered in their place; a point about
/// to be placed at `aimed` is drawn as if it were.
#[must_use]
pub fn overlay(editor: &Editor, layers: LayerSet, aimed: Option<Point>) -> Option<Scene> {
    let document = editor.document.as_ref()?;
    let shot = document.shot()?;
    let layers = proposal::drawn::layers(document, shot, layers);
    let offer = document.proposals.offered(shot);
    let offered = offer.and_then(|offer| body_map_of(document.case(), shot, &offer.marks));
    let mut seen = of_shown(editor, document, shot, layers);
    if let Some(offer) = offer {
        (seen.marks, seen.map, seen.reading) = (&offer.marks, offered.as_ref(), None);
    }
    let next = aimed.and_then(|at| next_marks(document, shot, at));
    let scene = seen.while_marking(bounds(editor), next.as_ref(), document.is_unconfirmed());
    Some(seen.with_both_sides(proposal::drawn::over(scene, document, shot, seen.map)))
}

/// The shown shot with what is known of it.
#[must_use]
pub fn of_shown<'a>(
    editor: &Editor,
    document: &'a Document,
    shot: &'a Shot,
    layers: LayerSet,
) -> ShotOverlay<'a> {
    let looked = document.looked(&shot.id);
    ShotOverlay {
        case: document.case(),
        shot,
        marks: &shot.marks,
        map: looked.and_then(|looked| looked.map.as_deref()),
        reading: looked.map(|looked| &looked.reading),
        layers,
        zoom: editor.transform().zoom,
    }
}

/// The shown image, in its own coordinates.
#[must_use]
pub fn bounds(editor: &Editor) -> Rect {
    let (width, height) = editor.frame_size();
    Rect::new(0.0, 0.0, width, height)
}

/// The marks with the point in hand placed at `at`.
fn next_marks(document: &Document, shot: &Shot, at: Point) -> Option<Marks> {
    let seen = Shot { marks: document.seen_marks()?.clone(), ..shot.clone() };
    let shot = &seen;
    let edit = match document.hand() {
        // A mark that may be left out changes the outline only once it is placed: until then it would cave in toward the
        // pointer, wherever that is.
        Hand::Next(step) if step.need(shot.view) != Need::Required => return None,
        Hand::Next(step) => placement::place(&shot.id, &shot.marks, step, at).0,
        Hand::Adding(kind) => placement::add(&shot.id, &shot.marks, kind, at).0,
        Hand::Again(mark) => Edit::Place { shot: shot.id.clone(), at: mark, to: at },
        Hand::Landmark { .. } => return copied_marks::preview(document, at),
        Hand::Mark(_) | Hand::Nothing | Hand::Wall { .. } | Hand::Border(_) => return None,
    };
    let mut alone = Case { shots: vec![shot.clone()].into(), ..Default::default() };
    alone.apply(&edit).ok()?;
    alone.shots.pop().map(|shot| shot.marks)
}

/// The handles of the marks: those near the pointer, those being made, and the one that is chosen or that a list points at;
/// and the clicks by which an outline is asked for. `zoom` is in points of the screen to a pixel of the image.
#[must_use]
pub fn handles(
    document: &Document,
    shot: &Shot,
    pointer: Option<Point>,
    pointed: Option<MarkRef>,
    zoom: f64,
) -> Scene {
    let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 1.0, 1.0));
    // While labels are worked on, no mark can be taken hold of.
    if document.tool() == Tool::Annotations {
        return scene;
    }
    let chosen = document.grabbed().map(|grabbed| grabbed.at).or(document.hand().mark());
    // While marks are made, and while a draft is looked through, every one must be seen.
    let unconfirmed = document.is_unconfirmed();
    let marking = unconfirmed || document.hand().places();
    let glyph = if unconfirmed { Glyph::Target } else { Glyph::Ring };
    // Where an outline is asked for by clicks, they stay in sight.
    let clicked = document.pointing().map(|walls| {
        walls.first.into_iter().chain(walls.second).chain(walls.helped.iter().map(|(_, at)| *at))
    });
    for at in clicked.into_iter().flatten() {
        scene.marker(at, Glyph::Target, Role::ChosenHandle);
    }
    let marks = document.seen_marks().unwrap_or(&shot.marks);
    for (at, p) in marks.placed().filter(|(at, _)| at.kind.belongs_to(shot.view)) {
        let near = pointer.is_some_and(|q| q.distance(p) * zoom < HANDLES_NEAR);
        if Some(at) == chosen || Some(at) == pointed {
            scene.marker(p, glyph, Role::ChosenHandle);
        } else if near {
            scene.marker(p, glyph, Role::Handle);
        } else if marking {
            scene.marker(p, glyph, Role::PlacedHandle);
        }
    }
    scene
}

/// Two lines through the crosshair with its middle left free, in canvas points.
#[must_use]
pub fn crosshair(canvas: Canvas, transform: Transform, at: Point) -> Scene {
    let (width, height) = (canvas.width, canvas.height);
    let p = transform.to_canvas(at);
    let gap = 10.0;
    let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, width, height));
    for (a, b) in [
        (Point::new(0.0, p.y), Point::new(p.x - gap, p.y)),
        (Point::new(p.x + gap, p.y), Point::new(width, p.y)),
        (Point::new(p.x, 0.0), Point::new(p.x, p.y - gap)),
        (Point::new(p.x, p.y + gap), Point::new(p.x, height)),
    ] {
        scene.line(vec![a, b], Role::Accent);
    }
    scene
}
