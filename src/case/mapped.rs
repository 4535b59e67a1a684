//! The body maps of shots, and the registration of two of them.

use crate::case::document::{Case, Shot};
use crate::measure::ap::ap_body_map;
use crate::measure::body::BodyMap;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::View;
use crate::measure::registration::Registration;

/// The body map that a shot's marks give.
///
/// # Errors
/// One sentence: what is missing or wrong, and what to do.
pub fn body_map(case: &Case, shot: &Shot) -> Result<BodyMap, String> {
    if shot.draft {
        return Err("The marks are a draft; confirm them first.".to_owned());
    }
    let map = match shot.view {
        View::Lateral => lateral_body_map(&shot.marks),
        View::Ap => ap_body_map(&shot.marks, shot.side, shot.patient_right.or(case.patient_right)),
        View::Pedicle => return Err("A view down the pedicle sees no body to lay on another.".to_owned()),
    };
    map.map_err(|issue| issue.text)
}

/// The registration of two shots of one level and view through the body coordinates they share.
///
/// # Errors
/// One sentence that names the shot which has no body map, and says why.
pub fn registration(case: &Case, from: &Shot, to: &Shot) -> Result<Registration, String> {
    let map = |shot: &Shot| body_map(case, shot).map_err(|why| format!("Shot {}: {why}", shot.id));
    Ok(Registration::new(map(from)?, map(to)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;

    #[test]
    fn the_shot_without_a_body_is_named() {
        let mut case = Case::default();
        for id in ["a", "b"] {
            let mut shot = Shot::new(id, "a.png", View::Lateral);
            shot.marks = shot
                .marks
                .with(MarkKind::SuperiorEndPlate, &[(300.0, 100.0), (440.0, 100.0)])
                .with(MarkKind::InferiorEndPlate, &[(300.0, 190.0), (440.0, 190.0)]);
            case.shots.push(shot);
        }
        assert!(registration(&case, &case.shots[0], &case.shots[1]).is_ok());
        case.shots[1].draft = true;
        let why = registration(&case, &case.shots[0], &case.shots[1]).unwrap_err();
        assert!(why.starts_with("Shot b: The marks are a draft"));
        case.shots[0].view = View::Pedicle;
        assert!(body_map(&case, &case.shots[0]).is_err());
    }
}
