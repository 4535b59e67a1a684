//! Where a border lies across itself: the response of the picture at each offset outward, and the smoothest strong path
//! through the responses along the border.

use crate::align::plane::NumberPlane;
use crate::geom::point::Point;
use crate::propose::model::OnEdge;
use crate::propose::patch::{Patch, sample_of};

/// What an edge of bone looks like from outside to inside: light outside, a dark line, less dark within. Offsets in
/// millimetres and weights.
const LINE: [(f64, f32); 3] = [(-2.4, 0.35), (-0.6, -1.35), (0.6, 1.0)];
/// A response of a clear border, which counts fully.
pub(crate) const CLEAR: f32 = 0.9;
/// How many offsets a path may move from sample to sample.
const MOST_STEPS: usize = 3;
/// A tap counts where at least this much of it is seen.
const SEEN: f32 = 0.8;

/// The picture's response along a border.
#[derive(Clone, Debug)]
pub(crate) struct Responses {
    /// The offsets outward in millimetres.
    pub(crate) offsets: Vec<f64>,
    /// Sample by sample, offset by offset.
    pub(crate) values: Vec<f32>,
    /// Whether all taps were seen, in the same order.
    pub(crate) seen: Vec<bool>,
}

/// A border found along its samples.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) samples: Vec<OnEdge>,
    /// How far outward it lies, in millimetres.
    pub(crate) off: Vec<f64>,
    /// The response there.
    pub(crate) response: Vec<f32>,
    /// Share of the samples where it could be seen.
    pub(crate) visible: f64,
}

impl Responses {
    /// Responses over ± `reach` millimetres.
    pub(crate) fn of(patch: &Patch, samples: &[OnEdge], reach: f64, blur: usize) -> Self {
        let step = if reach <= 2.0 { 0.1 } else { 0.2 };
        #[expect(clippy::cast_possible_truncation, reason = "a reach of some millimetres")]
        let half = (reach / step).round() as i32;
        let offsets: Vec<f64> = (-half..=half).map(|i| f64::from(i) * step).collect();
        let level = patch.level(blur);
        let taps = LINE.map(|(at, weight)| (steps(at - LINE[0].0, step), weight));
        let ext = offsets.len() + taps[2].0;
        let (mut values, mut seen) = (
            Vec::with_capacity(samples.len() * offsets.len()),
            Vec::with_capacity(samples.len() * offsets.len()),
        );
        let (mut line, mut clear) = (vec![0.0_f32; ext], vec![false; ext]);
        for sample in samples {
            let mut p = sample.at + sample.out * (offsets[0] + LINE[0].0);
            for (line, clear) in line.iter_mut().zip(&mut clear) {
                let (x, y) = sample_of(p);
                *line = level.between(x, y);
                *clear = nearest(&patch.seen, x, y) > SEEN;
                p += sample.out * step;
            }
            for k in 0..offsets.len() {
                let all = taps.iter().all(|(at, _)| clear[k + at]);
                seen.push(all);
                values.push(if all { taps.iter().map(|(at, w)| w * line[k + at]).sum() } else { 0.0 });
            }
        }
        Self { offsets, values, seen }
    }

    /// The path of largest response less `stiffness` times the squared steps; for each sample its offset and response.
    fn path(&self, stiffness: f32) -> (Vec<f64>, Vec<f32>) {
        let k = self.offsets.len();
        let n = self.values.len() / k.max(1);
        let mut total: Vec<f32> = self.values.get(..k).unwrap_or_default().to_vec();
        let mut back = vec![0_u16; n * k];
        let mut next = vec![0.0_f32; k];
        for row in 1..n {
            for at in 0..k {
                let (mut best, mut from) = (f32::NEG_INFINITY, at);
                let first = at.saturating_sub(MOST_STEPS);
                for (other, sum) in total.iter().enumerate().take((at + MOST_STEPS + 1).min(k)).skip(first) {
                    #[expect(clippy::cast_precision_loss, reason = "at most three")]
                    let d = other.abs_diff(at) as f32;
                    let value = sum - stiffness * d * d;
                    if value > best {
                        (best, from) = (value, other);
                    }
                }
                next[at] = best + self.values[row * k + at];
                back[row * k + at] = u16::try_from(from).unwrap_or(0);
            }
            std::mem::swap(&mut total, &mut next);
        }
        let last = (0..k).max_by(|&a, &b| total[a].total_cmp(&total[b]));
        let mut at = last.unwrap_or(0);
        let (mut off, mut response) = (vec![0.0; n], vec![0.0; n]);
        for row in (0..n).rev() {
            response[row] = self.values[row * k + at];
            off[row] = self.offsets[at] + self.between(row, at);
            at = usize::from(back[row * k + at]);
        }
        (off, response)
    }

    /// How far the summit of a parabola through three responses lies off the middle one, at most half a step.
    fn between(&self, row: usize, at: usize) -> f64 {
        let k = self.offsets.len();
        if at == 0 || at + 1 >= k {
            return 0.0;
        }
        let [a, b, c] = [at - 1, at, at + 1].map(|i| f64::from(self.values[row * k + i]));
        let bend = a - 2.0 * b + c;
        if bend > -1e-6 {
            return 0.0;
        }
        (0.5 * (a - c) / bend).clamp(-0.5, 0.5) * (self.offsets[1] - self.offsets[0])
    }
}

/// The border near these samples: reach and blur as given, `stiffness` for offsets of 0.2 mm.
pub(crate) fn find(patch: &Patch, samples: Vec<OnEdge>, reach: f64, blur: usize, stiffness: f32) -> Found {
    let reach = (reach / 0.2).round() * 0.2;
    let responses = Responses::of(patch, &samples, reach, blur);
    let factor = if reach <= 2.0 { 4.0 } else { 16.0 };
    let (off, response) = responses.path(stiffness * factor);
    let k = responses.offsets.len();
    let visible = responses.seen.chunks(k.max(1)).filter(|row| row.get(k / 2) == Some(&true)).count();
    #[expect(clippy::cast_precision_loss, reason = "some dozen samples")]
    let visible = visible as f64 / samples.len().max(1) as f64;
    Found { samples, off, response, visible }
}

impl Found {
    /// Mean response over a clear one's, each sample at most 1.5.
    pub(crate) fn mean_response(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "some dozen samples")]
        let n = self.response.len().max(1) as f64;
        self.response.iter().map(|&r| f64::from((r / CLEAR).clamp(0.0, 1.5))).sum::<f64>() / n
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
fn steps(length: f64, step: f64) -> usize {
    (length / step).round() as usize
}

/// The value of the nearest sample; 0 outside.
fn nearest(plane: &NumberPlane, x: f64, y: f64) -> f32 {
    if x < -0.5 || y < -0.5 {
        return 0.0;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative")]
    let (i, j) = (x.round() as usize, y.round() as usize);
    if i >= plane.columns || j >= plane.rows {
        return 0.0;
    }
    plane.values[j * plane.columns + i]
}

/// The value of a plane of the patch at a place in millimetres, and whether it is seen there.
pub(crate) fn value_at(patch: &Patch, plane: &NumberPlane, p: Point) -> Option<f32> {
    let (x, y) = sample_of(p);
    (nearest(&patch.seen, x, y) > SEEN).then(|| plane.between(x, y))
}
