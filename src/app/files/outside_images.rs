//! Images outside a case's folder: asked about when somebody's case is opened, allowed where the user chooses them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::app::files::questions::WindowQuestion;
use crate::app::session::state::State;
use crate::app::work::effect::{Effect, FoundImage};
use crate::io::store::outside;
use crate::io::store::pictures::picture_name;

/// Asks about images of the open case that lie outside its folder, unless another question is open or the user has answered
/// before.
pub(crate) fn ask(state: &mut State) {
    let Some(document) = &state.editor.document else { return };
    let (Some(file), None) = (&document.file, &state.question) else { return };
    let folders = outside::unasked(file, document.case());
    if !folders.is_empty() {
        state.question = Some(WindowQuestion::Outside { file: file.clone(), folders });
    }
}

/// Lets the images be opened that the user has just chosen for the open case, wherever they lie.
pub(crate) fn chosen(state: &State, found: &[FoundImage], effects: &mut Vec<Effect>) {
    let Some(file) = state.editor.document.as_ref().and_then(|document| document.file.as_deref()) else {
        return;
    };
    let outside = |picture: &FoundImage| {
        let name = picture_name(Some(file), &picture.path);
        let path = Path::new(&name);
        path.is_absolute().then(|| path.parent().map(Path::to_path_buf)).flatten()
    };
    let folders: BTreeSet<PathBuf> = found.iter().filter_map(outside).collect();
    if !folders.is_empty() {
        effects.push(Effect::Allow { file: file.to_path_buf(), folders: folders.into_iter().collect() });
    }
}
