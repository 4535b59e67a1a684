//! Cumulative sums of outcomes: is a rate of failure as low as it should be?
//!
//! The decision-limit form: Williams, Parry and Schlup (1992), *BMJ* 304:1359–1361 (from memory); de Oliveira Filho
//! (2002), *Anesthesia and Analgesia* 95:411–416 (from memory). The likelihood-ratio form: Steiner, Cook, Farewell and
//! Treasure (2000), *Biostatistics* 1:441–452. That a sum runs the other way to show that a rate has become good enough:
//! Biau and Porcher (2010), *Statistics in Medicine*, doi 10.1002/sim.3947.
//!
//! Outcomes are from 0 (success) to 1 (failure); a value between is the probability of a failure and moves a sum in
//! proportion.

/// Rates of failure to be told apart, and how often that may go wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rates {
    /// The acceptable rate p0.
    pub acceptable: f64,
    /// The unacceptable rate p1, above p0.
    pub unacceptable: f64,
    /// Probability α of calling an acceptable rate unacceptable.
    pub alpha: f64,
    /// Probability β of calling an unacceptable rate acceptable.
    pub beta: f64,
}

/// The decision-limit form: the sum of `x − s`, and its limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// What a success takes from the sum; a failure adds `1 − s`.
    pub s: f64,
    /// The lower limit stands at `−h0`: below it the rate counts as acceptable.
    pub h0: f64,
    /// The upper limit stands at `h1`: above it the rate counts as unacceptable.
    pub h1: f64,
}

impl Rates {
    /// Why these rates cannot be meant, if they cannot.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        let open = |x: f64| x > 0.0 && x < 1.0;
        if !(open(self.acceptable) && open(self.unacceptable) && self.acceptable < self.unacceptable) {
            return Some(
                "the acceptable rate of failure must lie below the unacceptable one, both between 0 and 1",
            );
        }
        if !(open(self.alpha) && open(self.beta) && self.alpha + self.beta < 1.0) {
            return Some("the two error rates must lie between 0 and 1, and together below 1");
        }
        None
    }

    /// The odds of the unacceptable rate over those of the acceptable one.
    fn odds_ratio(&self) -> f64 {
        let odds = |p: f64| p / (1.0 - p);
        odds(self.unacceptable) / odds(self.acceptable)
    }

    /// The limits of the decision-limit form.
    #[must_use]
    pub fn limits(&self) -> Limits {
        let p = (self.unacceptable / self.acceptable).ln();
        let q = ((1.0 - self.acceptable) / (1.0 - self.unacceptable)).ln();
        let a = ((1.0 - self.beta) / self.alpha).ln();
        let b = ((1.0 - self.alpha) / self.beta).ln();
        Limits { s: q / (p + q), h0: b / (p + q), h1: a / (p + q) }
    }

    /// The threshold of the likelihood-ratio form that belongs to the same α and β: ln((1 − β)/α). The chart starts
    /// again at zero, so this is a convention, not an error rate; [`run_length`] says what it means.
    #[must_use]
    pub fn threshold(&self) -> f64 {
        ((1.0 - self.beta) / self.alpha).ln()
    }
}

/// The running sum of `x − s`.
#[must_use]
pub fn walk(outcomes: &[f64], limits: &Limits) -> Vec<f64> {
    running(outcomes, |sum, x| sum + x - limits.s)
}

/// The likelihood-ratio chart that waits for the rate to become unacceptable: `max(0, C + w)` with `w = ln(p1/p0)` for a
/// failure and `ln((1 − p1)/(1 − p0))` for a success.
#[must_use]
pub fn deterioration(outcomes: &[f64], rates: &Rates) -> Vec<f64> {
    running(outcomes, |sum, x| f64::max(0.0, sum + weight(x, rates)))
}

/// The same chart the other way round: it waits for the rate to become acceptable, and a signal says that it has.
#[must_use]
pub fn learning(outcomes: &[f64], rates: &Rates) -> Vec<f64> {
    running(outcomes, |sum, x| f64::max(0.0, sum - weight(x, rates)))
}

