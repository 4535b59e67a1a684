//! What the page asks for, with words, and what is done then.

use super::session;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{Refusal, unless};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::case::document::edit::Edit;
use crate::case::document::rereading::{Rereading, Which};

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum RereadingCommand {
    /// This person reads.
    SetOperator(String),
    /// These shots are read.
    SetWhich(Which),
    /// The order is shuffled by this number, as typed.
    SetSeed(String),
    /// Begin a round.
    Begin,
    /// Go on with this round.
    Resume(String, u32),
    /// Take this round out of the case.
    Forget(String, u32),
    /// The shot has been read.
    Next,
    /// Leave the shot out.
    SkipPicture,
    /// End the session.
    Stop,
    /// Leave the first marks out of the results, or take them in again.
    BlindOnly(bool),
    /// Make the measured figures the placement settings of the case.
    Adopt,
}

impl CommandOfPage for RereadingCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::SetOperator(_) | Self::SetWhich(_) | Self::SetSeed(_) | Self::BlindOnly(_) => return None,
            Self::Adopt => (
                "Use as marking error",
                "Use the measured marking errors for the uncertainty of this case; Undo reverts it.",
                &[],
            ),
            Self::Begin => (
                "Start session",
                "Show the selected shots one after the other in random order, without marks.",
                &[],
            ),
            Self::Resume(..) => ("Resume", "Continue this session where it stopped.", &[]),
            Self::Forget(..) => ("Remove", "Remove this session from the case; Undo restores it.", &[]),
            Self::Next => (
                "Next image",
                "Done with this image; show the next one.",
                key_bindings::pages::NEXT_REREADING,
            ),
            Self::SkipPicture => ("Skip image", "Skip this image in this session.", &[]),
            Self::Stop => {
                ("Stop for now", "Stop here; the readings are kept and the session can be resumed.", &[])
            }
        };
        Some(Entry { label, tip, group: Group::Marks, keys })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        const READING: &str = "A session is under way. Stop it first.";
        const NOT_READING: &str = "No session is under way. Begin one first.";
        let page = &state.pages.rereading;
        let reading = page.session.is_some();
        match self {
            Self::SetOperator(_)
            | Self::SetWhich(_)
            | Self::SetSeed(_)
            | Self::BlindOnly(_)
            | Self::Begin
            | Self::Resume(..)
            | Self::Forget(..)
                if reading =>
            {
                unless(false, READING)
            }
            Self::SetOperator(_) | Self::SetWhich(_) | Self::SetSeed(_) => None,
            Self::BlindOnly(true) => unless(page.with_first, "The first marks are excluded already."),
            Self::BlindOnly(false) => unless(!page.with_first, "The first marks are included already."),
            Self::Forget(operator, round) => {
                let case = state.editor.document.as_ref().map(|document| document.case());
                let there = case.is_some_and(|case| case.rereading(operator, *round).is_some());
                unless(there, "That session is no longer in the case.")
            }
            Self::Adopt => unless(
                page.results().is_some_and(|results| results.offer().is_some()),
                "There are no measured marking errors to adopt yet.",
            ),
            Self::Begin => plan(state).err().map(Into::into),
            Self::Resume(operator, round) => {
                let case = state.editor.document.as_ref().map(|document| document.case());
                let open =
                    case.and_then(|case| case.rereading(operator, *round)).is_some_and(|one| one.open() > 0);
                unless(open, "Nothing is left to read in that session.")
            }
            Self::Next => match &page.session {
                Some(session) => unless(
                    session.editor.is_done(),
                    "Required marks are still missing. Place them, or skip this image.",
                ),
                None => unless(false, NOT_READING),
            },
            Self::SkipPicture | Self::Stop => unless(reading, NOT_READING),
        }
    }
}

/// The round that would begin now, or a sentence that says what is missing.
///
/// # Errors
/// That sentence.
pub(super) fn plan(state: &State) -> Result<Rereading, String> {
    let page = &state.pages.rereading;
    let Some(document) = &state.editor.document else { return Err("Open a case first.".to_owned()) };
    let operator = page.operator(state);
    let round = document.case().next_round(&operator);
    let typed = page.seed.trim();
    let seed = if typed.is_empty() {
        seed_of(operator.trim(), round)
    } else {
        typed
            .parse()
            .map_err(|_no_number| "Type a whole number for the order, or leave it empty.".to_owned())?
    };
    let shots = page.shots(state);
    if shots.is_empty() {
        return Err("No shot of the case matches; select others.".to_owned());
    }
    let plan = Rereading::new(&operator, round, seed, shots);
    match plan.fault() {
        Some(why) => Err(crate::app::marking::guide::capital(&format!("{why}."))),
        None => Ok(plan),
    }
}

/// A number that differs from round to round and from operator to operator (FNV-1a, from memory), with few digits, so
/// that it can be read out.
fn seed_of(operator: &str, round: u32) -> u64 {
    let bytes = operator.bytes().chain(round.to_le_bytes());
    bytes
        .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
        % 100_000
}

/// Does what was asked for.
pub(in crate::app::pages) fn update(state: &mut State, ask: RereadingCommand) {
    match ask {
        RereadingCommand::SetOperator(operator) => state.pages.rereading.operator = Some(operator),
        RereadingCommand::SetWhich(which) => state.pages.rereading.which = which,
        RereadingCommand::SetSeed(seed) => state.pages.rereading.seed = seed,
        RereadingCommand::Begin => match plan(state) {
            Ok(round) => {
                apply(&mut state.editor, &[Edit::SetRereading(Box::new(round.clone()))]);
                session::begin(state, round);
            }
            Err(sentence) => state.say(Weight::Trouble, sentence),
        },
        RereadingCommand::Resume(operator, round) => {
            let case = state.editor.document.as_ref().map(|document| document.case());
            let round = case.and_then(|case| case.rereading(&operator, round)).cloned();
            if let Some(round) = round {
                session::begin(state, round);
            }
        }
        RereadingCommand::Forget(operator, round) => session::forget(state, operator, round),
        RereadingCommand::Next => session::next(state),
        RereadingCommand::SkipPicture => session::skip(state),
        RereadingCommand::Stop => session::stop(state),
        RereadingCommand::BlindOnly(blind) => state.pages.rereading.with_first = !blind,
        RereadingCommand::Adopt => {
            let results = state.pages.rereading.results();
            let adopting = results.and_then(|results| results.offer().cloned());
            if let Some(adopting) = adopting {
                apply(&mut state.editor, &[Edit::SetSettings(Box::new(adopting.settings))]);
                state.say(Weight::Note, adopting.words);
            }
        }
    }
}
