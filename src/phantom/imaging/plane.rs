//! A square field of numbers, and ways to blur it. Work is shared between cores; each number is computed in the
//! same way whatever their number.

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
        let values = (0..side * side).into_par_iter().map(|i| value(i % side, i / side)).collect();
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
        let mut across = vec![0.0; side * side];
        across.par_chunks_mut(side).zip(self.values.par_chunks(side)).for_each(|(out, row)| {
            let mut padded = vec![row[0]; reach];
            padded.extend_from_slice(row);
            padded.resize(side + 2 * reach, row[side - 1]);
            // Weight by weight, so that many pixels are added to at once.
            for (k, w) in weights.iter().enumerate() {
                for (value, v) in out.iter_mut().zip(&padded[k..]) {
                    *value += w * v;
                }
            }
        });
        let mut down = vec![0.0; side * side];
        down.par_chunks_mut(side).enumerate().for_each(|(y, out)| {
            for (k, w) in weights.iter().enumerate() {
                let row = &across[clamp(y + k) * side..][..side];
                for (value, v) in out.iter_mut().zip(row) {
                    *value += w * v;
                }
            }
        });
        Self { side, values: down }
    }

    /// Half as many pixels a side, each the mean of four; the last row and column stand for what is missing.
    fn halved(&self) -> Self {
        let last = self.side - 1;
        let at = |x: usize, y: usize| self.values[y.min(last) * self.side + x.min(last)];
        Self::of(self.side.div_ceil(2), |x, y| {
            let (x, y) = (2 * x, 2 * y);
            0.25 * (at(x, y) + at(x + 1, y) + at(x, y + 1) + at(x + 1, y + 1))
        })
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
        Self::of(side, |x, y| {
            let ((x0, x1), (y0, y1)) = (around(x), around(y));
            let at = |x: usize, y: usize| self.values[y * self.side + x];
            let near = 0.75 * at(x0, y0) + 0.25 * at(x1, y0);
            let far = 0.75 * at(x0, y1) + 0.25 * at(x1, y1);
            0.75 * near + 0.25 * far
        })
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
