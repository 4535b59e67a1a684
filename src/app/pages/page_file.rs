//! Saving and copying what a page of the window shows as a page of paper.

use std::path::PathBuf;

use crate::app::files::questions::{Leave, Purpose};
use crate::app::files::saving::folder_of;
use crate::app::pages::page::{Page, PathKind, Wish};
use crate::app::pages::page_order::{PageOf, PageOrder};
use crate::app::session::state::State;
use crate::app::work::effect::Effect;

/// The order of what is to be made of the open case; `None` without one.
pub(super) fn order(state: &State, of: PageOf) -> Option<PageOrder> {
    let document = state.editor.document.as_ref()?;
    Some(PageOrder {
        case: Box::new(document.case().clone()),
        file: document.file.clone(),
        of,
        mode: state.display.mode,
    })
}

/// What is asked where a page is to be saved as a picture or a document.
pub(super) const fn wish(page: Page, title: &'static str, typed: &'static str) -> Wish {
    Wish { page, what: PathKind::File(&["png", "svg", "pdf"]), title, typed }
}

/// Asks for a path beside the case's file, or before it has one beside its images.
pub(super) fn ask(state: &State, wish: Wish, name: &str, effects: &mut Vec<Effect>) {
    let suggestion = Some(folder_of(state).map_or_else(|| PathBuf::from(name), |folder| folder.join(name)));
    effects.push(Effect::Ask { purpose: Purpose::Page(wish), suggestion, leave: Leave::Stay });
}
