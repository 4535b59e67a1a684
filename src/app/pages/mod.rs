//! The pages beside the picture: what fills the window's middle, and how each page hangs in the program.

use std::path::PathBuf;
use std::sync::Arc;

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::{Key, Shortcut};
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::session::editor::Editor;
use crate::app::session::state::State;
use crate::app::shots::frame_preview::FramePreview;
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::picture_store::PictureKey;

pub mod compare;
pub mod figure;
pub mod page;
pub mod practice;
pub mod rereading;
pub mod series;
pub mod tip_path;
pub mod work;

pub use crate::app::session::state::Pages;
pub use page::{Page, Wanted, Wish};
pub use work::{PageDone, PageWork};

/// What a page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum PageCommand {
    /// Show this page in the middle, or the picture again where it is the one shown.
    Go(Page),
    /// Two shots of one body, registered.
    Compare(compare::CompareCommand),
    /// The tip path of one body.
    TipPath(tip_path::TipPathCommand),
    /// A teaching figure and the case report.
    Figure(figure::FigureCommand),
    /// The bodies of many cases.
    Series(series::SeriesCommand),
    /// Blinded re-reading.
    Rereading(rereading::RereadingCommand),
    /// Practice with known truth.
    Practice(practice::PracticeCommand),
}

impl PageWork {
    /// The work in words, at the beginning of a sentence.
    #[must_use]
    pub const fn named(&self) -> &'static str {
        match self {
            Self::Compare(work) => work.named(),
            Self::TipPath(work) => match *work {},
            Self::Figure(work) => work.named(),
            Self::Series(work) => work.named(),
            Self::Rereading(work) => match *work {},
            Self::Practice(work) => work.named(),
        }
    }

    /// What comes of it if the program fails at it, and whether that itself is shown as a notice.
    pub(crate) fn broken_off(&self, text: &str) -> (PageDone, bool) {
        match self {
            Self::Compare(work) => (PageDone::Compare(work.broken_off(text)), false),
            Self::TipPath(work) => match *work {},
            Self::Figure(work) => (PageDone::Figure(work.broken_off(text)), !work.is_seen()),
            Self::Series(work) => (PageDone::Series(work.broken_off(text)), true),
            Self::Rereading(work) => match *work {},
            Self::Practice(work) => (PageDone::Practice(work.broken_off(text)), true),
        }
    }
}

impl Page {
    /// Its label, tooltip and key.
    #[must_use]
    pub fn entry(self) -> Entry {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Picture => ("Back to image", "Close this page and show the image.", &[]),
            Self::Compare => (
                "Compare shots",
                "Register two shots of one body and measure what changed.",
                const { &[Shortcut::plain(Key::Function(6))] },
            ),
            Self::TipPath => (
                "Tip path",
                "Tip path at this level: all shots of this body in order.",
                const { &[Shortcut::plain(Key::Function(7))] },
            ),
            Self::Figure => (
                "Figures and report",
                "Make a teaching figure of the selected shots, or a case report.",
                const { &[Shortcut::plain(Key::Function(8))] },
            ),
            Self::Series => (
                "Case series",
                "The treated bodies of many cases: table, proportions in the target, tip positions.",
                const { &[Shortcut::plain(Key::Function(9))] },
            ),
            Self::Rereading => (
                "Blinded re-reading",
                "Mark shots again without seeing the first marks, to measure repeatability.",
                const { &[Shortcut::plain(Key::Function(10))] },
            ),
            Self::Practice => (
                "Practice (ground truth known)",
                "Mark simulated shots and see your error.",
                const { &[Shortcut::plain(Key::Function(12))] },
            ),
        };
        Entry { label, tip, group: Group::Pages, keys }
    }

    /// Whether the page can come up as things are.
    #[must_use]
    pub fn can_open(self, state: &State) -> bool {
        match self {
            Self::Picture => true,
            Self::Compare => compare::can_open(state),
            Self::TipPath => tip_path::can_open(state),
            Self::Figure => figure::can_open(state),
            Self::Series => series::can_open(state),
            Self::Rereading => rereading::can_open(state),
            Self::Practice => practice::can_open(state),
        }
    }
}

