//! Grey levels of one picture matched to those of another, so that what is left of their difference is anatomy and
//! instruments and not the screen's setting.
//!
//! The levels that as many pixels near the body lie below are taken for the same: the quantiles of the one become the
//! quantiles of the other. This asks little of the registration, follows any monotone curve, and does not mind a
//! small instrument. Where the two pictures run against each other (one of them inverted), which the correlation of
//! the pixels laid on each other tells, the quantiles are taken from the other end.

use rayon::prelude::*;

use crate::align::registration::Registration;
use crate::align::warp::Warped;
use crate::case::image::frame::Frame;
use crate::geom::point::Point;

/// How far round the body levels are compared, in fractions of it.
const MARGIN: f64 = 0.3;
/// About as many pixels as are looked at.
const SAMPLED: f64 = 60_000.0;
/// Fewer pixels than this tell nothing.
const FEWEST: usize = 64;
/// Quantiles that are matched, ends included.
const QUANTILES: usize = 65;
/// Share of the levels left out at either end when the span of the difference is taken.
const TAIL: f64 = 0.01;

/// How the levels of a laid picture become those of the picture it lies on.
#[derive(Clone, Debug, PartialEq)]
pub struct Matching {
    /// Levels of the laid picture, rising, and what becomes of each.
    knots: Vec<(f32, f32)>,
    /// Difference of levels that is shown black or white.
    pub(super) span: f32,
    inverted: bool,
}

impl Matching {
    /// The matching over the body and a little around it; `None` where too little of both lies there.
    #[must_use]
    pub fn of(laid: &Warped, onto: &Frame, registration: &Registration) -> Option<Self> {
        let pairs = pairs(laid, onto, registration);
        if pairs.len() < FEWEST {
            return None;
        }
        let inverted = covariance(&pairs) < 0.0;
        let (first, second) = rayon::join(
            || sorted(pairs.iter().map(|pair| pair.0)),
            || sorted(pairs.iter().map(|pair| pair.1)),
        );
        #[expect(clippy::cast_precision_loss, reason = "a few dozen quantiles")]
        let share = |i: usize| i as f64 / (QUANTILES - 1) as f64;
        let knot = |i: usize| {
            let q = share(i);
            (quantile(&first, q), quantile(&second, if inverted { 1.0 - q } else { q }))
        };
        let knots: Vec<(f32, f32)> = (0..QUANTILES).map(knot).collect();
        // A level that many pixels share is several quantiles at once; it becomes the middle of theirs.
        let mut kept: Vec<(f32, f32)> = Vec::with_capacity(knots.len());
        for group in knots.chunk_by(|a, b| a.0 >= b.0) {
            kept.push((group[0].0, group[group.len() / 2].1));
        }
        let span = 0.5 * (quantile(&second, 1.0 - TAIL) - quantile(&second, TAIL));
        Some(Self { knots: kept, span: span.max(1.0), inverted })
    }

    /// Whether the two pictures run against each other: bone dark in the one and bright in the other.
    #[must_use]
    pub const fn inverted(&self) -> bool {
        self.inverted
    }

    /// The level of the second picture that a level of the laid one stands for; beyond the levels seen near the body, as
    /// much further out as in the laid picture by the mean slope.
    #[must_use]
    pub fn level(&self, level: f32) -> f32 {
        self.level_before(self.knots.partition_point(|knot| knot.0 <= level), level)
    }

    /// The same where `after` is the first knot above the level.
    fn level_before(&self, after: usize, level: f32) -> f32 {
        let (Some(&first), Some(&last)) = (self.knots.first(), self.knots.last()) else { return level };
        let slope = if last.0 > first.0 { (last.1 - first.1) / (last.0 - first.0) } else { 0.0 };
        if after == 0 {
            return first.1 + (level - first.0) * slope;
        }
        match self.knots.get(after) {
            None => last.1 + (level - last.0) * slope,
            Some(&(x1, y1)) => {
                let (x0, y0) = self.knots[after - 1];
                y0 + (y1 - y0) * (level - x0) / (x1 - x0)
            }
        }
    }

    /// The levels that all values from 0 to `most` stand for.
    pub(super) fn levels(&self, most: u16) -> Vec<f32> {
        let mut after = 0;
        let of = |value: u16| {
            let level = f32::from(value);
            while self.knots.get(after).is_some_and(|knot| knot.0 <= level) {
                after += 1;
            }
            self.level_before(after, level)
        };
        (0..=most).map(of).collect()
    }
}

