//! How large a pixel of the shown shot is: from the file, from a line along a known length, or from the spacing at the
//! detector.

use crate::app::annotation::redaction::describe;
use crate::app::marking::guide::capital;
use crate::app::session::edits::apply;
use crate::app::session::mode::{Mode, Tool};
use crate::app::session::state::{State, Weight};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::image::offered_scale::Offer;
use crate::geom::point::Point;
use crate::measure::calibration::{Calibration, KnownLength, ScaleFrom};
use crate::scene::format;

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

/// The other shots that the shown shot's scale suits: all that are selected, else all whose frames have the same size
/// and whose files say the same of the scale.
#[must_use]
pub fn alike(state: &State) -> Vec<String> {
    let Some((document, shot)) = state.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
        return Vec::new();
    };
    let others = |shots: Vec<&Shot>| -> Vec<String> {
        shots.into_iter().filter(|other| other.id != shot.id).map(|other| other.id.clone()).collect()
    };
    let chosen = document.chosen();
    if chosen.len() > 1 {
        return others(chosen);
    }
    let about = |shot: &Shot| state.known.get(&state.key_of(shot)?);
    let Some(own) = about(shot) else { return Vec::new() };
    let same = |other: &&Shot| {
        about(other).is_some_and(|known| {
            (known.extent.width, known.extent.height) == (own.extent.width, own.extent.height)
                && known.offer == own.offer
        })
    };
    others(document.case().shots.iter().filter(same).collect())
}

/// Gives the shown shot's scale to all shots that it suits, as one step back.
pub(crate) fn use_for_alike(state: &mut State) {
    let Some(shot) = state.document.as_ref().and_then(|document| document.shot()) else { return };
    let Some(mm_per_px) = shot.mm_per_px else { return };
    let scale = Calibration {
        mm_per_px,
        sd: shot.mm_per_px_sd,
        from: shot.scale_from.unwrap_or(ScaleFrom::Typed),
        known: None,
    };
    let what = Description::Scale(Some(scale));
    let edits: Vec<Edit> =
        alike(state).into_iter().map(|shot| Edit::Describe { shot, what: what.clone() }).collect();
    let count = edits.len();
    apply(state, &edits);
    let words = format::count(count, "other shot", "other shots");
    state.say(Weight::Note, format!("The scale of this shot is now also used for {words}."));
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
