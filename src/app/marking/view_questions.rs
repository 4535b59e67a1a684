//! What is asked so that a reading knows its view: from which side an AP was entered, whether a border shows twice, once a shot after its borders, and where the
//! X-ray tube stood, once a case.

use crate::app::marking::next_mark::required_done;
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::measure::mark::{Side, View};
use crate::measure::true_view::known::{ApTube, CannotTell, Tube};

/// An answer that the guide's line offers; each has a button of its own there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ViewAnswer {
    /// The probe entered from the patient's right.
    EnteredRight,
    /// From the patient's left.
    EnteredLeft,
    /// No border of the shot shows twice.
    ShowsOnce,
    /// It cannot be told whether any does.
    CannotTell,
    /// The tube of lateral shots stood on the patient's left.
    TubeLeft,
    /// On the patient's right.
    TubeRight,
    /// The tube of AP shots stood anterior to the patient.
    TubeAnterior,
    /// Posterior to the patient.
    TubePosterior,
    /// Nobody knows; not asked again of this view while the case is open.
    TubeNotKnown,
}

/// What is asked of the view that is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ViewQuestion {
    /// From which side the probe of an AP entered: without it there is no offset from the midline.
    Side,
    /// Whether a border shows twice.
    Contours,
    /// Where the tube stood, in shots of this view.
    Tube(View),
}

/// What the guide asks of the shown shot once its marks are placed: whether a border shows twice, then where the tube
/// stood; `None` where nothing is open.
#[must_use]
pub fn asked(document: &Document) -> Option<ViewQuestion> {
    let shot = document.shot().filter(|_| document.asks_about_view)?;
    let at_rest = matches!(document.hand(), Hand::Nothing | Hand::Mark(_));
    let looked = document.looked(&shot.id).filter(|_| at_rest && required_done(shot))?;
    if shot.view == View::Ap && shot.side.is_none() && !shot.draft {
        return Some(ViewQuestion::Side);
    }
    if contours_open(shot, &looked.reading) {
        return Some(ViewQuestion::Contours);
    }
    let tube = document.case().tube;
    let unknown = match shot.view {
        View::Lateral => tube.lateral.is_none(),
        View::Ap => tube.ap.is_none(),
        View::Pedicle => false,
    };
    let open = looked.reading.is_read() && !shot.draft && !document.tube_not_known.contains(&shot.view);
    (open && unknown).then_some(ViewQuestion::Tube(shot.view))
}

impl ViewQuestion {
    /// The answers to it, in the order of their buttons; the other line is marked by a command of its own.
    #[must_use]
    pub fn answers(self) -> Vec<ViewAnswer> {
        match self {
            Self::Side => vec![ViewAnswer::EnteredRight, ViewAnswer::EnteredLeft],
            Self::Contours => vec![ViewAnswer::ShowsOnce, ViewAnswer::CannotTell],
            Self::Tube(View::Lateral) => {
                vec![ViewAnswer::TubeLeft, ViewAnswer::TubeRight, ViewAnswer::TubeNotKnown]
            }
            Self::Tube(_) => {
                vec![ViewAnswer::TubeAnterior, ViewAnswer::TubePosterior, ViewAnswer::TubeNotKnown]
            }
        }
    }
}

impl ViewAnswer {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::EnteredRight,
        Self::EnteredLeft,
        Self::ShowsOnce,
        Self::CannotTell,
        Self::TubeLeft,
        Self::TubeRight,
        Self::TubeAnterior,
        Self::TubePosterior,
        Self::TubeNotKnown,
    ];

    /// Whether it answers what is asked at present.
    #[must_use]
    pub fn fits(self, document: &Document) -> bool {
        asked(document).is_some_and(|question| question.answers().contains(&self))
    }

    /// The change that it makes to the case; none where it changes only what is asked.
    #[must_use]
    pub fn edit(self, case: &Case, shot: &Shot) -> Option<Edit> {
        let told = |depth, height| {
            let what = Description::CannotTell(Some(CannotTell { depth, height }));
            Some(Edit::Describe { shot: shot.id.clone(), what })
        };
        let tube = |lateral: Option<Side>, ap: Option<ApTube>| {
            Some(Edit::SetTube(Tube { lateral: lateral.or(case.tube.lateral), ap: ap.or(case.tube.ap) }))
        };
        let side = |side| Some(Edit::Describe { shot: shot.id.clone(), what: Description::Side(Some(side)) });
        match self {
            Self::EnteredRight => side(Side::Right),
            Self::EnteredLeft => side(Side::Left),
            Self::ShowsOnce => told(false, false),
            Self::CannotTell => told(shot.view == View::Lateral, true),
            Self::TubeLeft => tube(Some(Side::Left), None),
            Self::TubeRight => tube(Some(Side::Right), None),
            Self::TubeAnterior => tube(None, Some(ApTube::Front)),
            Self::TubePosterior => tube(None, Some(ApTube::Behind)),
            Self::TubeNotKnown => None,
        }
    }
}

/// An answer in full words, for a place that has room for them: what the button says, what it means, and the change.
#[derive(Clone, Debug, PartialEq)]
pub struct AnswerButton {
    /// The words on the button.
    pub words: &'static str,
    /// What follows from it.
    pub advice: &'static str,
    /// The change.
    pub edit: Edit,
}

/// Whether it is open if a border shows twice: no second line is marked, nobody has answered, and the view shows a body.
#[must_use]
pub fn contours_open(shot: &Shot, reading: &ShotReading) -> bool {
    let apart = match reading {
        ShotReading::Lateral(reading) => reading.apart_mm,
        ShotReading::Ap(reading) => reading.apart_mm,
        ShotReading::Pedicle(_) => return false,
    };
    shot.cannot_tell.is_none() && !shot.draft && apart.iter().all(Option::is_none) && reading.is_read()
}

