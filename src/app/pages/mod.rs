//! The pages beside the picture: what fills the window's middle, and how each page hangs in the program.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use crate::app::command::Command;
use crate::app::desk::{self, Desk};
use crate::app::effect::{Decoded, Effect, Outcome};
use crate::app::entries::{Entry, Group};
use crate::app::state::{PictureKey, State};

pub mod compare;
pub mod figure;
pub mod practice;
pub mod rereading;
pub mod run;
pub mod series;

/// What fills the window's middle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Page {
    /// One picture with its marks.
    #[default]
    Picture,
    /// Two shots of one body laid on each other.
    Compare,
    /// The run of one body's shots.
    Run,
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
    pub run: run::Run,
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
pub enum Ask {
    /// Page of the same name.
    Compare(compare::Ask),
    /// Page of the same name.
    Run(run::Ask),
    /// Page of the same name.
    Figure(figure::Ask),
    /// Page of the same name.
    Series(series::Ask),
    /// Page of the same name.
    Rereading(rereading::Ask),
    /// Page of the same name.
    Practice(practice::Ask),
}

/// What is done for a page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Work {
    /// Page of the same name.
    Compare(compare::Work),
    /// Page of the same name.
    Run(run::Work),
    /// Page of the same name.
    Figure(figure::Work),
    /// Page of the same name.
    Series(series::Work),
    /// Page of the same name.
    Rereading(rereading::Work),
    /// Page of the same name.
    Practice(practice::Work),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum Done {
    /// Page of the same name.
    Compare(compare::Done),
    /// Page of the same name.
    Run(run::Done),
    /// Page of the same name.
    Figure(figure::Done),
    /// Page of the same name.
    Series(series::Done),
    /// Page of the same name.
    Rereading(rereading::Done),
    /// Page of the same name.
    Practice(practice::Done),
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

impl Page {
    /// All but the picture itself, in the order of the menu.
    pub const OTHERS: [Self; 6] =
        [Self::Compare, Self::Run, Self::Figure, Self::Series, Self::Rereading, Self::Practice];

    /// Whether the page can come up as things are.
    #[must_use]
    pub fn can_open(self, state: &State) -> bool {
        match self {
            Self::Picture => true,
            Self::Compare => compare::can_open(state),
            Self::Run => run::can_open(state),
            Self::Figure => figure::can_open(state),
            Self::Series => series::can_open(state),
            Self::Rereading => rereading::can_open(state),
            Self::Practice => practice::can_open(state),
        }
    }
}

impl Ask {
    /// Those with a key, for the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all = Vec::new();
        all.extend(compare::Ask::listed().into_iter().map(Self::Compare));
        all.extend(run::Ask::listed().into_iter().map(Self::Run));
        all.extend(figure::Ask::listed().into_iter().map(Self::Figure));
        all.extend(series::Ask::listed().into_iter().map(Self::Series));
        all.extend(rereading::Ask::listed().into_iter().map(Self::Rereading));
        all.extend(practice::Ask::listed().into_iter().map(Self::Practice));
        all
    }

    /// Word, explanation and key.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        match self {
            Self::Compare(ask) => ask.entry(),
            Self::Run(ask) => ask.entry(),
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
            Self::Run(ask) => ask.available(state),
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
            Ask::Compare(ask) => compare::update(state, ask, effects),
            Ask::Run(ask) => run::update(state, ask, effects),
            Ask::Figure(ask) => figure::update(state, ask, effects),
            Ask::Series(ask) => series::update(state, ask, effects),
            Ask::Rereading(ask) => rereading::update(state, ask, effects),
            Ask::Practice(ask) => practice::update(state, ask, effects),
        },
        command => {
            return match state.pages.shown {
                Page::Picture => Some(command),
                Page::Compare => compare::intercept(state, command, effects),
                Page::Run => run::intercept(state, command, effects),
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
        Page::Run => run::opened(state, effects),
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
        Page::Run => general || run::hears(state, command),
        Page::Figure => general || figure::hears(state, command),
        Page::Series => general || series::hears(state, command),
        Page::Rereading => general || rereading::hears(state, command),
        Page::Practice => general || practice::hears(state, command),
    }
}

/// The desk on which marks are made on the shown page, if it has one.
#[must_use]
pub fn desk(state: &State) -> Option<&Desk> {
    match state.pages.shown {
        Page::Rereading => rereading::desk(state),
        Page::Practice => practice::desk(state),
        Page::Picture | Page::Compare | Page::Run | Page::Figure | Page::Series => None,
    }
}

/// The same, to be changed.
pub fn desk_mut(state: &mut State) -> Option<&mut Desk> {
    match state.pages.shown {
        Page::Rereading => rereading::desk_mut(state),
        Page::Practice => practice::desk_mut(state),
        Page::Picture | Page::Compare | Page::Run | Page::Figure | Page::Series => None,
    }
}

/// The state that tells whether a command is available: a desk's own for what is done on it.
#[must_use]
pub fn answering<'a>(state: &'a State, command: &Command) -> &'a State {
    match desk(state) {
        Some(desk) if desk::takes(command) => &desk.state,
        _ => state,
    }
}

/// Whether the key of a command does anything at present, on whatever page is shown.
#[must_use]
pub fn can(state: &State, command: &Command) -> bool {
    match (state.pages.shown, command) {
        (Page::Rereading, Command::NextShot) => rereading::Ask::Next.available(state),
        (Page::Practice, Command::NextShot) => practice::Ask::Begin.available(state),
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
        Page::Run => run::follow(state),
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
        Page::Run => run::pictures(state),
        Page::Picture | Page::Figure | Page::Series | Page::Rereading | Page::Practice => Vec::new(),
    }
}

/// The user has chosen paths for a page.
pub(crate) fn chosen(state: &mut State, wish: Wish, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    match wish.page {
        Page::Picture | Page::Compare | Page::Run | Page::Rereading | Page::Practice => {}
        Page::Figure => figure::chosen(state, wish, paths, effects),
        Page::Series => series::chosen(state, wish, paths, effects),
    }
}

/// Does a page's work at the edge. Work that takes long says how far it has come and heeds `stop`.
#[allow(unreachable_code, reason = "some pages have no work")]
pub(crate) fn perform(work: Work, stop: &AtomicBool, say: &mut dyn FnMut(Outcome)) -> Done {
    match work {
        Work::Compare(work) => Done::Compare(compare::perform(work)),
        Work::Run(work) => Done::Run(run::perform(work)),
        Work::Figure(work) => Done::Figure(figure::perform(work)),
        Work::Series(work) => Done::Series(series::perform(work, stop, say)),
        Work::Rereading(work) => Done::Rereading(rereading::perform(work)),
        Work::Practice(work) => Done::Practice(practice::perform(work)),
    }
}

/// Takes in what came of a page's work.
pub(crate) fn receive(state: &mut State, done: Done, effects: &mut Vec<Effect>) {
    match done {
        Done::Compare(done) => compare::receive(state, done, effects),
        Done::Run(done) => run::receive(state, done, effects),
        Done::Figure(done) => figure::receive(state, done, effects),
        Done::Series(done) => series::receive(state, done, effects),
        Done::Rereading(done) => rereading::receive(state, done, effects),
        Done::Practice(done) => practice::receive(state, done, effects),
    }
}
