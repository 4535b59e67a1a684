//! A square field of numbers, and ways to blur it. Work is shared between cores; each number is computed in the
//! same way whatever their number.

use fearless_simd::{Level, dispatch};
use rayon::prelude::*;

/// Numbers on the pixels of a square picture, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    /// Pixels a side.
    pub side: usize,
    /// `side × side` numbers.
    pub values: Vec<f32>,
}

impl Plane {
    /// The plane whose pixel at (column, row) has this value.
    #[must_use]
    pub fn of(side: usize, value: impl Fn(usize, usize) -> f32 + Sync) -> Self {
        let mut values = vec![0.0; side * side];
        values.par_chunks_mut(side.max(1)).enumerate().for_each(|(y, row)| {
            for (x, of) in row.iter_mut().enumerate() {
                *of = value(x, y);
            }
        });
        Self { side, values }
    }

    /// A number for each pixel from this plane's.
    #[must_use]
    pub fn map(&self, value: impl Fn(f32) -> f32 + Sync) -> Self {
        Self { side: self.side, values: self.values.par_iter().map(|&x| value(x)).collect() }
    }

    /// A number for each pixel from this plane's and another's.
    #[must_use]
    pub fn with(&self, other: &Self, value: impl Fn(f32, f32) -> f32 + Sync) -> Self {
        let pairs = self.values.par_iter().zip(&other.values);
        Self { side: self.side, values: pairs.map(|(&x, &y)| value(x, y)).collect() }
    }

    /// Blurred by a Gaussian of this standard deviation in pixels; the picture goes on beyond its edges as it
    /// ends there. Wide ones are worked out on a coarser grid.
    #[must_use]
    pub fn blurred(&self, sd_px: f64) -> Self {
        if sd_px < 0.05 {
            return self.clone();
        }
        if sd_px < 6.0 || self.side < 32 {
            return self.blurred_by(&weights(sd_px));
        }
        let half = self.halved();
        half.blurred(0.5 * sd_px).doubled(self.side)
    }

    fn blurred_by(&self, weights: &[f32]) -> Self {
        let (side, reach) = (self.side, weights.len() / 2);
        let clamp = |i: usize| i.saturating_sub(reach).min(side - 1);
        let processor = Level::new();
        let mut across = vec![0.0; side * side];
        let rows = across.par_chunks_mut(side).zip(self.values.par_chunks(side));
        rows.for_each_init(Vec::new, |padded, (out, row)| {
            padded.clear();
            padded.resize(reach, row[0]);
            padded.extend_from_slice(row);
            padded.resize(side + 2 * reach, row[side - 1]);
            let shifted = weights.iter().enumerate().map(|(k, &w)| (w, &padded[k..]));
            dispatch!(processor, _ => add_up(out, shifted));
        });
        let mut down = vec![0.0; side * side];
        down.par_chunks_mut(side).enumerate().for_each(|(y, out)| {
            let rows = weights.iter().enumerate().map(|(k, &w)| (w, &across[clamp(y + k) * side..][..side]));
            dispatch!(processor, _ => add_up(out, rows));
        });
        Self { side, values: down }
    }

    /// Half as many pixels a side, each the mean of four; the last row and column stand for what is missing.
    fn halved(&self) -> Self {
        let (last, half) = (self.side - 1, self.side.div_ceil(2));
        let mut values = vec![0.0; half * half];
        values.par_chunks_mut(half).enumerate().for_each(|(y, out)| {
            let [upper, lower] = [2 * y, 2 * y + 1].map(|y| self.row(y.min(last)));
            let mean = |[a, b]: [f32; 2], [c, d]: [f32; 2]| 0.25 * (a + b + c + d);
            let ((upper, end), (lower, below)) = (upper.as_chunks::<2>(), lower.as_chunks::<2>());
            for ((out, &upper), &lower) in out.iter_mut().zip(upper).zip(lower) {
                *out = mean(upper, lower);
            }
            if let (Some(out), [a], [c]) = (out.last_mut(), end, below) {
                *out = mean([*a; 2], [*c; 2]);
            }
        });
        Self { side: half, values }
    }

