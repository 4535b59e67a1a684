//! Stored samples between the samples, many places at a time.
//!
//! A row of places is stepped along, then what is read off the picture is gathered, then all of it is joined: compilers make
//! good code of each of the three loops alone and of none of them together. Places near the rim of the picture, or far apart,
//! are joined one by one.

use fearless_simd::Simd;

use crate::align::cell::{BITS, Cell, LONGEST, Lies, Nodes, ONE, Stretch};
use crate::align::reach::RowReach;

/// The most columns of a block: what is gathered before it is joined.
pub(super) const BLOCK: usize = 128;
/// Places are stepped along so many at a time; the last of a stretch may run over by fewer than that.
const LANES: usize = 8;
/// Room for a block, and for a last stretch that runs over.
const ROOM: usize = BLOCK + LANES;

/// A stored sample of 8 or 16 bits.
pub(super) trait StoredSample: Copy + Default + Send + Sync + Into<f32> + Into<usize> {
    /// Bits of a sample.
    const DEPTH: u32;

    /// Two neighbours, the left one in the lower bits.
    fn pair(both: [Self; 2]) -> u32;

    /// The sample of a whole number that it can hold.
    fn of(value: u32) -> Self;
}

impl StoredSample for u8 {
    const DEPTH: u32 = 8;

    #[inline(always)]
    fn pair(both: [Self; 2]) -> u32 {
        u32::from(u16::from_le_bytes(both))
    }

    #[inline(always)]
    #[expect(clippy::cast_possible_truncation, reason = "between stored values")]
    fn of(value: u32) -> Self {
        value as Self
    }
}

impl StoredSample for u16 {
    const DEPTH: u32 = 16;

    #[inline(always)]
    fn pair([left, right]: [Self; 2]) -> u32 {
        u32::from(left) | u32::from(right) << 16
    }

    #[inline(always)]
    #[expect(clippy::cast_possible_truncation, reason = "between stored values")]
    fn of(value: u32) -> Self {
        value as Self
    }
}

/// Stored samples to draw from.
#[derive(Clone, Copy)]
pub(super) struct SampleSource<'a, T> {
    samples: &'a [T],
    columns: u32,
    rows: u32,
}

/// A block's row of places: where the upper left sample of each is, and the parts of a pixel to the right and down.
pub(super) struct Places {
    first: [i32; ROOM],
    right: [i32; ROOM],
    down: [i32; ROOM],
    /// The upper two samples, and the lower two.
    upper: [u32; ROOM],
    lower: [u32; ROOM],
}

impl Places {
    /// No places yet.
    pub(super) const fn none() -> Self {
        Self { first: [0; ROOM], right: [0; ROOM], down: [0; ROOM], upper: [0; ROOM], lower: [0; ROOM] }
    }

    /// Writes a stretch's places from `from` on, and up to a few more.
    #[inline(always)]
    #[expect(clippy::cast_possible_wrap, reason = "bits are what counts")]
    fn step<S: Simd>(&mut self, simd: S, stretch: &Stretch, (from, count): (usize, usize), columns: u32) {
        let Stretch { pixel: [column, row], part, by } = *stretch;
        let first = simd.splat_i32x8(row.wrapping_mul(columns).wrapping_add(column) as i32);
        let (columns, beyond) = (simd.splat_i32x8(columns as i32), simd.splat_i32x8(ONE - 1));
        let lane = simd.load_array_i32x8([0, 1, 2, 3, 4, 5, 6, 7]);
        let start = |axis: usize| simd.splat_i32x8(part[axis]) + lane * simd.splat_i32x8(by[axis]);
        let (mut x, mut y) = (start(0), start(1));
        let [dx, dy] = by.map(|by| simd.splat_i32x8(by.wrapping_shl(3)));
        let into = from..from + count.next_multiple_of(LANES);
        let (firsts, _) = self.first[into.clone()].as_chunks_mut::<LANES>();
        let (rights, _) = self.right[into.clone()].as_chunks_mut::<LANES>();
        let (downs, _) = self.down[into].as_chunks_mut::<LANES>();
        for ((firsts, rights), downs) in firsts.iter_mut().zip(rights).zip(downs) {
            // Places behind the end of the stretch may come out anywhere; what becomes of them is written over.
            let (over, along) = (simd.shr_i32x8(y, BITS), simd.shr_i32x8(x, BITS));
            simd.store_array_i32x8(first + over * columns + along, firsts);
            simd.store_array_i32x8(simd.and_i32x8(x, beyond), rights);
            simd.store_array_i32x8(simd.and_i32x8(y, beyond), downs);
            (x, y) = (x + dx, y + dy);
        }
    }
}

