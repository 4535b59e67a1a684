//! Going from shot to shot.

use crate::app::annotation::label;
use crate::app::marking::next_mark::required_done;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{Mode, Tool};

/// Shows the shot this many places further.
pub(crate) fn step(editor: &mut Editor, by: isize) {
    let next = editor.document.as_ref().and_then(|document| document.neighbour(by)).map(str::to_owned);
    if let Some(id) = next {
        go_to(editor, &id);
    }
}

/// The first or the last listed shot, if it is not the one that is shown.
#[must_use]
pub fn at_end(document: &Document, last: bool) -> Option<String> {
    let listed = document.listed();
    let at = if last { listed.last() } else { listed.first() };
    let id = &document.case().shots.get(*at?)?.id;
    (document.shown.as_ref() != Some(id)).then(|| id.clone())
}

/// Shows the first or the last listed shot.
pub(crate) fn go_to_end(editor: &mut Editor, last: bool) {
    if let Some(id) = editor.document.as_ref().and_then(|document| at_end(document, last)) {
        go_to(editor, &id);
    }
}

/// Shows a shot. Redactions and annotations are looked through shot by shot; a line along a known length and the screen
/// in a photo belong to the shot they were drawn on.
pub(crate) fn go_to(editor: &mut Editor, id: &str) {
    let Some(document) = &mut editor.document else { return };
    match document.tool() {
        Tool::Marks => {}
        Tool::Scale { .. } | Tool::Straighten => document.back_to_marking(),
        Tool::Redaction { .. } => document.enter(Mode::Redacting { chosen: None }),
        Tool::Annotations => label::forget(document),
    }
    document.show(id);
}

/// Shows the next shot on which something needed is missing, and goes on marking.
pub(crate) fn go_to_unmarked(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    if let Some(id) = next_unmarked(document) {
        document.back_to_marking();
        document.show(&id);
    }
}

/// The next shot on which something needed is missing, round the whole case.
#[must_use]
pub fn next_unmarked(document: &Document) -> Option<String> {
    let shots = &document.case().shots;
    let here = document.index()?;
    let round = (here + 1..shots.len()).chain(0..here);
    round.map(|i| &shots[i]).find(|shot| shot.draft || !required_done(shot)).map(|shot| shot.id.clone())
}