/// The increment of the likelihood-ratio chart for an outcome whose expected probability of failure is `p`, where an odds
/// ratio is to be told from none: `x·ln R − ln(1 − p + R·p)` (Steiner 2000).
#[must_use]
pub fn increment(x: f64, p: f64, odds_ratio: f64) -> f64 {
    x * odds_ratio.ln() - (1.0 - p + odds_ratio * p).ln()
}

/// With one expected rate for all this is ln(p1/p0) for a failure and ln((1 − p1)/(1 − p0)) for a success.
fn weight(x: f64, rates: &Rates) -> f64 {
    increment(x, rates.acceptable, rates.odds_ratio())
}

fn running(outcomes: &[f64], next: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    let mut sum = 0.0;
    outcomes
        .iter()
        .map(|&x| {
            sum = next(sum, x);
            sum
        })
        .collect()
}

/// How many outcomes on average until [`deterioration`] first exceeds `threshold` where failures come at `rate`, by a
/// Markov chain on a grid of the chart's values (Brook and Evans 1972, *Biometrika* 59:539–549).
#[must_use]
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "places on a grid of a few hundred steps"
)]
pub fn run_length(rates: &Rates, threshold: f64, rate: f64) -> f64 {
    const STATES: usize = 400;
    let step = threshold / STATES as f64;
    // Up and down by whole steps with what is left over shared between two neighbours, so that the mean is kept.
    let moves = |from: usize, by: f64| -> [(Option<usize>, f64); 2] {
        let to = (from as f64 + by / step).max(0.0);
        let (below, part) = (to.floor(), to - to.floor());
        let place = |x: f64| (x <= STATES as f64).then_some(x as usize);
        [(place(below), 1.0 - part), (place(below + 1.0), part)]
    };
    // (I − Q)·length = 1, by repeated substitution: the chart always returns to zero or leaves.
    let mut length = vec![0.0; STATES + 1];
    let plan: Vec<[(Option<usize>, f64); 4]> = (0..=STATES)
        .map(|from| {
            let [a, b] = moves(from, weight(1.0, rates));
            let [c, d] = moves(from, weight(0.0, rates));
            [(a.0, a.1 * rate), (b.0, b.1 * rate), (c.0, c.1 * (1.0 - rate)), (d.0, d.1 * (1.0 - rate))]
        })
        .collect();
    for _ in 0..200_000 {
        let mut change = 0.0_f64;
        for from in 0..=STATES {
            let next =
                1.0 + plan[from].iter().map(|&(to, p)| to.map_or(0.0, |to| p * length[to])).sum::<f64>();
            change = change.max((next - length[from]).abs() / next);
            length[from] = next;
        }
        if change < 1e-9 {
            break;
        }
    }
    length[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rates(acceptable: f64, unacceptable: f64) -> Rates {
        Rates { acceptable, unacceptable, alpha: 0.1, beta: 0.1 }
    }

    #[test]
    fn rates_that_cannot_be_meant() {
        assert_eq!(rates(0.1, 0.2).fault(), None);
        assert!(rates(0.2, 0.2).fault().is_some() && rates(0.0, 0.2).fault().is_some());
        assert!(Rates { alpha: 0.6, beta: 0.5, ..rates(0.1, 0.2) }.fault().is_some());
    }

    /// From nothing, 19 successes in a row first reach the lower limit (p0 0.10, p1 0.20, α = β = 0.10).
    #[test]
    fn nineteen_successes() {
        let limits = rates(0.1, 0.2).limits();
        let sums = walk(&[0.0; 24], &limits);
        assert_eq!(sums.iter().position(|sum| *sum <= -limits.h0), Some(18));
    }

    /// Successes only: 1.25 is passed at the 11th, 2.0 at the 17th.
    #[test]
    fn competence_is_shown_by_successes() {
        let sums = learning(&[0.0; 24], &rates(0.1, 0.2));
        assert_eq!(sums.iter().position(|sum| *sum > 1.25), Some(10));
        assert_eq!(sums.iter().position(|sum| *sum > 2.0), Some(16));
    }

    /// Half a failure moves the sums half way.
    #[test]
    fn a_probability_moves_in_proportion() {
        let r = rates(0.1, 0.2);
        let at = |x: f64| walk(&[x], &r.limits())[0];
        assert!((at(0.5) - 0.5 * (at(0.0) + at(1.0))).abs() < 1e-12);
    }
}
