//! A cell of a warp's grid: where its pixels come from, row by row and pixel by pixel.
//!
//! Between four nodes places are joined bilinearly, so that they lie within what the nodes span: whether all of a cell comes
//! from inside the other picture is asked once, and not for each pixel. Such a cell is then stepped through in whole numbers,
//! a 2³²th of a pixel to one.

use std::ops::Range;

use crate::geom::point::{Point, Vec2};

/// The most pixels of a [`Stretch`], and how far it may lead, in pixels.
pub(super) const LONGEST: usize = 64;
const FARTHEST: f64 = 500.0;
/// The most pixels a side of a cell that is stepped through.
const LARGEST: u32 = 128;
/// Cells side by side are one where no node lies further than this from where the others expect it, in pixels.
const STRAIGHT: f64 = 1e-6;
/// Bits of a part of a pixel in a [`Stretch`]: with these and [`FARTHEST`] it stays within 32 bits.
pub(super) const BITS: u32 = 22;
/// A whole pixel in a stretch.
pub(super) const ONE: i32 = 1 << BITS;
/// Bits of a part of a pixel in [`Steps`].
const FINE_BITS: u32 = 32;
/// Steps are rounded, so that a place may come out this far from where it should be.
const RIM: f64 = 1e-3;

/// A cell of the grid.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// The columns it draws.
    pub(super) columns: Range<usize>,
    /// Where they come from.
    pub(super) lies: Lies,
}

/// Where a cell's pixels come from.
#[derive(Clone, Debug)]
pub(super) enum Lies {
    /// All of them from inside the other picture, with four samples round each.
    Inside(Steps),
    /// Some of them perhaps.
    AtTheRim(Nodes),
    /// None of them.
    Outside,
}

/// Where the four corners of a cell come from, in sample coordinates: the centre of the first sample is at 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Nodes {
    /// Left and right, above.
    pub(super) above: [Point; 2],
    /// Left and right, below.
    pub(super) below: [Point; 2],
    /// Pixels across and down.
    pub(super) size: [u32; 2],
}

/// A row of a cell: across and down, in 2³²ths of a pixel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Steps {
    /// Where the row's first pixel comes from.
    at: [i64; 2],
    /// How that moves from pixel to pixel.
    by: [i64; 2],
    /// How both change from row to row.
    down: [i64; 2],
    bend: [i64; 2],
}

/// Places in a row at equal distances: the whole pixel the first comes from, the parts of a pixel it lies beyond it, and how
/// far the next is, in 2²²ths of a pixel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) pixel: [u32; 2],
    pub(super) part: [i32; 2],
    pub(super) by: [i32; 2],
}

impl Nodes {
    /// Cells side by side as one, if they are straight on.
    pub(super) fn joined(cells: &[Self]) -> Option<Self> {
        let (first, last) = (cells.first()?, cells.last()?);
        let across = cells.iter().map(|cell| cell.size[0]).sum();
        let joined = Self {
            above: [first.above[0], last.above[1]],
            below: [first.below[0], last.below[1]],
            size: [across, first.size[1]],
        };
        let near = |p: Point, q: Point| (p.x - q.x).abs() < STRAIGHT && (p.y - q.y).abs() < STRAIGHT;
        let mut columns = 0;
        let straight = cells.iter().all(|cell| {
            let share = f64::from(columns) / f64::from(across);
            columns += cell.size[0];
            let expected = [joined.above, joined.below].map(|[left, right]| left.lerp(right, share));
            near(expected[0], cell.above[0]) && near(expected[1], cell.below[0])
        });
        (straight && across <= LARGEST).then_some(joined)
    }

    /// Where the cell lies in a picture of this many columns and rows.
    pub(super) fn lie(self, (columns, rows): (u32, u32)) -> Lies {
        let (last_x, last_y) = (f64::from(columns) - 1.0, f64::from(rows) - 1.0);
        let all = |holds: &dyn Fn(Point) -> bool| self.above.iter().chain(&self.below).all(|&p| holds(p));
        // Not a number compares as neither.
        if all(&|p| p.x < 0.0) || all(&|p| p.y < 0.0) || all(&|p| p.x > last_x) || all(&|p| p.y > last_y) {
            return Lies::Outside;
        }
        let far = |[left, right]: [Point; 2]| {
            let far = right - left;
            far.x.abs() >= FARTHEST || far.y.abs() >= FARTHEST
        };
        let inside = |p: Point| p.x >= RIM && p.y >= RIM && p.x < last_x - RIM && p.y < last_y - RIM;
        let small = self.size.iter().all(|&side| side <= LARGEST);
        if small && all(&inside) && !far(self.above) && !far(self.below) {
            Lies::Inside(self.steps())
        } else {
            Lies::AtTheRim(self)
        }
    }

    /// Where the first pixel of a row of the cell comes from, and how that moves from pixel to pixel.
    pub(super) fn line(self, row: usize) -> (Point, Vec2) {
        let [across, down] = self.size.map(f64::from);
        #[expect(clippy::cast_precision_loss, reason = "a row of a frame")]
        let down = row as f64 / down;
        let [left, right] = [0, 1].map(|side| self.above[side].lerp(self.below[side], down));
        (left, (right - left) / across)
    }