impl PageCommand {
    /// Those with a key, for the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all: Vec<Self> = Page::OTHERS.map(Self::Go).to_vec();
        all.extend(compare::CompareCommand::listed().into_iter().map(Self::Compare));
        all.extend(tip_path::TipPathCommand::listed().into_iter().map(Self::TipPath));
        all.extend(figure::FigureCommand::listed().into_iter().map(Self::Figure));
        all.extend(series::SeriesCommand::listed().into_iter().map(Self::Series));
        all.extend(rereading::RereadingCommand::listed().into_iter().map(Self::Rereading));
        all.extend(practice::PracticeCommand::listed().into_iter().map(Self::Practice));
        all
    }

    /// Word, explanation and key.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        match self {
            Self::Go(page) => Some(page.entry()),
            Self::Compare(ask) => ask.entry(),
            Self::TipPath(ask) => ask.entry(),
            Self::Figure(ask) => ask.entry(),
            Self::Series(ask) => ask.entry(),
            Self::Rereading(ask) => ask.entry(),
            Self::Practice(ask) => ask.entry(),
        }
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, state: &State) -> Option<Refusal> {
        match self {
            Self::Go(Page::Picture) if state.pages.shown == Page::Picture => {
                unless(false, "The image is shown already.")
            }
            Self::Go(page) => unless(page.can_open(state) || *page == state.pages.shown, NO_SHOT),
            // What it shows is let go with the page.
            Self::Compare(_) if state.pages.shown != Page::Compare => {
                unless(false, "Open the page of compared shots first.")
            }
            Self::Compare(command) => command.refusal(state),
            Self::TipPath(command) => command.refusal(state),
            Self::Figure(command) => command.refusal(state),
            Self::Series(command) => command.refusal(state),
            Self::Rereading(command) => command.refusal(state),
            Self::Practice(command) => command.refusal(state),
        }
    }

    /// Whether it would do something at present.
    #[must_use]
    pub fn available(&self, state: &State) -> bool {
        self.refusal(state).is_none()
    }
}

/// Carries a command of a page out.
pub(crate) fn apply(state: &mut State, command: PageCommand, effects: &mut Vec<Effect>) {
    match command {
        PageCommand::Go(page) => go(state, page, effects),
        PageCommand::Compare(command) => compare::update(state, command, effects),
        PageCommand::TipPath(command) => tip_path::update(state, command, effects),
        PageCommand::Figure(command) => figure::update(state, command, effects),
        PageCommand::Series(command) => series::update(state, command, effects),
        PageCommand::Rereading(command) => rereading::update(state, command, effects),
        PageCommand::Practice(command) => practice::update(state, command, effects),
    }
}

fn go(state: &mut State, page: Page, effects: &mut Vec<Effect>) {
    // The key of the page that is shown leads back to the picture.
    let page = if page == state.pages.shown { Page::Picture } else { page };
    if !page.can_open(state) {
        return;
    }
    if state.pages.shown == Page::Rereading {
        rereading::left(state);
    }
    // Frames are not played unseen.
    state.editor.peek = state.editor.peek.take().map(|peek| FramePreview { playing: false, ..peek });
    state.pages.shown = page;
    match page {
        Page::Picture => {}
        Page::Compare => compare::opened(state, effects),
        Page::TipPath => tip_path::opened(state, effects),
        Page::Figure => figure::opened(state, effects),
        Page::Series => series::opened(state, effects),
        Page::Rereading => rereading::opened(state, effects),
        Page::Practice => practice::opened(state, effects),
    }
}

/// The editor of the image that is marked on the shown page, if it has one.
#[must_use]
pub fn editor(pages: &Pages) -> Option<&Editor> {
    match pages.shown {
        Page::Rereading => pages.rereading.session.as_ref().map(|session| &session.editor),
        Page::Practice => pages.practice.exercise.as_ref().map(|exercise| &exercise.editor),
        Page::Picture | Page::Compare | Page::TipPath | Page::Figure | Page::Series => None,
    }
}

