//! Mean, spread and quantiles of a sample.

/// Mean of a sample, `NaN` for an empty one.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn mean(sample: &[f64]) -> f64 {
    sample.iter().sum::<f64>() / sample.len() as f64
}

/// Standard deviation of a sample with n − 1 in the denominator, `NaN` for fewer than two values.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn sd(sample: &[f64]) -> f64 {
    if sample.len() < 2 {
        return f64::NAN;
    }
    let m = mean(sample);
    (sample.iter().map(|x| (x - m) * (x - m)).sum::<f64>() / (sample.len() - 1) as f64).sqrt()
}

/// Quantile of an ascending sample by linear interpolation of order statistics (Hyndman and Fan 1996, type 7,
/// as NumPy's default); `NaN` for an empty one. `p` from 0 to 1.
#[must_use]
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the position lies within the sample"
)]
pub fn quantile(ascending: &[f64], p: f64) -> f64 {
    let Some(last) = ascending.len().checked_sub(1) else { return f64::NAN };
    let position = p.clamp(0.0, 1.0) * last as f64;
    let below = position.floor() as usize;
    let above = (below + 1).min(last);
    ascending[below] + (ascending[above] - ascending[below]) * (position - below as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_sample() {
        let sample = [1.0, 2.0, 3.0, 4.0];
        assert!((mean(&sample) - 2.5).abs() < 1e-15);
        assert!((sd(&sample) - (5.0_f64 / 3.0).sqrt()).abs() < 1e-15);
        assert!((quantile(&sample, 0.25) - 1.75).abs() < 1e-15);
        assert!(quantile(&[], 0.5).is_nan() && sd(&[1.0]).is_nan());
    }
}
