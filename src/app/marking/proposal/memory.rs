//! How far the proposals for the shots of an open case have come.

use std::collections::BTreeMap;

use crate::case::document::Shot;
use crate::case::document::proposed::ProposedMarks;
use crate::case::document::shot_list::ShotList;
use crate::geom::point::Point;
use crate::measure::mark::{Level, MarkKind, Marks, Material};
use crate::propose::Edge;
use crate::propose::further::Further;
use crate::propose::lateral::{Clicks, Proposal};

/// A border with less response than this, over a clear one's, is drawn thin: the image says little there.
const CLEAR: f64 = 0.6;
/// The most proposals that are kept at a time: each holds a piece of its image.
const MOST_KEPT: usize = 12;

/// What a proposal is made from.
#[derive(Clone, Debug, PartialEq)]
pub enum ProposalBasis {
    /// Clicks on the middle of the posterior and of the anterior wall, and on borders that were not found by them.
    Walls(Clicks, Vec<(Edge, Point)>),
    /// The marks of another shot of the level and view.
    Shot {
        /// That shot.
        id: String,
        /// Its marks.
        marks: Marks,
    },
}

/// How far the proposal of a shot has come.
#[derive(Clone, Debug)]
pub enum ProposalProgress {
    /// It is to be computed.
    Wanted,
    /// It is being computed, under this number.
    Waiting(u64),
    /// It is shown and waits for an answer.
    Offered(Box<Offer>),
    /// It lies in the case as a draft; its borders follow a mark that is dragged.
    Taken(Box<Offer>),
    /// Nothing is proposed, for this reason.
    Refused(String),
    /// A person would rather mark by hand.
    Declined,
}

/// What was computed.
#[derive(Clone, Debug)]
pub enum FoundProposal {
    /// From clicks.
    Outline(Box<Proposal>),
    /// From another shot.
    Further(Further),
}

/// A proposal that can be shown.
#[derive(Clone, Debug)]
pub struct Offer {
    /// The shot's marks before.
    pub before: Marks,
    /// The shot's marks with the proposed ones in their places.
    pub marks: Marks,
    /// Which of them are proposed, and how sure.
    pub proposed: ProposedMarks,
    /// The shot they were copied from, if they were.
    pub from: Option<String>,
    found: FoundProposal,
}

/// A shot's proposal, and what it is made from.
#[derive(Clone, Debug)]
pub struct OneProposal {
    /// What it is made from; `None` where it was declined before anything was asked.
    pub basis: Option<ProposalBasis>,
    /// How far it has come.
    pub progress: ProposalProgress,
}

/// The proposals of a case by the ids of its shots.
#[derive(Debug, Default)]
pub struct Proposals {
    off: bool,
    shots: BTreeMap<String, OneProposal>,
    orders: u64,
    pub(super) needless: bool,
}

/// Whether marks can be proposed for a shot: it has no bone marks of its own, and does not show S1, for which nothing is
/// proposed.
#[must_use]
pub fn is_open(shot: &Shot) -> bool {
    shot.level != Some(Level::S1)
        && !shot.draft
        && !shot.marks.placed().any(|(at, _)| at.kind.material() == Material::Bone)
}

impl Offer {
    /// What was found, to be shown on a shot with these marks.
    #[must_use]
    pub fn new(before: &Marks, from: Option<String>, found: FoundProposal) -> Self {
        let (mut marks, mut proposed) = match &found {
            FoundProposal::Outline(proposal) => proposal.draft_of(before),
            FoundProposal::Further(further) => further.draft_of(before),
        };
        // A tip that a person has placed is better than a proposed one.
        if !before.slots(MarkKind::Tip).is_empty() {
            marks.set(MarkKind::Tip, before.slots(MarkKind::Tip).to_vec());
            proposed.cleared(MarkKind::Tip);
        }
        Self { before: before.clone(), marks, proposed, from, found }
    }

    /// The outline that can be fitted again; `None` for copied marks.
    #[must_use]
    pub fn outline(&self) -> Option<&Proposal> {
        match &self.found {
            FoundProposal::Outline(proposal) | FoundProposal::Further(Further::Outline(proposal, _)) => {
                Some(proposal)
            }
            FoundProposal::Further(Further::Copied(_)) => None,
        }
    }

    /// Marks that a turn of the view moves, to be looked at again.
    #[must_use]
    pub fn look_again(&self) -> &[MarkKind] {
        match &self.found {
            FoundProposal::Further(Further::Copied(copied)) => &copied.look_again,
            FoundProposal::Outline(_) | FoundProposal::Further(Further::Outline(..)) => &[],
        }
    }

    /// Whether the two images are less alike than is sure.
    #[must_use]
    pub const fn is_uncertain(&self) -> bool {
        match &self.found {
            FoundProposal::Further(further) => further.registered().uncertain,
            FoundProposal::Outline(_) => false,
        }
    }

    /// Borders of which the image says little.
    #[must_use]
    pub fn faint(&self) -> Vec<MarkKind> {
        let Some(outline) = self.outline() else { return Vec::new() };
        let faint = Edge::ALL.into_iter().filter(|edge| outline.responses[edge.index()] < CLEAR);
        faint.map(Edge::mark_kind).collect()
    }
}

impl Proposals {
    /// From now on nothing is proposed.
    pub fn switch_off(&mut self) {
        self.off = true;
        self.shots.clear();
    }

    /// Whether nothing is proposed.
    #[must_use]
    pub const fn is_off(&self) -> bool {
        self.off
    }

