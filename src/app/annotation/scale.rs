//! How large a pixel of the shown shot is: from the file, from a line along a known length, or from the spacing at the
//! detector.

use crate::app::annotation::last_scale;
use crate::app::annotation::redaction::describe;
use crate::app::marking::guide::capital;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::mode::{Mode, Tool};
use crate::app::session::notice::Weight;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::image::offered_scale::ScaleOffer;
use crate::geom::point::Point;
use crate::measure::calibration::{Calibration, KnownLength, ScaleFrom};
use crate::scene::format;

/// What the shown shot's file says of the scale.
#[must_use]
pub fn offer(editor: &Editor) -> ScaleOffer {
    let known = editor.shown_key().and_then(|key| editor.pictures.known.get(&key));
    known.map_or(ScaleOffer::Nothing, |known| known.offer.clone())
}

/// Begins or ends working on the scale.
pub(crate) fn begin_or_end(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    let ends = document.shot().and_then(|shot| shot.known_length).map(|known| known.ends);
    match document.tool() {
        Tool::Scale { .. } => document.back_to_marking(),
        Tool::Marks | Tool::Redaction { .. } | Tool::Annotations | Tool::Straighten => {
            document.enter(Mode::Scaling { ends })
        }
    }
}

/// The line along a known length runs between these places of the image.
pub(crate) fn draw(editor: &mut Editor, a: Point, b: Point) {
    if let Some(document) = &mut editor.document {
        document.enter(Mode::Scaling { ends: Some([a, b]) });
    }
}

/// The line is this long, in millimetres, with this standard uncertainty.
pub(crate) fn set_length(editor: &mut Editor, mm: f64, sd_mm: f64) {
    let Some(document) = &editor.document else { return };
    if let Tool::Scale { ends: Some(ends) } = document.tool() {
        let click = document.case().settings.metal_sd_mm;
        let scale = Calibration::of_known_length(KnownLength { ends, mm, sd_mm }, click);
        set_scale(editor, scale);
    }
}

/// Takes the scale that the file offers.
pub(crate) fn use_file(editor: &mut Editor) {
    if let Some(scale) = offer(editor).scale() {
        set_scale(editor, Ok(scale));
    }
}

/// Takes the file's spacing at the detector with this magnification and its standard uncertainty.
pub(crate) fn use_detector(editor: &mut Editor, magnification: f64, sd: f64) {
    if let ScaleOffer::Detector { spacing_mm } | ScaleOffer::Magnified { spacing_mm, .. } = offer(editor) {
        set_scale(editor, Calibration::of_detector(spacing_mm, magnification, sd));
    }
}

/// The other shots that the shown shot's scale suits: all that are selected, else all whose frames have the same size
/// and whose files say the same of the scale.
#[must_use]
pub fn alike(editor: &Editor) -> Vec<String> {
    let Some((document, shot)) = editor.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
        return Vec::new();
    };
    let others = |shots: Vec<&Shot>| -> Vec<String> {
        shots.into_iter().filter(|other| other.id != shot.id).map(|other| other.id.clone()).collect()
    };
    let chosen = document.chosen();
    if chosen.len() > 1 {
        return others(chosen);
    }
    let about = |shot: &Shot| editor.pictures.known.get(&editor.key_of(shot)?);
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
pub(crate) fn use_for_alike(editor: &mut Editor) {
    let Some(shot) = editor.document.as_ref().and_then(|document| document.shot()) else { return };
    let Some(mm_per_px) = shot.mm_per_px else { return };
    let scale = Calibration {
        mm_per_px,
        sd: shot.mm_per_px_sd,
        from: shot.scale_from.unwrap_or(ScaleFrom::Typed),
        known: None,
    };
    let what = Description::Scale(Some(scale));
    let edits: Vec<Edit> =
        alike(editor).into_iter().map(|shot| Edit::Describe { shot, what: what.clone() }).collect();
    let count = edits.len();
    apply(editor, &edits);
    let words = format::count(count, "other shot", "other shots");
    editor.say(Weight::Note, format!("The scale of this shot is now also used for {words}."));
}

/// Asks for millimetres, or for fractions only.
pub(crate) fn millimeters(editor: &mut Editor) {
    if let Some(document) = &mut editor.document {
        document.mm = !document.mm;
        document.stale = true;
    }
}

fn set_scale(editor: &mut Editor, scale: Result<Calibration, &'static str>) {
    match scale {
        Ok(scale) => {
            describe(editor, Description::Scale(Some(scale)));
            last_scale::note(editor);
        }
        Err(why) => editor.say(Weight::Trouble, capital(&format!("{why}."))),
    }
}
