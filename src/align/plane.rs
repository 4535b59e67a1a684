//! Planes of numbers: a frame's samples as fractions of their range, resampled, blurred and read between samples.
//!
//! Sample `(i, j)` of a plane has its centre at `(i + ½, j + ½)`, as a pixel of a picture has.

use crate::case::image::frame::{Frame, Samples};

/// Numbers in rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct NumberPlane {
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    pub(crate) values: Vec<f32>,
}

/// A rectangle of samples: first column and row, and how many of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) left: usize,
    pub(crate) top: usize,
    pub(crate) columns: usize,
    pub(crate) rows: usize,
}

impl NumberPlane {
    /// One value all over.
    pub(crate) fn filled(columns: usize, rows: usize, value: f32) -> Self {
        Self { columns, rows, values: vec![value; columns * rows] }
    }

    /// A window of a frame, as fractions of the range a sample has; it must lie inside the frame.
    pub(crate) fn of_frame(frame: &Frame, window: Window) -> Self {
        let stride = frame.width as usize;
        let mut values = Vec::with_capacity(window.columns * window.rows);
        for row in window.top..window.top + window.rows {
            let from = row * stride + window.left;
            let to = from + window.columns;
            match &frame.samples {
                Samples::Gray8(s) => {
                    values.extend(s.get(from..to).unwrap_or_default().iter().map(|&v| f32::from(v) / 255.0));
                }
                Samples::Gray16(s) => values
                    .extend(s.get(from..to).unwrap_or_default().iter().map(|&v| f32::from(v) / 65_535.0)),
            }
        }
        values.resize(window.columns * window.rows, 0.0);
        Self { columns: window.columns, rows: window.rows, values }
    }

    /// All of a frame.
    pub(crate) fn of_whole(frame: &Frame) -> Self {
        Self::of_frame(
            frame,
            Window { left: 0, top: 0, columns: frame.width as usize, rows: frame.height as usize },
        )
    }

    /// Each value carried through `f`.
    pub(crate) fn map(&self, f: impl Fn(f32) -> f32) -> Self {
        Self { values: self.values.iter().map(|&v| f(v)).collect(), ..*self }
    }

    /// Values of two planes of one size joined by `f`.
    pub(crate) fn zip(&self, other: &Self, f: impl Fn(f32, f32) -> f32) -> Self {
        Self { values: self.values.iter().zip(&other.values).map(|(&a, &b)| f(a, b)).collect(), ..*self }
    }

    /// The value at a sample; the nearest one outside.
    pub(crate) fn at(&self, column: usize, row: usize) -> f32 {
        let (column, row) = (column.min(self.columns.max(1) - 1), row.min(self.rows.max(1) - 1));
        self.values.get(row * self.columns + column).copied().unwrap_or(0.0)
    }

