//! A lateral and an AP shot of one moment: the tip in three body coordinates (method, section 3).

use crate::measure::ap::{self, read_ap};
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::lateral::{self, read_lateral};
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::reading::{ApReading, LateralReading, Lent, PairReading, ShotInput};
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::{Basis, choose};
use crate::measure::true_view::of_pair;
use crate::measure::true_view::view::PairTrueView;
use crate::measure::verdict::{CONFIDENCE, Nominal, State, Verdict, VerdictRule};
use crate::measure::weighted::{weighted, weights};
use crate::measure::withheld::withhold;
use crate::stats::normal::p_below;

/// The readings of both shots, each with what the other lends it, and of the pair.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadPair {
    /// The lateral shot.
    pub lateral: LateralReading,
    /// The AP shot.
    pub ap: ApReading,
    /// Both together.
    pub pair: PairReading,
}

/// Reads two shots that belong together; a Monte Carlo run is made for each of them.
#[must_use]
pub fn read_pair(lateral: &ShotInput<'_>, ap: &ShotInput<'_>) -> ReadPair {
    // What they lend each other follows from values alone.
    let depth = lateral::values(lateral).tip.map(|tip| tip.along.value);
    let from_ap = ap::values(ap);
    let off_middle_mm = from_ap
        .tip
        .zip(from_ap.body)
        .map(|(tip, body)| (tip.along.value - 0.5).abs() * body.depth_px * body.mm_per_px);
    let lateral = ShotInput { lent: Lent { off_middle_mm, depth: None }, ..*lateral };
    let ap = ShotInput { lent: Lent { off_middle_mm: None, depth }, ..*ap };
    let (mut lateral_reading, mut ap_reading) = (read_lateral(&lateral), read_ap(&ap));
    let views = of_pair::pair((&lateral_reading, &lateral), (&ap_reading, &ap));
    lateral::judge(&lateral, &mut lateral_reading, |_, _| views.lateral.clone());
    ap::judge(&ap, &mut ap_reading, |_, _| views.ap.clone());
    let mut pair = combine(&lateral, &lateral_reading, &ap_reading, views.pair);
    let disagree = pair.issues.iter().any(|issue| issue.code == IssueCode::HeightsDisagree);
    withhold(&mut lateral_reading, &mut ap_reading, &mut pair, disagree);
    ReadPair { lateral: lateral_reading, ap: ap_reading, pair }
}

