//! Which shots a kind of figure takes, so that one choice is enough to see one.

use crate::case::document::figure_spec::FigureKind;
use crate::case::document::{Case, Shot};
use crate::case::plan::pairing::pairs;
use crate::measure::mark::View;

/// The kind that these shots make.
pub(super) fn kind_of(case: &Case, ids: &[String]) -> FigureKind {
    let views: Vec<View> = ids.iter().filter_map(|id| case.shot(id)?.known_view()).collect();
    match views.as_slice() {
        [] | [_] => FigureKind::Shot,
        [View::Lateral, View::Ap] | [View::Ap, View::Lateral] => FigureKind::Pair,
        [a, b] if a == b => FigureKind::BeforeAfter,
        _ => FigureKind::Sequence,
    }
}

/// The shots for a figure of this kind, beginning from those that were in it: they stay where they fit.
pub(super) fn shots_for(case: &Case, kind: FigureKind, ids: &[String]) -> Vec<String> {
    let before: Vec<usize> = ids.iter().filter_map(|id| place(case, id)).collect();
    let Some(&last) = before.last() else { return Vec::new() };
    let last = standing_in(case, kind, last);
    let places = match kind {
        FigureKind::Shot => vec![last],
        FigureKind::BeforeAfter if before.len() == 2 && alike(case, before[0], before[1]) => before,
        FigureKind::BeforeAfter => {
            let others: Vec<usize> =
                (0..case.shots.len()).filter(|&i| i != last && alike(case, i, last)).collect();
            let earlier = others.iter().rev().find(|&&i| i < last).or_else(|| others.first());
            let mut both: Vec<usize> = earlier.copied().into_iter().chain([last]).collect();
            both.sort_unstable();
            both
        }
        FigureKind::Sequence if before.len() > 2 => before,
        FigureKind::Sequence => (0..case.shots.len()).filter(|&i| alike(case, i, last)).collect(),
        FigureKind::Pair => match pairs(case).into_iter().find(|&(l, a)| l == last || a == last) {
            Some((lateral, ap)) => vec![lateral, ap],
            None => only_partner(case, last).map_or_else(|| vec![last], |pair| pair.to_vec()),
        },
    };
    places.into_iter().filter_map(|i| case.shots.get(i)).map(|shot| shot.id.clone()).collect()
}

/// The shot and the only one of the other view that nothing said of it rules out, the lateral first: a case whose shots have
/// no level has no matched pairs.
fn only_partner(case: &Case, shot: usize) -> Option<[usize; 2]> {
    let own = case.shots.get(shot)?;
    let view = match own.known_view()? {
        View::Lateral => View::Ap,
        View::Ap => View::Lateral,
        View::Pedicle => return None,
    };
    let said = |shot: &Shot| (shot.level, shot.side, shot.stage);
    let mut fits =
        (0..case.shots.len()).filter(|&at| case.shots[at].shows(view) && said(&case.shots[at]) == said(own));
    let other = fits.next().filter(|_| fits.next().is_none())?;
    Some(if view == View::Ap { [shot, other] } else { [other, shot] })
}

/// The shot itself, or where it has none to go with, the last lateral of its body and side that has.
fn standing_in(case: &Case, kind: FigureKind, shot: usize) -> usize {
    let goes = |at: usize| match kind {
        FigureKind::Shot => true,
        FigureKind::BeforeAfter | FigureKind::Sequence => {
            (0..case.shots.len()).any(|other| other != at && alike(case, other, at))
        }
        FigureKind::Pair => pairs(case).iter().any(|&(lateral, ap)| lateral == at || ap == at),
    };
    let body = |at: usize| case.shots.get(at).map(|shot| (shot.level, shot.side));
    let own =
        |at: &usize| body(*at) == body(shot) && case.shots.get(*at).is_some_and(|s| s.shows(View::Lateral));
    if goes(shot) {
        shot
    } else {
        (0..case.shots.len()).rev().filter(own).find(|&at| goes(at)).unwrap_or(shot)
    }
}

/// The shots with this one put in or taken out, in the case's order. Where a kind holds two, a third takes the place of
/// the first; a figure of one shot becomes one of two.
pub(super) fn switched(case: &Case, kind: FigureKind, ids: &[String], id: &str) -> Vec<String> {
    let mut ids: Vec<String> = ids.to_vec();
    if let Some(at) = ids.iter().position(|one| one == id) {
        ids.remove(at);
    } else {
        if kind != FigureKind::Sequence && ids.len() >= 2 {
            ids.remove(0);
        }
        ids.push(id.to_owned());
    }
    if kind == FigureKind::Pair {
        ids.sort_by_key(|id| case.shot(id).map(|shot| shot.view != View::Lateral));
    } else {
        ids.sort_by_key(|id| place(case, id));
    }
    ids
}

fn place(case: &Case, id: &str) -> Option<usize> {
    case.shots.iter().position(|shot| shot.id == id)
}

/// Whether two shots show one body from one side in one view.
fn alike(case: &Case, a: usize, b: usize) -> bool {
    let key = |i: usize| case.shots.get(i).map(|shot: &Shot| (shot.level, shot.side, shot.known_view()));
    key(a) == key(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Stage;

    /// Stills that nobody gave a level have no matched pairs; the only lateral and the only AP of the final stage are meant.
    #[test]
    fn the_only_shot_of_the_other_view_makes_a_pair() {
        let mut case = Case::default();
        let shots = [
            ("ap", View::Ap, Some(Stage::Final)),
            ("stylet", View::Ap, Some(Stage::Stylet)),
            ("lateral", View::Lateral, Some(Stage::Final)),
        ];
        for (id, view, stage) in shots {
            let mut shot = Shot::new(id, "x.png", view);
            shot.stage = stage;
            case.shots.push(shot);
        }
        let pair = |case: &Case, id: &str| shots_for(case, FigureKind::Pair, &[id.to_owned()]);
        assert_eq!(pair(&case, "ap"), ["lateral", "ap"]);
        assert_eq!(pair(&case, "lateral"), ["lateral", "ap"]);
        assert_eq!(pair(&case, "stylet"), ["stylet"]);
        case.shots[1].stage = Some(Stage::Final);
        assert_eq!(pair(&case, "lateral"), ["lateral"], "either AP may be meant");
    }
}
