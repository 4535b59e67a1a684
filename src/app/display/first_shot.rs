//! The shot that a case opens with where it was never left.

use crate::case::document::{Case, Shot};
use crate::measure::mark::{MarkKind, Stage, View};

/// In a case with all three views the last marked lateral of the final stage of the first body, for its depth is what is
/// looked for; `None` for any other case, which opens with its first shot.
#[must_use]
pub fn first_shot(case: &Case) -> Option<String> {
    let has = |view: View| case.shots.iter().any(|shot| shot.shows(view));
    if ![View::Lateral, View::Ap, View::Pedicle].into_iter().all(has) {
        return None;
    }
    let marked = |shot: &&Shot| {
        shot.shows(View::Lateral)
            && shot.stage == Some(Stage::Final)
            && !shot.draft
            && !shot.marks.slots(MarkKind::Tip).is_empty()
    };
    let first = case.shots.iter().find(marked)?;
    let same = |shot: &&Shot| marked(shot) && shot.level == first.level && shot.side == first.side;
    case.shots.iter().rfind(same).map(|shot| shot.id.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;

    #[test]
    fn a_case_of_all_views_opens_with_its_last_final_lateral() {
        let mut case = Case::default();
        for (id, view, stage) in [
            ("p", View::Pedicle, Stage::Docking),
            ("a", View::Ap, Stage::Final),
            ("l1", View::Lateral, Stage::Final),
            ("l2", View::Lateral, Stage::Final),
            ("l3", View::Lateral, Stage::Final),
        ] {
            let mut shot = Shot::new(id, "x.png", view);
            shot.stage = Some(stage);
            shot.marks = shot.marks.with(MarkKind::Tip, &[(1.0, 1.0)]);
            case.shots.push(shot);
        }
        case.shots[4].level = Some(Level::L5);
        assert_eq!(first_shot(&case).as_deref(), Some("l2"));
        case.shots.remove(0);
        assert_eq!(first_shot(&case), None);
    }
}
