//! A quantity against a band: inside, outside, or too close to call.

use crate::measure::settings::{Band, Rule};
use crate::measure::true_view::choice::Basis;
use crate::stats::normal::{p_below, p_between};

/// What a state needs to be called.
pub const CONFIDENCE: f64 = 0.95;

/// What a verdict is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VerdictRule {
    /// A band of the target.
    Band(Rule),
    /// The docking target of the pedicle view.
    Docking,
    /// The medial border not crossed behind the posterior wall.
    SafePassage,
}

/// Where a value lies by itself, without its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Nominal {
    /// In the band.
    Inside,
    /// Behind the band (depth).
    Posterior,
    /// In front of the band (depth).
    Anterior,
    /// Above the band (height).
    Superior,
    /// Below the band (height).
    Inferior,
    /// Short of the band (midline).
    Short,
    /// Past the band (midline).
    Past,
    /// Under the band (anything else).
    Low,
    /// Over the band (anything else).
    High,
}

/// What can be said with 95 % confidence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum State {
    /// Inside.
    Inside,
    /// Outside.
    Outside,
    /// Too close to call.
    Undecided,
    /// The shots say nothing about it.
    NotShown,
}

/// One verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// What it is about.
    pub rule: VerdictRule,
    /// The band, where there is one.
    pub band: Option<Band>,
    /// By the value alone.
    pub nominal: Nominal,
    /// With confidence.
    pub state: State,
    /// Probability that the true value lies in the band.
    pub p_inside: f64,
    /// Whether it goes by the direct reading or by what a true view would show.
    pub basis: Basis,
    /// Safe passage only: probability that the tip is medial to the border behind the wall.
    pub q: Option<f64>,
}

impl Verdict {
    /// The verdict on a value `x` with standard uncertainty `sd` against a band: by `x` alone, and with
    /// `X ~ N(x, sd²)` inside or outside where that has a probability of 0.95, else undecided.
    #[must_use]
    pub fn on_band(rule: Rule, band: Band, x: f64, sd: f64) -> Self {
        let (below, above) = match rule {
            Rule::Depth => (Nominal::Posterior, Nominal::Anterior),
            Rule::Height => (Nominal::Superior, Nominal::Inferior),
            Rule::Midline => (Nominal::Short, Nominal::Past),
        };
        let nominal = nominal(band, x, below, above);
        let (state, p_inside) = state(band, x, sd);
        Self {
            rule: VerdictRule::Band(rule),
            band: Some(band),
            nominal,
            state,
            p_inside,
            basis: Basis::Direct,
            q: None,
        }
    }

    /// The verdict on a value, standard uncertainty and what they are based on.
    #[must_use]
    pub(crate) fn chosen(rule: Rule, band: Band, (x, sd, basis): (f64, f64, Basis)) -> Self {
        Self { basis, ..Self::on_band(rule, band, x, sd) }
    }
}

/// Where `x` lies by itself.
pub(crate) fn nominal(band: Band, x: f64, below: Nominal, above: Nominal) -> Nominal {
    if x < band.low {
        below
    } else if x > band.high {
        above
    } else {
        Nominal::Inside
    }
}

/// What can be said of `X ~ N(x, sd²)`, and the probability that it lies in the band.
pub(crate) fn state(band: Band, x: f64, sd: f64) -> (State, f64) {
    let p_inside = p_between(band.low, band.high, x, sd);
    let p_low = p_below(band.low, x, sd);
    let p_high = p_below(-band.high, -x, sd);
    let state = if p_inside >= CONFIDENCE {
        State::Inside
    } else if p_low >= CONFIDENCE || p_high >= CONFIDENCE {
        State::Outside
    } else {
        State::Undecided
    };
    (state, p_inside)
}

/// Whether not even a value in the middle of the band could be called inside.
#[must_use]
pub fn too_uncertain(band: Band, sd: f64) -> bool {
    p_between(band.low, band.high, band.middle(), sd) < CONFIDENCE
}

impl VerdictRule {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Band(rule) => rule.key(),
            Self::Docking => "docking",
            Self::SafePassage => "safe_passage",
        }
    }
}

impl Nominal {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Posterior => "posterior",
            Self::Anterior => "anterior",
            Self::Superior => "superior",
            Self::Inferior => "inferior",
            Self::Short => "short",
            Self::Past => "past",
            Self::Low => "low",
            Self::High => "high",
        }
    }
}

impl State {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Outside => "outside",
            Self::Undecided => "undecided",
            Self::NotShown => "not_shown",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEPTH: Band = Band::new(0.30, 0.50);

    #[test]
    fn the_nominal_place_is_by_the_value_alone() {
        let at = |x| Verdict::on_band(Rule::Depth, DEPTH, x, 0.02).nominal;
        assert_eq!(at(0.299), Nominal::Posterior);
        assert_eq!(at(0.30), Nominal::Inside);
        assert_eq!(at(0.501), Nominal::Anterior);
    }

    /// Φ(1.6449) = 0.95: a value 1.6449 sd beyond an end is just outside.
    #[test]
    fn the_state_needs_ninety_five_percent() {
        let at = |x, sd| Verdict::on_band(Rule::Depth, DEPTH, x, sd).state;
        assert_eq!(at(0.50 + 1.65 * 0.02, 0.02), State::Outside);
        assert_eq!(at(0.50 + 1.64 * 0.02, 0.02), State::Undecided);
        assert_eq!(at(0.40, 0.02), State::Inside);
        assert_eq!(at(0.30, 0.02), State::Undecided);
        assert_eq!(at(0.30, 0.0), State::Inside);
    }

    /// Half-width 0.10 over z = 1.95996 is 0.05102.
    #[test]
    fn too_uncertain_begins_where_the_middle_is_undecided() {
        assert!(!too_uncertain(DEPTH, 0.0510) && too_uncertain(DEPTH, 0.0511));
    }
}