/// Values of both pictures at places near the body that the laid one covers.
fn pairs(laid: &Warped, onto: &Frame, registration: &Registration) -> Vec<(u16, u16)> {
    if laid.frame.width != onto.width || laid.frame.height != onto.height {
        return Vec::new();
    }
    let area =
        registration.to().depth_px() * registration.to().mean_height_px() * (1.0 + 2.0 * MARGIN).powi(2);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels")]
    let step = (area / SAMPLED).sqrt().clamp(1.0, 64.0) as u32;
    // Multiples of the step between two bounds; nothing near the body is left out.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "columns or rows of a frame")]
    let between = |low: f64, high: f64, size: u32| {
        let bound = |at: f64| at.clamp(0.0, f64::from(size)) as u32;
        bound(low - 1.0) / step..bound(high + 1.0).div_ceil(step)
    };
    let [low, high] = registration.box_near_body(MARGIN);
    let columns = between(low.x, high.x, onto.width);
    let of_row = |j: u32| {
        columns.clone().filter_map(move |i| {
            let (x, y) = (i * step, j * step);
            let near = registration.is_near_body(Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5), MARGIN);
            let seen = near && laid.reach.contains(x, y);
            seen.then(|| laid.frame.value(x, y).zip(onto.value(x, y))).flatten()
        })
    };
    between(low.y, high.y, onto.height).into_par_iter().flat_map_iter(of_row).collect()
}

/// Values from the smallest to the largest.
fn sorted(values: impl Iterator<Item = u16>) -> Vec<f32> {
    let mut counts = vec![0_usize; usize::from(u16::MAX) + 1];
    values.for_each(|value| counts[usize::from(value)] += 1);
    let levels = (0..=u16::MAX).zip(counts);
    levels.flat_map(|(value, count)| std::iter::repeat_n(f32::from(value), count)).collect()
}

fn covariance(pairs: &[(u16, u16)]) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a number of pixels")]
    let n = pairs.len() as f64;
    let mean = |of: fn(&(u16, u16)) -> u16| pairs.iter().map(|pair| f64::from(of(pair))).sum::<f64>() / n;
    let (a, b) = (mean(|pair| pair.0), mean(|pair| pair.1));
    pairs.iter().map(|pair| (f64::from(pair.0) - a) * (f64::from(pair.1) - b)).sum::<f64>() / n
}

/// The value at a share of a sorted list, the nearest one.
fn quantile(sorted: &[f32], share: f64) -> f32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place in a list"
    )]
    let at = (share * (sorted.len().max(1) - 1) as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::align::registration::tests::map;
    use crate::align::warp::Warp;
    use crate::align::warp::tests::frame;
    use crate::case::image::frame::Samples;

    fn texture(x: f64, y: f64) -> f64 {
        0.5 + 0.25 * (x / 13.0).sin() + 0.24 * (y / 17.0 + x / 40.0).cos()
    }

    /// One picture is a curve of the other, once rising and once falling: after matching, the difference is grey all over.
    #[test]
    fn a_curve_of_greys_is_undone_even_upside_down() {
        let place = |x: f64, y: f64| Point::new(x + 60.0, y + 70.0);
        let registration = Registration::new(map(place), map(place)).unwrap();
        let second = frame(480, 420, |x, y| 1000.0 + 40_000.0 * texture(x, y));
        for falling in [false, true] {
            let curve = move |t: f64| 500.0 + 20_000.0 * if falling { (1.0 - t).powi(2) } else { t * t };
            let first = frame(480, 420, move |x, y| curve(texture(x, y)));
            let laid = Warp::new(&registration, (480, 420)).picture(&first);
            let greys = Matching::of(&laid, &second, &registration).unwrap();
            assert_eq!(greys.inverted(), falling);
            let both = greys.laid_on(laid, &second).unwrap();
            let Samples::Gray8(values) = &both.difference.samples else { panic!("8 bits") };
            let worst = values.iter().map(|&v| (i16::from(v) - 128).abs()).max();
            assert!(worst <= Some(8), "{worst:?}");
            let (a, b) = (both.picture.value(200, 200).unwrap(), second.value(200, 200).unwrap());
            assert!(a.abs_diff(b) < 900, "{a} {b}");
        }
    }

    #[test]
    fn where_they_do_not_meet_nothing_is_matched() {
        let registration = Registration::new(
            map(|x, y| Point::new(x + 60.0, y + 70.0)),
            map(|x, y| Point::new(x + 60.0, y + 70.0)),
        )
        .unwrap();
        let second = frame(480, 420, |x, y| 1000.0 * texture(x, y));
        let nowhere = Warp::of(|q| Point::new(q.x + 5000.0, q.y), (480, 420), 16).picture(&second);
        assert_eq!(Matching::of(&nowhere, &second, &registration), None);
        let other = frame(100, 100, |_, _| 5.0);
        assert_eq!(
            Matching::of(&Warp::new(&registration, (480, 420)).picture(&second), &other, &registration),
            None
        );
    }
}
