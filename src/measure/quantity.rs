//! A value with its standard uncertainty in three named parts.

use crate::measure::mark::MarkRef;
use crate::stats::normal;

/// The factor of a 95 % interval of a normal distribution.
pub const Z95: f64 = normal::Z95;

/// The parts of a standard uncertainty, each a standard uncertainty of its own, added in quadrature
/// (JCGM 100:2008, 5.1.2).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Budget {
    /// From the placement of bone marks.
    pub bone: f64,
    /// From the placement of marks on instruments.
    pub metal: f64,
    /// From the direction of the view.
    pub view: f64,
    /// What the models by which a view is corrected leave open beyond what the method states (method, section 9): in
    /// the interval and in what a verdict goes by, not in [`Budget::stated`].
    pub model: f64,
    /// What of the bone part comes from soft borders (method, section 10); not added once more.
    pub softness: f64,
    /// What of the bone part comes from points that are as the program proposed them; not added once more.
    pub proposal: f64,
}

/// What a Monte Carlo run found for a quantity (JCGM 101:2008).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulated {
    /// Mean of the draws.
    pub mean: f64,
    /// Standard deviation of the draws.
    pub sd: f64,
    /// 2.5 % quantile.
    pub low: f64,
    /// 97.5 % quantile.
    pub high: f64,
}

/// How much of a quantity's variance one mark's placement costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Influence {
    /// The mark.
    pub mark: MarkRef,
    /// Its standard uncertainty contribution, in the unit of the quantity.
    pub sd: f64,
}

/// A measured value; fractions have no unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty by part.
    pub budget: Budget,
    /// Contribution of each mark, largest first; empty where there is none.
    pub influences: Vec<Influence>,
    /// The Monte Carlo run, if one was asked for.
    pub monte_carlo: Option<Simulated>,
}

impl Budget {
    /// Part by part, what `f` makes of the parts of two budgets.
    #[must_use]
    pub fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self {
            bone: f(self.bone, other.bone),
            metal: f(self.metal, other.metal),
            view: f(self.view, other.view),
            model: f(self.model, other.model),
            softness: f(self.softness, other.softness),
            proposal: f(self.proposal, other.proposal),
        }
    }

    /// The combined standard uncertainty.
    #[must_use]
    pub fn sd(self) -> f64 {
        (self.stated().powi(2) + self.model * self.model).sqrt()
    }

    /// The standard uncertainty that the method states: without what its models leave open.
    #[must_use]
    pub fn stated(self) -> f64 {
        (self.bone * self.bone + self.metal * self.metal + self.view * self.view).sqrt()
    }

    /// All that comes from the direction of the view, what the models leave open included.
    #[must_use]
    pub fn of_view(self) -> f64 {
        self.view.hypot(self.model)
    }
}

impl Quantity {
    /// The combined standard uncertainty.
    #[must_use]
    pub fn sd(&self) -> f64 {
        self.budget.sd()
    }

    /// The same quantity of which the models leave open this much more, as a variance.
    #[must_use]
    pub(crate) fn leaving_open(mut self, variance: f64) -> Self {
        self.budget.model = self.budget.model.hypot(variance.max(0.0).sqrt());
        self
    }

    /// The same quantity in another unit: `k` times the value and every part of the uncertainty.
    #[must_use]
    pub fn scaled(&self, k: f64) -> Self {
        let size = k.abs();
        let budget = self.budget.with(self.budget, |part, _| part * size);
        let influences =
            self.influences.iter().map(|i| Influence { mark: i.mark, sd: i.sd * size }).collect();
        Self { value: self.value * k, budget, influences, monte_carlo: None }
    }

    /// Lower end of the 95 % interval.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.value - Z95 * self.sd()
    }

    /// Upper end of the 95 % interval.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.value + Z95 * self.sd()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_in_quadrature() {
        let q = Quantity {
            value: 0.4,
            budget: Budget { bone: 0.03, view: 0.04, softness: 0.02, proposal: 0.01, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        };
        assert!((q.sd() - 0.05).abs() < 1e-15);
        assert!((q.high() - q.low() - 2.0 * Z95 * 0.05).abs() < 1e-15);
    }

    /// By hand: 0.05 stated, 0.12 left open: 0.13 for the interval.
    #[test]
    fn what_is_left_open_widens_the_interval_and_not_what_is_stated() {
        let budget = Budget { bone: 0.03, view: 0.04, ..Budget::default() };
        let q = Quantity { value: 0.4, budget, influences: Vec::new(), monte_carlo: None }
            .leaving_open(0.12 * 0.12);
        assert!((q.sd() - 0.13).abs() < 1e-15 && (q.budget.stated() - 0.05).abs() < 1e-15);
        assert!((q.high() - q.value - Z95 * 0.13).abs() < 1e-15);
    }
}