/// The same, to be changed.
pub fn editor_mut(pages: &mut Pages) -> Option<&mut Editor> {
    match pages.shown {
        Page::Rereading => pages.rereading.session.as_mut().map(|session| &mut session.editor),
        Page::Practice => pages.practice.exercise.as_mut().map(|exercise| &mut exercise.editor),
        Page::Picture | Page::Compare | Page::TipPath | Page::Figure | Page::Series => None,
    }
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
    match state.pages.shown {
        Page::Rereading => rereading::marked(state),
        Page::Picture | Page::Compare | Page::TipPath | Page::Figure | Page::Series | Page::Practice => {}
    }
}

/// A page that has nothing left to show gives way to the picture, and so does one whose case has been opened.
pub(crate) fn tidy(state: &mut State) {
    series::follow(state);
    rereading::tidy(state);
    if !state.pages.shown.can_open(state) {
        state.pages.shown = Page::Picture;
    }
}

/// What follows every change: what a page shows is made anew.
pub(crate) fn follow(state: &mut State, effects: &mut Vec<Effect>) {
    match state.pages.shown {
        Page::Compare => compare::follow(state, effects),
        Page::TipPath => tip_path::follow(state),
        Page::Figure => figure::follow(state, effects),
        Page::Picture | Page::Series | Page::Rereading | Page::Practice => {}
    }
    if state.pages.shown != Page::Compare {
        compare::left(state);
    }
}

/// The pictures that the shown page needs beside the shown shot's.
pub(crate) fn pictures(state: &State) -> Vec<PictureKey> {
    match state.pages.shown {
        Page::Compare => compare::pictures(state),
        Page::TipPath => tip_path::pictures(state),
        // An exercise lies in no file, so its image is there from the beginning.
        Page::Rereading => editor(&state.pages).and_then(Editor::shown_key).into_iter().collect(),
        Page::Picture | Page::Figure | Page::Series | Page::Practice => Vec::new(),
    }
}

/// The user has chosen paths for a page.
pub(crate) fn chosen(state: &mut State, wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    match wish.page {
        Page::Picture | Page::Compare | Page::TipPath | Page::Rereading | Page::Practice => {}
        Page::Figure => figure::chosen(state, wish, paths, effects),
        Page::Series => series::chosen(state, wish, paths, effects),
    }
}

/// Does a page's work at the edge. Work that takes long says how far it has come and heeds `cancel`.
#[allow(unreachable_code, reason = "some pages have no work")]
pub(crate) fn perform(work: PageWork, cancel: &Cancel, say: &mut (dyn FnMut(Outcome) + Send)) -> PageDone {
    match work {
        PageWork::Compare(work) => PageDone::Compare(compare::perform(work)),
        PageWork::TipPath(work) => PageDone::TipPath(tip_path::perform(work)),
        PageWork::Figure(work) => PageDone::Figure(figure::perform(work)),
        PageWork::Series(work) => PageDone::Series(series::perform(work, cancel, say)),
        PageWork::Rereading(work) => PageDone::Rereading(rereading::perform(work)),
        PageWork::Practice(work) => PageDone::Practice(practice::perform(work)),
    }
}

/// Takes in what came of a page's work.
pub(crate) fn receive(state: &mut State, done: PageDone, effects: &mut Vec<Effect>) {
    match done {
        PageDone::Compare(done) => compare::receive(state, done, effects),
        PageDone::TipPath(done) => tip_path::receive(state, done, effects),
        PageDone::Figure(done) => figure::receive(state, done, effects),
        PageDone::Series(done) => series::receive(state, done, effects),
        PageDone::Rereading(done) => rereading::receive(state, done, effects),
        PageDone::Practice(done) => practice::receive(state, done, effects),
    }
}
