//! How large a pixel of the shown shot is: from the file, from a line along a known length, or from the spacing at the
//! detector.

use crate::app::annotation::redaction::describe;
use crate::app::marking::guide::capital;
use crate::app::session::mode::{Mode, Tool};
use crate::app::session::state::{State, Weight};
use crate::case::document::edit::Description;
use crate::case::image::offered_scale::Offer;
use crate::geom::point::Point;
use crate::measure::calibration::{Calibration, KnownLength};

/// What the shown shot's file says of the scale.
#[must_use]
pub fn offer(state: &State) -> Offer {
    let known = state.shown_key().and_then(|key| state.known.get(&key));
    known.map_or(Offer::Nothing, |known| known.offer.clone())
}

/// Begins or ends working on the scale.
pub(crate) fn begin_or_end(state: &mut State) {
    let Some(document) = &mut state.document else { return };
    let ends = document.shot().and_then(|shot| shot.known_length).map(|known| known.ends);
    match document.tool() {
        Tool::Scale { .. } => document.back_to_marking(),
        Tool::Marks | Tool::Redaction { .. } | Tool::Annotations => document.enter(Mode::Scaling { ends }),
    }
}

/// The line along a known length runs between these places of the image.
pub(crate) fn draw(state: &mut State, a: Point, b: Point) {
    if let Some(document) = &mut state.document {
        document.enter(Mode::Scaling { ends: Some([a, b]) });
    }
}

/// The line is this long, in millimetres, with this standard uncertainty.
pub(crate) fn set_length(state: &mut State, mm: f64, sd_mm: f64) {
    let Some(document) = &state.document else { return };
    if let Tool::Scale { ends: Some(ends) } = document.tool() {
        let click = document.case().settings.metal_sd_mm;
        let scale = Calibration::of_known_length(KnownLength { ends, mm, sd_mm }, click);
        set_scale(state, scale);
    }
}

/// Takes the scale that the file offers.
pub(crate) fn use_file(state: &mut State) {
    if let Some(scale) = offer(state).scale() {
        set_scale(state, Ok(scale));
    }
}

/// Takes the file's spacing at the detector with this magnification and its standard uncertainty.
pub(crate) fn use_detector(state: &mut State, magnification: f64, sd: f64) {
    if let Offer::Detector { spacing_mm } | Offer::Magnified { spacing_mm, .. } = offer(state) {
        set_scale(state, Calibration::of_detector(spacing_mm, magnification, sd));
    }
}

/// Asks for millimetres, or for fractions only.
pub(crate) fn millimeters(state: &mut State) {
    if let Some(document) = &mut state.document {
        document.mm = !document.mm;
        document.stale = true;
    }
}

fn set_scale(state: &mut State, scale: Result<Calibration, &'static str>) {
    match scale {
        Ok(scale) => describe(state, Description::Scale(Some(scale))),
        Err(why) => state.say(Weight::Trouble, capital(&format!("{why}."))),
    }
}
