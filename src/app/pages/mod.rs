//! The pages beside the picture: what fills the window's middle, and how each page hangs in the program.

use std::path::PathBuf;

use crate::app::command::Command;
use crate::app::command::entry::{Entry, Group};
use crate::app::session::editor::{self, Editor};
use crate::app::session::state::{PictureKey, State};
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::{Decoded, Effect, Outcome};

pub mod compare;
pub mod figure;
pub mod practice;
pub mod rereading;
pub mod series;
pub mod tip_path;

/// What fills the window's middle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Page {
    /// One picture with its marks.
    #[default]
    Picture,
    /// Two shots of one body laid on each other.
    Compare,
    /// The run of one body's shots.
    TipPath,
    /// A figure being made.
    Figure,
    /// Many cases.
    Series,
    /// Shots read again blind.
    Rereading,
    /// Simulated shots with known truth.
    Practice,
}

/// What all pages remember.
#[derive(Debug, Default)]
pub struct Pages {
    /// Which one is shown.
    pub shown: Page,
    /// Page of the same name.
    pub compare: compare::Compare,
    /// Page of the same name.
    pub tip_path: tip_path::TipPathPage,
    /// Page of the same name.
    pub figure: figure::Figure,
    /// Page of the same name.
    pub series: series::Series,
    /// Page of the same name.
    pub rereading: rereading::Rereading,
    /// Page of the same name.
    pub practice: practice::Practice,
}

/// What a page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum PageCommand {
    /// Page of the same name.
    Compare(compare::CompareCommand),
    /// Page of the same name.
    TipPath(tip_path::TipPathCommand),
    /// Page of the same name.
    Figure(figure::FigureCommand),
    /// Page of the same name.
    Series(series::SeriesCommand),
    /// Page of the same name.
    Rereading(rereading::RereadingCommand),
    /// Page of the same name.
    Practice(practice::PracticeCommand),
}

/// What is done for a page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum PageWork {
    /// Page of the same name.
    Compare(compare::CompareWork),
    /// Page of the same name.
    TipPath(tip_path::TipPathWork),
    /// Page of the same name.
    Figure(figure::FigureWork),
    /// Page of the same name.
    Series(series::SeriesWork),
    /// Page of the same name.
    Rereading(rereading::RereadingWork),
    /// Page of the same name.
    Practice(practice::PracticeWork),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum PageDone {
    /// Page of the same name.
    Compare(compare::CompareDone),
    /// Page of the same name.
    TipPath(tip_path::TipPathDone),
    /// Page of the same name.
    Figure(figure::FigureDone),
    /// Page of the same name.
    Series(series::SeriesDone),
    /// Page of the same name.
    Rereading(rereading::RereadingDone),
    /// Page of the same name.
    Practice(practice::PracticeDone),
}

/// A path that a page wants from the user.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wish {
    /// For which page.
    pub page: Page,
    /// What kind of path.
    pub what: Wanted,
    /// The dialog's title, as "Save the figure".
    pub title: &'static str,
    /// The sentence over the field where a path is typed when the system has no dialog.
    pub typed: &'static str,
}

/// A kind of path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A file to write, with the endings it may have.
    File(&'static [&'static str]),
    /// A folder that is there.
    Folder,
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
    /// All but the picture itself, in the order of the menu.
    pub const OTHERS: [Self; 6] =
        [Self::Compare, Self::TipPath, Self::Figure, Self::Series, Self::Rereading, Self::Practice];

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
        let mut all = Vec::new();
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
            Self::Compare(ask) => ask.entry(),
            Self::TipPath(ask) => ask.entry(),
            Self::Figure(ask) => ask.entry(),
            Self::Series(ask) => ask.entry(),
            Self::Rereading(ask) => ask.entry(),
            Self::Practice(ask) => ask.entry(),
        }
    }

    /// Whether it would do anything at present.
    #[must_use]
    pub fn available(&self, state: &State) -> bool {
        match self {
            Self::Compare(ask) => ask.available(state),
            Self::TipPath(ask) => ask.available(state),
            Self::Figure(ask) => ask.available(state),
            Self::Series(ask) => ask.available(state),
            Self::Rereading(ask) => ask.available(state),
            Self::Practice(ask) => ask.available(state),
        }
    }
}

