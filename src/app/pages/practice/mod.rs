//! The page for practising on simulated shots whose truth is known: choose, guess, mark, see.
//!
//! Reading order: [`command`] (what can be asked for), [`exercise`] (one shot from the guess to the error).

use crate::app::pages::work::PageWork;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::found::decoded;
use crate::app::work::picture_store::PictureKey;
use crate::io::error::Error;
use crate::io::import::import_bytes;
use crate::io::simulated::{png, truth_of};
use crate::io::store::practice;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;
use crate::study::practice::habits;

mod command;
mod exercise;
pub mod memory;
pub mod work;

pub use command::PracticeCommand;
pub use memory::{Exercise, Phase, Practice};
pub use work::{Made, PracticeDone, PracticeWork};

/// What can be chosen of how hard shots are, in words.
pub const DIFFICULTIES: [(Difficulty, &str); 3] = [
    (Difficulty::Clear, "Clear: high dose, true view"),
    (Difficulty::Ordinary, "Ordinary: typical saved stills"),
    (Difficulty::Hard, "Hard: low dose, rotated view, burned-in text"),
];

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

/// Whether there is anything to show.
pub(super) const fn can_open(_state: &State) -> bool {
    true
}

/// The page comes up.
pub(super) fn opened(state: &mut State, effects: &mut Vec<Effect>) {
    state.pages.practice.clearing = false;
    if state.pages.practice.scores.is_none() {
        effects.push(Effect::Page(PageWork::Practice(PracticeWork::Load)));
    }
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
    let name = PictureKey::simulated(seed).path;
    let missing = || {
        let text = "no such shot can be simulated; select another view";
        Error::new(crate::io::error::ErrorKind::Other, &name, text)
    };
    let simulated = series.shots.first().ok_or_else(missing)?;
    let shot = series.case.shots.first().ok_or_else(missing)?;
    let frame = import_bytes(&name, &png(&shot.image, &simulated.picture())?)?;
    let case = exercise::bare_case(&series.case, shot, seed);
    Ok(Box::new(Made { seed, case, decoded: decoded(frame, true), truth: truth_of(simulated) }))
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: PracticeDone, _effects: &mut Vec<Effect>) {
    match done {
        PracticeDone::Made(Ok(made)) => {
            if state.pages.practice.waiting == Some(made.seed) {
                state.pages.practice.waiting = None;
                exercise::begin(state, *made);
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
