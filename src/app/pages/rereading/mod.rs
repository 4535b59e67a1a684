//! The page on which shots are read again blind: what is to be read, the session, what came of it.
//!
//! Reading order: [`command`] (what can be asked for), `session` (shot after shot).

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::command::shots::ShotsCommand;
use crate::app::pages::behavior::{Meaning, NO_IMAGE, ONE_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::page::Page;
use crate::app::pages::page_keys::PageKey;
use crate::app::session::editor::Editor;
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;
use crate::case::document::Case;
use crate::case::document::rereading::Which;
use crate::scene::repeatability::rereading::results;
use crate::study::rereading::{Named, study};

pub mod command;
pub mod memory;
mod session;

pub use command::RereadingCommand;
use memory::KeptResults;
pub use memory::{RereadingSession, RereadingState};

/// The page.
pub(super) struct RereadingPage;

impl PageBehavior for RereadingPage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Blinded re-reading",
            tip: "Mark shots again without seeing the first marks, to measure repeatability.",
            group: Group::Pages,
            keys: key_bindings::pages::REREADING,
        }
    }

    fn opened(&self, state: &mut State, _effects: &mut Vec<Effect>) {
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

    /// What was read so far is kept.
    fn left(&self, state: &mut State) {
        session::stop(state);
    }

    /// While a session is under way its image takes what concerns marks; without one the page goes back and forth
    /// through its own changes of the case only.
    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        if let EditorCommand::Shots(ShotsCommand::Next) = command {
            return Meaning::Page(PageCommand::Rereading(RereadingCommand::Next));
        }
        if state.pages.rereading.session.is_some() {
            return match command {
                EditorCommand::Marks(_) | EditorCommand::View(_) | EditorCommand::Case(_) => {
                    Meaning::Own(command)
                }
                EditorCommand::Shots(_) | EditorCommand::Annotations(_) => Meaning::nothing(ONE_IMAGE),
            };
        }
        match PageKey::of(&command) {
            Some(PageKey::Undo) => Meaning::Page(PageCommand::Undo),
            Some(PageKey::Redo) => Meaning::Page(PageCommand::Redo),
            Some(_) | None => Meaning::nothing(NO_IMAGE),
        }
    }

    fn editor<'a>(&self, pages: &'a Pages) -> Option<&'a Editor> {
        pages.rereading.session.as_ref().map(|session| &session.editor)
    }

    fn editor_mut<'a>(&self, pages: &'a mut Pages) -> Option<&'a mut Editor> {
        pages.rereading.session.as_mut().map(|session| &mut session.editor)
    }

    /// It goes into the case.
    fn marked(&self, state: &mut State) {
        session::keep(state, None);
    }

    /// Results follow the case. A session ends whose round is no longer what it was, because the case was changed,
    /// closed or exchanged.
    fn tidy(&self, state: &mut State) {
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
        let first = (!page.with_first).then(|| study(&named, true));
        let results = results(&study(&named, page.with_first), first.as_ref(), case);
        page.found = Some(KeptResults { case: case.clone(), with_first: page.with_first, results });
    }

    fn pictures(&self, state: &State) -> Vec<PictureKey> {
        self.editor(&state.pages).and_then(Editor::shown_key).into_iter().collect()
    }
}
