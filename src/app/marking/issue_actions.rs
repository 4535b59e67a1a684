//! What can be done about an issue at once, and the question which side of the pictures is the patient's right.

use crate::app::marking::next_mark::required_done;
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::measure::ap::ap_body_map;
use crate::measure::issue::IssueCode;
use crate::measure::mark::{MarkKind, Marks, PatientRight, View};

/// One way out of an issue: what the button says, and what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct IssueAction {
    /// The words on the button.
    pub words: &'static str,
    /// The change.
    pub edit: Edit,
}

/// Whether it must be asked which side of the AP pictures is the patient's right: the shown AP is marked or about to be, no
/// pedicle tells, and neither the picture nor the case says.
#[must_use]
pub fn asks_for_right(document: &Document) -> bool {
    let Some(shot) = document.shot() else { return false };
    let told = [MarkKind::RightPedicle, MarkKind::LeftPedicle];
    shot.shows(View::Ap)
        && !shot.draft
        && shot.patient_right.or(document.case().patient_right).is_none()
        && told.iter().all(|kind| shot.marks.complete(*kind).is_none())
        && (is_begun(document, shot) || required_done(shot))
        && !matches!(document.hand(), Hand::Next(step) if told.contains(&step.kind))
        && !matches!(
            document.hand(),
            Hand::Adding(_) | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_)
        )
}

/// Whether the first mark of a shot is asked for and none is proposed: a click places it, whether the question is answered
/// or not.
fn is_begun(document: &Document, shot: &Shot) -> bool {
    document.seen_marks().is_some_and(Marks::is_empty)
        && !document.proposals.is_sought(&shot.id)
        && matches!(document.hand(), Hand::Next(_))
}

/// The other way round.
#[must_use]
pub const fn turned(right: PatientRight) -> PatientRight {
    match right {
        PatientRight::ImageLeft => PatientRight::ImageRight,
        PatientRight::ImageRight => PatientRight::ImageLeft,
    }
}

/// What can be done about an issue of the shown shot.
#[must_use]
pub fn remedies(document: &Document, code: IssueCode) -> Vec<IssueAction> {
    let Some(shot) = document.shot() else { return Vec::new() };
    let set = |words, marks| IssueAction { words, edit: Edit::SetMarks { shot: shot.id.clone(), marks } };
    let describe = |words, what| IssueAction { words, edit: Edit::Describe { shot: shot.id.clone(), what } };
    let pedicles = [(MarkKind::RightPedicle, MarkKind::LeftPedicle)];
    match code {
        IssueCode::SideContradicts => {
            let mut ways = Vec::new();
            if both_in_one_half(shot) {
                return ways;
            }
            match (shot.patient_right, document.case().patient_right) {
                (Some(_), _) => {
                    ways.push(describe("Use the pedicles in this image", Description::PatientRight(None)));
                }
                (None, Some(right)) => ways.push(IssueAction {
                    words: "Reverse the case setting",
                    edit: Edit::SetPatientRight(Some(turned(right))),
                }),
                (None, None) => {}
            }
            ways.push(set("Swap pedicles", exchanged(&shot.marks, &pedicles)));
            ways
        }
        IssueCode::PedicleBordersSwapped => {
            vec![set("Swap its borders", borders_exchanged(document, shot))]
        }
        IssueCode::WallSidesSwapped => {
            let walls = [
                (MarkKind::RightWall, MarkKind::LeftWall),
                (MarkKind::RightWallSecond, MarkKind::LeftWallSecond),
            ];
            vec![set("Swap walls", exchanged(&shot.marks, &walls))]
        }
        IssueCode::WallsSwapped => vec![set("Swap anterior and posterior", turned_round(&shot.marks))],
        IssueCode::PairRefused => vec![describe("Match automatically", Description::PairWith(None))],
        _ => Vec::new(),
    }
}

/// The two pedicles contradict each other, so no setting can be right.
fn both_in_one_half(shot: &Shot) -> bool {
    let Ok(map) = ap_body_map(&shot.marks, None, None) else { return false };
    let half = |kind| {
        let borders = shot.marks.complete(kind)?;
        Some(map.to_body(borders[0].midpoint(borders[1]))?.along < 0.5)
    };
    match (half(MarkKind::RightPedicle), half(MarkKind::LeftPedicle)) {
        (Some(right), Some(left)) => right == left,
        _ => false,
    }
}

/// The marks of each pair under each other's name.
fn exchanged(marks: &Marks, pairs: &[(MarkKind, MarkKind)]) -> Marks {
    let mut all = marks.clone();
    for &(a, b) in pairs {
        all.set(a, marks.slots(b).to_vec());
        all.set(b, marks.slots(a).to_vec());
    }
    all
}

/// Each pedicle whose medial border lies farther from the middle than its lateral one, with the two exchanged.
fn borders_exchanged(document: &Document, shot: &Shot) -> Marks {
    let mut all = shot.marks.clone();
    let right = shot.patient_right.or(document.case().patient_right);
    let Ok(map) = ap_body_map(&shot.marks, shot.side, right) else { return all };
    for kind in [MarkKind::RightPedicle, MarkKind::LeftPedicle] {
        let Some(borders) = shot.marks.complete(kind) else { continue };
        let off = |i: usize| map.to_body(borders[i]).map(|at| (at.along - 0.5).abs());
        if let (Some(lateral), Some(medial)) = (off(0), off(1))
            && medial >= lateral
        {
            all.set(kind, vec![Some(borders[1]), Some(borders[0])]);
        }
    }
    all
}