impl<'a, T: StoredSample> SampleSource<'a, T> {
    /// A picture; `None` if there are not as many samples as the size says, or not enough to join.
    pub(super) fn new(samples: &'a [T], columns: u32, rows: u32) -> Option<Self> {
        let size = u64::from(columns) * u64::from(rows);
        let sound = columns >= 2 && rows >= 2 && samples.len() as u64 == size && u32::try_from(size).is_ok();
        sound.then_some(Self { samples, columns, rows })
    }

    /// Columns and rows.
    pub(super) const fn size(&self) -> (u32, u32) {
        (self.columns, self.rows)
    }

    /// Draws a row of a block's cells, which stand side by side and are at this row all of them, and adds what is reached.
    #[inline(always)]
    pub(super) fn row<S: Simd>(
        &self,
        simd: S,
        places: &mut Places,
        (cells, row): (&mut [Cell], usize),
        values: &mut [T],
        reach: &mut RowReach,
    ) {
        let (Some(first), Some(last)) = (cells.first(), cells.last()) else { return };
        let block = first.columns.start..last.columns.end;
        let mut inside = false;
        for cell in &mut *cells {
            if let Lies::Inside(steps) = &mut cell.lies {
                let (from, count) = (cell.columns.start - block.start, cell.columns.len());
                for column in (0..count).step_by(LONGEST) {
                    let some = LONGEST.min(count - column);
                    places.step(simd, &steps.stretch(column), (from + column, some), self.columns);
                }
                steps.next_row();
                inside = true;
            }
        }
        if inside {
            self.join(places, &mut values[block]);
        }
        for cell in cells {
            match &cell.lies {
                Lies::Inside(_) => reach.add(cell.columns.clone()),
                Lies::AtTheRim(nodes) => self.one_by_one(nodes, row, cell, values, reach),
                Lies::Outside => values[cell.columns.clone()].fill(T::default()),
            }
        }
    }

    /// Joins what the places of a block say, also of those in it that nothing was said of.
    #[inline(always)]
    fn join(&self, places: &mut Places, values: &mut [T]) {
        let Self { samples, columns, .. } = *self;
        let (count, span) = (values.len(), columns as usize + 2);
        let all = ..count.next_multiple_of(LANES);
        let (firsts, _) = places.first[all].as_chunks::<LANES>();
        let (uppers, _) = places.upper[all].as_chunks_mut::<LANES>();
        let (lowers, _) = places.lower[all].as_chunks_mut::<LANES>();
        for ((firsts, uppers), lowers) in firsts.iter().zip(uppers).zip(lowers) {
            for lane in 0..LANES {
                let first = firsts[lane].cast_unsigned() as usize;
                if let Some(samples) = samples.get(first..first + span)
                    && let (Some(&above), Some(&below)) =
                        (samples.first_chunk::<2>(), samples.last_chunk::<2>())
                {
                    (uppers[lane], lowers[lane]) = (T::pair(above), T::pair(below));
                }
            }
        }
        let parts = places.right[..count].iter().zip(&places.down[..count]);
        let samples = places.upper[..count].iter().zip(&places.lower[..count]);
        for ((value, (&right, &down)), (&upper, &lower)) in values.iter_mut().zip(parts).zip(samples) {
            *value = T::of(joined::<T>(upper, lower, right, down));
        }
    }

    /// A row of a cell of which a place may lie outside; such places become 0.
    #[inline(never)]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "places inside a frame"
    )]
    fn one_by_one(&self, nodes: &Nodes, row: usize, cell: &Cell, values: &mut [T], reach: &mut RowReach) {
        let (last_x, last_y) = (f64::from(self.columns - 1), f64::from(self.rows - 1));
        let (at, by) = nodes.line(row);
        let start = cell.columns.start;
        for column in cell.columns.clone() {
            let i = (column - start) as f64;
            let (x, y) = (at.x + by.x * i, at.y + by.y * i);
            values[column] = T::default();
            // Not a number compares as outside.
            if !(x >= 0.0 && y >= 0.0 && x <= last_x && y <= last_y) {
                continue;
            }
            let (left, above) = ((x as u32).min(self.columns - 2), (y as u32).min(self.rows - 2));
            let part = |x: f64, whole: u32| ((x - f64::from(whole)) * f64::from(ONE)) as i32;
            let first = above as usize * self.columns as usize + left as usize;
            let below = first + self.columns as usize;
            if let (Some(&[a, b]), Some(&[c, d])) =
                (self.samples.get(first..first + 2), self.samples.get(below..below + 2))
            {
                let (right, down) = (part(x, left), part(y, above));
                values[column] = T::of(joined::<T>(T::pair([a, b]), T::pair([c, d]), right, down));
                reach.add(column..column + 1);
            }
        }
    }
}

