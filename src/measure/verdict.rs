//! A quantity against a band: inside, outside, or too close to call.

use crate::measure::settings::{Band, Rule};

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
    /// Safe passage only: probability that the tip is medial to the border behind the wall.
    pub q: Option<f64>,
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