/// A lateral body with front and back exchanged: plates from the other end, walls under each other's name.
fn turned_round(marks: &Marks) -> Marks {
    let walls = [
        (MarkKind::PosteriorWall, MarkKind::AnteriorWall),
        (MarkKind::PosteriorWallSecond, MarkKind::AnteriorWallSecond),
    ];
    let mut all = exchanged(marks, &walls);
    for kind in [
        MarkKind::SuperiorEndPlate,
        MarkKind::InferiorEndPlate,
        MarkKind::SuperiorEndPlateSecond,
        MarkKind::InferiorEndPlateSecond,
    ] {
        all.set(kind, marks.slots(kind).iter().rev().copied().collect());
    }
    all
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::view::ViewCommand;
    use crate::app::marking::prompt::prompt;
    use crate::app::session::state::State;
    use crate::app::session::update::update;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::{Side, Stage};

    /// The patient's right on the left of the picture, entered from the right.
    fn marks() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 130.0), (150.0, 130.0)])
            .with(MarkKind::Tip, &[(122.5, 115.0)])
    }

    fn state(marks: Marks) -> State {
        let mut shot = Shot::new("a", "a.png", View::Ap);
        shot.side = Some(Side::Right);
        shot.stage = Some(Stage::Final);
        shot.marks = marks;
        let case = Case { shots: vec![shot].into(), ..Case::default() };
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        let mut state = State::of(document);
        state.editor.document.as_mut().unwrap().take(Hand::Nothing);
        update(&mut state, Command::View(ViewCommand::ZoomIn));
        state
    }

    fn codes(state: &State) -> Vec<IssueCode> {
        let looked = state.editor.document.as_ref().unwrap().looked("a").unwrap();
        looked.reading.issues().iter().map(|issue| issue.code).collect()
    }

    /// Follows the n-th remedy of the only issue, and gives the codes that are left.
    fn follow(mut state: State, code: IssueCode, n: usize) -> Vec<IssueCode> {
        assert!(codes(&state).contains(&code), "{:?}", codes(&state));
        let ways = remedies(state.editor.document.as_ref().unwrap(), code);
        update(&mut state, Command::Case(CaseCommand::Edit(ways[n].edit.clone())));
        codes(&state)
    }

    #[test]
    fn the_patients_right_is_asked_once_and_never_assumed() {
        let mut state = state(marks());
        assert!(asks_for_right(state.editor.document.as_ref().unwrap()));
        assert_eq!(codes(&state), [IssueCode::SideUnknown]);
        update(&mut state, Command::Case(CaseCommand::SetPatientRight(PatientRight::ImageLeft)));
        assert!(!asks_for_right(state.editor.document.as_ref().unwrap()) && codes(&state).is_empty());
        assert_eq!(
            state.editor.document.as_ref().unwrap().case().patient_right,
            Some(PatientRight::ImageLeft)
        );
    }

    #[test]
    fn the_patients_right_is_asked_when_an_ap_is_begun_and_a_click_goes_on_without_an_answer() {
        let mut state = state(Marks::new());
        state.editor.document.as_mut().unwrap().back_to_marking();
        let asked = |state: &State| asks_for_right(state.editor.document.as_ref().unwrap());
        assert!(asked(&state));
        let sentence = prompt(state.editor.document.as_ref().unwrap()).sentence;
        assert!(
            sentence.contains("patient’s right") && sentence.contains("If unknown, click "),
            "{sentence}"
        );
        update(&mut state, Command::Marks(MarksCommand::Place(Point::new(9.0, 9.0))));
        assert!(!asked(&state) && state.refused.is_none());
    }

    #[test]
    fn a_pedicle_tells_and_nothing_is_asked() {
        let state = state(marks().with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)]));
        assert!(!asks_for_right(state.editor.document.as_ref().unwrap()) && codes(&state).is_empty());
    }

    #[test]
    fn a_contradiction_has_a_way_out_on_either_side() {
        for n in [0, 1] {
            let mut state = state(marks().with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)]));
            update(
                &mut state,
                Command::Case(CaseCommand::Edit(Edit::SetPatientRight(Some(PatientRight::ImageRight)))),
            );
            assert!(follow(state, IssueCode::SideContradicts, n).is_empty());
        }
        let one_half = marks()
            .with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)])
            .with(MarkKind::LeftPedicle, &[(106.0, 109.0), (114.0, 109.0)]);
        let state = state(one_half);
        assert!(remedies(state.editor.document.as_ref().unwrap(), IssueCode::SideContradicts).is_empty());
    }

    #[test]
    fn what_is_exchanged_is_exchanged_back() {
        let swapped = marks().with(MarkKind::RightPedicle, &[(114.0, 108.0), (106.0, 108.0)]);
        assert!(follow(state(swapped), IssueCode::PedicleBordersSwapped, 0).is_empty());
        let walls = marks()
            .with(MarkKind::RightPedicle, &[(106.0, 108.0), (114.0, 108.0)])
            .with(MarkKind::RightWall, &[(149.0, 115.0)])
            .with(MarkKind::LeftWall, &[(101.0, 115.0)]);
        assert!(follow(state(walls), IssueCode::WallSidesSwapped, 0).is_empty());
    }
}
