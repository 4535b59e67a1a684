//! The normal distribution.

use libm::erfc;

/// Φ⁻¹(0.975): the factor of a 95 % interval of a normal distribution.
pub const Z95: f64 = 1.959_963_984_540_054;

/// Φ: probability that a standard normal variable is at most `z`.
#[must_use]
pub fn cdf(z: f64) -> f64 {
    0.5 * erfc(-z / std::f64::consts::SQRT_2)
}

/// Probability that a normal variable of mean `mean` and standard deviation `sd ≥ 0` is less than `x`.
///
/// With `sd = 0` the variable is its mean.
#[must_use]
pub fn p_below(x: f64, mean: f64, sd: f64) -> f64 {
    if sd > 0.0 {
        cdf((x - mean) / sd)
    } else if mean < x {
        1.0
    } else {
        0.0
    }
}

/// Probability that a normal variable of mean `mean` and standard deviation `sd ≥ 0` lies in `low..=high`.
#[must_use]
pub fn p_between(low: f64, high: f64, mean: f64, sd: f64) -> f64 {
    if sd > 0.0 {
        // From the nearer tail, so that small probabilities keep their digits.
        let (a, b) = ((low - mean) / sd, (high - mean) / sd);
        if a > 0.0 { cdf(-a) - cdf(-b) } else { cdf(b) - cdf(a) }
    } else if (low..=high).contains(&mean) {
        1.0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of SciPy's `scipy.stats.norm.cdf` (1.17).
    #[test]
    fn values_agree_with_a_reference_library() {
        for (z, p) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746_068_542_9),
            (-1.959_963_984_540_054, 0.025),
            (-6.0, 9.865_876_450_376_946e-10),
            (Z95, 0.975),
        ] {
            assert!((cdf(z) - p).abs() < 1e-12 * p.max(1e-3), "{z}: {}", cdf(z));
        }
    }

    #[test]
    fn without_spread_the_value_decides() {
        assert!((p_between(0.3, 0.5, 0.3, 0.0) - 1.0).abs() < 1e-15);
        assert!(p_between(0.3, 0.5, 0.51, 0.0).abs() < 1e-15);
        assert!((p_below(0.3, 0.2, 0.0) - 1.0).abs() < 1e-15);
    }
}
