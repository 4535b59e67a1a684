//! A proposal as work away from the drawing thread: what it is computed from, and what came of it.

use std::sync::Arc;

use crate::app::marking::proposal::memory::FoundProposal;
use crate::app::work::cancel::Cancel;
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::geom::point::Point;
use crate::measure::mark::{Marks, View};
use crate::propose::Edge;
use crate::propose::further::{Marked, Unmarked, further};
use crate::propose::lateral::{Clicks, propose_helped};
use crate::propose::trust::{Code, Refusal};

/// A proposal to be computed.
#[derive(Clone, Debug)]
pub struct ProposeOrder {
    /// Its number; a later order has a larger one.
    pub number: u64,
    /// The shot it is for.
    pub shot: String,
    /// Whether that shot is shown: before others.
    pub first: bool,
    /// The shot's image.
    pub frame: Arc<Frame>,
    /// Its redacted boxes.
    pub covers: Vec<Cover>,
    /// Its calibration.
    pub mm_per_px: Option<f64>,
    /// What it is made from.
    pub from: ProposalSource,
}

/// What a proposal is made from.
#[derive(Clone, Debug)]
pub enum ProposalSource {
    /// Clicks on the middle of both walls, and on borders that were not found by them.
    Walls(Clicks, Vec<(Edge, Point)>),
    /// A marked shot of the level and view.
    Shot {
        /// Its image.
        frame: Arc<Frame>,
        /// Its redacted boxes.
        covers: Vec<Cover>,
        /// Its marks.
        marks: Box<Marks>,
        /// Its view.
        view: View,
        /// Its calibration.
        mm_per_px: Option<f64>,
    },
}

/// What came of an order.
#[derive(Clone, Debug)]
pub struct ProposeDone {
    /// The order's number.
    pub number: u64,
    /// The shot it was for.
    pub shot: String,
    /// What was found, or why nothing is proposed; `None` where the work was stopped.
    pub result: Option<Result<FoundProposal, NotFound>>,
}

/// Why nothing is proposed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotFound {
    /// One sentence: what is wrong, what to do.
    pub why: String,
    /// The border that a click would help to find.
    pub border: Option<Edge>,
}

impl From<Refusal> for NotFound {
    fn from(refusal: Refusal) -> Self {
        let can_be_clicked = matches!(refusal.code, Code::BorderNotFound | Code::Ambiguous);
        Self { border: refusal.border.filter(|_| can_be_clicked), why: refusal.text }
    }
}

impl PartialEq for ProposeOrder {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}

impl ProposeOrder {
    /// Computes it.
    #[must_use]
    pub fn perform(self, cancel: &Cancel) -> ProposeDone {
        let result = (!cancel.is_cancelled()).then(|| self.found());
        // What was stopped meanwhile is asked for again where it is still wanted.
        let result = result.filter(|_| !cancel.is_cancelled());
        ProposeDone { number: self.number, shot: self.shot, result }
    }

    /// What comes of it if the program fails at it.
    #[must_use]
    pub fn broken_off(&self, text: &str) -> ProposeDone {
        let failed = NotFound { why: text.to_owned(), border: None };
        ProposeDone { number: self.number, shot: self.shot.clone(), result: Some(Err(failed)) }
    }

    fn found(&self) -> Result<FoundProposal, NotFound> {
        match &self.from {
            ProposalSource::Walls(clicks, helped) => {
                propose_helped(&self.frame, &self.covers, (*clicks, helped), self.mm_per_px)
                    .map(|proposal| FoundProposal::Outline(Box::new(proposal)))
                    .map_err(NotFound::from)
            }
            ProposalSource::Shot { frame, covers, marks, view, mm_per_px } => {
                let from = Marked { frame, covers, marks, view: *view, mm_per_px: *mm_per_px };
                let to = Unmarked { frame: &self.frame, covers: &self.covers, mm_per_px: self.mm_per_px };
                further(from, to).map(FoundProposal::Further).map_err(NotFound::from)
            }
        }
    }
}
