//! Local contrast: grey levels spread anew within each part of the picture, so that a dark end plate and bright
//! bone beside it both show their own detail.
//!
//! Contrast-limited adaptive histogram equalisation (Zuiderveld 1994): the frame is divided into 8 × 8 parts; each
//! has a table from the clipped histogram of its values; a pixel takes the four nearest parts' tables, weighted by
//! how near their middles are. Only values inside the field count. Stored values never change; what is shown does.

use rayon::prelude::*;

use crate::case::image::frame::{Frame, Samples};
use crate::measure::reading::Field;
use crate::scene::window_level::{Sampled, WindowLevel, field_columns};

/// Parts along each side. Places are counted as the published code counts them: a pixel lies at its number.
const PARTS: usize = 8;
/// Steps of the histograms.
const BINS: usize = 256;
/// How many times the mean a step of the histogram may hold before it is clipped.
const CLIP: f64 = 3.0;

/// The tables of a frame.
#[derive(Clone, Debug)]
pub struct LocalContrast {
    low: f64,
    span: f64,
    part: (f64, f64),
    /// For each part, row by row, where each step goes: 0 to 255.
    tables: Vec<[f32; BINS]>,
}

impl LocalContrast {
    /// The tables of a frame. Values are counted from `range.low` to `range.high`; those beyond count as its ends.
    #[must_use]
    pub fn of(frame: &Frame, field: Field, range: WindowLevel) -> Self {
        let (columns, rows) = (frame.width.max(1) as usize, frame.height.max(1) as usize);
        let part = (columns.div_ceil(PARTS), rows.div_ceil(PARTS));
        let span = (range.high - range.low).max(1.0);
        let bin = |value: u16| -> usize {
            let at = (f64::from(value) - range.low) / span * 255.0;
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "clamped to the steps"
            )]
            let at = at.round().clamp(0.0, 255.0) as usize;
            at
        };
        let bins: Vec<usize> = (0..=frame.max_value()).map(bin).collect();
        let mut counts = vec![[0_u32; BINS]; PARTS * PARTS];
        for row in 0..frame.height {
            let (from, to) = field_columns(frame, field, row);
            let start = row as usize * columns;
            let first = (row as usize / part.1).min(PARTS - 1) * PARTS;
            let mut count = |column: usize, value: u16| {
                counts[first + (column / part.0).min(PARTS - 1)][bins[usize::from(value)]] += 1;
            };
            let range = start + from..start + to.max(from);
            match &frame.samples {
                Samples::Gray8(s) => {
                    let row = s.get(range).unwrap_or(&[]);
                    row.iter().enumerate().for_each(|(i, v)| count(from + i, u16::from(*v)));
                }
                Samples::Gray16(s) => {
                    let row = s.get(range).unwrap_or(&[]);
                    row.iter().enumerate().for_each(|(i, v)| count(from + i, *v));
                }
            }
        }
        let tables = counts.iter().map(table).collect();
        #[expect(clippy::cast_precision_loss, reason = "at most the side of a frame")]
        let part = (part.0 as f64, part.1 as f64);
        Self { low: range.low, span, part, tables }
    }

    /// Replaces the values of a sampled region by what the tables make of them, on the same scale.
    pub fn apply(&self, sampled: &mut Sampled) {
        let (region, step) = (sampled.region, f64::from(sampled.step));
        let width = sampled.width as usize;
        let across: Vec<Near> = (0..sampled.width)
            .map(|i| Near::to(f64::from(region.x) + (f64::from(i) + 0.5) * step - 0.5, self.part.0))
            .collect();
        let rows = sampled.values.par_chunks_mut(width.max(1)).enumerate();
        rows.for_each_init(
            || [[0.0; BINS]; PARTS],
            |tables, (j, row)| {
                #[expect(clippy::cast_precision_loss, reason = "at most the side of a frame")]
                let y = f64::from(region.y) + (j as f64 + 0.5) * step - 0.5;
                self.tables_of_row(&Near::to(y, self.part.1), tables);
                for (value, near) in row.iter_mut().zip(&across) {
                    *value = self.made_of(*value, near, tables);
                }
            },
        );
    }

    /// The tables that lie above each other joined as a row has them: all its pixels lie equally near to both.
    fn tables_of_row(&self, down: &Near, joined: &mut [[f32; BINS]; PARTS]) {
        let row = |index: usize| self.tables.get(index * PARTS..(index + 1) * PARTS).unwrap_or(&[]);
        for (joined, (upper, lower)) in joined.iter_mut().zip(row(down.low).iter().zip(row(down.high))) {
            for (joined, (upper, lower)) in joined.iter_mut().zip(upper.iter().zip(lower)) {
                *joined = upper * (1.0 - down.share) + lower * down.share;
            }
        }
    }

    #[inline(always)]
    fn made_of(&self, value: u16, near: &Near, tables: &[[f32; BINS]; PARTS]) -> u16 {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "clamped to the steps, where f32 is exact enough"
        )]
        let at = ((f64::from(value) - self.low) / self.span * 255.0).clamp(0.0, 255.0) as f32;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the steps")]
        let step = (at as i32 as usize).min(BINS - 2);
        let rest = at - step as f32;
        let of = |part: usize| {
            let table = &tables[part.min(PARTS - 1)];
            table[step] + (table[step + 1] - table[step]) * rest
        };
        let made = of(near.low) * (1.0 - near.share) + of(near.high) * near.share;
        let value = (self.low + f64::from(made) / 255.0 * self.span).clamp(0.0, 65_535.0);
        // Half a step more, and the whole part, is the nearest whole number: the language's own is a call to the library.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 16 bits")]
        let value = (value + 0.5) as i32 as u16;
        value
    }
}

