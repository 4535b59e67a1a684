//! What the page asks for, with words, and what is done then.

use super::exercise;
use super::{Phase, PracticeWork};
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::{Key, Shortcut};
use crate::app::pages;
use crate::app::session::state::{State, Weight};
use crate::app::work::effect::Effect;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum PracticeCommand {
    /// Practise this view.
    SetView(View),
    /// Shots of this difficulty.
    SetDifficulty(Difficulty),
    /// Guess first, or not.
    GuessFirst(bool),
    /// The number that the shot follows from, as typed.
    SetSeed(String),
    /// Show a shot.
    Begin,
    /// The guess, in percent as typed.
    Guess(String),
    /// Show the error.
    See,
    /// End the exercise.
    Leave,
    /// Ask whether all exercises are to be deleted.
    Clear,
    /// They are to be deleted.
    ReallyClear,
    /// They are to be kept.
    KeepThem,
}

impl PracticeCommand {
    /// Those with a key, for the list of keys.
    pub(in crate::app::pages) fn listed() -> Vec<Self> {
        Vec::new()
    }

    pub(in crate::app::pages) fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::SetView(_)
            | Self::SetDifficulty(_)
            | Self::GuessFirst(_)
            | Self::SetSeed(_)
            | Self::Guess(_) => return None,
            Self::Begin => (
                "Show a shot",
                "Simulate a shot and show it; this takes a moment.",
                const { &[Shortcut::plain(Key::PageDown)] },
            ),
            Self::See => ("Show the error", "Lay the truth over the marks and keep the error.", &[]),
            Self::Leave => {
                ("Back to the exercises", "Leave this shot; marks without an error are not kept.", &[])
            }
            Self::Clear => {
                ("Delete all exercises", "Asks before it deletes what was kept of your exercises.", &[])
            }
            Self::ReallyClear => ("Delete them", "Delete every exercise for good.", &[]),
            Self::KeepThem => ("Keep them", "Delete nothing.", &[]),
        };
        Some(Entry { label, tip, group: Group::Marks, keys })
    }

    pub(in crate::app::pages) fn available(&self, state: &State) -> bool {
        let page = &state.pages.practice;
        let phase = page.exercise.as_ref().map(|exercise| &exercise.phase);
        let kept = page.scores.as_ref().is_some_and(|scores| !scores.is_empty());
        match self {
            Self::SetView(_) | Self::SetDifficulty(_) | Self::GuessFirst(_) | Self::SetSeed(_) => {
                page.exercise.is_none()
            }
            Self::Begin => page.waiting.is_none() && matches!(phase, None | Some(Phase::Seen { .. })),
            Self::Guess(_) => phase == Some(&Phase::Guess),
            Self::See => {
                phase == Some(&Phase::Mark) && page.exercise.as_ref().is_some_and(|one| one.desk.is_done())
            }
            Self::Leave => page.exercise.is_some(),
            Self::Clear => kept && page.exercise.is_none() && !page.clearing,
            Self::ReallyClear | Self::KeepThem => page.clearing,
        }
    }
}

/// The number of the next shot: as typed, else one more than there are exercises.
fn seed(state: &State) -> Result<u64, String> {
    let page = &state.pages.practice;
    let typed = page.seed.trim();
    if typed.is_empty() {
        let kept = page.scores.as_ref().map_or(0, Vec::len);
        return Ok(kept as u64 + 1);
    }
    typed.parse().map_err(|_no_number| "Write a whole number for the shot, or leave it empty.".to_owned())
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: PracticeCommand, effects: &mut Vec<Effect>) {
    if !ask.available(state) {
        return;
    }
    let work = |work| Effect::Page(pages::PageWork::Practice(work));
    let page = &mut state.pages.practice;
    match ask {
        PracticeCommand::SetView(view) => page.view = view,
        PracticeCommand::SetDifficulty(difficulty) => page.difficulty = difficulty,
        PracticeCommand::GuessFirst(first) => page.guess_first = first,
        PracticeCommand::SetSeed(text) => page.seed = text,
        PracticeCommand::Begin => match seed(state) {
            Ok(seed) => {
                let page = &mut state.pages.practice;
                page.exercise = None;
                page.seed.clear();
                page.waiting = Some(seed);
                let (view, difficulty, side_px) = (page.view, page.difficulty, page.side_px);
                effects.push(work(PracticeWork::Make { seed, view, difficulty, side_px }));
            }
            Err(sentence) => state.say(Weight::Trouble, sentence),
        },
        PracticeCommand::Guess(text) => match exercise::guessed(&text) {
            Some(guess) => {
                if let Some(exercise) = &mut page.exercise {
                    exercise.guess = Some(guess);
                    exercise.phase = Phase::Mark;
                }
            }
            None => state.say(Weight::Trouble, "Write the guess as a number of percent, such as 40."),
        },
        PracticeCommand::See => exercise::see(state, effects),
        PracticeCommand::Leave => page.exercise = None,
        PracticeCommand::Clear => page.clearing = true,
        PracticeCommand::KeepThem => page.clearing = false,
        PracticeCommand::ReallyClear => {
            page.clearing = false;
            effects.push(work(PracticeWork::Clear));
        }
    }
}
