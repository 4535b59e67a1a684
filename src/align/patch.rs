//! A part of a picture on a regular grid, with how much each of its pixels counts; blurs and local contrast that heed it.

use crate::case::image::frame::{Frame, Samples};
use crate::geom::point::{Point, Vec2};

/// A grid laid over a picture: where its first pixel's centre lies, and how far apart the centres are, in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Grid {
    pub(crate) origin: Point,
    pub(crate) step: f64,
    pub(crate) columns: usize,
    pub(crate) rows: usize,
}

/// Values on a grid, and how much each counts, from 0 to 1.
#[derive(Clone, Debug)]
pub(crate) struct Patch {
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    pub(crate) values: Vec<f32>,
    pub(crate) weights: Vec<f32>,
}

/// Samples a side of a grid's pixel, so that fine pictures are averaged and not picked from.
const FINE: u32 = 2;

impl Grid {
    /// Where each pixel's centre lies, row by row.
    #[expect(clippy::cast_precision_loss, reason = "a grid has some hundred columns")]
    pub(crate) fn places(self) -> impl Iterator<Item = Point> {
        (0..self.rows).flat_map(move |j| {
            (0..self.columns)
                .map(move |i| self.origin + Vec2::new(i as f64 * self.step, j as f64 * self.step))
        })
    }
}

impl Patch {
    /// The part of a frame that `place` carries the grid to. What lies outside the frame does not count, nor what `counts`
    /// leaves out; both are asked for places of the grid.
    pub(crate) fn of(
        frame: &Frame,
        grid: Grid,
        place: impl Fn(Point) -> Point,
        counts: impl Fn(Point) -> f32,
    ) -> Self {
        let (mut values, mut weights) = (Vec::new(), Vec::new());
        for q in grid.places() {
            let sum =
                fine_places(q, grid.step).try_fold(0.0_f32, |sum, q| Some(sum + joined(frame, place(q))?));
            #[expect(clippy::cast_precision_loss, reason = "a handful")]
            values.push(sum.unwrap_or(0.0) / (FINE * FINE) as f32);
            weights.push(if sum.is_some() { counts(q) } else { 0.0 });
        }
        Self { columns: grid.columns, rows: grid.rows, values, weights }
    }

    /// Values less their mean near by, over their spread near by, which makes pictures of different contrast alike; first blurred by
    /// `fine` pixels of the grid. `wide` says what is near, `least` is the spread that counts as none, over that of
    /// the whole patch.
    pub(crate) fn normalised(&self, fine: f64, wide: f64, least: f32) -> Self {
        let smooth = self.with(self.blurred(&self.values, fine));
        let mean = smooth.blurred(&smooth.values, wide);
        let rest: Vec<f32> = smooth.values.iter().zip(&mean).map(|(v, m)| v - m).collect();
        let squares: Vec<f32> = rest.iter().map(|d| d * d).collect();
        let spread = smooth.blurred(&squares, wide);
        let (sum, count) = squares
            .iter()
            .zip(&self.weights)
            .fold((0.0_f64, 0.0_f64), |(s, n), (d, w)| (s + f64::from(d * w), n + f64::from(*w)));
        #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
        let floor = least * least * (sum / count.max(1e-9)) as f32;
        let values =
            rest.iter().zip(&spread).map(|(d, s)| d / (s.max(0.0) + floor).sqrt().max(1e-6)).collect();
        self.with(values)
    }

    /// Differences of neighbours, to the right and down, by grid pixel.
    pub(crate) fn slopes(&self) -> [Self; 2] {
        let at = |x: usize, y: usize| self.values[y * self.columns + x];
        let (last_x, last_y) = (self.columns - 1, self.rows - 1);
        let each = |of: &dyn Fn(usize, usize) -> f32| {
            let all = (0..self.rows).flat_map(|y| (0..self.columns).map(move |x| (x, y)));
            self.with(all.map(|(x, y)| of(x, y)).collect())
        };
        let half = |from: usize, to: usize| if to - from == 2 { 0.5 } else { 1.0 };
        [
            each(&|x, y| {
                let (a, b) = (x.saturating_sub(1), (x + 1).min(last_x));
                (at(b, y) - at(a, y)) * half(a, b)
            }),
            each(&|x, y| {
                let (a, b) = (y.saturating_sub(1), (y + 1).min(last_y));
                (at(x, b) - at(x, a)) * half(a, b)
            }),
        ]
    }

