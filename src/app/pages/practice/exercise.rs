//! One exercise: a simulated shot, from the guess through the marks to the error.

use std::sync::Arc;

use crate::app::marking::marks::put_down;
use crate::app::marking::proposal::memory::Offer;
use crate::app::marking::proposal::order::{ProposalSource, ProposeDone, ProposeOrder};
use crate::app::pages::practice::memory::{Exercise, Phase};
use crate::app::pages::practice::work::{PracticeWork, SimulatedStill};
use crate::app::pages::work::PageWork;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::{DecodedPicture, KnownPicture, PictureKey};
use crate::case::document::{Case, Shot};
use crate::case::image::offered_scale;
use crate::measure::body::BodyPoint;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{Marks, View};
use crate::propose::lateral::Clicks;
use crate::scene::repeatability::practice::truth_scene;
use crate::study::practice::score;

/// A case with the shot under a number, without marks, and without its stage, which would say where the tip may be.
pub(super) fn bare_case(case: &Case, shot: &Shot, seed: u64) -> Case {
    let mut bare = Shot::new(seed.to_string(), PictureKey::simulated(seed).path.to_string_lossy(), shot.view);
    (bare.level, bare.side, bare.mm_per_px) = (shot.level, shot.side, shot.mm_per_px);
    Case { patient_right: case.patient_right, shots: vec![bare].into(), ..Case::default() }
}

pub(super) fn begin(state: &mut State, made: SimulatedStill) {
    let SimulatedStill { seed, case, decoded, truth } = made;
    let store = Arc::make_mut(&mut state.editor.pictures);
    store.forget_simulated();
    if let Some(frame) = decoded.frame {
        let known = KnownPicture {
            extent: decoded.extent,
            digest: decoded.digest,
            small: decoded.small,
            warnings: Vec::new(),
            frames: 1,
            frame_time_ms: None,
            proposed: Vec::new(),
            offer: offered_scale::ScaleOffer::of(&decoded.facts),
            burned_in: false,
            unchecked: false,
        };
        store.put_simulated(
            PictureKey::simulated(seed),
            known,
            DecodedPicture { frame, greys: decoded.greys },
        );
    }
    let editor = Editor::blind(Document::fresh(case), &state.editor.pictures);
    let phase = if state.pages.practice.guess_first { Phase::Guess } else { Phase::Mark };
    state.pages.practice.exercise =
        Some(Exercise { seed, editor, guess: None, phase, proposed: None, truth });
}

/// The exercise is over; its image lies in no file and goes with it.
pub(super) fn leave(state: &mut State) {
    state.pages.practice.exercise = None;
    Arc::make_mut(&mut state.editor.pictures).forget_simulated();
}

/// The guess is made, in percent as typed; `None` if it is no number that can be meant.
pub(super) fn guessed(text: &str) -> Option<f64> {
    let text = text.trim().trim_end_matches('%').trim().replace(',', ".");
    let percent: f64 = text.parse().ok()?;
    (-100.0..=200.0).contains(&percent).then_some(percent / 100.0)
}

/// Shows the error and keeps it. Nothing happens while a mark is missing without which there is no reading.
pub(super) fn see(state: &mut State, effects: &mut Vec<Effect>) {
    let Some(exercise) = &mut state.pages.practice.exercise else { return };
    if exercise.phase != Phase::Mark || !exercise.editor.is_done() {
        return;
    }
    if let Some(document) = &mut exercise.editor.document
        && put_down(document).is_err()
    {
        return;
    }
    let Some(document) = &exercise.editor.document else { return };
    let Some(shot) = document.shot() else { return };
    let found = score(document.case(), shot, &shot.marks, &exercise.truth, exercise.guess);
    let truth = truth_scene(shot.view, &shot.marks, &exercise.truth);
    effects.push(Effect::Page(PageWork::Practice(PracticeWork::Keep(Box::new(found.clone())))));
    if let Some(order) = proposal(exercise) {
        effects.push(Effect::Page(PageWork::Practice(PracticeWork::Propose(Box::new(order)))));
    }
    exercise.phase = Phase::Seen { score: Box::new(found), truth };
}

/// What the program would propose for a lateral from clicks on the walls that were marked: to be shown beside the marks,
/// once they are made.
fn proposal(exercise: &Exercise) -> Option<ProposeOrder> {
    let shot = exercise.editor.shot().filter(|shot| shot.view == View::Lateral)?;
    let map = lateral_body_map(&shot.marks).ok()?;
    let [posterior, anterior] = [0.0, 1.0].map(|along| map.to_image(BodyPoint::new(along, 0.5)));
    Some(ProposeOrder {
        number: exercise.seed,
        shot: shot.id.clone(),
        first: true,
        frame: Arc::clone(&exercise.editor.shown_frame()?.frame),
        covers: Vec::new(),
        mm_per_px: shot.mm_per_px,
        from: ProposalSource::Walls(Clicks { posterior, anterior }, Vec::new()),
    })
}

/// Takes in what was proposed, if its exercise is still the one that is shown.
pub(super) fn proposed(state: &mut State, done: ProposeDone) {
    let Some(exercise) = state.pages.practice.exercise.as_mut().filter(|one| one.seed == done.number) else {
        return;
    };
    let (Some(result), Some(document)) = (done.result, &exercise.editor.document) else { return };
    let Some(shot) = document.shot() else { return };
    exercise.proposed = Some(result.map_err(|not| not.why).map(|found| {
        let marks = Offer::new(&Marks::new(), None, found).marks;
        Box::new(score(document.case(), shot, &marks, &exercise.truth, None))
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guess_is_a_number_of_percent() {
        assert_eq!(guessed(" 42 %"), Some(0.42));
        assert_eq!(guessed("37,5"), Some(0.375));
        assert_eq!((guessed("front"), guessed("400"), guessed("")), (None, None, None));
    }
}