/// What concerns pages; gives every other command back.
pub(crate) fn update(state: &mut State, command: Command, effects: &mut Vec<Effect>) -> Option<Command> {
    match command {
        Command::Go(page) => go(state, page, effects),
        Command::On(ask) => match ask {
            PageCommand::Compare(ask) => compare::update(state, ask, effects),
            PageCommand::TipPath(ask) => tip_path::update(state, ask, effects),
            PageCommand::Figure(ask) => figure::update(state, ask, effects),
            PageCommand::Series(ask) => series::update(state, ask, effects),
            PageCommand::Rereading(ask) => rereading::update(state, ask, effects),
            PageCommand::Practice(ask) => practice::update(state, ask, effects),
        },
        command => {
            return match state.pages.shown {
                Page::Picture => Some(command),
                Page::Compare => compare::intercept(state, command, effects),
                Page::TipPath => tip_path::intercept(state, command, effects),
                Page::Figure => figure::intercept(state, command, effects),
                Page::Series => series::intercept(state, command, effects),
                Page::Rereading => rereading::intercept(state, command, effects),
                Page::Practice => practice::intercept(state, command, effects),
            };
        }
    }
    None
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

/// Whether a key for this command means something while a page is shown: files, pages and the window do on every
/// page, what works on the picture does on none that does not say so.
#[must_use]
pub fn hears(state: &State, command: &Command) -> bool {
    let general = matches!(command, Command::Undo | Command::Redo)
        || command
            .entry()
            .is_some_and(|entry| matches!(entry.group, Group::File | Group::Pages | Group::Window));
    match state.pages.shown {
        Page::Picture => true,
        Page::Compare => general || compare::hears(state, command),
        Page::TipPath => general || tip_path::hears(state, command),
        Page::Figure => general || figure::hears(state, command),
        Page::Series => general || series::hears(state, command),
        Page::Rereading => general || rereading::hears(state, command),
        Page::Practice => general || practice::hears(state, command),
    }
}

/// The desk on which marks are made on the shown page, if it has one.
#[must_use]
pub fn desk(state: &State) -> Option<&Editor> {
    match state.pages.shown {
        Page::Rereading => rereading::desk(state),
        Page::Practice => practice::desk(state),
        Page::Picture | Page::Compare | Page::TipPath | Page::Figure | Page::Series => None,
    }
}

/// The same, to be changed.
pub fn desk_mut(state: &mut State) -> Option<&mut Editor> {
    match state.pages.shown {
        Page::Rereading => rereading::desk_mut(state),
        Page::Practice => practice::desk_mut(state),
        Page::Picture | Page::Compare | Page::TipPath | Page::Figure | Page::Series => None,
    }
}

/// The state that tells whether a command is available: a desk's own for what is done on it.
#[must_use]
pub fn answering<'a>(state: &'a State, command: &Command) -> &'a State {
    match desk(state) {
        Some(desk) if editor::takes(command) => &desk.state,
        _ => state,
    }
}

/// Whether the key of a command does anything at present, on whatever page is shown.
#[must_use]
pub fn can(state: &State, command: &Command) -> bool {
    match (state.pages.shown, command) {
        (Page::Rereading, Command::NextShot) => rereading::RereadingCommand::Next.available(state),
        (Page::Practice, Command::NextShot) => practice::PracticeCommand::Begin.available(state),
        _ => command.available(answering(state, command)),
    }
}

/// A picture has been read, perhaps for a page.
pub(crate) fn picture(state: &mut State, key: &PictureKey, result: &Result<Box<Decoded>, String>) {
    rereading::picture(state, key, result);
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
        Page::Picture | Page::Figure | Page::Series | Page::Rereading | Page::Practice => Vec::new(),
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
pub(crate) fn perform(work: PageWork, cancel: &Cancel, say: &mut dyn FnMut(Outcome)) -> PageDone {
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
