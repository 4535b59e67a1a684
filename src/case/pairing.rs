//! Which lateral and which AP shot belong together.

use crate::case::document::{Case, Shot};
use crate::measure::mark::View;

/// Matched pairs as places in the list of shots, lateral first, in the order of the lateral shots.
///
/// Of one level, side and stage the i-th lateral goes with the i-th AP, unless `pair_with` of either says
/// otherwise. A shot without level or side is paired only by hand.
#[must_use]
pub fn pairs(case: &Case) -> Vec<(usize, usize)> {
    let mut taken = vec![false; case.shots.len()];
    let mut found = Vec::new();
    for (index, shot) in case.shots.iter().enumerate() {
        let Some(other) = shot.pair_with.as_deref().and_then(|id| case.shots.iter().position(|s| s.id == id))
        else {
            continue;
        };
        let views = (shot.view, case.shots[other].view);
        let pair = match views {
            (View::Lateral, View::Ap) => (index, other),
            (View::Ap, View::Lateral) => (other, index),
            _ => continue,
        };
        if !taken[pair.0] && !taken[pair.1] {
            taken[pair.0] = true;
            taken[pair.1] = true;
            found.push(pair);
        }
    }
    for index in 0..case.shots.len() {
        if taken[index] || case.shots[index].view != View::Lateral {
            continue;
        }
        let Some(rank) = rank(case, index, &taken) else { continue };
        let mut partners = (0..case.shots.len())
            .filter(|&i| !taken[i] && together(&case.shots[index], &case.shots[i], View::Ap));
        if let Some(partner) = partners.nth(rank) {
            found.push((index, partner));
        }
    }
    found.sort_unstable();
    found
}

/// How many laterals of the same level, side and stage that are free come before this one.
fn rank(case: &Case, index: usize, taken: &[bool]) -> Option<usize> {
    let shot = &case.shots[index];
    (shot.level.is_some() && shot.side.is_some())
        .then(|| (0..index).filter(|&i| !taken[i] && together(shot, &case.shots[i], View::Lateral)).count())
}

fn together(shot: &Shot, other: &Shot, view: View) -> bool {
    other.view == view
        && other.level.is_some()
        && other.side.is_some()
        && (other.level, other.side, other.stage) == (shot.level, shot.side, shot.stage)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side, Stage};

    fn case(views: &[View]) -> Case {
        let mut case = Case::default();
        for (i, &view) in views.iter().enumerate() {
            let mut shot = Shot::new(format!("{i}"), "x.png", view);
            shot.level = Some(Level::L4);
            shot.side = Some(Side::Right);
            shot.stage = Some(Stage::Final);
            case.shots.push(shot);
        }
        case
    }

    #[test]
    fn the_first_goes_with_the_first() {
        let case = case(&[View::Lateral, View::Lateral, View::Ap, View::Pedicle, View::Ap, View::Ap]);
        assert_eq!(pairs(&case), [(0, 2), (1, 4)]);
    }

    #[test]
    fn a_pair_by_hand_comes_first() {
        let mut case = case(&[View::Lateral, View::Lateral, View::Ap, View::Ap]);
        case.shots[2].pair_with = Some("1".to_owned());
        assert_eq!(pairs(&case), [(0, 3), (1, 2)]);
    }

    #[test]
    fn other_levels_sides_and_stages_do_not_pair() {
        let mut case = case(&[View::Lateral, View::Ap]);
        case.shots[1].stage = Some(Stage::Stylet);
        assert!(pairs(&case).is_empty());
        case.shots[1].stage = Some(Stage::Final);
        case.shots[1].side = None;
        assert!(pairs(&case).is_empty());
    }
}
