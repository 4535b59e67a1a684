//! Which pixels of a frame another picture reaches.
//!
//! Kept as stretches of each row, since a picture laid on another one covers nearly all of a row in one: a frame of four
//! million pixels takes two thousand stretches.

use std::ops::Range;

use rayon::prelude::*;

use crate::case::image::frame::{Frame, Samples};

/// The pixels of a frame that another picture reaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReachedPixels {
    width: u32,
    rows: Vec<RowReach>,
}

/// Columns of a row that are reached, in stretches from left to right.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct RowReach {
    stretches: Vec<Range<usize>>,
}

impl RowReach {
    /// Adds columns to the right of all that are reached already.
    pub(super) fn add(&mut self, columns: Range<usize>) {
        match self.stretches.last_mut() {
            Some(last) if last.end == columns.start => last.end = columns.end,
            _ if columns.is_empty() => {}
            _ => self.stretches.push(columns),
        }
    }

    /// The columns left out, in stretches from left to right.
    pub(super) fn gaps(&self, width: usize) -> impl Iterator<Item = Range<usize>> {
        let starts = std::iter::once(0).chain(self.stretches.iter().map(|reached| reached.end));
        let ends = self.stretches.iter().map(|reached| reached.start).chain(std::iter::once(width));
        starts.zip(ends).map(|(start, end)| start..end).filter(|gap| !gap.is_empty())
    }
}

impl ReachedPixels {
    /// The reach of rows this wide.
    pub(super) const fn new(width: u32, rows: Vec<RowReach>) -> Self {
        Self { width, rows }
    }

    /// Nothing of a frame of this width and height.
    pub(super) fn nothing((width, height): (u32, u32)) -> Self {
        Self { width, rows: vec![RowReach::default(); height as usize] }
    }

    /// Each row's reach, from the top.
    pub(super) fn rows(&self) -> &[RowReach] {
        &self.rows
    }

    /// Whether a pixel is reached.
    #[must_use]
    pub fn contains(&self, column: u32, row: u32) -> bool {
        let column = column as usize;
        self.rows.get(row as usize).is_some_and(|row| {
            let after = row.stretches.partition_point(|reached| reached.end <= column);
            row.stretches.get(after).is_some_and(|reached| reached.contains(&column))
        })
    }

    /// How many pixels are reached.
    #[must_use]
    pub fn count(&self) -> usize {
        self.rows.iter().flat_map(|row| &row.stretches).map(Range::len).sum()
    }

    /// As a frame: 255 where it is reached, 0 elsewhere.
    #[must_use]
    pub fn frame(&self) -> Frame {
        let width = self.width as usize;
        let mut values = vec![0; width * self.rows.len()];
        values.par_chunks_mut(width.max(1)).zip(&self.rows).for_each(|(values, row)| {
            for reached in &row.stretches {
                values[reached.clone()].fill(u8::MAX);
            }
        });
        let height = u32::try_from(self.rows.len()).unwrap_or(u32::MAX);
        Frame::of_samples(self.width, height, Samples::Gray8(values))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_that_touch_are_one_and_gaps_are_what_is_left() {
        let mut row = RowReach::default();
        for columns in [2..4, 4..7, 7..7, 9..10] {
            row.add(columns);
        }
        assert_eq!(row.stretches, [2..7, 9..10]);
        assert_eq!(row.gaps(12).collect::<Vec<_>>(), [0..2, 7..9, 10..12]);
        assert!(RowReach::default().gaps(3).eq(std::iter::once(0..3)));
        assert_eq!(RowReach::default().gaps(0).count(), 0);
        let reach = ReachedPixels::new(12, vec![RowReach::default(), row]);
        let Samples::Gray8(values) = reach.frame().samples else { panic!("8 bits") };
        for (x, y) in (0..12_u32).flat_map(|x| [(x, 0), (x, 1)]) {
            let expected = y == 1 && ((2..7).contains(&x) || x == 9);
            assert_eq!(reach.contains(x, y), expected, "{x} {y}");
            assert_eq!(values[(y * 12 + x) as usize], if expected { 255 } else { 0 });
        }
        assert_eq!(reach.count(), 6);
        assert!(!reach.contains(0, 2));
    }
}
