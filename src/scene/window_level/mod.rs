//! Stored values → display greys.

pub mod local_contrast;
pub mod look;
pub mod voi;

use rayon::prelude::*;

use crate::case::image::frame::{Frame, Samples};
use crate::measure::reading::Field;

/// Which stored values become black and white; in between, greys rise linearly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindowLevel {
    /// Stored values up to this become black.
    pub low: f64,
    /// Stored values from this on become white; greater than `low`.
    pub high: f64,
    /// Whether black and white change places.
    pub inverted: bool,
}

/// A part of a frame in whole pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Region {
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// Display greys of a part of a frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GreyTile {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `width × height` greys, 0 black.
    pub greys: Vec<u8>,
}

/// Share of the pixels left out at either end by the automatic choice.
const TAIL: f64 = 0.005;

impl WindowLevel {
    /// The window that shows every value a frame's samples can have.
    #[must_use]
    pub fn whole(frame: &Frame) -> Self {
        Self { low: 0.0, high: f64::from(frame.max_value()), inverted: frame.facts.inverted }
    }

    /// A window whose ends are in order and at least one stored value apart.
    #[must_use]
    pub fn new(low: f64, high: f64) -> Self {
        let (low, high) = if low <= high { (low, high) } else { (high, low) };
        Self { low, high: high.max(low + 1.0), inverted: false }
    }

    /// The window from the 0.5 % to the 99.5 % quantile of the values within the field, so that neither the
    /// dark surround of a round field nor a burned-in label decides it; inverted where the file's lowest value is
    /// meant to be white.
    #[must_use]
    pub fn automatic(frame: &Frame, field: Field) -> Self {
        Self::automatic_in(frame, field, Region::whole(frame))
    }

    /// The same from the values of a part of the frame.
    #[must_use]
    pub fn automatic_in(frame: &Frame, field: Field, region: Region) -> Self {
        let counts = histogram(frame, field, region);
        let total: u64 = counts.iter().sum();
        if total == 0 {
            return Self::whole(frame);
        }
        #[expect(clippy::cast_precision_loss, reason = "counts of pixels stay far below 2^53")]
        let left_out = TAIL * total as f64;
        let low = quantile(&counts, left_out, ScanDirection::Up);
        let high = quantile(&counts, left_out, ScanDirection::Down);
        Self { inverted: frame.facts.inverted, ..Self::new(low, high) }
    }

    /// The window after a drag: `level` moves it, `width` opens it, both as shares of its present width.
    #[must_use]
    pub fn dragged(self, level: f64, width: f64) -> Self {
        let span = self.high - self.low;
        let middle = 0.5 * (self.low + self.high) + level * span;
        let half = 0.5 * (span * width.exp()).max(1.0);
        Self { inverted: self.inverted, ..Self::new(middle - half, middle + half) }
    }

    /// The same window with black and white changed.
    #[must_use]
    pub const fn inverse(self) -> Self {
        Self { inverted: !self.inverted, ..self }
    }

    /// The share of white of a stored value, 0 to 1.
    #[must_use]
    pub fn share(self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        if self.inverted { 1.0 - share } else { share }
    }

    /// The grey of a stored value.
    #[must_use]
    pub fn grey(self, value: f64) -> u8 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of 255")]
        let grey = (self.share(value) * 255.0).round() as u8;
        grey
    }

    /// The same grey with 16 bits, for pictures that are kept as they are.
    #[must_use]
    pub fn grey16(self, value: f64) -> u16 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of 65535")]
        let grey = (self.share(value) * 65535.0).round() as u16;
        grey
    }

    /// The greys of all stored values from 0 to `max`.
    #[must_use]
    pub fn table(self, max: u16) -> Vec<u8> {
        (0..=max).map(|v| self.grey(f64::from(v))).collect()
    }
}

impl Region {
    /// All of a frame.
    #[must_use]
    pub const fn whole(frame: &Frame) -> Self {
        Self { x: 0, y: 0, width: frame.width, height: frame.height }
    }
}

/// Stored values of a region, `step` stored pixels to one sampled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sampled {
    /// The region, cut to the frame.
    pub region: Region,
    /// Stored pixels to one sampled, in each direction.
    pub step: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `width × height` values.
    pub values: Vec<u16>,
}

