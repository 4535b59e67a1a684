//! The page on which shots are read again blind: what is to be read, the session, what came of it.
//!
//! Reading order: [`command`] (what can be asked for), [`session`] (shot after shot).

use crate::app::command::Command;
use crate::app::pages::Page;
use crate::app::session::editor;
use crate::app::session::state::{PictureKey, State};
use crate::app::work::effect::{Decoded, Effect};
use crate::case::document::Case;
use crate::case::document::rereading::Which;
use crate::scene::repeatability::rereading::{Results, results};
use crate::study::rereading::{Named, study};

mod command;
mod session;

pub use command::RereadingCommand;
pub use session::Session;

/// What the page remembers.
#[derive(Debug, Default)]
pub struct Rereading {
    /// Who reads; `None` until something is typed, then it stands for the case's operator.
    pub operator: Option<String>,
    /// Which shots are to be read.
    pub which: Which,
    /// The number by which the order is shuffled, as typed; empty for one that follows from operator and round.
    pub seed: String,
    /// Whether the first marks are left out of the results.
    pub blind_only: bool,
    /// The session that is under way.
    pub session: Option<Session>,
    found: Option<KeptResults>,
}

/// Results, and what they are made from.
#[derive(Debug)]
struct KeptResults {
    case: Case,
    blind_only: bool,
    results: Results,
}

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum RereadingWork {}

/// What came of that.
#[derive(Clone, Debug)]
pub enum RereadingDone {}

impl Rereading {
    /// What the blind readings of the case say, if there are any.
    #[must_use]
    pub fn results(&self) -> Option<&Results> {
        self.found.as_ref().map(|found| &found.results)
    }

    /// The operator as it stands in the field.
    #[must_use]
    pub fn operator(&self, state: &State) -> String {
        let of_case = || state.document.as_ref().and_then(|document| document.case().operator.clone());
        self.operator.clone().or_else(of_case).unwrap_or_default()
    }

    /// The shots that would be read, in the case's order.
    #[must_use]
    pub fn shots(&self, state: &State) -> Vec<String> {
        state.document.as_ref().map(|document| self.which.shots(document.case())).unwrap_or_default()
    }
}

/// Whether there is anything to show.
pub(super) fn can_open(state: &State) -> bool {
    state.document.as_ref().is_some_and(|document| document.shot().is_some())
}

/// The page comes up.
pub(super) fn opened(state: &mut State, _effects: &mut Vec<Effect>) {
    let document = state.document.as_ref();
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

/// The desk, while a session is under way.
pub(super) fn desk(state: &State) -> Option<&editor::Editor> {
    state.pages.rereading.session.as_ref().map(|session| &session.desk)
}

/// The same, to be changed.
pub(super) fn desk_mut(state: &mut State) -> Option<&mut editor::Editor> {
    state.pages.rereading.session.as_mut().map(|session| &mut session.desk)
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: RereadingCommand, effects: &mut Vec<Effect>) {
    command::update(state, ask, effects);
}

/// Carries a command on marks out on the image that is read.
pub(super) fn mark(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    session::mark(state, command, effects);
}

/// A picture has been read, perhaps for the session.
pub(super) fn picture(state: &mut State, key: &PictureKey, result: &Result<Box<Decoded>, String>) {
    if let Some(desk) = desk_mut(state) {
        desk.receive(key, result);
    }
}

/// Results follow the case. A session ends whose round is no longer what it was, because the case was changed, closed or exchanged.
pub(super) fn tidy(state: &mut State) {
    session::tidy(state);
    let page = &mut state.pages.rereading;
    let shown = state.pages.shown == Page::Rereading && page.session.is_none();
    let case = state.document.as_ref().map(|document| document.case()).filter(|_| shown);
    let read = |case: &&Case| case.rereadings.iter().any(|one| one.done() > 0);
    let Some(case) = case.filter(read) else {
        page.found = None;
        return;
    };
    let same = |found: &KeptResults| found.blind_only == page.blind_only && found.case == *case;
    if page.found.as_ref().is_some_and(same) {
        return;
    }
    let named = [Named { name: "", case }];
    let results = results(&study(&named, !page.blind_only), &case.settings);
    page.found = Some(KeptResults { case: case.clone(), blind_only: page.blind_only, results });
}

/// Work at the edge: files, long computations.
pub(super) fn perform(work: RereadingWork) -> RereadingDone {
    match work {}
}

/// Takes in what came of it.
pub(super) fn receive(_state: &mut State, done: RereadingDone, _effects: &mut Vec<Effect>) {
    match done {}
}
