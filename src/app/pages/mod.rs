//! The pages beside the picture: what fills the window's middle. Each page says what differs from what pages do as a rule
//! ([`behavior`]); this file finds the page that is meant, and hands on.

use std::path::PathBuf;
use std::sync::Arc;

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::Entry;
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::session::editor::Editor;
use crate::app::session::state::State;
use crate::app::shots::frame_preview::FramePreview;
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::picture_store::PictureKey;

pub mod behavior;
pub mod command;
mod command_of_page;
pub mod compare;
pub mod figure;
mod image_page;
pub mod overview;
pub mod page;
mod page_file;
mod page_keys;
pub mod page_order;
pub mod practice;
pub mod presenting;
pub mod rereading;
pub mod series;
pub mod tip_path;
mod undo;
pub mod work;

pub use crate::app::session::state::Pages;
use behavior::{Meaning, PageBehavior};
pub use command::PageCommand;
use command::no_step;
pub use page::{Page, PathKind, Wish};
pub use work::{PageDone, PageWork};

impl Page {
    /// What the page is to the program.
    fn behavior(self) -> &'static dyn PageBehavior {
        match self {
            Self::Picture => &image_page::ImagePage,
            Self::Overview => &overview::OverviewPage,
            Self::Compare => &compare::ComparePage,
            Self::TipPath => &tip_path::TipPath,
            Self::Figure => &figure::FigurePage,
            Self::Series => &series::SeriesPage,
            Self::Rereading => &rereading::RereadingPage,
            Self::Practice => &practice::PracticePage,
            Self::Presenting => &presenting::PresentingPage,
        }
    }

    /// All of them.
    fn all() -> impl Iterator<Item = Self> {
        std::iter::once(Self::Picture).chain(Self::OTHERS)
    }

    /// Its label, tooltip and key.
    #[must_use]
    pub fn entry(self) -> Entry {
        self.behavior().entry()
    }

    /// Whether the page can come up as things are.
    #[must_use]
    pub fn can_open(self, state: &State) -> bool {
        self.behavior().can_open(state)
    }
}

/// What a key or the pointer means while the shown page is there.
#[must_use]
pub(crate) fn meaning(state: &State, command: EditorCommand) -> Meaning {
    state.pages.shown.behavior().meaning(state, command)
}

/// Label, tooltip and keys of a command.
#[must_use]
pub(crate) fn entry(command: &PageCommand) -> Option<Entry> {
    match command {
        PageCommand::Go(page) => Some(page.entry()),
        other => other.of_page()?.entry(),
    }
}

/// Why a command would do nothing at present; `None` where it would.
#[must_use]
pub(crate) fn refusal(state: &State, command: &PageCommand) -> Option<Refusal> {
    match command {
        PageCommand::Go(Page::Picture) if state.pages.shown == Page::Picture => {
            unless(false, "The image is shown already.")
        }
        PageCommand::Go(Page::Presenting) => presenting::command::refusal(state),
        PageCommand::Go(page) => unless(page.can_open(state) || *page == state.pages.shown, NO_SHOT),
        PageCommand::Undo => no_step(state, false),
        PageCommand::Redo => no_step(state, true),
        PageCommand::Overview(_) if state.pages.shown != Page::Overview => {
            unless(false, "Open the shot overview first.")
        }
        // What it shows is let go with the page.
        PageCommand::Compare(_) if state.pages.shown != Page::Compare => {
            unless(false, "Open the page of compared shots first.")
        }
        other => other.of_page()?.refusal(state),
    }
}

/// Carries a command of a page out.
pub(crate) fn apply(state: &mut State, command: PageCommand, effects: &mut Vec<Effect>) {
    match command {
        PageCommand::Go(page) => go(state, page, effects),
        PageCommand::Undo => step(state, false),
        PageCommand::Redo => step(state, true),
        PageCommand::Overview(command) => overview::update(state, command, effects),
        PageCommand::Compare(command) => compare::update(state, command, effects),
        PageCommand::TipPath(command) => tip_path::update(state, command, effects),
        PageCommand::Figure(command) => figure::update(state, command, effects),
        PageCommand::Series(command) => series::update(state, command, effects),
        PageCommand::Rereading(command) => rereading::command::update(state, command),
        PageCommand::Practice(command) => practice::command::update(state, command, effects),
        PageCommand::Present(command) => present(state, &command, effects),
    }
}

/// One step back or forth through the changes of the case, as far as the shown page shows them.
fn step(state: &mut State, forward: bool) {
    let State { editor, pages, refused, .. } = state;
    let page = pages.shown.behavior();
    let why = undo::step(editor, forward, |shot| page.shows(pages, shot));
    *refused = why.map(std::borrow::Cow::into_owned);
}

fn go(state: &mut State, page: Page, effects: &mut Vec<Effect>) {
    // The key of the page that is shown leads back to the picture, or to where it came from.
    let page = if page == state.pages.shown { behind(state) } else { page };
    if !page.can_open(state) {
        return;
    }
    show(state, page, effects);
}

