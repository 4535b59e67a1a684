//! Which pixels of a frame another picture reaches.
//!
//! Kept as stretches of each row, since a picture laid on another one covers nearly all of a row in one: a frame of four
//! million pixels takes two thousand stretches.

use std::ops::Range;

use rayon::prelude::*;

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

    /// How much of each square of `step × step` pixels of some columns and rows is reached, of 255, row by row; the last squares of
    /// a row and the last row may be smaller. Columns and rows beyond the frame are not there, and a step of 0 gives nothing.
    #[must_use]
    pub fn shares(&self, columns: Range<u32>, rows: Range<u32>, step: u32) -> Vec<u16> {
        let (left, right) = (columns.start as usize, columns.end.min(self.width) as usize);
        let rows =
            self.rows.get(rows.start as usize..(rows.end as usize).min(self.rows.len())).unwrap_or(&[]);
        let step = step as usize;
        if step == 0 || left >= right || rows.is_empty() {
            return Vec::new();
        }
        let across = (right - left).div_ceil(step);
        let mut shares = vec![0; across * rows.len().div_ceil(step)];
        shares.par_chunks_mut(across).zip(rows.par_chunks(step)).for_each(|(shares, rows)| {
            let mut counts = vec![0; across];
            for stretch in rows.iter().flat_map(|row| &row.stretches) {
                let (from, to) = (stretch.start.max(left), stretch.end.min(right));
                if from < to {
                    count(from - left..to - left, step, &mut counts);
                }
            }
            for (n, (share, count)) in shares.iter_mut().zip(counts).enumerate() {
                let all = (right - left - n * step).min(step) * rows.len();
                *share = u16::try_from((usize::from(u8::MAX) * count + all / 2) / all).unwrap_or(u16::MAX);
            }
        });
        shares
    }
}

/// Adds to squares of `step` columns how many of these columns lie in each.
fn count(columns: Range<usize>, step: usize, squares: &mut [usize]) {
    let (first, last) = (columns.start / step, (columns.end - 1) / step);
    let Some(squares) = squares.get_mut(first..=last) else { return };
    for (square, start) in squares.iter_mut().zip((first * step..).step_by(step)) {
        *square += (start + step).min(columns.end) - start.max(columns.start);
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
        let all = reach.shares(0..12, 0..2, 1);
        for (x, y) in (0..12_u32).flat_map(|x| [(x, 0), (x, 1)]) {
            let expected = y == 1 && ((2..7).contains(&x) || x == 9);
            assert_eq!(reach.contains(x, y), expected, "{x} {y}");
            assert_eq!(all[(y * 12 + x) as usize], if expected { 255 } else { 0 });
        }
        // Of columns 1 to 10 three at a time: of two rows each, reached are 2, 3 and 1 pixels of six, and none of the last two.
        assert_eq!(reach.shares(1..11, 0..9, 3), [85, 128, 43, 0]);
        assert!(reach.shares(12..20, 0..2, 1).is_empty() && reach.shares(0..12, 0..2, 0).is_empty());
        assert_eq!(reach.shares(0..12, 1..2, 700), [128]);
        assert_eq!(reach.count(), 6);
        assert!(!reach.contains(0, 2));
    }
}
