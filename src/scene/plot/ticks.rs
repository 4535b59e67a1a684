//! Round numbers on an axis: steps of 1, 2 or 5 times a power of ten.

/// Round numbers within this range and the two around it, about `most` of them; the one place where both ends are the
/// same gets a range of its own.
#[must_use]
pub fn round(low: f64, high: f64, most: u32) -> Vec<f64> {
    if !(low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let (low, high) =
        if high - low > 1e-12 * low.abs().max(1.0) { (low, high) } else { (low - 0.5, low + 0.5) };
    let step = step((high - low) / f64::from(most.max(1)));
    // Half a millionth of a step absorbs what rounding leaves of numbers that are round already.
    let first = (low / step + 1e-6).floor();
    let last = (high / step - 1e-6).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few ticks")]
    let n = (last - first).clamp(1.0, 100.0) as u32;
    (0..=n).map(|i| tidy((first + f64::from(i)) * step, step)).collect()
}

/// The smallest of 1, 2 and 5 times a power of ten that is not below `least`.
fn step(least: f64) -> f64 {
    let power = 10.0_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|k| k * power)
        .find(|step| *step >= least * (1.0 - 1e-9))
        .unwrap_or(power)
}

/// Zero where rounding left almost nothing.
fn tidy(value: f64, step: f64) -> f64 {
    if value.abs() < 1e-9 * step { 0.0 } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_round_and_hold_the_range() {
        assert_eq!(round(0.0, 10.0, 5), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(round(0.3, 9.1, 5), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(round(-0.12, 0.31, 5).len(), 7);
        assert_eq!(round(2.0, 2.0, 4), [1.5, 2.0, 2.5], "a range of its own");
        assert!(round(f64::NAN, 1.0, 4).is_empty());
        for (low, high) in [(1e-7, 3e-7), (-5e6, 8e6), (0.999, 1.001)] {
            let ticks = round(low, high, 6);
            assert!(ticks.first().is_some_and(|t| *t <= low + 1e-9 * high.abs()));
            assert!(
                ticks.last().is_some_and(|t| *t >= high - 1e-9 * high.abs()) && ticks.len() <= 9,
                "{ticks:?}"
            );
        }
    }
}
