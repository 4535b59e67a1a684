//! The noncentral t distribution, for exact intervals of a quantile of a normal population.
//!
//! Lenth (1989), algorithm AS 243: a Poisson mixture of incomplete beta functions.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::ln_gamma;

use crate::stats::normal;

/// Terms of the series are left out when what they can still add is below this.
const NEGLIGIBLE: f64 = 1e-14;
/// A limit on the work; a noncentrality up to 60 needs fewer.
const MOST_TERMS: u32 = 20_000;

/// Probability that a noncentral t variable with `df > 0` degrees of freedom and noncentrality `delta` is at most `x`.
#[must_use]
pub fn cdf(x: f64, df: f64, delta: f64) -> f64 {
    if x < 0.0 {
        return 1.0 - cdf(-x, df, -delta);
    }
    let below_zero = normal::cdf(-delta);
    let y = x * x / (x * x + df);
    let half = 0.5 * delta * delta;
    if y <= 0.0 {
        return below_zero;
    }
    // The terms are largest near j = δ²/2; sum outward from there so that a large noncentrality does not underflow.
    let term = |j: f64| -> f64 {
        let log_p = -half + j * half.ln() - ln_gamma(j + 1.0);
        let log_q = -half + j * half.ln() - ln_gamma(j + 1.5);
        let (p, q) = if half > 0.0 {
            (log_p.exp(), delta / std::f64::consts::SQRT_2 * log_q.exp())
        } else if j < 0.5 {
            (1.0, 0.0)
        } else {
            (0.0, 0.0)
        };
        p * beta_reg(j + 0.5, 0.5 * df, y) + q * beta_reg(j + 1.0, 0.5 * df, y)
    };
    let middle = half.floor();
    let mut sum = 0.0;
    for way in [1.0, -1.0] {
        let mut j = if way > 0.0 { middle } else { middle - 1.0 };
        for n in 0..MOST_TERMS {
            if j < 0.0 {
                break;
            }
            let next = term(j);
            sum += next;
            // Terms fall faster than geometrically away from the middle.
            if n > 20 && next.abs() < NEGLIGIBLE {
                break;
            }
            j += way;
        }
    }
    (below_zero + 0.5 * sum).clamp(0.0, 1.0)
}

/// The quantile `p` (strictly between 0 and 1) of the same, by halving a bracket; `NaN` where an argument is out of its
/// range.
#[must_use]
pub fn quantile(p: f64, df: f64, delta: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && df > 0.0 && delta.is_finite()) {
        return f64::NAN;
    }
    let mut reach = delta.abs() + 1.0;
    while reach < 1e12 && (cdf(reach, df, delta) < p || cdf(-reach, df, delta) > p) {
        reach *= 2.0;
    }
    let (mut low, mut high) = (-reach, reach);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if cdf(middle, df, delta) < p {
            low = middle;
        } else {
            high = middle;
        }
        if high - low <= 1e-13 * middle.abs().max(1e-3) {
            break;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile::t;

    #[test]
    fn without_noncentrality_it_is_students_t() {
        for p in [0.025, 0.3, 0.9] {
            assert!((quantile(p, 9.0, 0.0) - t(p, 9.0)).abs() < 1e-9);
        }
    }

    /// At zero the distribution is known in closed form: Φ(−δ).
    #[test]
    fn at_zero() {
        assert!((cdf(0.0, 5.0, 1.2) - normal::cdf(-1.2)).abs() < 1e-14);
        assert!((cdf(1e-9, 5.0, 1.2) - cdf(-1e-9, 5.0, 1.2)).abs() < 1e-8);
    }
}
