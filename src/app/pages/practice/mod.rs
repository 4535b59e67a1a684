//! The page for practising on simulated shots whose truth is known: choose, guess, mark, see.
//!
//! Reading order: [`command`] (what can be asked for), [`exercise`] (one shot from the guess to the error).

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key_bindings;
use crate::app::command::shots::ShotsCommand;
use crate::app::pages::behavior::{CASE_UNSEEN, Meaning, NO_IMAGE, ONE_IMAGE, PageBehavior};
use crate::app::pages::command::PageCommand;
use crate::app::pages::work::{PageDone, PageWork, WorkOfPage};
use crate::app::session::editor::Editor;
use crate::app::session::notice::Weight;
use crate::app::session::state::{Pages, State};
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::Effect;
use crate::app::work::found::decoded;
use crate::app::work::picture_store::PictureKey;
use crate::io::error::Error;
use crate::io::import::import_bytes;
use crate::io::simulated::{png, truth_of};
use crate::io::store::practice;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;
use crate::scene::repeatability::adopting::of_exercises;
use crate::study::practice::habits;

pub mod command;
mod exercise;
pub mod memory;
pub mod work;

pub use command::PracticeCommand;
pub use memory::{Exercise, Phase, Practice};
pub use work::{PracticeDone, PracticeWork, SimulatedStill};

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
}

impl WorkOfPage for PracticeWork {
    fn named(&self) -> &'static str {
        match self {
            Self::Make { .. } => "Simulating a shot",
            Self::Load => "Reading your exercises",
            Self::Keep(_) => "Saving your exercise",
            Self::Clear => "Deleting your exercises",
            Self::Propose(_) => "Proposing marks",
        }
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        let done = match self {
            Self::Make { .. } => PracticeDone::Made(Err(text.to_owned())),
            Self::Load | Self::Keep(_) | Self::Clear => PracticeDone::Scores(Err(text.to_owned())),
            Self::Propose(order) => PracticeDone::Proposed(Box::new(order.broken_off(text))),
        };
        // What comes of a proposal stands beside the error, where nobody looks for a failure.
        let says = !matches!(done, PracticeDone::Proposed(_));
        (PageDone::Practice(done), says)
    }
}

/// The page.
pub(super) struct PracticePage;

impl PageBehavior for PracticePage {
    fn entry(&self) -> Entry {
        Entry {
            label: "Practice (ground truth known)",
            tip: "Mark simulated shots and see your error.",
            group: Group::Pages,
            keys: key_bindings::pages::PRACTICE,
        }
    }

    /// It needs no case.
    fn can_open(&self, _state: &State) -> bool {
        true
    }

    fn opened(&self, state: &mut State, effects: &mut Vec<Effect>) {
        state.pages.practice.clearing = false;
        offer(state);
        if state.pages.practice.scores.is_none() {
            effects.push(Effect::Page(PageWork::Practice(PracticeWork::Load)));
        }
    }

    /// Before the guess and after the error the image of an exercise can only be looked at.
    fn meaning(&self, state: &State, command: EditorCommand) -> Meaning {
        if let EditorCommand::Shots(ShotsCommand::Next) = command {
            return Meaning::Page(PageCommand::Practice(PracticeCommand::Begin));
        }
        let phase = state.pages.practice.exercise.as_ref().map(|exercise| &exercise.phase);
        match (command, phase) {
            (EditorCommand::Case(_), None) => Meaning::nothing(CASE_UNSEEN),
            (_, None) => Meaning::nothing(NO_IMAGE),
            (command @ EditorCommand::View(_), Some(_)) => Meaning::Own(command),
            (command @ (EditorCommand::Marks(_) | EditorCommand::Case(_)), Some(phase)) => match phase {
                Phase::Mark => Meaning::Own(command),
                Phase::Guess => Meaning::nothing("Enter your guess first; then the image can be marked."),
                Phase::Seen { .. } => Meaning::nothing(
                    "The error of this exercise is shown already. Begin the next one to mark again.",
                ),
            },
            (EditorCommand::Shots(_) | EditorCommand::Annotations(_), Some(_)) => Meaning::nothing(ONE_IMAGE),
        }
    }

    fn editor<'a>(&self, pages: &'a Pages) -> Option<&'a Editor> {
        pages.practice.exercise.as_ref().map(|exercise| &exercise.editor)
    }

    fn editor_mut<'a>(&self, pages: &'a mut Pages) -> Option<&'a mut Editor> {
        pages.practice.exercise.as_mut().map(|exercise| &mut exercise.editor)
    }
}

/// Looks again at what one's own marking error would change in the open case.
fn offer(state: &mut State) {
    let scores = state.pages.practice.scores.as_deref().unwrap_or_default();
    let case = state.editor.document.as_ref().map(|document| document.case());
    state.pages.practice.offer = case.and_then(|case| of_exercises(case, scores));
}

/// Work at the edge: simulating, the file with the exercises.
pub(super) fn perform(work: PracticeWork, cancel: &Cancel) -> PracticeDone {
    let said = |error: Error| format!("{}.", error.to_string().trim_end_matches('.'));
    match work {
        PracticeWork::Make { seed, view, difficulty, side_px } => {
            PracticeDone::Made(make(seed, view, difficulty, side_px).map_err(said))
        }
        PracticeWork::Load => PracticeDone::Scores(practice::exercises().map_err(said)),
        PracticeWork::Keep(score) => PracticeDone::Scores(practice::add(&score).map_err(said)),
        PracticeWork::Propose(order) => PracticeDone::Proposed(Box::new(order.perform(cancel))),
        PracticeWork::Clear => PracticeDone::Scores(practice::clear().map(|()| Vec::new()).map_err(said)),
    }
}

fn make(seed: u64, view: View, difficulty: Difficulty, side_px: u32) -> Result<Box<SimulatedStill>, Error> {
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
    Ok(Box::new(SimulatedStill { seed, case, decoded: decoded(frame, true), truth: truth_of(simulated) }))
}

/// Takes in what came of it.
pub(super) fn receive(state: &mut State, done: PracticeDone) {
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
            offer(state);
        }
        PracticeDone::Proposed(done) => exercise::proposed(state, *done),
        PracticeDone::Scores(Err(sentence)) => state.say(Weight::Trouble, sentence),
    }
}