    /// The value between four samples, the place in sample coordinates (the centre of the first sample at 0); outside,
    /// as at the nearest edge.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place inside the plane"
    )]
    pub(crate) fn between(&self, x: f64, y: f64) -> f32 {
        if self.columns < 2 || self.rows < 2 {
            return self.values.first().copied().unwrap_or(0.0);
        }
        let x = x.clamp(0.0, self.columns as f64 - 1.001) as f32;
        let y = y.clamp(0.0, self.rows as f64 - 1.001) as f32;
        let (i, j) = (x as usize, y as usize);
        let (right, down) = (x - i as f32, y - j as f32);
        let first = j * self.columns + i;
        let (Some([a, b]), Some([c, d])) = (
            self.values.get(first..first + 2),
            self.values.get(first + self.columns..first + self.columns + 2),
        ) else {
            return 0.0;
        };
        let (top, bottom) = (a + (b - a) * right, c + (d - c) * right);
        top + (bottom - top) * down
    }

    /// The plane at another number of samples a length: each new sample is the mean of what it covers, or, where new
    /// samples are smaller than the old ones, read between them.
    pub(crate) fn resampled(&self, columns: usize, rows: usize) -> Self {
        let across = shares(self.columns, columns);
        let down = shares(self.rows, rows);
        let mut half = Self::filled(columns, self.rows, 0.0);
        for (out, row) in half.values.chunks_mut(columns.max(1)).zip(self.values.chunks(self.columns.max(1)))
        {
            for (out, (first, weights)) in out.iter_mut().zip(&across) {
                *out = weights.iter().zip(&row[*first..]).map(|(w, v)| w * v).sum();
            }
        }
        let mut whole = Self::filled(columns, rows, 0.0);
        for (out, (first, weights)) in whole.values.chunks_mut(columns.max(1)).zip(&down) {
            for (weight, row) in weights.iter().zip(half.values[first * columns..].chunks(columns.max(1))) {
                for (out, v) in out.iter_mut().zip(row) {
                    *out += weight * v;
                }
            }
        }
        whole
    }

    /// Blurred by a Gaussian of this standard deviation in samples; at the edges by what there is.
    pub(crate) fn blurred(&self, sd: f64) -> Self {
        if sd < 0.2 {
            return self.clone();
        }
        let kernel = gaussian(sd);
        let reach = kernel.len() / 2;
        let (columns, rows) = (self.columns, self.rows);
        let mut padded = vec![0.0_f32; columns + 2 * reach];
        let mut along = Self::filled(columns, rows, 0.0);
        for (out, row) in along.values.chunks_mut(columns.max(1)).zip(self.values.chunks(columns.max(1))) {
            padded[..reach].fill(row[0]);
            padded[reach..reach + columns].copy_from_slice(row);
            padded[reach + columns..].fill(row[columns - 1]);
            for (k, &tap) in kernel.iter().enumerate() {
                for (out, v) in out.iter_mut().zip(&padded[k..]) {
                    *out += tap * v;
                }
            }
        }
        let mut both = Self::filled(columns, rows, 0.0);
        for (y, out) in both.values.chunks_mut(columns.max(1)).enumerate() {
            for (k, &tap) in kernel.iter().enumerate() {
                let row = (y + k).saturating_sub(reach).min(rows - 1);
                for (out, v) in out.iter_mut().zip(&along.values[row * columns..(row + 1) * columns]) {
                    *out += tap * v;
                }
            }
        }
        both
    }

    /// A wide blur, worked out on every `by`-th sample and read between them.
    pub(crate) fn blurred_widely(&self, sd: f64, by: usize) -> Self {
        let small = self.resampled(self.columns.div_ceil(by).max(2), self.rows.div_ceil(by).max(2));
        #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
        let ratio = small.columns as f64 / self.columns as f64;
        small.blurred(sd * ratio).resampled(self.columns, self.rows)
    }
}

/// The mean of values by their weights near each sample (a blur that leaves what has no weight out).
pub(crate) fn mean_nearby(values: &NumberPlane, weights: &NumberPlane, sd: f64, by: usize) -> NumberPlane {
    let blur = |plane: &NumberPlane| if by > 1 { plane.blurred_widely(sd, by) } else { plane.blurred(sd) };
    blur(&values.zip(weights, |v, w| v * w)).zip(&blur(weights), |v, w| v / (w + 1e-3))
}

/// The value at a share of a list, the nearest one; 0 for an empty list.
pub(crate) fn quantile(mut list: Vec<f32>, share: f64) -> f32 {
    if list.is_empty() {
        return 0.0;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place in a list"
    )]
    let at = (share.clamp(0.0, 1.0) * (list.len() - 1) as f64).round() as usize;
    *list.select_nth_unstable_by(at, f32::total_cmp).1
}

