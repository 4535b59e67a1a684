//! Which lateral and which AP shot belong together.

use std::collections::BTreeMap;

use crate::case::document::{Case, Shot};
use crate::measure::mark::View;

/// Matched pairs as places in the list of shots, lateral first, in the order of the lateral shots.
///
/// Of one level, side and stage the i-th lateral goes with the i-th AP, unless `pair_with` of either says
/// otherwise. A shot without level or side is paired only by hand, one without a view not at all. A pairing by hand that cannot be (see
/// [`refusals`]) counts as none.
#[must_use]
pub fn pairs(case: &Case) -> Vec<(usize, usize)> {
    let mut found = by_hand(case).found;
    let mut taken = vec![false; case.shots.len()];
    for &(lateral, ap) in &found {
        taken[lateral] = true;
        taken[ap] = true;
    }
    // Of each level, side and stage the free laterals and the free AP shots, each in order.
    let mut groups: BTreeMap<_, [Vec<usize>; 2]> = BTreeMap::new();
    for (index, shot) in case.shots.iter().enumerate().filter(|(index, _)| !taken[*index]) {
        let (Some(level), Some(side)) = (shot.level, shot.side) else { continue };
        let place = match shot.known_view() {
            Some(View::Lateral) => 0,
            Some(View::Ap) => 1,
            Some(View::Pedicle) | None => continue,
        };
        groups.entry((level, side, shot.stage)).or_default()[place].push(index);
    }
    found.extend(groups.into_values().flat_map(|[laterals, aps]| laterals.into_iter().zip(aps)));
    found.sort_unstable();
    found
}

/// The pairings by hand that are not followed: the place of the shot that asks for each, and a sentence that says
/// why and what to do.
#[must_use]
pub fn refusals(case: &Case) -> Vec<(usize, String)> {
    by_hand(case).refused
}

/// Why `shot` cannot be paired by hand with the shot of this id, as a sentence; `None` where it can.
#[must_use]
pub fn refusal(case: &Case, shot: &Shot, other: &str) -> Option<String> {
    let remedy = "select another shot to match, or match automatically";
    let Some(other) = case.shot(other) else {
        return Some(format!(
            "“{}” is matched manually with “{other}”, which is not in this case; {remedy}.",
            shot.id
        ));
    };
    let both = format!("“{}” and “{}”", shot.id, other.id);
    if let Some(open) = [shot, other].into_iter().find(|one| !one.view_set) {
        return Some(format!("The view of “{}” is not set; set it before {both} are matched.", open.id));
    }
    if !matches!((shot.view, other.view), (View::Lateral, View::Ap) | (View::Ap, View::Lateral)) {
        return Some(format!("A matched pair is one lateral and one AP shot; {both} are not; {remedy}."));
    }
    if let (Some(a), Some(b)) = (shot.level, other.level)
        && a != b
    {
        let (a, b) = (a.name(), b.name());
        return Some(format!("{both} show different levels ({a} and {b}) and cannot be matched; {remedy}."));
    }
    if let (Some(a), Some(b)) = (shot.side, other.side)
        && a != b
    {
        return Some(format!("{both} have different entry sides and cannot be matched; {remedy}."));
    }
    None
}

/// What becomes of the pairings that are asked for by hand.
#[derive(Default)]
struct ByHand {
    /// The pairs, lateral first.
    found: Vec<(usize, usize)>,
    /// The shots whose wish cannot be followed, with a sentence.
    refused: Vec<(usize, String)>,
}

fn by_hand(case: &Case) -> ByHand {
    let ByHand { mut found, mut refused } = ByHand::default();
    for (index, shot) in case.shots.iter().enumerate() {
        let Some(wanted) = shot.pair_with.as_deref() else { continue };
        if let Some(sentence) = refusal(case, shot, wanted) {
            refused.push((index, sentence));
            continue;
        }
        let Some(other) = case.shots.iter().position(|s| s.id == wanted) else { continue };
        let pair = if shot.view == View::Lateral { (index, other) } else { (other, index) };
        if found.contains(&pair) {
            continue;
        }
        let rival = found.iter().find(|taken| taken.0 == pair.0 || taken.1 == pair.1);
        if rival.is_some() {
            refused.push((
                index,
                format!(
                    "“{}” or “{wanted}” is already matched manually with another shot; select another shot, or match automatically.",
                    shot.id
                ),
            ));
            continue;
        }
        found.push(pair);
    }
    ByHand { found, refused }
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
    fn a_shot_without_a_view_is_in_no_pair() {
        let mut case = case(&[View::Lateral, View::Lateral, View::Ap, View::Ap]);
        case.shots[0].view_set = false;
        assert_eq!(pairs(&case), [(1, 2)]);
        case.shots[0].pair_with = Some("3".to_owned());
        assert_eq!(pairs(&case), [(1, 2)]);
        let words = "The view of “0” is not set; set it before “0” and “3” are matched.";
        assert_eq!(refusals(&case), [(0, words.to_owned())]);
    }

    #[test]
    fn a_pair_by_hand_comes_first() {
        let mut case = case(&[View::Lateral, View::Lateral, View::Ap, View::Ap]);
        case.shots[2].pair_with = Some("1".to_owned());
        assert_eq!(pairs(&case), [(0, 3), (1, 2)]);
    }

    #[test]
    fn a_pairing_by_hand_that_cannot_be_is_refused_with_a_sentence() {
        let refused = |change: fn(&mut Case)| {
            let mut case = case(&[View::Lateral, View::Lateral, View::Ap, View::Ap]);
            case.shots[2].pair_with = Some("1".to_owned());
            change(&mut case);
            let refused = refusals(&case);
            // The order stands in for what is refused.
            assert_eq!(pairs(&case).len(), 2);
            refused
        };
        assert!(refused(|_| {}).is_empty());
        let said = refused(|case| case.shots[2].pair_with = Some("3".to_owned()));
        assert!(said[0].0 == 2 && said[0].1.contains("one lateral and one AP"), "{said:?}");
        let said = refused(|case| case.shots[2].pair_with = Some("9".to_owned()));
        assert!(said[0].1.contains("not in this case"), "{said:?}");
        let said = refused(|case| case.shots[3].pair_with = Some("1".to_owned()));
        assert!(said[0].0 == 3 && said[0].1.contains("already"), "{said:?}");
        // Each names the other: one pair.
        assert!(refused(|case| case.shots[1].pair_with = Some("2".to_owned())).is_empty());

        let mut apart = case(&[View::Lateral, View::Ap]);
        apart.shots[0].pair_with = Some("1".to_owned());
        apart.shots[1].level = Some(Level::L5);
        assert!(pairs(&apart).is_empty() && refusals(&apart)[0].1.contains("L4 and L5"));
        apart.shots[1].level = None;
        assert_eq!(pairs(&apart), [(0, 1)], "what is not known does not stand in the way");
        apart.shots[1].side = Some(Side::Left);
        assert!(pairs(&apart).is_empty() && refusals(&apart)[0].1.contains("different entry sides"));
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
