//! The page for practising on simulated shots whose truth is known: choose, guess, mark, see.
//!
//! Reading order: [`command`] (what can be asked for), [`exercise`] (one shot from the guess to the error).

use crate::app::command::Command;
use crate::app::pages;
use crate::app::session::editor::Editor;
use crate::app::session::state::{State, Weight};
use crate::app::work::effect::{Decoded, Effect};
use crate::app::work::performer::decoded;
use crate::case::document::Case;
use crate::io::error::Error;
use crate::io::import::import_bytes;
use crate::io::simulated::{png, truth_of};
use crate::io::store::practice;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;
use crate::phantom::look::SIDE;
use crate::study::practice::{Habits, Score, Truth, habits};

mod command;
mod exercise;

pub use command::PracticeCommand;
pub use exercise::{Exercise, Phase};

/// What the page remembers.
#[derive(Debug)]
pub struct Practice {
    /// The view that is practised.
    pub view: View,
    /// How hard shots are.
    pub difficulty: Difficulty,
    /// Whether the depth is guessed before anything is marked.
    pub guess_first: bool,
    /// The number that the shot follows from, as typed; empty for the next one.
    pub seed: String,
    /// Pixels a side of the pictures.
    pub side_px: u32,
    /// The shot that is being made.
    pub waiting: Option<u64>,
    /// The exercise under way.
    pub exercise: Option<Exercise>,
    /// The exercises so far; `None` until they are read.
    pub scores: Option<Vec<Score>>,
    /// What they say.
    pub habits: Habits,
    /// Whether it is asked if all exercises are to be deleted.
    pub clearing: bool,
}

/// What can be chosen of how hard shots are, in words.
pub const DIFFICULTIES: [(Difficulty, &str); 3] = [
    (Difficulty::Clear, "Clear: high dose, true view"),
    (Difficulty::Ordinary, "Ordinary: typical saved stills"),
    (Difficulty::Hard, "Hard: low dose, rotated view, burned-in text"),
];

impl Default for Practice {
    fn default() -> Self {
        Self {
            view: View::Lateral,
            difficulty: Difficulty::default(),
            guess_first: false,
            seed: String::new(),
            side_px: SIDE,
            waiting: None,
            exercise: None,
            scores: None,
            habits: Habits::default(),
            clearing: false,
        }
    }
}

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum PracticeWork {
    /// Make a shot.
    Make {
        /// What it follows from.
        seed: u64,
        /// Its view.
        view: View,
        /// How hard it is.
        difficulty: Difficulty,
        /// Pixels a side.
        side_px: u32,
    },
    /// Read the exercises so far.
    Load,
    /// Keep an exercise.
    Keep(Box<Score>),
    /// Delete all exercises.
    Clear,
}

impl PracticeWork {
    /// Whether it changes what is kept of exercises.
    #[must_use]
    pub const fn is_kept(&self) -> bool {
        matches!(self, Self::Keep(_) | Self::Clear)
    }

    pub(super) const fn named(&self) -> &'static str {
        match self {
            Self::Make { .. } => "Simulating a shot",
            Self::Load => "Reading your exercises",
            Self::Keep(_) => "Keeping your exercise",
            Self::Clear => "Deleting your exercises",
        }
    }

    pub(super) fn broken_off(&self, text: &str) -> PracticeDone {
        match self {
            Self::Make { .. } => PracticeDone::Made(Err(text.to_owned())),
            Self::Load | Self::Keep(_) | Self::Clear => PracticeDone::Scores(Err(text.to_owned())),
        }
    }
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum PracticeDone {
    /// A shot was made, or a sentence says why not.
    Made(Result<Box<Made>, String>),
    /// These are the exercises so far, or a sentence says why they cannot be read or kept.
    Scores(Result<Vec<Score>, String>),
}

/// A simulated shot.
#[derive(Clone, Debug)]
pub struct Made {
    /// What it follows from.
    pub seed: u64,
    /// A case with nothing but this shot, under a number and without marks.
    pub case: Case,
    /// Its picture.
    pub decoded: Decoded,
    /// What is known of it.
    pub truth: Truth,
}

/// Whether there is anything to show.
pub(super) const fn can_open(_state: &State) -> bool {
    true
}

/// The page comes up.
pub(super) fn opened(state: &mut State, effects: &mut Vec<Effect>) {
    state.pages.practice.clearing = false;
    if state.pages.practice.scores.is_none() {
        effects.push(Effect::Page(pages::PageWork::Practice(PracticeWork::Load)));
    }
}

/// The desk, while an exercise is under way.
pub(super) fn desk(state: &State) -> Option<&Editor> {
    state.pages.practice.exercise.as_ref().map(|exercise| &exercise.desk)
}

/// The same, to be changed.
pub(super) fn desk_mut(state: &mut State) -> Option<&mut Editor> {
    state.pages.practice.exercise.as_mut().map(|exercise| &mut exercise.desk)
}

/// Carries a command on marks or on how they are seen out on the image of the exercise.
pub(super) fn mark(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    let Some(exercise) = &mut state.pages.practice.exercise else { return };
    exercise.desk.run(command, effects);
    let inner = &mut exercise.desk.state;
    state.notices.append(&mut inner.notices);
    state.refused = inner.refused.take();
}

/// Does what was asked for.
pub(super) fn update(state: &mut State, ask: PracticeCommand, effects: &mut Vec<Effect>) {
    command::update(state, ask, effects);
}

/// Work at the edge: simulating, the file with the exercises.
pub(super) fn perform(work: PracticeWork) -> PracticeDone {
    let said = |error: Error| format!("{}.", error.to_string().trim_end_matches('.'));
    match work {
        PracticeWork::Make { seed, view, difficulty, side_px } => {
            PracticeDone::Made(make(seed, view, difficulty, side_px).map_err(said))
        }
        PracticeWork::Load => PracticeDone::Scores(practice::exercises().map_err(said)),
        PracticeWork::Keep(score) => PracticeDone::Scores(practice::add(&score).map_err(said)),
        PracticeWork::Clear => PracticeDone::Scores(practice::clear().map(|()| Vec::new()).map_err(said)),
    }
}

fn make(seed: u64, view: View, difficulty: Difficulty, side_px: u32) -> Result<Box<Made>, Error> {
    let series = crate::phantom::exercise::exercise(seed, view, difficulty, side_px);
    let missing = || {
        let text = "no such shot can be simulated; select another view";
        Error::new(crate::io::error::ErrorKind::Other, &exercise::picture_name(seed), text)
    };
    let simulated = series.shots.first().ok_or_else(missing)?;
    let shot = series.case.shots.first().ok_or_else(missing)?;
    let name = exercise::picture_name(seed);
    let frame = import_bytes(&name, &png(&shot.image, &simulated.picture())?)?;
    let case = exercise::bare_case(&series.case, shot, seed);
    Ok(Box::new(Made { seed, case, decoded: decoded(frame, true), truth: truth_of(simulated) }))
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: PracticeDone, effects: &mut Vec<Effect>) {
    match done {
        PracticeDone::Made(Ok(made)) => {
            if state.pages.practice.waiting == Some(made.seed) {
                state.pages.practice.waiting = None;
                exercise::begin(state, *made, effects);
            }
        }
        PracticeDone::Made(Err(sentence)) => {
            state.pages.practice.waiting = None;
            state.say(Weight::Trouble, sentence);
        }
        PracticeDone::Scores(Ok(scores)) => {
            state.pages.practice.habits = habits(&scores);
            state.pages.practice.scores = Some(scores);
        }
        PracticeDone::Scores(Err(sentence)) => state.say(Weight::Trouble, sentence),
    }
}
