//! Shares and their differences.
//!
//! Wilson (1927), *Journal of the American Statistical Association* 22:209–212; the difference of two independent shares
//! by Newcombe (1998), *Statistics in Medicine* 17:873–890, the hybrid of two Wilson intervals without correction.

use crate::stats::agreement::Estimate;
use crate::stats::normal::Z95;

/// The share `x` of `n` with its Wilson interval; `None` for `n` not above 0 or `x` outside 0 to `n`.
///
/// `x` need not be whole: a count in which each case weighs its probability is treated as a count.
#[must_use]
pub fn wilson(x: f64, n: f64) -> Option<Estimate> {
    if !(n > 0.0 && (0.0..=n).contains(&x)) {
        return None;
    }
    let p = x / n;
    let z2 = Z95 * Z95;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z95 / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    // The ends of nothing and of all are exactly 0 and 1.
    let low = if x <= 0.0 { 0.0 } else { middle - half };
    let high = if x >= n { 1.0 } else { middle + half };
    Some(Estimate { value: p, low, high })
}

/// The first share minus the second, each given with its Wilson interval; the groups must be independent.
#[must_use]
pub fn newcombe(first: &Estimate, second: &Estimate) -> Estimate {
    let value = first.value - second.value;
    let below = (first.value - first.low).hypot(second.high - second.value);
    let above = (first.high - first.value).hypot(second.value - second.low);
    Estimate { value, low: value - below, high: value + above }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Newcombe's method on 56/70 − 48/80, 9/10 − 3/10 and 10/10 − 0/10, recomputed with another library.
    #[test]
    fn differences_of_shares() {
        for ((x1, n1), (x2, n2), expected) in [
            ((56.0, 70.0), (48.0, 80.0), [0.2000, 0.0524, 0.3339]),
            ((9.0, 10.0), (3.0, 10.0), [0.6, 0.1705, 0.8090]),
            ((10.0, 10.0), (0.0, 10.0), [1.0, 0.6075, 1.0]),
        ] {
            let found = newcombe(&wilson(x1, n1).unwrap(), &wilson(x2, n2).unwrap());
            for (found, expected) in [found.value, found.low, found.high].into_iter().zip(expected) {
                assert!((found - expected).abs() < 5e-5, "{found} {expected}");
            }
        }
    }

    #[test]
    fn no_share_of_nothing() {
        assert_eq!(wilson(0.0, 0.0), None);
        assert_eq!(wilson(3.0, 2.0), None);
        assert_eq!(wilson(f64::NAN, 2.0), None);
    }
}
