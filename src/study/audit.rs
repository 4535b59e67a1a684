//! What a series of treated bodies says: shares in the target by group, their differences, the tip's error over time,
//! and cumulative sums.
//!
//! Undecided bodies are counted three ways side by side: as in, as out, and by their probability.

use crate::measure::settings::{Band, Rule};
use crate::measure::verdict::State;
use crate::stats::agreement::{Estimate, mean_estimate};
use crate::stats::cusum::{Rates, deterioration, learning, walk};
use crate::stats::proportion::{newcombe, wilson};
use crate::stats::summary::{mean, sd};
use crate::study::series::{BodyOutcome, Treated};

/// How undecided bodies are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Undecided {
    /// As in the target.
    AsIn,
    /// As out of it.
    AsOut,
    /// By their probability.
    ByProbability,
}

/// By what bodies are grouped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum By {
    /// All together.
    All,
    /// Level.
    Level,
    /// Entry side.
    Side,
    /// Operator.
    Operator,
    /// Half-year.
    HalfYear,
}

/// The share of a group in the target.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// By what it is grouped.
    pub by: By,
    /// The group's name; `all` for all.
    pub group: String,
    /// Bodies with an outcome.
    pub n: usize,
    /// Inside with confidence.
    pub inside: usize,
    /// Outside with confidence.
    pub outside: usize,
    /// Too close to call.
    pub undecided: usize,
    /// The share with its Wilson interval, in the order of [`Undecided::ALL`].
    pub share: [Estimate; 3],
}

/// The difference of two groups' shares, first minus second.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// By what they are grouped.
    pub by: By,
    /// The first group.
    pub first: String,
    /// The second: another group, or all others.
    pub second: String,
    /// Newcombe's interval, in the order of [`Undecided::ALL`].
    pub difference: [Estimate; 3],
}

/// How far tips lay from the place aimed at, the middle of the band, in one half-year or in all.
#[derive(Clone, Debug, PartialEq)]
pub struct TipError {
    /// The half-year; `all` for all.
    pub group: String,
    /// Which coordinate.
    pub rule: Rule,
    /// Bodies.
    pub n: usize,
    /// Mean of value minus aim: which way the tips miss.
    pub mean: f64,
    /// Its 95 % t interval; `None` for one body.
    pub interval: Option<(f64, f64)>,
    /// Standard deviation; `None` for one body.
    pub sd: Option<f64>,
}

/// Cumulative sums of outcomes in the order of time; a failure is a tip out of the target.
#[derive(Clone, Debug, PartialEq)]
pub struct Sums {
    /// How undecided bodies are counted.
    pub undecided: Undecided,
    /// The decision-limit form.
    pub walk: Vec<f64>,
    /// The likelihood-ratio chart that waits for the rate to become unacceptable.
    pub deterioration: Vec<f64>,
    /// The same that waits for it to become acceptable.
    pub learning: Vec<f64>,
}

/// Everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Audit {
    /// Shares: all, then by level, side, operator, half-year.
    pub shares: Vec<Share>,
    /// Differences of groups.
    pub differences: Vec<Difference>,
    /// Errors of the tip: all, then by half-year.
    pub errors: Vec<TipError>,
    /// Places of the bodies with an outcome in the list, in the order of time: the horizontal axis of the sums.
    pub order: Vec<usize>,
    /// Cumulative sums, in the order of [`Undecided::ALL`].
    pub sums: [Sums; 3],
}

impl Undecided {
    /// All three.
    pub const ALL: [Self; 3] = [Self::AsIn, Self::AsOut, Self::ByProbability];

    /// The key in results.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::AsIn => "undecided_as_in",
            Self::AsOut => "undecided_as_out",
            Self::ByProbability => "undecided_by_probability",
        }
    }

    /// How far a body counts as in the target, 0 to 1.
    #[must_use]
    pub const fn inside(self, outcome: &BodyOutcome) -> f64 {
        match (outcome.state, self) {
            (State::Inside, _) | (State::Undecided | State::NotShown, Self::AsIn) => 1.0,
            (State::Outside, _) | (State::Undecided | State::NotShown, Self::AsOut) => 0.0,
            (State::Undecided | State::NotShown, Self::ByProbability) => outcome.p_inside,
        }
    }
}

impl By {
    /// The groupings beside all.
    pub const GROUPS: [Self; 4] = [Self::Level, Self::Side, Self::Operator, Self::HalfYear];