/// For each new sample the first old one it takes from and the share of each, summing to 1.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a side in samples"
)]
fn shares(old: usize, new: usize) -> Vec<(usize, Vec<f32>)> {
    let ratio = old as f64 / new.max(1) as f64;
    // A tent as wide as both samples: a mean where new samples are larger, a straight line between where they are smaller.
    let half = ratio.max(1.0);
    (0..new)
        .map(|i| {
            let centre = (i as f64 + 0.5) * ratio - 0.5;
            if ratio > 1.0 {
                let (low, high) = (i as f64 * ratio, (i as f64 + 1.0) * ratio);
                let first = (low.floor() as usize).min(old - 1);
                let last = (high.ceil() as usize).clamp(first + 1, old);
                let covered = |k: usize| ((k as f64 + 1.0).min(high) - (k as f64).max(low)).max(0.0) as f32;
                let weights: Vec<f32> = (first..last).map(covered).collect();
                return (first, normalised(weights));
            }
            let first = ((centre - half).ceil().max(0.0) as usize).min(old - 1);
            let last = ((centre + half).floor().max(0.0) as usize + 1).clamp(first + 1, old);
            let tent = |k: usize| (1.0 - (k as f64 - centre).abs() / half).max(0.0) as f32;
            (first, normalised((first..last).map(tent).collect()))
        })
        .collect()
}

fn normalised(mut weights: Vec<f32>) -> Vec<f32> {
    let sum: f32 = weights.iter().sum();
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    } else {
        weights.iter_mut().take(1).for_each(|w| *w = 1.0);
    }
    weights
}

/// A kernel to three standard deviations, its sum 1.
#[expect(clippy::cast_possible_truncation, reason = "some dozen taps, storage as f32")]
fn gaussian(sd: f64) -> Vec<f32> {
    let reach = (3.0 * sd).ceil().clamp(1.0, 200.0) as i32;
    let tap = |i: i32| (-0.5 * (f64::from(i) / sd).powi(2)).exp();
    let sum: f64 = (-reach..=reach).map(tap).sum();
    (-reach..=reach).map(|i| (tap(i) / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[expect(clippy::cast_precision_loss, reason = "small numbers")]
    fn ramp(columns: usize, rows: usize) -> NumberPlane {
        let values = (0..rows).flat_map(|y| (0..columns).map(move |x| 3.0 * x as f32 - y as f32)).collect();
        NumberPlane { columns, rows, values }
    }

    /// A plane that rises evenly does so still when blurred or resampled, away from the edges.
    #[test]
    #[expect(clippy::cast_precision_loss, reason = "small numbers")]
    fn an_even_slope_stays() {
        let blurred = ramp(60, 40).blurred(2.5);
        assert!((blurred.at(30, 20) - 70.0).abs() < 1e-3);
        let small = ramp(60, 40).resampled(30, 20);
        // Sample 10 covers the old ones 20 and 21.
        assert!((small.at(10, 7) - (3.0 * 20.5 - 14.5)).abs() < 1e-4);
        let large = ramp(60, 40).resampled(120, 80);
        for i in 20..60 {
            let x = (i as f32 + 0.5) / 2.0 - 0.5;
            assert!((large.at(i, 41) - (3.0 * x - 20.25)).abs() < 1e-3, "{i} {}", large.at(i, 41));
        }
        assert!((ramp(60, 40).between(10.25, 3.5) - (30.75 - 3.5)).abs() < 1e-4);
    }

    #[test]
    fn what_has_no_weight_leaves_no_trace() {
        let mut values = NumberPlane::filled(40, 40, 7.0);
        let mut weights = NumberPlane::filled(40, 40, 1.0);
        (values.values[820], weights.values[820]) = (1e6, 0.0);
        for by in [1, 4] {
            let mean = mean_nearby(&values, &weights, 4.0, by);
            assert!(mean.values.iter().all(|v| (v - 7.0).abs() < 0.05), "{by}");
        }
    }

    #[test]
    fn a_quantile_by_hand() {
        assert!((quantile(vec![4.0, 1.0, 3.0, 2.0, 0.0], 0.75) - 3.0).abs() < 1e-6);
        assert!(quantile(Vec::new(), 0.5).abs() < 1e-6);
    }
}