    /// Twice as many pixels a side, joined by straight lines.
    fn doubled(&self, side: usize) -> Self {
        let last = self.side - 1;
        // Centres of pixels: the fine one lies a quarter of a coarse pixel from the nearest coarse centre.
        let around = |i: usize| {
            let near = (i / 2).min(last);
            let far = if i.is_multiple_of(2) { near.saturating_sub(1) } else { (near + 1).min(last) };
            (near, far)
        };
        let processor = Level::new();
        let mut values = vec![0.0; side * side];
        values.par_chunks_mut(side).enumerate().for_each(|(y, out)| {
            let (near, far) = around(y);
            let (near, far) = (self.row(near), self.row(far));
            let at = |x: usize| {
                let (x0, x1) = around(x);
                joined([near[x0], near[x1]], [far[x0], far[x1]])
            };
            // All but the first two and the last two have a neighbour on either side.
            let inner = near.windows(3).zip(far.windows(3));
            let (pairs, _) = out.get_mut(2..).unwrap_or_default().as_chunks_mut::<2>();
            dispatch!(processor, _ => for (pair, (near, far)) in pairs.iter_mut().zip(inner) {
                *pair = [0, 2].map(|side| joined([near[1], near[side]], [far[1], far[side]]));
            });
            for x in (0..side.min(2)).chain((2 * last).min(side)..side) {
                out[x] = at(x);
            }
        });
        Self { side, values }
    }

    fn row(&self, y: usize) -> &[f32] {
        &self.values[y * self.side..][..self.side]
    }
}

/// A fine pixel from the nearest coarse one and its neighbour across, in the nearest row and in the next.
#[inline(always)]
fn joined([near, across]: [f32; 2], [far, far_across]: [f32; 2]) -> f32 {
    let near = 0.75 * near + 0.25 * across;
    let far = 0.75 * far + 0.25 * far_across;
    0.75 * near + 0.25 * far
}

/// Adds rows with their weights, weight by weight, so that many pixels are added to at once.
#[inline(always)]
fn add_up<'a>(out: &mut [f32], rows: impl Iterator<Item = (f32, &'a [f32])>) {
    for (w, row) in rows {
        for (value, v) in out.iter_mut().zip(row) {
            *value += w * v;
        }
    }
}

/// A Gaussian's weights, their sum 1.
#[expect(clippy::cast_possible_truncation, reason = "a few pixels")]
fn weights(sd: f64) -> Vec<f32> {
    let reach = (3.0 * sd).ceil() as i32;
    let weight = |i: i32| libm::exp(-0.5 * (f64::from(i) / sd) * (f64::from(i) / sd));
    let all: Vec<f64> = (-reach..=reach).map(weight).collect();
    let sum: f64 = all.iter().sum();
    all.into_iter().map(|w| (w / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Gaussian's values: the response to a step reaches 15.9 and 84.1 % one standard deviation off the edge.
    #[test]
    fn a_step_is_blurred_as_by_a_gaussian() {
        for (side, sd) in [(64, 2.0), (512, 20.0)] {
            let step = Plane::of(side, |x, _| if x < side / 2 { 0.0 } else { 1.0 });
            let blurred = step.blurred(sd);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels")]
            let at = |dx: f64| {
                let x = side as f64 / 2.0 + dx - 0.5;
                let (i, f) = (x.floor() as usize, x - x.floor());
                let row = side / 2 * side;
                f64::from(blurred.values[row + i]) * (1.0 - f) + f64::from(blurred.values[row + i + 1]) * f
            };
            assert!(
                (at(-sd) - 0.1587).abs() < 0.012 && (at(sd) - 0.8413).abs() < 0.012,
                "{sd}: {} {}",
                at(-sd),
                at(sd)
            );
        }
    }

    #[test]
    fn what_is_flat_stays_flat() {
        for sd in [0.4, 3.0, 25.0] {
            let flat = Plane::of(101, |_, _| 7.0).blurred(sd);
            assert!(flat.values.iter().all(|v| (v - 7.0).abs() < 1e-4));
        }
    }
}
