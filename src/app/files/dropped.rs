//! What happens with files and folders that are dropped on the window: case files or first pictures open; pictures and folders of
//! pictures are added to the open case.

use std::path::PathBuf;

use crate::app::files::add_images::{add, for_place};
use crate::app::files::leaving::leave;
use crate::app::files::questions::Leave;
use crate::app::files::saving::is_case_name;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;

/// Takes in what was dropped.
pub(crate) fn take_in(state: &mut State, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    // Among pictures a case is only named: what is open is not left for it.
    let cases = paths.iter().all(|path| is_case_name(path));
    if state.editor.document.is_none() || cases {
        leave(state, Leave::Open(paths), effects);
    } else {
        for_place(state, None);
        add(state, paths, effects);
    }
}
