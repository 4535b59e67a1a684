//! A lateral and an AP shot of one moment: the tip in three body coordinates (method, section 3).

use crate::measure::ap::{self, read_ap};
use crate::measure::issue::{Issue, IssueCode};
use crate::measure::lateral::{self, read_lateral};
use crate::measure::quantity::{Quantity, Simulated, Z95};
use crate::measure::reading::{ApReading, LateralReading, Lent, PairReading, ShotInput};
use crate::measure::settings::Rule;
use crate::measure::verdict::{CONFIDENCE, Nominal, State, Verdict, VerdictRule};
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
    let (lateral_reading, ap_reading) = (read_lateral(&lateral), read_ap(&ap));
    let pair = combine(&lateral, &lateral_reading, &ap_reading);
    ReadPair { lateral: lateral_reading, ap: ap_reading, pair }
}

fn combine(input: &ShotInput<'_>, lateral: &LateralReading, ap: &ApReading) -> PairReading {
    let mut pair = PairReading {
        depth: lateral.tip.as_ref().map(|tip| tip.along.clone()),
        across: ap.tip.as_ref().map(|tip| tip.along.clone()),
        midline: ap.midline_by.best().map(|(by, offset)| (by, offset.clone())),
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
    pair.unknown_ap.height = None;
    // The height is a weighted mean, and each view's marks move it by that view's share.
    pair.depth_height = share.0 * lateral.tip.as_ref().map_or(0.0, |tip| tip.covariance);
    pair.across_height = share.1 * ap.tip.as_ref().map_or(0.0, |tip| tip.covariance);
    let midline = pair.midline.as_ref().map(|(_, offset)| offset);
    for (rule, q) in
        [(Rule::Depth, pair.depth.as_ref()), (Rule::Height, pair.height.as_ref()), (Rule::Midline, midline)]
    {
        if let (Some(q), Some(band)) = (q, input.settings.targets.band(input.stage, rule)) {
            pair.verdicts.push(Verdict::on_band(rule, band, q.value, q.sd()));
        }
    }
    if let (Some(depth), Some(to_go)) = (&pair.depth, &ap.medial_border) {
        let verdict = safe_passage(depth, to_go);
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

/// The weights of two values by inverse variance.
fn weights(a: &Quantity, b: &Quantity) -> (f64, f64) {
    let (va, vb) = (a.sd().powi(2), b.sd().powi(2));
    let wa = if va + vb > 0.0 { vb / (va + vb) } else { 0.5 };
    (wa, 1.0 - wa)
}

/// The mean of two values weighted by inverse variance, part by part.
fn weighted(a: &Quantity, b: &Quantity) -> Quantity {
    let (wa, wb) = weights(a, b);
    Quantity {
        value: wa * a.value + wb * b.value,
        budget: a.budget.with(b.budget, |a, b| (wa * a).hypot(wb * b)),
        influences: Vec::new(),
        monte_carlo: a.monte_carlo.zip(b.monte_carlo).map(|(a, b)| weighted_runs((wa, a), (wb, b))),
    }
}

/// The weighted mean of two independent simulated quantities; on each side the distances from the mean to the
/// ends of the 95 % intervals add in quadrature, which is exact for normal distributions.
fn weighted_runs((wa, a): (f64, Simulated), (wb, b): (f64, Simulated)) -> Simulated {
    let mean = wa * a.mean + wb * b.mean;
    Simulated {
        mean,
        sd: (wa * a.sd).hypot(wb * b.sd),
        low: mean - (wa * (a.mean - a.low)).hypot(wb * (b.mean - b.low)),
        high: mean + (wa * (a.high - a.mean)).hypot(wb * (b.high - b.mean)),
    }
}

/// While behind the posterior wall the tip must not have crossed the medial border (common practice, no
/// source).
fn safe_passage(depth: &Quantity, to_go: &Quantity) -> Verdict {
    let p_behind = p_below(0.0, depth.value, depth.sd());
    let q = p_behind * p_below(0.0, to_go.value, to_go.sd());
    let state = if p_behind < 1.0 - CONFIDENCE {
        State::NotShown
    } else if q >= CONFIDENCE {
        State::Outside
    } else if q > 1.0 - CONFIDENCE {
        State::Undecided
    } else {
        State::Inside
    };
    let crossed = depth.value < 0.0 && to_go.value < 0.0;
    let nominal = if crossed { Nominal::Past } else { Nominal::Inside };
    Verdict { rule: VerdictRule::SafePassage, band: None, nominal, state, p_inside: 1.0 - q, q: Some(q) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;

    fn quantity(value: f64, sd: f64) -> Quantity {
        Quantity {
            value,
            budget: Budget { bone: sd, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        }
    }

    /// By hand: 0.40 ± 0.03 and 0.50 ± 0.04: weights 16/25 and 9/25, mean 0.436, sd 0.03·0.04/0.05 = 0.024.
    #[test]
    fn heights_are_weighted_by_inverse_variance() {
        let mean = weighted(&quantity(0.40, 0.03), &quantity(0.50, 0.04));
        assert!((mean.value - 0.436).abs() < 1e-12 && (mean.sd() - 0.024).abs() < 1e-12);
    }

    #[test]
    fn safe_passage_has_its_four_states() {
        let state = |u, m| safe_passage(&quantity(u, 0.02), &quantity(m, 0.02)).state;
        assert_eq!(state(-0.2, -0.1), State::Outside);
        assert_eq!(state(-0.2, 0.1), State::Inside);
        assert_eq!(state(-0.2, 0.01), State::Undecided);
        assert_eq!(state(0.4, -0.1), State::NotShown);
    }
}
