//! The page on which shots are read again blind: what is to be read, the session, what came of it.
//!
//! Reading order: [`command`] (what can be asked for), [`session`] (shot after shot).

use crate::app::pages::Page;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::case::document::Case;
use crate::case::document::rereading::Which;
use crate::scene::repeatability::rereading::results;
use crate::study::rereading::{Named, study};

mod command;
pub mod memory;
mod session;
pub mod work;

pub use command::RereadingCommand;
use memory::KeptResults;
pub use memory::{Rereading, Session};
pub use work::{RereadingDone, RereadingWork};

/// Whether there is anything to show.
pub(super) fn can_open(state: &State) -> bool {
    state.editor.document.as_ref().is_some_and(|document| document.shot().is_some())
}

/// The page comes up.
pub(super) fn opened(state: &mut State, _effects: &mut Vec<Effect>) {
    let document = state.editor.document.as_ref();
    let chosen: Vec<String> = document
        .map(|document| document.chosen().iter().map(|shot| shot.id.clone()).collect())
        .unwrap_or_default();
    if chosen.len() > 1 {
        state.pages.rereading.which = Which::Chosen(chosen);
    } else if matches!(state.pages.rereading.which, Which::Chosen(_)) {
        state.pages.rereading.which = Which::default();
    }
}

/// Another page or the picture comes up instead. What was read so far is kept.
pub(super) fn left(state: &mut State) {
    session::stop(state);
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: RereadingCommand, _effects: &mut Vec<Effect>) {
    command::update(state, ask);
}

/// What was marked on the image that is read goes into the case.
pub(super) fn marked(state: &mut State) {
    session::keep(state, None);
}

/// Results follow the case. A session ends whose round is no longer what it was, because the case was changed, closed or exchanged.
pub(super) fn tidy(state: &mut State) {
    session::tidy(state);
    let page = &mut state.pages.rereading;
    let shown = state.pages.shown == Page::Rereading && page.session.is_none();
    let case = state.editor.document.as_ref().map(|document| document.case()).filter(|_| shown);
    let read = |case: &&Case| case.rereadings.iter().any(|one| one.done() > 0);
    let Some(case) = case.filter(read) else {
        page.found = None;
        return;
    };
    let same = |found: &KeptResults| found.with_first == page.with_first && found.case == *case;
    if page.found.as_ref().is_some_and(same) {
        return;
    }
    let named = [Named { name: "", case }];
    let results = results(&study(&named, page.with_first), &case.settings);
    page.found = Some(KeptResults { case: case.clone(), with_first: page.with_first, results });
}

/// Work at the edge: files, long computations.
pub(super) fn perform(work: RereadingWork) -> RereadingDone {
    match work {}
}

/// Takes in what came of it.
pub(super) fn receive(_state: &mut State, done: RereadingDone, _effects: &mut Vec<Effect>) {
    match done {}
}
