//! The mean of two values weighted by inverse variance.

use crate::measure::quantity::{Quantity, Simulated};

/// The weights of two values by inverse variance.
pub(crate) fn weights(a: &Quantity, b: &Quantity) -> (f64, f64) {
    let (va, vb) = (a.sd().powi(2), b.sd().powi(2));
    let wa = if va + vb > 0.0 { vb / (va + vb) } else { 0.5 };
    (wa, 1.0 - wa)
}

/// The mean of two values weighted by inverse variance, part by part.
pub(crate) fn weighted(a: &Quantity, b: &Quantity) -> Quantity {
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
}
