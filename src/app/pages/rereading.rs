//! The page with shots read again blind.

use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::entries::Entry;
use crate::app::pages::Wish;
use crate::app::state::State;
use std::path::PathBuf;

/// What the page remembers.
#[derive(Debug, Default)]
pub struct Rereading {}

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {}

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Work {}

/// What came of that.
#[derive(Clone, Debug)]
pub enum Done {}

impl Ask {
    /// Those with a key, for the list of keys.
    pub(super) fn listed() -> Vec<Self> {
        Vec::new()
    }

    pub(super) fn entry(&self) -> Option<Entry> {
        match *self {}
    }

    pub(super) fn available(&self, _state: &State) -> bool {
        match *self {}
    }
}

/// Whether there is anything to show.
pub(super) fn can_open(state: &State) -> bool {
    state.document.as_ref().is_some_and(|document| document.shot().is_some())
}

/// The page comes up.
pub(super) fn opened(_state: &mut State, _effects: &mut Vec<Effect>) {}

/// Whether a key that belongs to the picture means something on this page too.
pub(super) fn hears(_state: &State, _command: &Command) -> bool {
    false
}

/// A command that the page may want to take instead of the picture; gives it back if not.
pub(super) fn intercept(_state: &mut State, command: Command, _effects: &mut Vec<Effect>) -> Option<Command> {
    Some(command)
}

/// Does what was asked for.
pub(super) fn update(_state: &mut State, ask: Ask, _effects: &mut Vec<Effect>) {
    match ask {}
}

/// The user has chosen paths for a wish of this page.
pub(super) fn chosen(_state: &mut State, _wish: Wish, _paths: Vec<PathBuf>, _effects: &mut Vec<Effect>) {}

/// Work at the edge: files, long computations.
pub(super) fn perform(work: Work) -> Done {
    match work {}
}

/// Takes in what came of it.
pub(super) fn receive(_state: &mut State, done: Done, _effects: &mut Vec<Effect>) {
    match done {}
}
