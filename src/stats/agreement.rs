//! Limits of agreement of two series of readings of the same subjects.
//!
//! Bland and Altman (1986), *Lancet* 327:307–310, and (1999), *Statistical Methods in Medical Research* 8:135–160. Exact
//! intervals of the limits: each limit is a quantile of a normal population, whose interval follows from the noncentral t
//! distribution (textbook; for limits of agreement Carkeet 2015, from memory).

use crate::stats::noncentral_t;
use crate::stats::normal::Z95;
use crate::stats::quantile;
use crate::stats::summary::{mean, sd};

/// A value with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A limit of agreement with its interval, approximate and exact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The limit.
    pub value: f64,
    /// Bland and Altman's approximate 95 % interval (1999).
    pub approximate: (f64, f64),
    /// The exact 95 % interval.
    pub exact: (f64, f64),
}

/// How far two series agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Number of differences.
    pub n: usize,
    /// Mean of the differences with its t interval.
    pub bias: Estimate,
    /// Standard deviation of the differences, n − 1 in the denominator.
    pub sd: f64,
    /// Bias − z·SD.
    pub lower: Limit,
    /// Bias + z·SD.
    pub upper: Limit,
}

/// A mean with its t interval; `None` for fewer than two values.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn mean_estimate(sample: &[f64]) -> Option<Estimate> {
    if sample.len() < 2 {
        return None;
    }
    let n = sample.len() as f64;
    let half = quantile::t(0.975, n - 1.0) * sd(sample) / n.sqrt();
    let value = mean(sample);
    Some(Estimate { value, low: value - half, high: value + half })
}

/// Agreement from differences, first series minus second; `None` for fewer than two.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn agreement(differences: &[f64]) -> Option<Agreement> {
    let bias = mean_estimate(differences)?;
    let (n, sd) = (differences.len() as f64, sd(differences));
    let df = n - 1.0;
    // Variance of a limit: s²(1/n + z²/(2(n − 1))), 1999.
    let half = quantile::t(0.975, df) * sd * (1.0 / n + Z95 * Z95 / (2.0 * df)).sqrt();
    let [inner, outer] = [0.025, 0.975].map(|p| noncentral_t::quantile(p, df, Z95 * n.sqrt()) / n.sqrt());
    let limit = |way: f64| {
        let value = bias.value + way * Z95 * sd;
        let ends = [bias.value + way * inner * sd, bias.value + way * outer * sd];
        let exact = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        Limit { value, approximate: (value - half, value + half), exact }
    };
    Some(Agreement { n: differences.len(), bias, sd, lower: limit(-1.0), upper: limit(1.0) })
}

/// The standard deviation of differences of single readings, from differences of means of `m1` and `m2` readings whose
/// own within-subject standard deviations are known (Bland and Altman 1986, "repeated measurements").
#[must_use]
pub fn corrected_sd(sd_of_means: f64, (sw1, m1): (f64, f64), (sw2, m2): (f64, f64)) -> f64 {
    (sd_of_means * sd_of_means + (1.0 - 1.0 / m1) * sw1 * sw1 + (1.0 - 1.0 / m2) * sw2 * sw2).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Peak flow by two meters, first readings (Bland and Altman 1986); printed −2.1, 38.8 and, with 2 in place of
    /// 1.96, −79.7 and 75.5.
    #[test]
    fn the_published_example() {
        let a = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
        let b = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
        let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| f64::from(a - b)).collect();
        let found = agreement(&differences).unwrap();
        assert!((found.bias.value + 2.1).abs() < 0.05 && (found.sd - 38.8).abs() < 0.05);
        assert!((found.lower.value + 78.095_905).abs() < 1e-6);
        assert!((found.upper.value - 73.860_611).abs() < 1e-6);
    }

    #[test]
    fn degenerate_series() {
        assert_eq!(agreement(&[1.0]), None);
        let same = agreement(&[0.5, 0.5, 0.5]).unwrap();
        assert!(same.sd.abs() < 1e-15 && (same.upper.exact.1 - 0.5).abs() < 1e-12);
    }
}
