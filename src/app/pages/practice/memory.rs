//! What the page for practice remembers.

use crate::app::session::editor::Editor;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;
use crate::phantom::look::SIDE;
use crate::scene::drawing::shape::Scene;
use crate::scene::repeatability::adopting::Adopting;
use crate::study::practice::Habits;
use crate::study::practice::Score;
use crate::study::practice::Truth;

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
    /// What one's own marking error would change in the open case, once there are exercises enough.
    pub offer: Option<Adopting>,
    /// Whether it is asked if all exercises are to be deleted.
    pub clearing: bool,
}

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
            offer: None,
            clearing: false,
        }
    }
}

/// How far an exercise has come.
#[derive(Clone, Debug, PartialEq)]
pub enum Phase {
    /// The depth is to be guessed; nothing can be marked yet.
    Guess,
    /// Marks are made.
    Mark,
    /// The error is shown.
    Seen {
        /// The score.
        score: Box<Score>,
        /// The truth, to be drawn over the marks.
        truth: Scene,
    },
}

/// An exercise.
#[derive(Debug)]
pub struct Exercise {
    /// What the shot follows from.
    pub seed: u64,
    /// The editor in which it is marked.
    pub editor: Editor,
    /// What was guessed, a fraction.
    pub guess: Option<f64>,
    /// How far it has come.
    pub phase: Phase,
    /// What the program's own proposal would have scored, or why there is none; once the error is shown.
    pub proposed: Option<Result<Box<Score>, String>>,
    pub(super) truth: Truth,
}

impl Exercise {
    /// What is known of the shot.
    #[must_use]
    pub const fn truth(&self) -> &Truth {
        &self.truth
    }
}