/// Stored values of a region, `step` stored pixels to one sampled (1 takes every pixel).
///
/// What is taken is the mean of `step × step` stored values, so that thin lines fade rather than vanish. The
/// region is cut to the frame; a region outside it, or a step of 0, gives nothing.
#[must_use]
pub fn sample(frame: &Frame, region: Region, step: u32) -> Sampled {
    let x1 = region.x.saturating_add(region.width).min(frame.width);
    let y1 = region.y.saturating_add(region.height).min(frame.height);
    if step == 0 || region.x >= x1 || region.y >= y1 {
        let region = Region { width: 0, height: 0, ..region };
        return Sampled { region, step, width: 0, height: 0, values: Vec::new() };
    }
    let region = Region { x: region.x, y: region.y, width: x1 - region.x, height: y1 - region.y };
    let (width, height) = (region.width.div_ceil(step), region.height.div_ceil(step));
    let mut values = vec![0_u16; width as usize * height as usize];
    values.par_chunks_mut(width as usize).zip(0_u32..height).for_each(|(out, row)| {
        let rows = block(region.y, row, step, y1);
        match &frame.samples {
            Samples::Gray8(s) => row_of(s, frame.width, rows, (region.x, x1), step, out),
            Samples::Gray16(s) => row_of(s, frame.width, rows, (region.x, x1), step, out),
        }
    });
    Sampled { region, step, width, height, values }
}

impl Sampled {
    /// The greys of the values by a table that begins with value 0.
    #[must_use]
    pub fn greys(&self, table: &[u8]) -> GreyTile {
        let grey = |&value: &u16| table.get(usize::from(value)).copied().unwrap_or(u8::MAX);
        GreyTile { width: self.width, height: self.height, greys: self.values.iter().map(grey).collect() }
    }
}

/// Display greys of a region, `step` stored pixels to one shown: as [`sample`] takes them, through the window.
#[must_use]
pub fn render(frame: &Frame, window: WindowLevel, region: Region, step: u32) -> GreyTile {
    sample(frame, region, step).greys(&window.table(frame.max_value()))
}

/// One row of sampled pixels.
fn row_of<T: Copy + Into<u32>>(
    samples: &[T],
    stride: u32,
    rows: (u32, u32),
    columns: (u32, u32),
    step: u32,
    out: &mut [u16],
) {
    let line = |y: u32| {
        let start = y as usize * stride as usize;
        samples.get(start + columns.0 as usize..start + columns.1 as usize).unwrap_or(&[])
    };
    if step == 1 {
        let whole = |v: T| u16::try_from(v.into()).unwrap_or(u16::MAX);
        out.iter_mut().zip(line(rows.0)).for_each(|(to, &v)| *to = whole(v));
        return;
    }
    let mut sums = vec![0_u64; out.len()];
    for y in rows.0..rows.1 {
        for (sum, values) in sums.iter_mut().zip(line(y).chunks(step as usize)) {
            // A side of a frame has fewer than 2¹⁶ pixels, so that one row's sum fits.
            *sum += u64::from(values.iter().map(|&v| v.into()).sum::<u32>());
        }
    }
    let columns = u64::from(columns.1 - columns.0);
    for ((to, sum), i) in out.iter_mut().zip(sums).zip(0_u64..) {
        let across = (columns - i * u64::from(step)).min(u64::from(step));
        let n = (across * u64::from(rows.1 - rows.0)).max(1);
        #[expect(clippy::cast_possible_truncation, reason = "a mean of values of at most 16 bits")]
        let mean = ((sum + n / 2) / n) as u16;
        *to = mean;
    }
}

/// The stored pixels of the shown pixel `index` along one axis, cut at `end`.
fn block(start: u32, index: u32, step: u32, end: u32) -> (u32, u32) {
    let from = start + index * step;
    (from, from.saturating_add(step).min(end))
}

/// How often each stored value occurs within the field and the region.
fn histogram(frame: &Frame, field: Field, region: Region) -> Vec<u64> {
    let mut counts = vec![0_u64; usize::from(frame.max_value()) + 1];
    let end = |start: u32, length: u32, all: u32| start.saturating_add(length).min(all);
    let (left, right) = (region.x as usize, end(region.x, region.width, frame.width) as usize);
    for row in region.y..end(region.y, region.height, frame.height) {
        let (from, to) = field_columns(frame, field, row);
        let (from, to) = (from.max(left), to.min(right));
        let start = row as usize * frame.width as usize;
        let range = start + from..start + to.max(from);
        match &frame.samples {
            Samples::Gray8(s) => {
                s.get(range).unwrap_or(&[]).iter().for_each(|&v| counts[usize::from(v)] += 1)
            }
            Samples::Gray16(s) => {
                s.get(range).unwrap_or(&[]).iter().for_each(|&v| counts[usize::from(v)] += 1)
            }
        }
    }
    counts
}

