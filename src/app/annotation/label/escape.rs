//! What Esc does while annotations are worked on.

use crate::app::session::document::Document;

/// One thing goes back at a time: the label under way, the crosshair, what is chosen, and then the work itself.
pub(crate) fn put_down(document: &mut Document) {
    let labelling = &mut document.labelling;
    if !labelling.placed.is_empty() {
        labelling.placed.clear();
    } else if document.crosshair.is_some() {
        document.crosshair = None;
    } else if labelling.chosen.is_empty() {
        document.back_to_marking();
    } else {
        labelling.chosen.clear();
    }
}
