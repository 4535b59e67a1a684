//! What is asked so that a reading knows its view: whether a border shows twice, once a shot after its borders, and where the
//! X-ray tube stood, once a case.

use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::measure::mark::{Side, View};
use crate::measure::true_view::known::{ApTube, CannotTell, Tube};

/// One answer: what the button says, what it means, and the change.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The words on the button.
    pub words: &'static str,
    /// What follows from it.
    pub advice: &'static str,
    /// The change.
    pub edit: Edit,
}

/// The answers to whether a border shows twice; none where a second line is marked, somebody has answered, or the view shows no
/// body. The other line is marked like any other mark; then nothing is asked any more.
#[must_use]
pub fn contours(shot: &Shot, reading: &ShotReading) -> Vec<Answer> {
    let apart = match reading {
        ShotReading::Lateral(reading) => reading.apart_mm,
        ShotReading::Ap(reading) => reading.apart_mm,
        ShotReading::Pedicle(_) => return Vec::new(),
    };
    if shot.cannot_tell.is_some() || shot.draft || apart.iter().any(Option::is_some) || !reading.is_read() {
        return Vec::new();
    }
    let answer = |words, advice, depth, height| {
        let what = Description::CannotTell(Some(CannotTell { depth, height }));
        Answer { words, advice, edit: Edit::Describe { shot: shot.id.clone(), what } }
    };
    let once = "You looked, and every border shows as one line.";
    let untold = "A rotation or tilt of up to 8° is then allowed for, and the reading is less certain.";
    let mut answers = vec![answer("Shows once", once, false, false)];
    if shot.view == View::Lateral {
        answers.push(answer("Cannot tell: walls", untold, true, false));
        answers.push(answer("Cannot tell: endplates", untold, false, true));
        answers.push(answer("Cannot tell: either", untold, true, true));
    } else {
        answers.push(answer("Cannot tell", untold, false, true));
    }
    answers
}

/// The answers to where the tube stood in shots of this view; none where it is known.
#[must_use]
pub fn tube(case: &Case, shot: &Shot) -> Vec<Answer> {
    let known = case.tube;
    let answer = |words, tube: Tube| Answer {
        words,
        advice: "What is nearer to the tube appears larger; the readings become a little surer. The case settings change it later.",
        edit: Edit::SetTube(tube),
    };
    match shot.view {
        View::Lateral if known.lateral.is_none() => vec![
            answer("Patient’s left", Tube { lateral: Some(Side::Left), ..known }),
            answer("Patient’s right", Tube { lateral: Some(Side::Right), ..known }),
        ],
        View::Ap if known.ap.is_none() => vec![
            answer("Anterior to the patient", Tube { ap: Some(ApTube::Front), ..known }),
            answer("Posterior to the patient", Tube { ap: Some(ApTube::Behind), ..known }),
        ],
        _ => Vec::new(),
    }
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
        Case { shots: vec![shot], ..Case::default() }
    }

    #[test]
    fn a_question_is_open_until_it_is_answered_or_the_other_line_is_marked() {
        let mut case = case();
        let read = |case: &Case| read_shot(case, 0, |_| Picture::NotLookedAt);
        let answers = contours(&case.shots[0], &read(&case));
        assert_eq!(answers.len(), 4);
        let depth = |case: &Case| match read(case) {
            ShotReading::Lateral(reading) => reading.tip.unwrap().along.sd(),
            _ => panic!("a lateral"),
        };
        let before = depth(&case);
        case.apply(&answers[3].edit).unwrap();
        assert!(depth(&case) > before, "not to know costs certainty");
        assert!(contours(&case.shots[0], &read(&case)).is_empty());
        case.shots[0].cannot_tell = None;
        case.shots[0].marks = case.shots[0]
            .marks
            .clone()
            .with(MarkKind::PosteriorWallSecond, &[(409.0, 305.5), (402.0, 398.5)]);
        assert!(contours(&case.shots[0], &read(&case)).is_empty());
    }

    #[test]
    fn the_tube_is_asked_once_a_case_and_view() {
        let mut case = case();
        let answers = tube(&case, &case.shots[0].clone());
        case.apply(&answers[0].edit).unwrap();
        assert_eq!(case.tube.lateral, Some(Side::Left));
        assert!(tube(&case, &case.shots[0]).is_empty());
        assert_eq!(tube(&case, &Shot::new("b", "b.png", View::Ap)).len(), 2);
        assert!(tube(&case, &Shot::new("c", "c.png", View::Pedicle)).is_empty());
    }
}