fn combine(
    input: &ShotInput<'_>,
    lateral: &LateralReading,
    ap: &ApReading,
    true_view: PairTrueView,
) -> PairReading {
    let mut pair = PairReading {
        depth: lateral.tip.as_ref().map(|tip| tip.along.clone()),
        across: ap.tip.as_ref().map(|tip| tip.along.clone()),
        midline: ap.midline_by.best().map(|(by, offset)| (by, offset.clone())),
        true_view,
        ..PairReading::default()
    };
    let mut share = (1.0, 1.0);
    let lateral_height = lateral.tip.as_ref().map(|tip| &tip.height);
    match (lateral_height, ap.height.as_ref()) {
        (Some(a), Some(b)) => {
            if (a.value - b.value).abs() > Z95 * a.sd().hypot(b.sd()) {
                pair.issues.push(Issue::new(
                    IssueCode::HeightsDisagree,
                    "The two views give different heights; check that both show the same moment and the same body, and check the endplates in both.",
                ));
            }
            pair.height = Some(weighted(a, b));
            share = weights(a, b);
        }
        (a, b) => pair.height = a.or(b).cloned(),
    }
    (pair.unknown_lateral, pair.unknown_ap) = (lateral.unknown_view, ap.unknown_view);
    pair.unknown_lateral.height = unknown_height(lateral, ap, share);
    pair.unknown_lateral.height_rest =
        (share.0 * lateral.unknown_view.height_rest).hypot(share.1 * ap.unknown_view.height_rest);
    (pair.unknown_ap.height, pair.unknown_ap.height_rest) = (None, 0.0);
    // The height is a weighted mean, and each view's marks move it by that view's share.
    pair.depth_height = share.0 * lateral.tip.as_ref().map_or(0.0, |tip| tip.covariance);
    pair.across_height = share.1 * ap.tip.as_ref().map_or(0.0, |tip| tip.covariance);
    let view = &pair.true_view;
    let midline = pair.midline.as_ref().map(|(by, offset)| (offset, view.midline_by.by(*by)));
    for (rule, direct, corrected) in [
        (Rule::Depth, pair.depth.as_ref(), view.depth.as_ref()),
        (Rule::Height, pair.height.as_ref(), view.height.as_ref()),
        (Rule::Midline, midline.map(|m| m.0), midline.and_then(|m| m.1)),
    ] {
        if let (Some(direct), Some(band)) = (direct, input.settings.targets.band(input.stage, rule)) {
            pair.verdicts.push(Verdict::chosen(rule, band, choose(direct, corrected)));
        }
    }
    if let (Some(depth), Some(to_go)) = (&pair.depth, &ap.medial_border) {
        let view = &pair.true_view;
        let verdict =
            safe_passage(choose(depth, view.depth.as_ref()), choose(to_go, view.medial_border.as_ref()));
        if verdict.q.is_some_and(|q| q > 1.0 - CONFIDENCE) {
            pair.issues.push(Issue::new(
                IssueCode::MedialBeforeWall,
                "The tip may be medial to the medial pedicle border while still posterior to the posterior wall; check both views again.",
            ));
        }
        pair.verdicts.push(verdict);
    }
    pair
}

/// The view's part of the weighted height if nothing were known of the tilt in a view of which no second contour tells.
fn unknown_height(lateral: &LateralReading, ap: &ApReading, (wa, wb): (f64, f64)) -> Option<f64> {
    let (a, b) = (lateral.unknown_view.height, ap.unknown_view.height);
    let heights = (lateral.tip.as_ref().map(|tip| &tip.height), ap.height.as_ref());
    match heights {
        (Some(first), Some(second)) if a.is_some() || b.is_some() => {
            let part = |unknown: Option<f64>, height: &Quantity| unknown.unwrap_or(height.budget.view);
            Some((wa * part(a, first)).hypot(wb * part(b, second)))
        }
        (Some(_), Some(_)) => None,
        (Some(_), None) => a,
        (None, _) => b,
    }
}

/// While behind the posterior wall the tip must not have crossed the medial border (common practice, no
/// source): the verdict on a depth and on what is still to go to the border, each as value, standard uncertainty, basis.
#[must_use]
pub fn safe_passage(
    (depth, depth_sd, _): (f64, f64, Basis),
    (to_go, to_go_sd, basis): (f64, f64, Basis),
) -> Verdict {
    let p_behind = p_below(0.0, depth, depth_sd);
    let q = p_behind * p_below(0.0, to_go, to_go_sd);
    let state = if p_behind < 1.0 - CONFIDENCE {
        State::NotShown
    } else if q >= CONFIDENCE {
        State::Outside
    } else if q > 1.0 - CONFIDENCE {
        State::Undecided
    } else {
        State::Inside
    };
    let crossed = depth < 0.0 && to_go < 0.0;
    let nominal = if crossed { Nominal::Past } else { Nominal::Inside };
    Verdict {
        rule: VerdictRule::SafePassage,
        band: None,
        nominal,
        state,
        p_inside: 1.0 - q,
        basis,
        q: Some(q),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn safe_passage_has_its_four_states() {
        let at = |x| (x, 0.02, Basis::Direct);
        let state = |u, m| safe_passage(at(u), at(m)).state;
        assert_eq!(state(-0.2, -0.1), State::Outside);
        assert_eq!(state(-0.2, 0.1), State::Inside);
        assert_eq!(state(-0.2, 0.01), State::Undecided);
        assert_eq!(state(0.4, -0.1), State::NotShown);
    }
}
