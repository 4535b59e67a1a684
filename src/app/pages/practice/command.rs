//! What the page asks for, with words, and what is done then.

use super::{exercise, offer};
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::{Key, Shortcut};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::practice::memory::Phase;
use crate::app::pages::practice::work::PracticeWork;
use crate::app::pages::work::PageWork;
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::case::document::edit::Edit;
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
    /// Make one's own measured marking error that of the open case.
    Adopt,
}

impl CommandOfPage for PracticeCommand {
    fn entry(&self) -> Option<Entry> {
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
            Self::See => ("Show error", "Show the ground truth over your marks and record the error.", &[]),
            Self::Leave => ("Back to the exercises", "Skip this shot; nothing is recorded.", &[]),
            Self::Clear => ("Delete exercises", "Delete the record of your exercises, after asking.", &[]),
            Self::ReallyClear => ("Delete", "Delete every exercise for good.", &[]),
            Self::KeepThem => ("Cancel", "Keep the exercises.", &[]),
            Self::Adopt => (
                "Use as marking error",
                "Use your marking error in these exercises for the uncertainty of the open case; Undo on its image reverts it.",
                &[],
            ),
        };
        Some(Entry { label, tip, group: Group::Marks, keys })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        const UNDER_WAY: &str = "An exercise is under way. Go back to the exercises first.";
        let page = &state.pages.practice;
        let exercise = page.exercise.as_ref();
        let phase = exercise.map(|exercise| &exercise.phase);
        let kept = page.scores.as_ref().is_some_and(|scores| !scores.is_empty());
        match self {
            Self::SetView(_) | Self::SetDifficulty(_) | Self::GuessFirst(_) | Self::SetSeed(_) => {
                unless(exercise.is_none(), UNDER_WAY)
            }
            Self::Begin if page.waiting.is_some() => {
                unless(false, "A shot is being simulated. Wait a moment.")
            }
            Self::Begin => unless(
                matches!(phase, None | Some(Phase::Seen { .. })),
                "Finish this exercise first, or leave it.",
            ),
            Self::Guess(_) => unless(phase == Some(&Phase::Guess), "No guess is asked for."),
            Self::See => unless(
                phase == Some(&Phase::Mark) && exercise.is_some_and(|one| one.editor.is_done()),
                "Required marks are still missing.",
            ),
            Self::Leave => unless(exercise.is_some(), "No exercise is under way."),
            Self::Clear if exercise.is_some() => unless(false, UNDER_WAY),
            Self::Clear => unless(kept && !page.clearing, "There are no exercises to delete."),
            Self::ReallyClear | Self::KeepThem => unless(page.clearing, "Press Delete exercises first."),
            Self::Adopt if exercise.is_some() => unless(false, UNDER_WAY),
            Self::Adopt => unless(
                page.offer.is_some(),
                "Your marking error can be used after ten exercises, with a case open that does not use it yet.",
            ),
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
    typed.parse().map_err(|_no_number| "Type a whole number for the shot, or leave it empty.".to_owned())
}

/// Does what was asked for.
pub(in crate::app::pages) fn update(state: &mut State, ask: PracticeCommand, effects: &mut Vec<Effect>) {
    let work = |work| Effect::Page(PageWork::Practice(work));
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
            None => state.say(Weight::Trouble, "Type the guess in percent, such as 40."),
        },
        PracticeCommand::See => exercise::see(state, effects),
        PracticeCommand::Leave => exercise::leave(state),
        PracticeCommand::Clear => page.clearing = true,
        PracticeCommand::KeepThem => page.clearing = false,
        PracticeCommand::ReallyClear => {
            page.clearing = false;
            effects.push(work(PracticeWork::Clear));
        }
        PracticeCommand::Adopt => {
            // By the case as it is now, not as it was when the page came up.
            offer(state);
            if let Some(offer) = state.pages.practice.offer.take() {
                apply(&mut state.editor, &[Edit::SetSettings(Box::new(offer.settings))]);
                state.say(Weight::Note, offer.words);
            }
        }
    }
}
