//! Within-subject spread, standard error of measurement and smallest detectable change.
//!
//! Bland and Altman (1996, 1999) for the within-subject standard deviation; Weir (2005), *Journal of Strength and
//! Conditioning Research* 19:231–240, for the two standard errors and MDC95 = 1.96·√2·SEM.

use crate::stats::anova::MeanSquares;
use crate::stats::normal::Z95;
use crate::stats::quantile;

/// A standard error of measurement with the smallest change that two readings can tell from none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sem {
    /// The standard error, in the unit of the readings.
    pub sem: f64,
    /// Smallest detectable change with 95 % confidence.
    pub mdc95: f64,
}

impl Sem {
    /// From a standard error.
    #[must_use]
    pub const fn of(sem: f64) -> Self {
        Self { sem, mdc95: Z95 * std::f64::consts::SQRT_2 * sem }
    }
}

/// For raters who are exchanged: rater bias counts as error. Equals the within-subject standard deviation of the one-way
/// analysis, √(mean square within).
#[must_use]
pub fn sem_agreement(ms: &MeanSquares) -> Sem {
    Sem::of(ms.within.sqrt())
}

/// For one rater who compares own readings: constant differences between raters do not count, √(mean square error).
#[must_use]
pub fn sem_consistency(ms: &MeanSquares) -> Sem {
    Sem::of(ms.error.sqrt())
}

/// The within-subject standard deviation of groups of repeated readings, and its degrees of freedom: the root of the
/// variances' mean, weighted by their degrees of freedom. Groups of one reading say nothing; `None` if none says
/// anything.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn within_subject(groups: &[Vec<f64>]) -> Option<(f64, f64)> {
    let (mut squares, mut df) = (0.0, 0.0);
    for group in groups.iter().filter(|group| group.len() >= 2) {
        let m = group.iter().sum::<f64>() / group.len() as f64;
        squares += group.iter().map(|x| (x - m) * (x - m)).sum::<f64>();
        df += group.len() as f64 - 1.0;
    }
    (df > 0.0).then(|| ((squares / df).sqrt(), df))
}

/// The 95 % interval of a standard deviation of normal values with `df` degrees of freedom: sd·√(df/χ²) with the 97.5 %
/// and 2.5 % quantiles of χ² (textbook).
#[must_use]
pub fn sd_interval(sd: f64, df: f64) -> (f64, f64) {
    let end = |p| sd * (df / quantile::chi_squared(p, df)).sqrt();
    (end(0.975), end(0.025))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::anova::tests::shrout_fleiss;

    /// Recomputed from the table of Shrout and Fleiss (1979): 1.0096754, 2.7986775; 2.5027762, 6.9373418 (which takes
    /// 1.96 for z).
    #[test]
    fn of_the_published_table() {
        let ms = shrout_fleiss().mean_squares();
        let (consistency, agreement) = (sem_consistency(&ms), sem_agreement(&ms));
        assert!((consistency.sem - 1.009_675_4).abs() < 1e-6 && (agreement.sem - 2.502_776_2).abs() < 1e-6);
        let by_hand = 1.96 / Z95;
        assert!((consistency.mdc95 * by_hand - 2.798_677_5).abs() < 1e-6);
        assert!((agreement.mdc95 * by_hand - 6.937_341_8).abs() < 1e-6);
        // The identity: √((raters − error)/n + error) is √(within).
        let other = ((ms.raters - ms.error) / ms.n + ms.error).sqrt();
        assert!((agreement.sem - other).abs() < 1e-12);
    }

    /// Five subjects read twice, standard deviations 5.7, 4.2, 5.7, 2.8 and 2.1: root mean square 4.3559. A teaching
    /// example.
    #[test]
    fn two_readings_of_five_subjects() {
        let pair = |sd: f64| vec![0.0, sd * std::f64::consts::SQRT_2];
        let (sw, df) = within_subject(&[5.7, 4.2, 5.7, 2.8, 2.1].map(pair)).unwrap();
        assert!((sw - 4.3559).abs() < 5e-5 && (df - 5.0).abs() < 1e-12);
        assert_eq!(within_subject(&[vec![1.0], vec![2.0]]), None);
    }
}