    /// The key in results.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Level => "level",
            Self::Side => "side",
            Self::Operator => "operator",
            Self::HalfYear => "half_year",
        }
    }

    /// The group of a body; empty where it is not said.
    fn group(self, body: &Treated) -> String {
        match self {
            Self::All => "all".to_owned(),
            Self::Level => body.level.name(),
            Self::Side => body.side.key().to_owned(),
            Self::Operator => body.operator.clone(),
            Self::HalfYear => body.half_year().unwrap_or_default(),
        }
    }
}

/// How often the decision limits may be crossed by chance, in either direction.
const BY_CHANCE: f64 = 0.10;
/// The acceptable and the unacceptable rate of tips outside the target, unless others are wanted. They have no source
/// for this procedure.
pub const USUAL_RATES: (f64, f64) = (0.10, 0.20);

/// The rates to be told apart by the cumulative sums, with error rates of 0.10 both ways.
///
/// # Errors
/// One sentence, if they cannot be meant.
pub fn rates(acceptable: f64, unacceptable: f64) -> Result<Rates, &'static str> {
    let rates = Rates { acceptable, unacceptable, alpha: BY_CHANCE, beta: BY_CHANCE };
    rates.fault().map_or(Ok(rates), Err)
}

/// What these bodies say.
#[must_use]
pub fn audit(bodies: &[&Treated], rates: &Rates) -> Audit {
    let judged: Vec<(&Treated, &BodyOutcome)> =
        bodies.iter().filter_map(|body| Some((*body, body.outcome.as_ref().ok()?))).collect();
    let mut shares: Vec<Share> = share(By::All, "all", judged.iter().map(|(_, o)| *o)).into_iter().collect();
    let mut differences = Vec::new();
    for by in By::GROUPS {
        let mut groups: Vec<String> = judged.iter().map(|(body, _)| by.group(body)).collect();
        groups.sort();
        groups.dedup();
        let of = |keep: &dyn Fn(&str) -> bool| -> Vec<&BodyOutcome> {
            judged.iter().filter(|(body, _)| keep(&by.group(body))).map(|(_, o)| *o).collect()
        };
        let named: Vec<Share> =
            groups.iter().filter_map(|group| share(by, group, of(&|g| g == group).into_iter())).collect();
        for (i, first) in named.iter().enumerate() {
            // A half-year against the one before; any other group against all others, two groups only once.
            let second = match by {
                By::HalfYear if i == 0 || first.group.is_empty() || named[i - 1].group.is_empty() => None,
                By::HalfYear => Some(named[i - 1].clone()),
                _ if named.len() == 2 && i == 1 => None,
                _ if named.len() == 2 => Some(named[1].clone()),
                _ => share(by, "all others", of(&|g| g != first.group).into_iter()),
            };
            if let Some(second) = second {
                differences.push(Difference {
                    by,
                    first: first.group.clone(),
                    second: second.group.clone(),
                    difference: std::array::from_fn(|k| newcombe(&first.share[k], &second.share[k])),
                });
            }
        }
        shares.extend(named);
    }
    let mut order: Vec<usize> = (0..bodies.len()).filter(|&i| bodies[i].outcome.is_ok()).collect();
    // What has no date stands at the end; within a day the order of files and of shots decides.
    order.sort_by_key(|&i| (bodies[i].date.is_empty(), bodies[i].date.clone(), i));
    let sums = Undecided::ALL.map(|undecided| {
        let failures: Vec<f64> = order
            .iter()
            .filter_map(|&i| bodies[i].outcome.as_ref().ok())
            .map(|outcome| 1.0 - undecided.inside(outcome))
            .collect();
        Sums {
            undecided,
            walk: walk(&failures, &rates.limits()),
            deterioration: deterioration(&failures, rates),
            learning: learning(&failures, rates),
        }
    });
    Audit { shares, differences, errors: errors(bodies), order, sums }
}

/// The share of some outcomes; `None` if there are none.
fn share<'a>(by: By, group: &str, outcomes: impl Iterator<Item = &'a BodyOutcome>) -> Option<Share> {
    let outcomes: Vec<&BodyOutcome> = outcomes.collect();
    let count = |state: State| outcomes.iter().filter(|o| o.state == state).count();
    #[expect(clippy::cast_precision_loss, reason = "a series is far smaller than 2^52")]
    let n = outcomes.len() as f64;
    let of = |undecided: Undecided| {
        let inside: f64 = outcomes.iter().map(|outcome| undecided.inside(outcome)).sum();
        wilson(inside.min(n), n)
    };
    Some(Share {
        by,
        group: group.to_owned(),
        n: outcomes.len(),
        inside: count(State::Inside),
        outside: count(State::Outside),
        undecided: count(State::Undecided),
        share: [of(Undecided::AsIn)?, of(Undecided::AsOut)?, of(Undecided::ByProbability)?],
    })
}