    /// The share of the place between four pixels, by pixel of the grid; `None` outside.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "inside the patch"
    )]
    pub(crate) fn between(&self, x: f64, y: f64) -> Option<Between> {
        let inside = x >= 0.0 && y >= 0.0 && x <= (self.columns - 1) as f64 && y <= (self.rows - 1) as f64;
        if !inside || self.columns < 2 || self.rows < 2 {
            return None;
        }
        let (column, row) = ((x as usize).min(self.columns - 2), (y as usize).min(self.rows - 2));
        let (right, down) = ((x - column as f64) as f32, (y - row as f64) as f32);
        Some(Between { first: row * self.columns + column, stride: self.columns, right, down })
    }

    fn with(&self, values: Vec<f32>) -> Self {
        Self { values, weights: self.weights.clone(), ..*self }
    }

    /// Gaussian means of values by their weights, `sd` in pixels of the grid.
    fn blurred(&self, values: &[f32], sd: f64) -> Vec<f32> {
        let weighted: Vec<f32> = values.iter().zip(&self.weights).map(|(v, w)| v * w).collect();
        let kernel = gaussian(sd);
        let sums = self.swept(&weighted, &kernel);
        let counts = self.swept(&self.weights, &kernel);
        sums.iter().zip(&counts).map(|(s, n)| if *n > 1e-4 { s / n } else { 0.0 }).collect()
    }

    /// The sum over a kernel, along rows and then along columns; outside the patch there is nothing.
    fn swept(&self, values: &[f32], kernel: &[f32]) -> Vec<f32> {
        let (columns, rows, reach) = (self.columns, self.rows, kernel.len() / 2);
        let mut along = vec![0.0_f32; values.len()];
        let mut padded = vec![0.0_f32; columns + 2 * reach];
        for (out, row) in along.chunks_mut(columns).zip(values.chunks(columns)) {
            padded[reach..reach + columns].copy_from_slice(row);
            for (k, &tap) in kernel.iter().enumerate() {
                for (out, v) in out.iter_mut().zip(&padded[k..]) {
                    *out += v * tap;
                }
            }
        }
        let mut both = vec![0.0_f32; values.len()];
        for (y, out) in both.chunks_mut(columns).enumerate() {
            let (from, to) = (y.saturating_sub(reach), (y + reach + 1).min(rows));
            for other in from..to {
                let k = kernel[reach + other - y];
                for (out, v) in out.iter_mut().zip(&along[other * columns..(other + 1) * columns]) {
                    *out += v * k;
                }
            }
        }
        both
    }
}

/// Four neighbours and the shares between them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Between {
    first: usize,
    stride: usize,
    right: f32,
    down: f32,
}

impl Between {
    /// The value there of a list laid out like the patch.
    pub(crate) fn of(self, values: &[f32]) -> f32 {
        let row = |at: usize| values[at] + (values[at + 1] - values[at]) * self.right;
        let (top, bottom) = (row(self.first), row(self.first + self.stride));
        top + (bottom - top) * self.down
    }
}

/// Places spread evenly over a pixel of the grid.
fn fine_places(q: Point, step: f64) -> impl Iterator<Item = Point> {
    let off = move |i: u32| ((f64::from(i) + 0.5) / f64::from(FINE) - 0.5) * step;
    (0..FINE).flat_map(move |j| (0..FINE).map(move |i| q + Vec2::new(off(i), off(j))))
}