/// What is known of a shot's borders beside their marks, or asked in one direction only, with the ways to change it; `None`
/// where the guide's line says it all.
#[must_use]
pub fn contours(shot: &Shot, reading: &ShotReading) -> Option<(&'static str, Vec<AnswerButton>)> {
    let answer = |words, advice, told| {
        let what = Description::CannotTell(told);
        AnswerButton { words, advice, edit: Edit::Describe { shot: shot.id.clone(), what } }
    };
    if let Some(told) = shot.cannot_tell {
        let said = match (told.depth, told.height) {
            (false, false) => "You said that every border shows once.",
            (true, false) => "You cannot tell whether the walls show twice.",
            (false, true) => "You cannot tell whether the endplates show twice.",
            (true, true) => "You cannot tell whether a border shows twice.",
        };
        let again = answer("Ask again", "Withdraw the answer; the question is asked again.", None);
        return Some((said, vec![again]));
    }
    if shot.view != View::Lateral || !contours_open(shot, reading) {
        return None;
    }
    let untold = "A rotation or tilt of up to 8° is then allowed for, and the reading is less certain.";
    let of = |words, depth, height| answer(words, untold, Some(CannotTell { depth, height }));
    let ways = vec![of("Walls", true, false), of("Endplates", false, true)];
    Some(("Cannot tell for one kind of border only?", ways))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::mark::{MarkKind, Stage};

    fn case() -> Case {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        shot.marks = shot
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(365.45, 356.90)]);
        Case { shots: vec![shot].into(), ..Case::default() }
    }

    fn document() -> Document {
        let mut document = Document::fresh(case());
        document.look(|_| Picture::NotLookedAt);
        document
    }

    #[test]
    fn a_question_is_open_until_it_is_answered_or_the_other_line_is_marked() {
        let mut case = case();
        let read = |case: &Case| read_shot(case, 0, |_| Picture::NotLookedAt);
        assert!(contours_open(&case.shots[0], &read(&case)));
        let (_, ways) = contours(&case.shots[0], &read(&case)).unwrap();
        assert_eq!(ways.len(), 2);
        let depth = |case: &Case| match read(case) {
            ShotReading::Lateral(reading) => reading.tip.unwrap().along.sd(),
            _ => panic!("a lateral"),
        };
        let before = depth(&case);
        let edit = ViewAnswer::CannotTell.edit(&case, &case.shots[0]).unwrap();
        case.apply(&edit).unwrap();
        assert!(depth(&case) > before, "not to know costs certainty");
        assert!(!contours_open(&case.shots[0], &read(&case)));
        let (said, again) = contours(&case.shots[0], &read(&case)).unwrap();
        assert!(said.contains("cannot tell"), "{said}");
        case.apply(&again[0].edit).unwrap();
        assert!(contours_open(&case.shots[0], &read(&case)));
        case.shots[0].marks = case.shots[0]
            .marks
            .clone()
            .with(MarkKind::PosteriorWallSecond, &[(409.0, 305.5), (402.0, 398.5)]);
        assert!(!contours_open(&case.shots[0], &read(&case)));
    }

    #[test]
    fn every_answer_belongs_to_one_question() {
        let questions = [
            ViewQuestion::Side,
            ViewQuestion::Contours,
            ViewQuestion::Tube(View::Lateral),
            ViewQuestion::Tube(View::Ap),
        ];
        for answer in ViewAnswer::ALL {
            let of = questions.into_iter().filter(|question| question.answers().contains(&answer)).count();
            assert_eq!(of, if answer == ViewAnswer::TubeNotKnown { 2 } else { 1 }, "{answer:?}");
        }
    }

    /// Without the side of entry an AP has no offset from the midline.
    #[test]
    fn an_ap_without_a_side_is_asked_for_it_first() {
        let mut case = case();
        case.shots[0].view = View::Ap;
        let mut document = Document::fresh(case);
        document.look(|_| Picture::NotLookedAt);
        assert_eq!(asked(&document), Some(ViewQuestion::Side));
        let shot = document.shot().unwrap().clone();
        let left = ViewAnswer::EnteredLeft.edit(document.case(), &shot).unwrap();
        document.apply(&left).unwrap();
        document.look(|_| Picture::NotLookedAt);
        assert_eq!(document.shot().unwrap().side, Some(Side::Left));
        assert_ne!(asked(&document), Some(ViewQuestion::Side));
    }

    #[test]
    fn the_tube_is_asked_once_a_case_and_view() {
        let mut document = document();
        assert_eq!(asked(&document), Some(ViewQuestion::Contours));
        let shot = document.shot().unwrap().clone();
        let once = ViewAnswer::ShowsOnce.edit(document.case(), &shot).unwrap();
        document.apply(&once).unwrap();
        document.look(|_| Picture::NotLookedAt);
        assert_eq!(asked(&document), Some(ViewQuestion::Tube(View::Lateral)));
        assert!(ViewAnswer::TubeLeft.fits(&document) && !ViewAnswer::TubeAnterior.fits(&document));
        assert!(!ViewAnswer::ShowsOnce.fits(&document), "it is answered");
        document.tube_not_known.insert(View::Lateral);
        assert_eq!(asked(&document), None);
        document.tube_not_known.clear();
        let left = ViewAnswer::TubeLeft.edit(document.case(), &shot).unwrap();
        document.apply(&left).unwrap();
        document.look(|_| Picture::NotLookedAt);
        assert_eq!((asked(&document), document.case().tube.lateral), (None, Some(Side::Left)));
    }
}
