//! What a person does with a proposal: clicks on both walls, taking hold, accepting, dropping; and the outline fitted again
//! to a mark that is moved.

use crate::app::marking::proposal::memory::{ProposalBasis, is_open};
use crate::app::session::document::Document;
use crate::app::session::mode::{Hand, Mode, WallClicks};
use crate::case::document::Shot;
use crate::case::document::copied_marks::{anchors, copied_scale};
use crate::case::document::edit::{Description, Edit, EditError};
use crate::case::document::proposed::ProposedMarks;
use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, MarkRef, Marks, View};
use crate::propose::Edge;
use crate::propose::lateral::Clicks;
use crate::propose::outline::target_of;

/// Whether clicks on both walls can give an outline of the shown shot.
#[must_use]
pub fn can_click_walls(document: &Document) -> bool {
    document.shot().is_some_and(|shot| {
        !document.proposals.is_off()
            && shot.shows(View::Lateral)
            && is_open(shot)
            && document.proposals.offered(shot).is_none()
            && document.pointing().is_none()
    })
}

/// Asks for the middle of the posterior wall; what was offered or refused before is dropped.
pub(crate) fn begin(document: &mut Document) {
    if can_click_walls(document)
        && let Some(shot) = document.shown.clone()
    {
        // Nothing else is proposed meanwhile.
        document.proposals.decline(&shot);
        document.enter(Mode::Pointing(WallClicks::default()));
    }
}

/// Puts a click on the wall that is asked for; the second one asks for the outline.
pub(crate) fn point(document: &mut Document, to: Point) {
    let Mode::Pointing(walls) = &mut document.mode else { return };
    let Some(posterior) = walls.first else {
        walls.first = Some(to);
        return;
    };
    let mut helped = std::mem::take(&mut walls.helped);
    let anterior = match (walls.border, walls.second) {
        (Some(border), Some(anterior)) => {
            helped.push((border, to));
            anterior
        }
        (Some(_), None) | (None, _) => to,
    };
    document.crosshair = None;
    document.take(Hand::Nothing);
    if let Some(shot) = document.shown.clone() {
        document.proposals.want(&shot, ProposalBasis::Walls(Clicks { posterior, anterior }, helped));
    }
}

/// Marks are no longer proposed unasked: where both walls are asked for and neither was clicked, the first corner is.
pub(crate) fn ask_no_more(document: &mut Document) {
    if document.pointing() == Some(&WallClicks::default()) {
        document.take(Hand::Nothing);
        document.resume(None);
    }
}

/// The shown shot is marked by hand: what is proposed for it goes, and with it a draft that came of it.
pub(crate) fn by_hand(document: &mut Document) -> Result<(), EditError> {
    let Some(shot) = document.shot() else { return Ok(()) };
    let id = shot.id.clone();
    let own = document.proposals.taken(shot).map(|_| own_marks(shot));
    document.proposals.decline(&id);
    document.take(Hand::Nothing);
    let done = match own {
        Some(marks) => {
            document.history.begin_gesture();
            let done = document
                .apply(&Edit::SetMarks { shot: id.clone(), marks })
                .and_then(|()| document.apply(&Edit::Describe { shot: id, what: Description::Draft(false) }));
            document.history.end_gesture();
            done
        }
        None => Ok(()),
    };
    document.resume(None);
    done
}

/// The marks of a draft that a person has placed: no border, and no tip as it was proposed.
fn own_marks(shot: &Shot) -> Marks {
    let mut own = shot.marks.clone();
    let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
    for (kind, _) in shot.proposed.flags() {
        if kind != tip.kind || shot.proposed.holds(tip) {
            own.set(kind, Vec::new());
        }
    }
    own
}

/// What is offered becomes a draft of the case, because a person takes hold of it. Nothing counts yet.
pub(crate) fn take_up(document: &mut Document) -> Result<(), EditError> {
    let Some((shot, marks, proposed)) = document.shot().and_then(|shot| {
        let offer = document.proposals.offered(shot)?;
        Some((shot.id.clone(), offer.marks.clone(), Box::new(offer.proposed.clone())))
    }) else {
        return Ok(());
    };
    document.proposals.take_over(&shot, true);
    document.apply(&Edit::SetDraft { shot, marks, proposed })
}

/// What is offered, or the draft, counts from now on: one step back.
pub(crate) fn accept(document: &mut Document) -> Result<(), EditError> {
    let scale = scale_along(document);
    document.history.begin_gesture();
    let done = take_up(document).and_then(|()| {
        if let Some(edit) = &scale {
            document.apply(edit)?;
        }
        let Some(shot) = document.shot().filter(|shot| shot.draft).map(|shot| shot.id.clone()) else {
            return Ok(());
        };
        document.proposals.forget(&shot);
        document.apply(&Edit::Describe { shot, what: Description::Draft(false) })
    });
    document.history.end_gesture();
    done
}

