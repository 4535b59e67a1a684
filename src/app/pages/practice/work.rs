//! What is done away from the drawing thread for practice, and what came of it.

use crate::app::marking::proposal::order::{ProposeDone, ProposeOrder};
use crate::app::work::found::Decoded;
use crate::case::document::Case;
use crate::measure::mark::View;
use crate::phantom::exercise::Difficulty;
use crate::study::practice::Score;
use crate::study::practice::Truth;

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
    /// Propose the marks of the shot whose error is shown.
    Propose(Box<ProposeOrder>),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum PracticeDone {
    /// A shot was made, or a sentence says why not.
    Made(Result<Box<SimulatedStill>, String>),
    /// These are the exercises so far, or a sentence says why they cannot be read or kept.
    Scores(Result<Vec<Score>, String>),
    /// Marks are proposed, or a sentence says why not.
    Proposed(Box<ProposeDone>),
}

/// A simulated shot.
#[derive(Clone, Debug)]
pub struct SimulatedStill {
    /// What it follows from.
    pub seed: u64,
    /// A case with nothing but this shot, under a number and without marks.
    pub case: Case,
    /// Its picture.
    pub decoded: Decoded,
    /// What is known of it.
    pub truth: Truth,
}
