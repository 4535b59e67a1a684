//! When a proposal is asked for: for the shown shot, and for the next one before it is shown; and what came of it.

use std::sync::Arc;

use crate::app::display::opening;
use crate::app::marking::guide;
use crate::app::marking::proposal::change::can_click_walls;
use crate::app::marking::proposal::memory::{Offer, ProposalBasis, ProposalProgress, is_open};
use crate::app::marking::proposal::order::{NotFound, ProposalSource, ProposeDone, ProposeOrder};
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{Hand, Mode, WallClicks};
use crate::app::session::state::State;
use crate::app::work::effect::{Effect, Stoppable};
use crate::app::work::picture_store::{Loading, PictureKey};
use crate::case::document::Shot;
use crate::case::document::copied_marks::sources;
use crate::case::image::frame::Frame;
use crate::propose::lateral::Clicks;

/// What follows every change: proposals that no longer belong to their shot go, and those that are wanted are asked for;
/// without `unasked` only those that the user asks for.
pub(crate) fn follow(editor: &mut Editor, unasked: bool, effects: &mut Vec<Effect>) {
    let Some(document) = editor.document.as_mut().filter(|document| !document.proposals.is_off()) else {
        return;
    };
    let shown = document.index().unwrap_or_default();
    document.proposals.tidy(&document.history.case().shots, shown);
    for index in [shown, shown + 1].into_iter().filter(|_| unasked) {
        want(document, index);
    }
    if std::mem::take(&mut document.proposals.needless) {
        effects.push(Effect::Stop(Stoppable::Proposing));
    }
    for index in [shown, shown + 1] {
        order(editor, index, index == shown, effects);
    }
    if unasked {
        ask_for_walls(editor);
    }
}

/// A further shot of a body that is marked already is wanted by itself.
fn want(document: &mut Document, index: usize) {
    let open = |shot: &&Shot| is_open(shot) && shot.view_set;
    let Some(shot) = document.case().shots.get(index).filter(open) else { return };
    let (id, case) = (shot.id.clone(), document.case());
    let Some(source) = sources(case, index).first().map(|nearest| &case.shots[*nearest]) else { return };
    let again = match document.proposals.of(&id).map(|one| (&one.progress, &one.basis)) {
        None => true,
        Some((ProposalProgress::Refused(_), Some(ProposalBasis::Shot { id, .. }))) => *id != source.id,
        Some(_) => false,
    };
    if again {
        let basis = ProposalBasis::Shot { id: source.id.clone(), marks: source.marks.clone() };
        document.proposals.want(&id, basis);
    }
}

/// The frame of a shot, where it is in memory.
fn frame_of(editor: &Editor, shot: &Shot) -> Option<Arc<Frame>> {
    match editor.pictures.loading.get(&editor.key_of(shot)?)? {
        Loading::Ready(picture) => Some(Arc::clone(&picture.frame)),
        Loading::Busy | Loading::Aside | Loading::Failed(_) => None,
    }
}

/// Asks for what is wanted of a shot, once its image and the one it is made from are there.
fn order(editor: &mut Editor, index: usize, first: bool, effects: &mut Vec<Effect>) {
    let Some(document) = &editor.document else { return };
    let Some(shot) = document.case().shots.get(index) else { return };
    let Some(one) = document.proposals.of(&shot.id) else { return };
    let (ProposalProgress::Wanted, Some(basis)) = (&one.progress, &one.basis) else { return };
    let Some(frame) = frame_of(editor, shot) else { return };
    let from = match basis {
        ProposalBasis::Walls(clicks, helped) => ProposalSource::Walls(*clicks, helped.clone()),
        ProposalBasis::Shot { id, marks } => {
            let Some(source) = document.case().shot(id) else { return };
            let Some(frame) = frame_of(editor, source) else { return };
            ProposalSource::Shot {
                frame,
                covers: source.covers.clone(),
                marks: Box::new(marks.clone()),
                view: source.view,
                mm_per_px: source.mm_per_px,
            }
        }
    };
    let (id, covers, mm_per_px) = (shot.id.clone(), shot.covers.clone(), shot.mm_per_px);
    let Some(document) = &mut editor.document else { return };
    let number = document.proposals.number();
    document.proposals.set(&id, ProposalProgress::Waiting(number));
    let order = ProposeOrder { number, shot: id, first, frame, covers, mm_per_px, from };
    effects.push(Effect::Propose(Box::new(order)));
}