/// The stored value at a place, joined between the four nearest samples; `None` where they are not all there.
pub(super) fn joined(frame: &Frame, p: Point) -> Option<f32> {
    let (columns, rows) = (frame.width as usize, frame.height as usize);
    let (x, y) = (p.x - 0.5, p.y - 0.5);
    if columns < 2 || rows < 2 || !(x >= 0.0 && y >= 0.0) {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a side in pixels")]
    let (last_x, last_y) = ((columns - 1) as f64, (rows - 1) as f64);
    if x > last_x || y > last_y {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the frame")]
    let (column, row) = ((x as usize).min(columns - 2), (y as usize).min(rows - 2));
    #[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "a part of a pixel")]
    let (right, down) = ((x - column as f64) as f32, (y - row as f64) as f32);
    let value = |at: usize| match &frame.samples {
        Samples::Gray8(s) => s.get(at).map(|&v| f32::from(v)),
        Samples::Gray16(s) => s.get(at).map(|&v| f32::from(v)),
    };
    let line = |at: usize| -> Option<f32> {
        let (a, b) = (value(at)?, value(at + 1)?);
        Some(a + (b - a) * right)
    };
    let (top, bottom) = (line(row * columns + column)?, line((row + 1) * columns + column)?);
    Some(top + (bottom - top) * down)
}

/// A kernel to three standard deviations, its sum 1.
#[expect(clippy::cast_possible_truncation, reason = "some dozen taps, storage as f32")]
fn gaussian(sd: f64) -> Vec<f32> {
    let reach = (3.0 * sd).ceil().clamp(0.0, 200.0) as i32;
    let tap = |i: i32| (-0.5 * (f64::from(i) / sd.max(1e-6)).powi(2)).exp();
    let sum: f64 = (-reach..=reach).map(tap).sum();
    (-reach..=reach).map(|i| (tap(i) / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patch(columns: usize, rows: usize, value: impl Fn(usize, usize) -> f32) -> Patch {
        let values =
            (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y))).map(|(x, y)| value(x, y)).collect();
        Patch { columns, rows, values, weights: vec![1.0; columns * rows] }
    }

    /// The same scene with other contrast and brightness, falling or rising, is the same after normalising.
    #[test]
    #[expect(clippy::cast_precision_loss, reason = "small numbers")]
    fn contrast_and_brightness_are_taken_away() {
        let scene = |x: usize, y: usize| (x as f32 * 0.4).sin() + (y as f32 * 0.3).cos();
        let a = patch(50, 40, scene).normalised(1.0, 8.0, 0.1);
        let b = patch(50, 40, |x, y| 300.0 - 20.0 * scene(x, y)).normalised(1.0, 8.0, 0.1);
        for (x, y) in a.values.iter().zip(&b.values) {
            assert!((x + y).abs() < 1e-3, "{x} {y}");
        }
    }

    /// A blur keeps a level, and what does not count leaves no trace.
    #[test]
    fn what_does_not_count_leaves_no_trace() {
        let mut p = patch(30, 30, |x, y| if x == 15 && y == 15 { 1e6 } else { 7.0 });
        p.weights[15 * 30 + 15] = 0.0;
        let blurred = p.blurred(&p.values, 2.0);
        assert!(blurred.iter().all(|v| (v - 7.0).abs() < 1e-3));
    }

    #[test]
    #[expect(clippy::cast_precision_loss, reason = "small numbers")]
    fn slopes_and_places_between_of_a_plane() {
        let p = patch(9, 7, |x, y| 3.0 * x as f32 - 2.0 * y as f32);
        let [across, down] = p.slopes();
        assert!(across.values.iter().all(|v| (v - 3.0).abs() < 1e-5));
        assert!(down.values.iter().all(|v| (v + 2.0).abs() < 1e-5));
        let value = p.between(4.5, 2.25).unwrap().of(&p.values);
        assert!((value - 9.0).abs() < 1e-5);
        assert!(p.between(8.1, 0.0).is_none() && p.between(f64::NAN, 0.0).is_none());
    }
}
