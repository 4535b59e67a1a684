//! Exporting the case into a new folder: as a de-identified copy, as DICOM objects, or as keypoints.

use std::path::PathBuf;

use crate::app::files::export_form::ExportForm;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::under_way::Activity;

/// Exports the case as it is now, saved or not.
pub(crate) fn export(
    state: &mut State,
    folder: PathBuf,
    form: ExportForm,
    as_is: bool,
    effects: &mut Vec<Effect>,
) {
    let Some(document) = &state.editor.document else { return };
    let (case, file) = (Box::new(document.case().clone()), document.file.clone());
    state.under_way.begin(Activity::Exporting, "Exporting");
    effects.push(Effect::Export { case, file, folder, form, as_is });
}