    /// The steps of the first row.
    fn steps(self) -> Steps {
        let [across, down] = self.size.map(f64::from);
        let (above, below) = (self.above[1] - self.above[0], self.below[1] - self.below[0]);
        Steps {
            at: fine(self.above[0].to_vec()),
            by: fine(above / across),
            down: fine((self.below[0] - self.above[0]) / down),
            bend: fine((below - above) / (across * down)),
        }
    }
}

/// A displacement in 2³²ths of a pixel.
#[expect(clippy::cast_possible_truncation, reason = "places inside a frame")]
fn fine(d: Vec2) -> [i64; 2] {
    #[expect(clippy::cast_precision_loss, reason = "a power of two")]
    let one = (1_u64 << FINE_BITS) as f64;
    [d.x, d.y].map(|x| (x * one) as i64)
}

impl Steps {
    /// The places of the row from a column on.
    #[inline(always)]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        clippy::cast_sign_loss,
        reason = "places inside a frame, and steps of fewer than 500 pixels"
    )]
    pub(super) fn stretch(&self, column: usize) -> Stretch {
        const COARSER: u32 = FINE_BITS - BITS;
        let at = [0, 1].map(|axis| self.at[axis] + self.by[axis] * column as i64);
        Stretch {
            pixel: at.map(|at| (at >> FINE_BITS) as u32),
            part: at.map(|at| (at >> COARSER) as i32 & (ONE - 1)),
            by: self.by.map(|by| ((by + (1 << (COARSER - 1))) >> COARSER) as i32),
        }
    }

    /// On to the next row.
    #[inline(always)]
    pub(super) fn next_row(&mut self) {
        for axis in 0..2 {
            self.at[axis] += self.down[axis];
            self.by[axis] += self.bend[axis];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(x: f64, y: f64) -> Point {
        Point::new(700.0 - 1.1 * x + 0.13 * y, 400.0 + 0.12 * x + 0.9 * y + 0.002 * x * y)
    }

    fn nodes(across: u32, down: u32) -> Nodes {
        let (x, y) = (f64::from(across), f64::from(down));
        let above = [turned(0.0, 0.0), turned(x, 0.0)];
        Nodes { above, below: [turned(0.0, y), turned(x, y)], size: [across, down] }
    }

    /// Whole numbers come out where the line of each row leads, within a fifty-thousandth of a pixel.
    #[test]
    fn stepping_follows_the_line_of_each_row() {
        for (across, down) in [(1_u32, 1_u32), (4, 4), (17, 17), (32, 32), (64, 64), (128, 32), (128, 128)] {
            let nodes = nodes(across, down);
            let Lies::Inside(mut steps) = nodes.lie((2000, 1000)) else { panic!("inside") };
            for row in 0..down as usize {
                let (at, by) = nodes.line(row);
                for i in 0..across {
                    let stretch = steps.stretch(i as usize / LONGEST * LONGEST);
                    let on = f64::from(i % u32::try_from(LONGEST).unwrap());
                    let expected = at + by * f64::from(i);
                    for (axis, expected) in [expected.x, expected.y].into_iter().enumerate() {
                        let parts = f64::from(stretch.part[axis]) + f64::from(stretch.by[axis]) * on;
                        let found = f64::from(stretch.pixel[axis]) + parts / f64::from(ONE);
                        assert!((found - expected).abs() < 2e-5, "{across} {row} {i}: {found} {expected}");
                    }
                }
                steps.next_row();
            }
        }
    }

    #[test]
    fn a_cell_is_inside_at_the_rim_or_outside() {
        let lies = |size| nodes(32, 32).lie(size);
        assert!(matches!(lies((2000, 1000)), Lies::Inside(_)));
        assert!(matches!(lies((690, 1000)), Lies::AtTheRim(_)));
        assert!(matches!(lies((600, 1000)), Lies::Outside));
        assert!(matches!(lies((2000, 300)), Lies::Outside));
        let longer = Nodes { size: [LARGEST + 1, 32], ..nodes(32, 32) };
        assert!(matches!(longer.lie((2000, 1000)), Lies::AtTheRim(_)));
        let mut broken = nodes(32, 32);
        broken.below[1].x = f64::NAN;
        assert!(matches!(broken.lie((2000, 1000)), Lies::AtTheRim(_)));
        let mut far = nodes(32, 32);
        far.above[0].x = 1300.0;
        assert!(matches!(far.lie((2000, 1000)), Lies::AtTheRim(_)));
    }

    #[test]
    fn cells_are_one_where_they_are_straight_on() {
        let node = |i: u32, j: u32| turned(f64::from(16 * i), f64::from(16 * j));
        let pair = |i: u32, j: u32| [node(i, j), node(i + 1, j)];
        let cell = |i: u32| Nodes { above: pair(i, 0), below: pair(i, 1), size: [16, 16] };
        let mut cells: Vec<Nodes> = (0..8).map(cell).collect();
        let joined = Nodes::joined(&cells).unwrap();
        assert_eq!(joined.size, [128, 16]);
        assert!((joined.above[1].x - nodes(128, 16).above[1].x).abs() < 1e-9);
        cells[5].below[0].x += 1e-4;
        assert!(Nodes::joined(&cells).is_none());
        assert!(Nodes::joined(&[]).is_none());
        assert!(Nodes::joined(&(0..9).map(cell).collect::<Vec<_>>()).is_none(), "too long");
    }
}