/// The two parts whose middles a coordinate lies between, and how near it is to the second.
struct Near {
    low: usize,
    high: usize,
    share: f32,
}

impl Near {
    fn to(at: f64, part: f64) -> Self {
        let from_middle = at / part - 0.5;
        let low = from_middle.floor();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the parts")]
        let index = |x: f64| x.clamp(0.0, (PARTS - 1) as f64) as usize;
        #[expect(clippy::cast_possible_truncation, reason = "a share from 0 to 1")]
        let share = (from_middle - low) as f32;
        Self { low: index(low), high: index(low + 1.0), share }
    }
}

/// The table of one part: the running sum of its clipped histogram, what was clipped spread over all steps. A part
/// without pixels leaves values as they are.
fn table(counts: &[u32; BINS]) -> [f32; BINS] {
    let total: u32 = counts.iter().sum();
    if total == 0 {
        #[expect(clippy::cast_precision_loss, reason = "at most 255")]
        return std::array::from_fn(|i| i as f32);
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of pixels")]
    let most = ((CLIP * f64::from(total) / BINS as f64) as u32).max(1);
    let excess: u32 = counts.iter().map(|&n| n.saturating_sub(most)).sum();
    #[expect(clippy::cast_possible_truncation, reason = "256")]
    let (each, rest) = (excess / BINS as u32, (excess % BINS as u32) as usize);
    let mut clipped: [u32; BINS] = std::array::from_fn(|i| counts[i].min(most) + each);
    let stride = (BINS / rest.max(1)).max(1);
    for i in (0..BINS).step_by(stride).take(rest) {
        clipped[i] += 1;
    }
    let scale = 255.0 / f64::from(total);
    let mut sum = 0_u32;
    clipped.map(|n| {
        sum += n;
        #[expect(clippy::cast_possible_truncation, reason = "at most 255")]
        let to = (f64::from(sum) * scale).round().min(255.0) as f32;
        to
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::window_level::{Region, sample};

    /// 64 × 64 values and what OpenCV 5.0 `createCLAHE(clipLimit=3.0, tileGridSize=(8, 8))` makes of them;
    /// tests/reference/local_contrast.py computes them again.
    const REFERENCE: &str = include_str!("../../../tests/reference/local_contrast.csv");

    fn gray(width: u32, height: u32, values: Vec<u8>) -> Frame {
        Frame::of_samples(width, height, Samples::Gray8(values))
    }

    #[test]
    fn it_is_the_published_method() {
        let mut rows = REFERENCE.lines().filter(|line| !line.starts_with('#'));
        let mut next = |n: usize| -> Vec<u8> {
            rows.by_ref().take(n).flat_map(|row| row.split(',').map(|v| v.parse().unwrap())).collect()
        };
        let (before, after) = (next(64), next(64));
        assert_eq!((before.len(), after.len()), (4096, 4096));
        let frame = gray(64, 64, before);
        let whole = WindowLevel { low: 0.0, high: 255.0, inverted: false };
        let local = LocalContrast::of(&frame, Field::Whole, whole);
        let mut sampled = sample(&frame, Region::whole(&frame), 1);
        local.apply(&mut sampled);
        let farthest = sampled.values.iter().zip(&after).map(|(a, b)| a.abs_diff(u16::from(*b))).max();
        assert!(farthest <= Some(1), "{farthest:?}");
    }

    #[test]
    fn order_is_kept_within_a_part_and_a_faint_edge_gains() {
        let frame = gray(160, 160, (0..160 * 160).map(|i| if i % 160 < 80 { 40 } else { 46 }).collect());
        let range = WindowLevel { low: 0.0, high: 255.0, inverted: false };
        let local = LocalContrast::of(&frame, Field::Whole, range);
        let mut sampled = sample(&frame, Region::whole(&frame), 1);
        local.apply(&mut sampled);
        let row = &sampled.values[80 * 160..81 * 160];
        assert!(row[81] > row[78] + 6, "{} {}", row[78], row[81]);
    }
}