/// The band that most of these bodies have for a rule, and whether all that have one have the same; `None` where none
/// has one.
#[must_use]
pub fn common_band(bodies: &[&Treated], rule: Rule) -> Option<(Band, bool)> {
    let mut counts: Vec<(Band, usize)> = Vec::new();
    for against in bodies.iter().flat_map(|body| &body.against).filter(|against| against.rule == rule) {
        match counts.iter_mut().find(|(band, _)| *band == against.band) {
            Some((_, n)) => *n += 1,
            None => counts.push((against.band, 1)),
        }
    }
    // Of equally many the one that comes first.
    let most = counts.iter().rev().max_by_key(|(_, n)| *n)?;
    Some((most.0, counts.len() == 1))
}

fn errors(bodies: &[&Treated]) -> Vec<TipError> {
    let mut groups: Vec<String> = bodies.iter().filter_map(|body| body.half_year()).collect();
    groups.sort();
    groups.dedup();
    let mut list = Vec::new();
    let all = std::iter::once(None).chain(groups.iter().map(Some));
    for group in all {
        let own: Vec<&Treated> = bodies
            .iter()
            .copied()
            .filter(|body| group.is_none_or(|group| body.half_year().as_ref() == Some(group)))
            .collect();
        for rule in Rule::ALL {
            let off: Vec<f64> = own.iter().filter_map(|body| body.error(rule)).collect();
            if off.is_empty() {
                continue;
            }
            let estimate = mean_estimate(&off);
            list.push(TipError {
                group: group.cloned().unwrap_or_else(|| "all".to_owned()),
                rule,
                n: off.len(),
                mean: mean(&off),
                interval: estimate.map(|e| (e.low, e.high)),
                sd: estimate.map(|_| sd(&off)),
            });
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};
    use crate::study::series::NoOutcome;

    fn body(date: &str, side: Side, state: Option<(State, f64)>) -> Treated {
        Treated {
            file: String::new(),
            title: String::new(),
            operator: String::new(),
            date: date.to_owned(),
            level: Level::L4,
            side,
            lesion_s: None,
            remarks: String::new(),
            shots: 2,
            origins: [0; 3],
            depth: None,
            height: None,
            midline: None,
            true_view: [None; 3],
            against: Vec::new(),
            outcome: state
                .map(|(state, p_inside)| BodyOutcome { nominal_inside: p_inside > 0.5, state, p_inside })
                .ok_or(NoOutcome::NoFinalShot),
            issues: Vec::new(),
        }
    }

    fn rates() -> Rates {
        super::rates(USUAL_RATES.0, USUAL_RATES.1).unwrap()
    }

    /// By hand: one in, one out, one undecided with probability 0.6: 2/3, 1/3 and 1.6/3; a body without outcome does
    /// not count.
    #[test]
    fn undecided_bodies_are_counted_three_ways() {
        let bodies = [
            body("2026-02-01", Side::Left, Some((State::Inside, 0.97))),
            body("2026-01-01", Side::Right, Some((State::Outside, 0.01))),
            body("", Side::Right, Some((State::Undecided, 0.6))),
            body("", Side::Right, None),
        ];
        let found = audit(&bodies.iter().collect::<Vec<_>>(), &rates());
        let all = &found.shares[0];
        assert_eq!((all.n, all.inside, all.outside, all.undecided), (3, 1, 1, 1));
        for (share, expected) in all.share.iter().zip([2.0 / 3.0, 1.0 / 3.0, 1.6 / 3.0]) {
            assert!((share.value - expected).abs() < 1e-12);
        }
        // In time: the failure, the success, the one without a date.
        assert_eq!(found.order, [1, 0, 2]);
        let s = rates().limits().s;
        assert!((found.sums[2].walk[2] - (1.0 - 2.0 * s - s + 0.4)).abs() < 1e-12);
        // Two sides make one difference.
        let sides: Vec<_> = found.differences.iter().filter(|d| d.by == By::Side).collect();
        assert_eq!((sides.len(), sides[0].first.as_str(), sides[0].second.as_str()), (1, "left", "right"));
    }

    #[test]
    fn nothing_at_all_is_an_empty_answer() {
        let found = audit(&[], &rates());
        assert!(found.shares.is_empty() && found.differences.is_empty() && found.sums[0].walk.is_empty());
    }
}