    /// A shot's proposal.
    #[must_use]
    pub fn of(&self, shot: &str) -> Option<&OneProposal> {
        self.shots.get(shot)
    }

    /// What is offered for a shot that is still open for it.
    #[must_use]
    pub fn offered(&self, shot: &Shot) -> Option<&Offer> {
        match &self.of(&shot.id)?.progress {
            ProposalProgress::Offered(offer) if is_open(shot) => Some(offer),
            _ => None,
        }
    }

    /// What lies in the case as a shot's draft.
    #[must_use]
    pub fn taken(&self, shot: &Shot) -> Option<&Offer> {
        match &self.of(&shot.id)?.progress {
            ProposalProgress::Taken(offer) if shot.draft => Some(offer),
            _ => None,
        }
    }

    /// What is offered for a shot, or lies in the case as its draft.
    #[must_use]
    pub fn present(&self, shot: &Shot) -> Option<&Offer> {
        self.offered(shot).or_else(|| self.taken(shot))
    }

    /// Whether a shot's outline is being looked for.
    #[must_use]
    pub fn is_sought(&self, shot: &str) -> bool {
        self.of(shot).is_some_and(|one| {
            matches!(one.progress, ProposalProgress::Wanted | ProposalProgress::Waiting(_))
        })
    }

    /// Why nothing is proposed for a shot.
    #[must_use]
    pub fn refused(&self, shot: &str) -> Option<&str> {
        match &self.of(shot)?.progress {
            ProposalProgress::Refused(why) => Some(why),
            _ => None,
        }
    }

    pub(super) fn want(&mut self, shot: &str, basis: ProposalBasis) {
        self.put(shot, OneProposal { basis: Some(basis), progress: ProposalProgress::Wanted });
    }

    pub(super) fn forget(&mut self, shot: &str) {
        if let Some(one) = self.shots.remove(shot) {
            self.needless |= matches!(one.progress, ProposalProgress::Waiting(_));
        }
    }

    pub(super) fn decline(&mut self, shot: &str) {
        let basis = self.of(shot).and_then(|one| one.basis.clone());
        self.put(shot, OneProposal { basis, progress: ProposalProgress::Declined });
    }

    pub(super) fn set(&mut self, shot: &str, progress: ProposalProgress) {
        if let Some(one) = self.shots.get_mut(shot) {
            one.progress = progress;
        }
    }

    /// Moves what is offered into the case's draft, or back out of it.
    pub(super) fn take_over(&mut self, shot: &str, taken: bool) {
        let Some(one) = self.shots.get_mut(shot) else { return };
        one.progress = match std::mem::replace(&mut one.progress, ProposalProgress::Declined) {
            ProposalProgress::Offered(offer) if taken => ProposalProgress::Taken(offer),
            ProposalProgress::Taken(offer) if !taken => ProposalProgress::Offered(offer),
            other => other,
        };
    }

    /// A number for a new order.
    pub(super) fn number(&mut self) -> u64 {
        self.orders += 1;
        self.orders
    }

    fn put(&mut self, shot: &str, one: OneProposal) {
        self.forget(shot);
        self.shots.insert(shot.to_owned(), one);
    }

    /// Lets go what the case no longer asks for: of shots that are gone or marked, from marks that have changed, and what is
    /// farthest from the shown shot where too much is kept.
    pub(super) fn tidy(&mut self, shots: &ShotList, shown: usize) {
        if self.shots.is_empty() {
            return;
        }
        let place: BTreeMap<&str, usize> =
            shots.iter().enumerate().map(|(index, shot)| (shot.id.as_str(), index)).collect();
        let find = |id: &str| place.get(id).map(|index| &shots[*index]);
        let ids: Vec<String> = self.shots.keys().cloned().collect();
        for id in &ids {
            let Some(one) = self.shots.get(id) else { continue };
            let stays = find(id).is_some_and(|shot| one.suits(shot, &find));
            if !stays {
                self.forget(id);
            } else if let (ProposalProgress::Taken(_), Some(true)) = (&one.progress, find(id).map(is_open)) {
                self.take_over(id, false);
            }
        }
        let far = |id: &str| place.get(id).map_or(usize::MAX, |index| index.abs_diff(shown));
        let mut kept: Vec<(usize, String)> = self
            .shots
            .iter()
            .filter(|(_, one)| matches!(one.progress, ProposalProgress::Offered(_)))
            .map(|(id, _)| (far(id), id.clone()))
            .collect();
        kept.sort();
        for (_, id) in kept.into_iter().skip(MOST_KEPT) {
            self.forget(&id);
        }
    }
}

impl OneProposal {
    /// Whether it still belongs to its shot.
    fn suits<'a>(&self, shot: &Shot, find: &impl Fn(&str) -> Option<&'a Shot>) -> bool {
        let from_there = match &self.basis {
            Some(ProposalBasis::Shot { id, marks }) => {
                find(id).is_some_and(|source| !source.draft && source.marks == *marks)
            }
            Some(ProposalBasis::Walls(..)) | None => true,
        };
        match &self.progress {
            ProposalProgress::Offered(offer) => is_open(shot) && from_there && offer.before == shot.marks,
            ProposalProgress::Wanted | ProposalProgress::Waiting(_) => is_open(shot) && from_there,
            ProposalProgress::Refused(_) => is_open(shot) && from_there,
            ProposalProgress::Taken(_) => shot.draft || is_open(shot),
            ProposalProgress::Declined => is_open(shot) || shot.draft,
        }
    }
}
