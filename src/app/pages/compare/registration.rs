//! Registration the earlier picture on the later one away from the drawing thread, whenever what it is made of has changed.

use crate::app::pages::work::PageWork;
use std::sync::Arc;

use crate::app::pages::compare::memory::{CompareMode, Laid, MadeOf, One};
use crate::app::pages::compare::viewport::Half;
use crate::app::pages::compare::work::{CompareDone, CompareWork, RegisterOrder};
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::scene::comparison::layers::Layers;

/// Orders layers where the page shows them and has none of the present shots.
pub(super) fn order(state: &mut State, effects: &mut Vec<Effect>) {
    if state.pages.compare.mode == CompareMode::SideBySide {
        return;
    }
    let Some(order) = wanted(state) else {
        state.pages.compare.laid = Laid::Nothing;
        return;
    };
    if state.pages.compare.laid.of() != Some(&order.of) {
        state.pages.compare.laid = Laid::Busy(order.of.clone());
        effects.push(Effect::Page(PageWork::Compare(CompareWork::Lay(Box::new(order)))));
    }
}

/// What is needed to lay the present shots; `None` while something of it is not there.
pub(super) fn wanted(state: &State) -> Option<RegisterOrder> {
    let registration = state.pages.compare.registered.as_ref()?.as_ref().ok()?.clone();
    let (from, to) = (Half::of(state, 0)?, Half::of(state, 1)?);
    let patient_right = state.editor.document.as_ref()?.case().patient_right;
    let one = |half: &Half<'_>| {
        Some(One {
            key: half.key.clone()?,
            digest: half.picture(state)?.frame.digest.clone(),
            marks: half.shot.marks.clone(),
            sides: (half.shot.side, half.shot.patient_right.or(patient_right)),
            covers: half.shot.covers.clone(),
        })
    };
    let frame = |half: &Half<'_>| Some(Arc::clone(&half.picture(state)?.frame));
    Some(RegisterOrder {
        of: MadeOf {
            both: [one(&from)?, one(&to)?],
            refined: state.pages.compare.refining.as_ref().is_some_and(|refining| refining.taken),
        },
        registration,
        frames: [frame(&from)?, frame(&to)?],
        covers: [from.shot.covers.clone(), to.shot.covers.clone()],
    })
}

/// Makes the layers.
pub(super) fn make(order: RegisterOrder) -> CompareDone {
    let RegisterOrder { of, registration, frames, covers } = order;
    let layers = Layers::of(&registration, [&frames[0], &frames[1]], [&covers[0], &covers[1]]);
    CompareDone::Laid(Box::new(of), layers.map(Arc::new))
}

/// Takes the layers in; those of shots that are no longer compared are let go.
pub(super) fn take_in(state: &mut State, of: MadeOf, layers: Result<Arc<Layers>, String>) {
    let laid = &mut state.pages.compare.laid;
    if laid.of() == Some(&of) {
        *laid = match layers {
            Ok(layers) => Laid::Ready(of, layers),
            Err(why) => Laid::Failed(of, why),
        };
    }
}
