//! The scale that was entered last for images of a size: it is offered for the next image of that size, shown with its
//! value, and used only when the user says so.

use crate::app::annotation::scale::offer;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::measure::calibration::{Calibration, ScaleFrom};
use crate::scene::format;

/// Columns and rows of a shot's image, as far as they are known.
fn size_of(editor: &Editor, shot: &Shot) -> Option<(u32, u32)> {
    let extent = editor.pictures.known.get(&editor.key_of(shot)?)?.extent;
    Some((extent.width, extent.height))
}

/// Notes the scale of the shown shot for images of its size, unless its file gave it.
pub(crate) fn note(editor: &mut Editor) {
    let Some(shot) = editor.shot() else { return };
    let (Some(mm_per_px), Some(size)) = (shot.mm_per_px, size_of(editor, shot)) else { return };
    if shot.scale_from != Some(ScaleFrom::Calibrated) {
        let sd = shot.mm_per_px_sd;
        editor.last_scales.note(size, mm_per_px, sd);
    }
}

/// The scale that is offered for the shown shot: the one entered last for images of its size, where it has none of its own
/// and its file gives none.
#[must_use]
pub fn offered(editor: &Editor) -> Option<Calibration> {
    let shot = editor.shot().filter(|shot| shot.mm_per_px.is_none())?;
    if offer(editor).scale().is_some() {
        return None;
    }
    let (mm_per_px, sd) = editor.last_scales.of(size_of(editor, shot)?)?;
    Some(Calibration { mm_per_px, sd, from: ScaleFrom::Typed, known: None })
}

/// What the button for it says.
#[must_use]
pub fn words(scale: &Calibration) -> String {
    format!("Use {}", format::scale(scale.mm_per_px))
}

/// Uses it for all selected shots of the same size without a scale, as one step back.
pub(crate) fn use_last(editor: &mut Editor) {
    let Some(scale) = offered(editor) else { return };
    let Some(document) = &editor.document else { return };
    let size = editor.shot().and_then(|shot| size_of(editor, shot));
    let fits = |shot: &&Shot| shot.mm_per_px.is_none() && size_of(editor, shot) == size;
    let what = Description::Scale(Some(scale));
    let edits: Vec<Edit> = document
        .chosen()
        .into_iter()
        .filter(fits)
        .map(|shot| Edit::Describe { shot: shot.id.clone(), what: what.clone() })
        .collect();
    let count = edits.len();
    apply(editor, &edits);
    if count > 1 {
        let words = format::count(count, "shot", "shots");
        editor.say(
            Weight::Note,
            format!("The scale last used for images of this size is now used for {words}."),
        );
    }
}