/// Four samples joined bilinearly, to the nearest whole number, halves to the even one.
#[inline(always)]
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap,
    reason = "samples of 16 bits; parts of a pixel"
)]
fn joined<T: StoredSample>(upper: u32, lower: u32, right: i32, down: i32) -> u32 {
    let pair = |both: u32| {
        let (left, right) = (both & ((1 << T::DEPTH) - 1), both >> T::DEPTH);
        (left as i32 as f32, right as i32 as f32)
    };
    let ((a, b), (c, d)) = (pair(upper), pair(lower));
    let part = |x: i32| x as f32 * (1.0 / ONE as f32);
    let (right, down) = (part(right), part(down));
    let (top, bottom) = (a + (b - a) * right, c + (d - c) * right);
    nearest(top + (bottom - top) * down)
}

/// From here on numbers of 32 bits are whole, and their lower bits count them.
const WHOLE: f32 = 8_388_608.0;

/// The whole number nearest to one from 0 to below 2²², by its bits: the conversion of the language, which also says what
/// becomes of all other numbers, is made one by one.
#[inline(always)]
fn nearest(x: f32) -> u32 {
    (x + WHOLE).to_bits() & 0x3f_ffff
}

/// The whole part of such a number.
#[inline(always)]
pub(super) fn whole(x: f32) -> u32 {
    nearest(x).wrapping_sub(u32::from((x + WHOLE) - WHOLE > x))
}

#[cfg(test)]
mod tests {
    use fearless_simd::{Level, dispatch};

    use super::*;
    use crate::geom::point::{Point, Vec2};

    #[test]
    fn the_whole_part_is_that_of_the_language() {
        let mut x = 0.0_f32;
        while x < 70_000.0 {
            for x in [x, x.next_up(), x.next_down().max(0.0)] {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "compared")]
                let expected = [x as u32, x.round_ties_even() as u32];
                assert_eq!([whole(x), nearest(x)], expected, "{x}");
            }
            x += 0.25;
        }
    }

    /// Many at a time is the same as one by one, on lines in every direction, long and short, in cells of every size; cells
    /// side by side at the rim and outside leave each other alone.
    #[test]
    fn many_at_a_time_is_one_by_one() {
        let (columns, rows) = (300, 200);
        let samples: Vec<u16> =
            (0..columns * rows).map(|i| u16::try_from((i * 7919) % 65_521).unwrap()).collect();
        let source = SampleSource::new(&samples, columns, rows).unwrap();
        let mut seen = [0; 3];
        for direction in 0..97_u32 {
            let turn = f64::from(direction) * 0.13;
            let by = Vec2::new(turn.cos(), turn.sin()) * (0.2 + f64::from(direction % 5));
            for step in [1_u32, 4, 7, 16, 33, 64, 128] {
                let side = f64::from(step);
                let node = |i: u32| Point::new(150.3, 100.7) + by * (f64::from(i) * side);
                let below = Vec2::new(-by.y, by.x + 0.01) * side;
                let cells = |lie: &dyn Fn(Nodes) -> Lies| -> Vec<Cell> {
                    let cell = |i: u32| {
                        let above = [node(i), node(i + 1)];
                        let lies = lie(Nodes { above, below: above.map(|p| p + below), size: [step; 2] });
                        Cell { columns: (i * step) as usize..((i + 1) * step) as usize, lies }
                    };
                    (0..128 / step).map(cell).collect()
                };
                let (mut cells, alone) = (cells(&|nodes| nodes.lie(source.size())), cells(&Lies::AtTheRim));
                let mut plain_cells = cells.clone();
                let mut places = Places::none();
                for row in 0..step as usize {
                    let (mut many, mut one) = ([7_u16; 128], [7_u16; 128]);
                    let (mut reached, mut reached_one) = (RowReach::default(), RowReach::default());
                    dispatch!(Level::new(), simd => {
                        source.row(simd, &mut places, (&mut cells, row), &mut many, &mut reached);
                    });
                    let (mut plain, mut reached_plain) = ([7_u16; 128], RowReach::default());
                    dispatch!(Level::baseline(), simd => {
                        let cells = (plain_cells.as_mut_slice(), row);
                        source.row(simd, &mut places, cells, &mut plain, &mut reached_plain);
                    });
                    assert!(plain == many && reached_plain == reached, "the same by every instruction set");
                    for cell in &alone {
                        let Lies::AtTheRim(nodes) = &cell.lies else { continue };
                        source.one_by_one(nodes, row, cell, &mut one, &mut reached_one);
                    }
                    assert_eq!(reached, reached_one, "{direction} {step} {row}");
                    // Random neighbours differ by up to the whole range, and a stretch errs by some dozen steps of a 2²²th.
                    let worst = many.iter().zip(&one).map(|(a, b)| a.abs_diff(*b)).max();
                    assert!(worst <= Some(2), "{direction} {step} {row}: {worst:?}");
                }
                for cell in &cells {
                    seen[match cell.lies {
                        Lies::Inside(_) => 0,
                        Lies::AtTheRim(_) => 1,
                        Lies::Outside => 2,
                    }] += 1;
                }
            }
        }
        assert!(seen.iter().all(|&count| count > 100), "{seen:?}");
    }
}
