//! Refining how the earlier picture lies on the later one by the pictures themselves, away from the drawing thread.
//!
//! Readings and the change stay those of the marks until the user takes the refinement, and are so again once it is put
//! back or anything that it was found from has changed.

use crate::app::pages::work::PageWork;
use std::sync::Arc;

use crate::app::pages::compare::memory::{FoundFrom, Refining};
use crate::app::pages::compare::viewport::Half;
use crate::app::pages::compare::work::{CompareDone, CompareWork, RefineOrder};
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::scene::comparison::refined::Refined;

fn found_from(state: &State) -> Option<FoundFrom> {
    let (document, page) = (state.editor.document.as_ref()?, &state.pages.compare);
    let case = document.case();
    let [from, to] = page.places(document)?.map(|at| case.shots.get(at).cloned());
    Some(FoundFrom { shots: [from?, to?], position: page.position, bone_sd_mm: case.settings.bone_sd_mm })
}

fn wanted(state: &State) -> Option<RefineOrder> {
    let (document, page) = (state.editor.document.as_ref()?, &state.pages.compare);
    let Some(Ok(compared)) = &page.found else { return None };
    let frame = |i: usize| Some(Arc::clone(&Half::of(state, i)?.picture(state)?.frame));
    Some(RefineOrder {
        from: found_from(state)?,
        case: document.case().clone(),
        compared: compared.clone(),
        second: document.read(page.places(document)?[1])?.0.clone(),
        frames: [frame(0)?, frame(1)?],
    })
}

/// Whether a refinement can be asked for: both pictures are there, the change is known, and none is at work or found.
pub(super) fn possible(state: &State) -> bool {
    let page = &state.pages.compare;
    let there = |i: usize| Half::of(state, i).is_some_and(|half| half.picture(state).is_some());
    page.refining.is_none() && matches!(page.found, Some(Ok(_))) && there(0) && there(1)
}

/// Has it found.
pub(super) fn begin(state: &mut State, effects: &mut Vec<Effect>) {
    if state.pages.compare.refining.is_some() {
        return;
    }
    let Some(order) = wanted(state) else { return };
    state.pages.compare.refining = Some(Refining { from: order.from.clone(), found: None, taken: false });
    effects.push(Effect::Page(PageWork::Compare(CompareWork::Refine(Box::new(order)))));
}

/// Finds it.
pub(super) fn make(order: &RefineOrder) -> CompareDone {
    let frames = [&*order.frames[0], &*order.frames[1]];
    let refined = Refined::of(&order.case, &order.compared, frames, &order.second);
    CompareDone::Refined(Box::new(order.from.clone()), refined.map(Arc::new))
}

/// Takes in what was found, if the shots are still those.
pub(super) fn take_in(state: &mut State, from: &FoundFrom, refined: Result<Arc<Refined>, String>) {
    if let Some(refining) = &mut state.pages.compare.refining
        && refining.from == *from
    {
        refining.found = Some(refined);
    }
}

/// Takes the refinement, or puts it back; one that cannot be trusted is not taken.
pub(super) fn take(state: &mut State, taken: bool) {
    if let Some(refining) = &mut state.pages.compare.refining {
        refining.taken = taken && refining.trusted().is_some();
    }
}

/// Lets a refinement go that was found from something else, and puts a taken one in the place of what the marks say.
pub(super) fn follow(state: &mut State) {
    let now = found_from(state);
    let page = &mut state.pages.compare;
    if page.refining.as_ref().is_some_and(|refining| Some(&refining.from) != now.as_ref()) {
        page.refining = None;
    }
    let Some(refined) = page.refining.as_ref().filter(|refining| refining.taken).and_then(Refining::trusted)
    else {
        return;
    };
    let Some(Ok(found)) = &page.found else { return };
    let (accepted, registration) = (refined.accepted(found), refined.refinement.trusted().cloned());
    if let (Some(accepted), Some(registration)) = (accepted, registration) {
        page.found = Some(Ok(accepted));
        page.registered = Some(Ok(registration));
    }
}
