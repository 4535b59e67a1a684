//! What the page of blinded re-reading remembers.

use crate::app::session::editor::Editor;
use crate::app::session::state::State;
use crate::case::document::Case;
use crate::case::document::rereading::Rereading as Round;
use crate::case::document::rereading::Which;
use crate::scene::repeatability::rereading::Results;

/// What the page remembers.
#[derive(Debug, Default)]
pub struct RereadingState {
    /// Who reads; `None` until something is typed, then it stands for the case's operator.
    pub operator: Option<String>,
    /// Which shots are to be read.
    pub which: Which,
    /// The number by which the order is shuffled, as typed; empty for one that follows from operator and round.
    pub seed: String,
    /// Whether the first marks, which were not blinded, count in the results.
    pub with_first: bool,
    /// The session that is under way.
    pub session: Option<RereadingSession>,
    pub(super) found: Option<KeptResults>,
}

/// Results, and what they are made from.
#[derive(Debug)]
pub(super) struct KeptResults {
    pub(super) case: Case,
    pub(super) with_first: bool,
    pub(super) results: Results,
}

impl RereadingState {
    /// What the blind readings of the case say, if there are any.
    #[must_use]
    pub fn results(&self) -> Option<&Results> {
        self.found.as_ref().map(|found| &found.results)
    }

    /// The operator as it stands in the field.
    #[must_use]
    pub fn operator(&self, state: &State) -> String {
        let of_case = || state.editor.document.as_ref().and_then(|document| document.case().operator.clone());
        self.operator.clone().or_else(of_case).unwrap_or_default()
    }

    /// The shots that would be read, in the case's order.
    #[must_use]
    pub fn shots(&self, state: &State) -> Vec<String> {
        state.editor.document.as_ref().map(|document| self.which.shots(document.case())).unwrap_or_default()
    }
}

/// A session.
#[derive(Debug)]
pub struct RereadingSession {
    /// The round as the case keeps it.
    pub round: Round,
    /// The place of the shot that is read now.
    pub at: usize,
    /// The editor in which it is marked.
    pub editor: Editor,
}

impl RereadingSession {
    /// How many shots the round has.
    #[must_use]
    pub const fn count(&self) -> usize {
        self.round.readings.len()
    }
}