/// The scale of the shot that the proposal was made from comes along, where the shown one has none and the body shows as
/// large there.
fn scale_along(document: &Document) -> Option<Edit> {
    let shot = document.shot()?;
    let Some(ProposalBasis::Shot { id, .. }) = &document.proposals.of(&shot.id)?.basis else { return None };
    let (a, b) = anchors(shot.view, document.seen_marks()?)?;
    let scale = copied_scale(shot, document.case().shot(id)?, a.distance(b))?;
    Some(Edit::Describe { shot: shot.id.clone(), what: Description::Scale(Some(scale)) })
}

/// The change that moves a mark of the shown shot: in a proposed outline all other borders follow it at once.
#[must_use]
pub(crate) fn moving(document: &Document, shot: &str, at: MarkRef, to: Point) -> Edit {
    fitted_again(document, shot, at, to).unwrap_or_else(|| Edit::Place { shot: shot.to_owned(), at, to })
}

fn fitted_again(document: &Document, id: &str, at: MarkRef, to: Point) -> Option<Edit> {
    let shot = document.case().shot(id)?;
    let outline = document.proposals.taken(shot)?.outline()?;
    target_of(at.kind, at.index)?;
    let mut dragged = Vec::new();
    for kind in Edge::ALL.map(Edge::mark_kind) {
        let slots = shot.marks.slots(kind);
        // Once points were added or taken out, the numbers of the others no longer say where they belong.
        if slots.len() != outline.marks.slots(kind).len() {
            return None;
        }
        for (index, slot) in slots.iter().enumerate() {
            let here = MarkRef { kind, index };
            if here == at {
                dragged.push((kind, index, to));
            } else if let Some(p) = slot.filter(|_| !shot.proposed.holds(here)) {
                dragged.push((kind, index, p));
            }
        }
    }
    let again = outline.refit(&dragged);
    let mut marks = shot.marks.clone();
    for kind in again.marks.kinds() {
        marks.set(kind, again.marks.slots(kind).to_vec());
    }
    let mut proposed: ProposedMarks = shot.proposed.clone();
    proposed.moved(at);
    Some(Edit::SetDraft { shot: id.to_owned(), marks, proposed: Box::new(proposed) })
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::marking::proposal::memory::{FoundProposal, Offer, ProposalProgress};
    use crate::case::document::Case;
    use crate::propose::further::{Copied, Further, Registered};

    const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

    fn plate() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (90.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 60.0), (90.0, 60.0)])
    }

    /// An AP with a marked tip for which the borders are offered.
    fn offered() -> Document {
        let mut shot = Shot::new("a", "a.png", View::Ap);
        shot.marks = Marks::new().with(MarkKind::Tip, &[(40.0, 30.0)]);
        let case = Case { shots: vec![shot].into(), ..Case::default() };
        let mut document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        let registered = Registered { peak: 0.9, similarity: 0.9, uncertain: false };
        let copied = Copied { marks: plate(), look_again: Vec::new(), registered };
        let before = document.case().shots[0].marks.clone();
        let offer = Offer::new(&before, None, FoundProposal::Further(Further::Copied(Box::new(copied))));
        document.proposals.decline("a");
        document.proposals.set("a", ProposalProgress::Offered(Box::new(offer)));
        document
    }

    fn shot(document: &Document) -> &Shot {
        &document.case().shots[0]
    }

    #[test]
    fn what_is_offered_changes_nothing_and_accepting_it_is_one_step_back() {
        let mut document = offered();
        assert!(document.is_unconfirmed() && !document.unsaved());
        assert_eq!(document.seen_marks().unwrap().placed().count(), 5);
        accept(&mut document).unwrap();
        assert!(!shot(&document).draft && shot(&document).marks.placed().count() == 5);
        assert!(document.history.undo());
        assert_eq!(shot(&document).marks.placed().count(), 1);
    }

    #[test]
    fn dropping_a_draft_leaves_what_a_person_has_placed() {
        let mut document = offered();
        take_up(&mut document).unwrap();
        assert!(shot(&document).draft && shot(&document).proposed.count() == 4);
        by_hand(&mut document).unwrap();
        assert!(!shot(&document).draft);
        assert_eq!(shot(&document).marks.placed().map(|(at, _)| at).collect::<Vec<_>>(), [TIP]);
        assert!(!document.is_unconfirmed(), "it does not come again by itself");
    }

    #[test]
    fn a_step_back_from_a_draft_offers_it_again() {
        let mut document = offered();
        take_up(&mut document).unwrap();
        assert!(document.history.undo());
        document.proposals.tidy(&document.history.case().shots, 0);
        assert!(document.proposals.offered(shot(&document)).is_some());
    }
}
