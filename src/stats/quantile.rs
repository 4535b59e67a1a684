//! Quantiles of Student's t, of the F and of the chi-squared distribution.
//!
//! The library's quantile is a start only, since it stops at its own tolerance; Newton steps on its regularised
//! incomplete beta function, whose accuracy is near that of the numbers, take it to the last digits. Checked against
//! SciPy in `tests/it/reliability.rs`.

use statrs::function::beta::{beta_reg, inv_beta_reg, ln_beta};
use statrs::function::gamma::gamma_lr;

/// The quantile `p` (strictly between 0 and 1) of the F distribution with `d1` and `d2` degrees of freedom, which need
/// not be whole; `NaN` where an argument is out of its range.
#[must_use]
pub fn f(p: f64, d1: f64, d2: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && d1 > 0.0 && d2 > 0.0 && d1.is_finite() && d2.is_finite()) {
        return f64::NAN;
    }
    // Solved for the smaller of the two ends of the unit interval, so that neither loses its digits.
    let (z, rest) = beta_pair(p, 0.5 * d1, 0.5 * d2);
    (d2 / d1) * (z / rest)
}

/// The quantile `p` (strictly between 0 and 1) of Student's t distribution with `df` degrees of freedom; `NaN` where an
/// argument is out of its range.
#[must_use]
pub fn t(p: f64, df: f64) -> f64 {
    // t² follows F with 1 and df degrees of freedom.
    let tail = p.min(1.0 - p);
    if tail >= 0.5 && df > 0.0 {
        return 0.0;
    }
    f(1.0 - 2.0 * tail, 1.0, df).sqrt().copysign(p - 0.5)
}

/// The quantile `p` (strictly between 0 and 1) of the chi-squared distribution with `df` degrees of freedom, which need
/// not be whole; `NaN` where an argument is out of its range. By halving an interval until nothing is left of it.
#[must_use]
pub fn chi_squared(p: f64, df: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && df > 0.0 && df.is_finite()) {
        return f64::NAN;
    }
    let below = |x: f64| gamma_lr(0.5 * df, 0.5 * x) < p;
    let (mut low, mut high) = (0.0, df + 10.0);
    while below(high) {
        (low, high) = (high, 2.0 * high);
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if below(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The quantile of the beta distribution and one minus it.
fn beta_pair(p: f64, a: f64, b: f64) -> (f64, f64) {
    let z = inv_beta_reg(a, b, p);
    if z <= 0.5 {
        let z = refined(z, p, a, b);
        (z, 1.0 - z)
    } else {
        let rest = refined(1.0 - z, 1.0 - p, b, a);
        (1.0 - rest, rest)
    }
}

/// Newton steps in the logarithm of `z`, which stays positive; `z` is the quantile `p` of Beta(a, b) nearly.
fn refined(start: f64, p: f64, a: f64, b: f64) -> f64 {
    let mut z = start.clamp(1e-300, 1.0 - 1e-16);
    for _ in 0..60 {
        let density_by_log = (a * z.ln() + (b - 1.0) * (-z).ln_1p() - ln_beta(a, b)).exp();
        let error = beta_reg(a, b, z) - p;
        if density_by_log <= 0.0 || !density_by_log.is_finite() || !error.is_finite() {
            break;
        }
        let step = (error / density_by_log).clamp(-1.0, 1.0);
        let next = (z * (-step).exp()).min(1.0 - 1e-16);
        let done = (next - z).abs() <= 1e-15 * z;
        z = next;
        if done {
            break;
        }
    }
    z
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tables of the F and t distributions (any textbook), to the digits printed there.
    #[test]
    fn printed_values() {
        for (found, printed) in [
            (f(0.95, 5.0, 18.0), 2.77),
            (f(0.975, 5.0, 15.0), 3.58),
            (t(0.975, 16.0), 2.12),
            (t(0.95, 10.0), 1.81),
        ] {
            assert!((found - printed).abs() < 0.005, "{found} {printed}");
        }
        assert!((t(0.025, 7.0) + t(0.975, 7.0)).abs() < 1e-12 && t(0.5, 7.0).abs() < 1e-12);
    }

    /// SciPy's `chi2.ppf`: 3.246973 and 20.483177 for 10 degrees of freedom, 0.000982 and 5.023886 for one.
    #[test]
    fn chi_squared_as_elsewhere() {
        for (p, df, known) in [
            (0.025, 10.0, 3.246_972_780_236_84),
            (0.975, 10.0, 20.483_177_350_807_4),
            (0.975, 1.0, 5.023_886_187_314_89),
            (0.025, 1.0, 0.000_982_069_117_175_256),
        ] {
            let found = chi_squared(p, df);
            assert!((found / known - 1.0).abs() < 1e-10, "{found} {known}");
        }
        assert!(chi_squared(0.5, 0.0).is_nan());
    }

    #[test]
    fn out_of_range_is_no_number() {
        assert!(f(1.0, 3.0, 3.0).is_nan() && f(0.5, 0.0, 3.0).is_nan() && t(0.975, 0.0).is_nan());
    }
}