/// First column and end of the field in a row, by pixel centres.
pub(crate) fn field_columns(frame: &Frame, field: Field, row: u32) -> (usize, usize) {
    let width = frame.width as usize;
    let Field::Round { centre, radius } = field else { return (0, width) };
    let down = f64::from(row) + 0.5 - centre.y;
    let half = (radius * radius - down * down).max(0.0).sqrt();
    let column = |x: f64| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "cut to the frame's columns"
        )]
        let column = x.clamp(0.0, f64::from(frame.width)) as usize;
        column
    };
    (column((centre.x - half).ceil()), column((centre.x + half).floor()))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum ScanDirection {
    Up,
    Down,
}

/// The first stored value, counted from one end, beyond which more than `left_out` pixels lie.
fn quantile(counts: &[u64], left_out: f64, direction: ScanDirection) -> f64 {
    let mut passed = 0_u64;
    let mut hit = |&(_, &count): &(usize, &u64)| {
        passed += count;
        #[expect(clippy::cast_precision_loss, reason = "counts of pixels stay far below 2^53")]
        let beyond = passed as f64 > left_out;
        beyond
    };
    let found = match direction {
        ScanDirection::Up => counts.iter().enumerate().find(&mut hit),
        ScanDirection::Down => counts.iter().enumerate().rev().find(&mut hit),
    };
    #[expect(clippy::cast_precision_loss, reason = "at most 65535")]
    let value = found.map_or(0.0, |(value, _)| value as f64);
    value
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::point::Point;

    fn frame16(width: u32, height: u32, value: impl Fn(u32, u32) -> u16) -> Frame {
        let values =
            (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| value(x, y)).collect();
        Frame::of_samples(width, height, Samples::Gray16(values))
    }

    #[test]
    fn greys_rise_linearly_between_the_ends() {
        let window = WindowLevel::new(1000.0, 3000.0);
        assert_eq!([0.0, 1000.0, 2000.0, 3000.0, 60000.0].map(|v| window.grey(v)), [0, 0, 128, 255, 255]);
        assert_eq!(window.inverse().grey(1000.0), 255);
        assert_eq!(window.inverse().inverse(), window);
    }

    #[test]
    fn a_window_never_collapses() {
        let flat = WindowLevel::new(7.0, 7.0);
        assert!(flat.high > flat.low);
        let narrow = (0..50).fold(flat, |w, _| w.dragged(0.0, -3.0));
        assert!(narrow.high > narrow.low && narrow.low.is_finite());
    }

    #[test]
    fn the_automatic_window_ignores_the_tails_and_the_surround() {
        // 100 × 100: a round field of values 1000..1100 in a black surround, with one burned-in bright corner.
        let centre = Point::new(50.0, 50.0);
        let frame = frame16(100, 100, |x, y| {
            let p = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
            if x < 5 && y < 5 {
                65535
            } else if p.distance(centre) <= 40.0 {
                1000 + u16::try_from(x).unwrap()
            } else {
                0
            }
        });
        let window = WindowLevel::automatic(&frame, Field::Round { centre, radius: 40.0 });
        assert!((1010.0..1015.0).contains(&window.low), "{window:?}");
        assert!((1085.0..1090.0).contains(&window.high), "{window:?}");
        let whole = WindowLevel::automatic(&frame, Field::Whole);
        assert!(whole.low.abs() < 1e-9);
    }

    #[test]
    fn stepping_shows_the_mean_of_each_block() {
        let frame = frame16(5, 3, |x, y| u16::try_from(100 * x + 10 * y).unwrap());
        let window = WindowLevel::new(0.0, 255.0);
        let tile = render(&frame, window, Region { x: 0, y: 0, width: 5, height: 3 }, 2);
        assert_eq!((tile.width, tile.height), (3, 2));
        // Mean of 0, 100, 10, 110; the last column of the last row is the single value 420, beyond white.
        assert_eq!(tile.greys[0], 55);
        assert_eq!(tile.greys[5], 255);
        let whole = render(&frame, window, Region::whole(&frame), 1);
        assert_eq!(&whole.greys[5..7], &[10, 110]);
    }

    #[test]
    fn regions_outside_the_frame_are_empty() {
        let frame = frame16(4, 4, |_, _| 9);
        let window = WindowLevel::whole(&frame);
        assert!(render(&frame, window, Region { x: 9, y: 0, width: 4, height: 4 }, 1).greys.is_empty());
        assert!(render(&frame, window, Region::whole(&frame), 0).greys.is_empty());
        let cut = render(&frame, window, Region { x: 2, y: 2, width: u32::MAX, height: u32::MAX }, 1);
        assert_eq!((cut.width, cut.height), (2, 2));
    }
}