/// Shows a page in the place of the one that is shown.
fn show(state: &mut State, page: Page, effects: &mut Vec<Effect>) {
    let shown = state.pages.shown.behavior();
    let back = shown.came_from(&state.pages);
    shown.left(state);
    if page == Page::Presenting {
        state.pages.presenting.from = state.pages.shown;
    }
    // Frames are not played unseen.
    state.editor.peek = state.editor.peek.take().map(|peek| FramePreview { playing: false, ..peek });
    state.pages.shown = page;
    if back != Some(page) {
        page.behavior().opened(state, effects);
    }
}

/// Where Esc leads from the shown page.
fn behind(state: &State) -> Page {
    state.pages.shown.behavior().came_from(&state.pages).unwrap_or(Page::Picture)
}

/// Carries out what presenting is asked for.
fn present(state: &mut State, command: &presenting::PresentCommand, effects: &mut Vec<Effect>) {
    match command {
        presenting::PresentCommand::Questions if state.pages.shown != Page::Presenting => {
            state.pages.presenting.questions = true;
            return show(state, Page::Presenting, effects);
        }
        presenting::PresentCommand::End => show(state, behind(state), effects),
        presenting::PresentCommand::Questions
        | presenting::PresentCommand::Next
        | presenting::PresentCommand::Back
        | presenting::PresentCommand::Reveal
        | presenting::PresentCommand::Room(..) => {}
    }
    presenting::update(state, command);
}

/// The editor of the image that is marked on the shown page, if it has one.
#[must_use]
pub fn editor(pages: &Pages) -> Option<&Editor> {
    pages.shown.behavior().editor(pages)
}

/// The same, to be changed.
pub fn editor_mut(pages: &mut Pages) -> Option<&mut Editor> {
    pages.shown.behavior().editor_mut(pages)
}

/// The editor that pointer and keys are about: the shown page's own, else that of the open case.
#[must_use]
pub fn active(state: &State) -> &Editor {
    editor(&state.pages).unwrap_or(&state.editor)
}

/// The same, to be changed.
pub fn active_mut(state: &mut State) -> &mut Editor {
    match editor_mut(&mut state.pages) {
        Some(editor) => editor,
        None => &mut state.editor,
    }
}

/// The shown page's editor looks into the store of images as it is now.
pub(crate) fn lend_pictures(state: &mut State) {
    if let Some(editor) = editor_mut(&mut state.pages) {
        editor.pictures = Arc::clone(&state.editor.pictures);
    }
}

/// What was marked on the shown page's image is taken in where the page keeps it.
pub(crate) fn marked(state: &mut State) {
    state.pages.shown.behavior().marked(state);
}

/// A page that has nothing left to show gives way to the picture, and so does one whose case has been opened.
pub(crate) fn tidy(state: &mut State) {
    for page in Page::all() {
        page.behavior().tidy(state);
    }
    if !state.pages.shown.can_open(state) {
        state.pages.shown.behavior().left(state);
        state.pages.shown = Page::Picture;
    }
}

/// What follows every change: what a page shows is made anew.
pub(crate) fn follow(state: &mut State, effects: &mut Vec<Effect>) {
    state.pages.shown.behavior().follow(state, effects);
}

/// The pictures that the shown page needs beside the shown shot's.
pub(crate) fn pictures(state: &State) -> Vec<PictureKey> {
    state.pages.shown.behavior().pictures(state)
}

/// The user has chosen paths for a page.
pub(crate) fn chosen(state: &mut State, wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    wish.page.behavior().chosen(state, wish, paths, effects);
}

/// Does a page's work at the edge. Work that takes long says how far it has come and heeds `cancel`.
pub(crate) fn perform(work: PageWork, cancel: &Cancel, say: &mut (dyn FnMut(Outcome) + Send)) -> PageDone {
    match work {
        PageWork::Compare(work) => PageDone::Compare(compare::perform(work)),
        PageWork::Figure(work) => {
            let mut said = |done| say(Outcome::Page(PageDone::Figure(done)));
            PageDone::Figure(figure::drawing::perform(work, cancel, &mut said))
        }
        PageWork::Series(work) => PageDone::Series(series::work::perform(work, cancel, say)),
        PageWork::Practice(work) => PageDone::Practice(practice::perform(work, cancel)),
        PageWork::Present(work) => PageDone::Present(Box::new(presenting::work::perform(*work))),
    }
}

/// Takes in what came of a page's work.
pub(crate) fn receive(state: &mut State, done: PageDone) {
    match done {
        PageDone::Compare(done) => compare::receive(state, done),
        PageDone::Figure(done) => figure::receive(state, done),
        PageDone::Series(done) => series::receive(state, done),
        PageDone::Practice(done) => practice::receive(state, done),
        PageDone::Present(done) => presenting::receive(state, *done),
    }
}