/// The images that wanted proposals of the shown and of the next shot are made from.
pub(crate) fn pictures(editor: &Editor) -> Vec<PictureKey> {
    let Some(document) = &editor.document else { return Vec::new() };
    let shown = document.index().unwrap_or_default();
    let near = document.case().shots.iter().skip(shown).take(2);
    near.filter_map(|shot| {
        let one = document.proposals.of(&shot.id)?;
        match (&one.progress, &one.basis) {
            (ProposalProgress::Wanted, Some(ProposalBasis::Shot { id, .. })) => {
                editor.key_of(document.case().shot(id)?)
            }
            _ => None,
        }
    })
    .collect()
}

/// The first lateral of a body begins with clicks on both walls instead of the first corner, once its image is there.
fn ask_for_walls(editor: &mut Editor) {
    let ready = editor.shown_frame().is_some() && !editor.is_elsewhere();
    let Some(document) = editor.document.as_mut().filter(|_| ready) else { return };
    let Some(shot) = document.shot() else { return };
    let first = Mode::Marking(Hand::Next(guide::steps(shot.view)[0]));
    let asked = match document.proposals.of(&shot.id).map(|one| (&one.progress, &one.basis)) {
        None | Some((ProposalProgress::Refused(_), Some(ProposalBasis::Shot { .. }))) => true,
        Some(_) => false,
    };
    if asked && *document.mode() == first && can_click_walls(document) {
        document.enter(Mode::Pointing(WallClicks::default()));
    }
}

/// Takes in what came of an order.
pub(crate) fn receive(state: &mut State, done: ProposeDone) {
    let Some(document) = &mut state.editor.document else { return };
    let Some(one) = document.proposals.of(&done.shot) else { return };
    if !matches!(one.progress, ProposalProgress::Waiting(number) if number == done.number) {
        return;
    }
    let (from, clicks) = match &one.basis {
        Some(ProposalBasis::Shot { id, .. }) => (Some(id.clone()), None),
        Some(ProposalBasis::Walls(clicks, helped)) => (None, Some((*clicks, helped.clone()))),
        None => (None, None),
    };
    let Some(shot) = document.case().shot(&done.shot) else { return };
    let shown = document.shown.as_deref() == Some(done.shot.as_str());
    let (mut said, mut border) = (None, None);
    let progress = match done.result {
        Some(Ok(found)) => ProposalProgress::Offered(Box::new(Offer::new(&shot.marks, from, found))),
        Some(Err(NotFound { why, border: at_fault })) => {
            said = clicks.as_ref().filter(|_| shown).map(|_| why.clone());
            border = at_fault;
            ProposalProgress::Refused(why)
        }
        None => ProposalProgress::Wanted,
    };
    document.proposals.set(&done.shot, progress);
    // The guide goes on from here: with the tip, or with the first corner.
    let waits = matches!(document.mode(), Mode::Marking(Hand::Nothing | Hand::Next(_)));
    if shown && waits {
        document.resume(None);
        // A border that was not found is asked for, each once.
        if let (Some((Clicks { posterior, anterior }, helped)), Some(edge)) = (clicks, border)
            && helped.iter().all(|(known, _)| *known != edge)
        {
            let (first, second) = (Some(posterior), Some(anterior));
            document.enter(Mode::Pointing(WallClicks { first, second, helped, border: Some(edge) }));
        }
    }
    if shown {
        opening::bring_marks_into_sight(&mut state.editor);
    }
    if said.is_some() {
        state.refused = said;
    }
}
