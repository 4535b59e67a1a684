//! The curve ahead on a lateral shot of the body: its shape, the clicks along a visible curve, what follows.

use crate::app::display::viewport::{Showing, ShownFrame, Transform};
use crate::app::pages::tip_path::command::TipPathCommand;
pub use crate::app::pages::tip_path::memory::{CurveMemory, StyletShape};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::geom::circle::fit;
use crate::geom::point::Point;
use crate::measure::ahead::ahead;
use crate::measure::body::BodyPoint;
use crate::measure::mark::View;
use crate::scene::tip_path::curve::{next_lateral, next_tip};

/// The shots a curve can be drawn on: laterals of the page's body.
#[must_use]
pub fn candidates(state: &State) -> Vec<&Shot> {
    let (Some(document), Some((level, side))) = (&state.editor.document, state.pages.tip_path.body) else {
        return Vec::new();
    };
    let own = |shot: &&Shot| {
        shot.shows(View::Lateral) && shot.level == Some(level) && shot.side == Some(side) && !shot.draft
    };
    document.case().shots.iter().filter(own).collect()
}

/// The shot the curve is drawn on.
#[must_use]
pub fn shot(state: &State) -> Option<&Shot> {
    state.editor.document.as_ref()?.case().shot(state.pages.tip_path.curve.shot.as_deref()?)
}

/// Begins with the shown shot where the curve can be drawn on it, else with the body's first lateral.
pub(super) fn begin(state: &mut State) {
    let ids: Vec<String> = candidates(state).iter().map(|shot| shot.id.clone()).collect();
    let shown = state.editor.document.as_ref().and_then(|document| document.shown.clone());
    let kept = state.pages.tip_path.curve.shot.clone().filter(|id| ids.contains(id));
    let id = shown.filter(|id| ids.contains(id)).or(kept).or(ids.first().cloned());
    take(&mut state.pages.tip_path.curve, id);
}

fn take(curve: &mut CurveMemory, id: Option<String>) {
    if curve.shot != id {
        curve.shot = id;
        curve.clicks.clear();
        curve.showing = None;
    }
}

pub(super) fn update(state: &mut State, ask: TipPathCommand) {
    let showing = sheet(state).zip(showing(state));
    let curve = &mut state.pages.tip_path.curve;
    match ask {
        TipPathCommand::Shot(id) => take(curve, Some(id)),
        TipPathCommand::Shape(shape) if shape.fault().is_none() => curve.shape = shape,
        TipPathCommand::Click(at) => curve.clicks.push(at),
        TipPathCommand::Forget => curve.clicks.clear(),
        TipPathCommand::TakeRadius => {
            if let Some((_, radius)) = curve.circle {
                // To a tenth, as the slider shows it.
                let shape = StyletShape { radius_mm: (10.0 * radius).round() / 10.0, ..curve.shape };
                if shape.fault().is_none() {
                    curve.shape = shape;
                }
            }
        }
        TipPathCommand::Room(canvas) => curve.canvas = canvas,
        TipPathCommand::Zoom { at, factor } => {
            if let Some((sheet, showing)) = showing {
                let place = showing.transform(curve.canvas, sheet).to_image(at);
                curve.showing = Some(showing.zoomed(curve.canvas, sheet, place, factor));
            }
        }
        TipPathCommand::Pan(by) => {
            if let Some((sheet, showing)) = showing {
                curve.showing = Some(showing.panned(curve.canvas, sheet, by));
            }
        }
        TipPathCommand::About => curve.showing = None,
        TipPathCommand::Shape(_)
        | TipPathCommand::Body(..)
        | TipPathCommand::Tab(_)
        | TipPathCommand::Save
        | TipPathCommand::Copy
        | TipPathCommand::IntoReport => {}
    }
}

/// The course, the circle and the next shot made anew.
pub(super) fn follow(state: &mut State) {
    let found = shot(state).map(|shot| {
        let course = ahead(&shot.marks, shot.mm_per_px, &state.pages.tip_path.curve.shape);
        let scale = course.as_ref().ok().map(|course| course.mm_per_px).or(shot.mm_per_px);
        let clicks = &state.pages.tip_path.curve.clicks;
        let circle = fit(clicks).zip(scale).map(|(circle, scale)| (circle, circle.radius * scale));
        (course, circle, next(state, shot))
    });
    let curve = &mut state.pages.tip_path.curve;
    match found {
        Some((course, circle, next)) => {
            (curve.course, curve.circle, curve.next) = (Some(course), circle, next);
        }
        None => (curve.course, curve.circle, curve.next) = (None, None, None),
    }
}

fn next(state: &State, shot: &Shot) -> Option<(usize, Option<Point>)> {
    let case = state.editor.document.as_ref()?.case();
    let index = case.shots.iter().position(|other| other.id == shot.id)?;
    let next = next_lateral(case, index)?;
    Some((next, next_tip(case, shot, case.shots.get(next)?)))
}

fn sheet(state: &State) -> Option<ShownFrame> {
    let shot = shot(state)?;
    let turn = state.editor.document.as_ref()?.aspects.get(&shot.id).copied().unwrap_or_default().turn;
    let known = state.editor.key_of(shot).and_then(|key| state.editor.pictures.known.get(&key));
    let size = known.map_or((512.0, 512.0), |k| (f64::from(k.extent.width), f64::from(k.extent.height)));
    Some(ShownFrame { size, turn })
}

fn showing(state: &State) -> Option<Showing> {
    let curve = &state.pages.tip_path.curve;
    if let Some(showing) = curve.showing {
        return Some(showing);
    }
    let (sheet, shot) = (sheet(state)?, shot(state)?);
    let map = state
        .editor
        .document
        .as_ref()
        .and_then(|document: &Document| document.looked(&shot.id)?.map.as_deref());
    // Room behind the body for the cannula.
    let corners = [(-0.4, 0.0), (1.0, 0.0), (-0.4, 1.0), (1.0, 1.0)];
    let about = map.and_then(|map| {
        let corners = corners.map(|(u, v)| map.to_image(BodyPoint::new(u, v)));
        Showing::around(curve.canvas, sheet.turn, corners)
    });
    Some(about.unwrap_or(Showing::Whole))
}

/// The map from the picture to its room, and the picture's size.
#[must_use]
pub fn transform(state: &State) -> Option<(Transform, (f64, f64))> {
    let sheet = sheet(state)?;
    Some((showing(state)?.transform(state.pages.tip_path.curve.canvas, sheet), sheet.size))
}
