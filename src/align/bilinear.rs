//! Stored samples between the samples, many places at a time.
//!
//! A stretch of places on a line is stepped along in whole numbers, a 2²²th of a pixel to one; what is read off the picture
//! is gathered for hundreds of places before any of it is joined, because compilers make good code of each of the three
//! loops alone and of none of them together. Places near the rim of the picture, or far apart, are joined one by one.

use crate::geom::point::{Point, Vec2};

/// Places that are gathered before they are joined.
const ROOM: usize = 512;
/// Places are stepped along so many at a time.
const LANES: usize = 8;
/// The longest stretch, in places, and how far it may lead, in pixels.
const LONGEST: usize = 64;
const FARTHEST: f64 = 500.0;
/// Bits of a part of a pixel: with these and [`FARTHEST`] a stretch stays within 32 bits.
const BITS: u32 = 22;
const ONE: i32 = 1 << BITS;
/// Steps are rounded toward none, so that a stretch may come out this far before where it should end.
const RIM: f64 = 1e-3;

/// A stored sample of 8 or 16 bits.
pub(super) trait StoredSample: Copy + Default + Send + Sync {
    /// Bits of a sample.
    const DEPTH: u32;

    /// Two neighbours, the left one in the lower bits.
    fn pair(both: [Self; 2]) -> u32;

    /// The sample of a whole number that it can hold.
    fn of(value: u32) -> Self;
}

impl StoredSample for u8 {
    const DEPTH: u32 = 8;

    fn pair(both: [Self; 2]) -> u32 {
        u32::from(u16::from_le_bytes(both))
    }

    #[expect(clippy::cast_possible_truncation, reason = "between stored values")]
    fn of(value: u32) -> Self {
        value as Self
    }
}

impl StoredSample for u16 {
    const DEPTH: u32 = 16;

    fn pair([left, right]: [Self; 2]) -> u32 {
        u32::from(left) | u32::from(right) << 16
    }

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

/// Places that wait to be joined: where the upper left sample is, and the parts of a pixel to the right and down.
pub(super) struct WaitingPlaces {
    first: [u32; ROOM + LANES],
    right: [i32; ROOM + LANES],
    down: [i32; ROOM + LANES],
    /// The upper two samples, and the lower two.
    upper: [u32; ROOM],
    lower: [u32; ROOM],
    /// How many wait, and which pixel the first of them is for.
    count: usize,
    from: usize,
}

impl WaitingPlaces {
    /// None wait.
    pub(super) const fn none() -> Self {
        let (first, right, down) = ([0; ROOM + LANES], [0; ROOM + LANES], [0; ROOM + LANES]);
        Self { first, right, down, upper: [0; ROOM], lower: [0; ROOM], count: 0, from: 0 }
    }

    /// Begins a row; none of the one before waits any more.
    pub(super) const fn begin(&mut self) {
        (self.count, self.from) = (0, 0);
    }
}

impl<'a, T: StoredSample> SampleSource<'a, T> {
    /// A picture; `None` if there are not as many samples as the size says, or not enough to join.
    pub(super) fn new(samples: &'a [T], columns: u32, rows: u32) -> Option<Self> {
        let size = u64::from(columns) * u64::from(rows);
        let sound = columns >= 2 && rows >= 2 && samples.len() as u64 == size && u32::try_from(size).is_ok();
        sound.then_some(Self { samples, columns, rows })
    }

    /// Draws pixels from column `from` on whose places lie on a line; some may wait until [`SampleSource::join`].
    pub(super) fn line(
        &self,
        waiting: &mut WaitingPlaces,
        (from, to): (usize, usize),
        (at, by): (Point, Vec2),
        (values, covered): (&mut [T], &mut [bool]),
    ) {
        let count = to.saturating_sub(from);
        if waiting.count + count > ROOM || waiting.from + waiting.count != from {
            self.join(waiting, values);
            waiting.from = from;
        }
        if self.holds(at, by, count) {
            covered[from..to].fill(true);
            self.step(waiting, at, by, count);
        } else {
            self.join(waiting, values);
            waiting.from = to;
            self.one_by_one(at, by, &mut values[from..to], &mut covered[from..to]);
        }
    }

    /// Whether all of a stretch lies inside, and none of it so far that it needs more than whole numbers hold.
    #[expect(clippy::cast_precision_loss, reason = "a few dozen places")]
    fn holds(&self, at: Point, by: Vec2, count: usize) -> bool {
        let far = by * count as f64;
        let end = at + far;
        let (last_x, last_y) = (f64::from(self.columns - 1), f64::from(self.rows - 1));
        let inside = |p: Point| p.x >= RIM && p.y >= RIM && p.x < last_x - RIM && p.y < last_y - RIM;
        count <= LONGEST && far.x.abs() < FARTHEST && far.y.abs() < FARTHEST && inside(at) && inside(end)
    }

    /// Steps along a stretch that lies inside.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "places inside a frame; what is left of a place over its whole pixel is less than one"
    )]
    fn step(&self, waiting: &mut WaitingPlaces, at: Point, by: Vec2, count: usize) {
        let (column, row) = (at.x as u32, at.y as u32);
        let first = row * self.columns + column;
        let part = |x: f64| (x * f64::from(ONE)) as i32;
        let (mut x, mut y) = (part(at.x - f64::from(column)), part(at.y - f64::from(row)));
        let (dx, dy) = (part(by.x), part(by.y));
        let begin = waiting.count;
        let end = begin + count.next_multiple_of(LANES);
        let firsts = waiting.first[begin..end].iter_mut();
        let parts = waiting.right[begin..end].iter_mut().zip(&mut waiting.down[begin..end]);
        for (at, (right, down)) in firsts.zip(parts) {
            let over = ((y >> BITS) as u32).wrapping_mul(self.columns);
            *at = first.wrapping_add(over).wrapping_add((x >> BITS) as u32);
            (*right, *down) = (x & (ONE - 1), y & (ONE - 1));
            // Those behind the end of the stretch may come out anywhere; they are written over or left.
            (x, y) = (x.wrapping_add(dx), y.wrapping_add(dy));
        }
        waiting.count += count;
    }

    /// Joins what waits.
    pub(super) fn join(&self, waiting: &mut WaitingPlaces, values: &mut [T]) {
        let count = std::mem::take(&mut waiting.count);
        let from = waiting.from;
        waiting.from += count;
        let span = self.columns as usize + 2;
        let into = waiting.upper[..count].iter_mut().zip(&mut waiting.lower[..count]);
        for (&first, (upper, lower)) in waiting.first.iter().zip(into) {
            let first = first as usize;
            if let Some(samples) = self.samples.get(first..first + span)
                && let (Some(&above), Some(&below)) = (samples.first_chunk::<2>(), samples.last_chunk::<2>())
            {
                (*upper, *lower) = (T::pair(above), T::pair(below));
            }
        }
        let parts = waiting.right.iter().zip(&waiting.down);
        let samples = waiting.upper.iter().zip(&waiting.lower);
        for ((value, (&right, &down)), (&upper, &lower)) in
            values[from..from + count].iter_mut().zip(parts).zip(samples)
        {
            *value = T::of(joined::<T>(upper, lower, right, down));
        }
    }

    /// The same where a place may lie outside.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "places inside a frame"
    )]
    fn one_by_one(&self, at: Point, by: Vec2, values: &mut [T], covered: &mut [bool]) {
        let (last_x, last_y) = (f64::from(self.columns - 1), f64::from(self.rows - 1));
        for (i, (value, covered)) in values.iter_mut().zip(covered).enumerate() {
            let (x, y) = (at.x + by.x * i as f64, at.y + by.y * i as f64);
            // Not a number compares as outside.
            if !(x >= 0.0 && y >= 0.0 && x <= last_x && y <= last_y) {
                continue;
            }
            let (column, row) = ((x as u32).min(self.columns - 2), (y as u32).min(self.rows - 2));
            let part = |x: f64, whole: u32| ((x - f64::from(whole)) * f64::from(ONE)) as i32;
            let first = row as usize * self.columns as usize + column as usize;
            let below = first + self.columns as usize;
            if let (Some(&[a, b]), Some(&[c, d])) =
                (self.samples.get(first..first + 2), self.samples.get(below..below + 2))
            {
                let (right, down) = (part(x, column), part(y, row));
                *value = T::of(joined::<T>(T::pair([a, b]), T::pair([c, d]), right, down));
                *covered = true;
            }
        }
    }
}

/// Four samples joined bilinearly, to the nearest whole number.
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
    whole(top + (bottom - top) * down + 0.5)
}

/// The whole part of a number from 0 to below 2²², by its bits: the conversion of the language, which also says what becomes
/// of all other numbers, is made one by one.
#[inline(always)]
pub(super) fn whole(x: f32) -> u32 {
    /// From here on numbers are whole, and the lower bits count them.
    const WHOLE: f32 = 8_388_608.0;
    let nearest = x + WHOLE;
    (nearest.to_bits() & 0x3f_ffff).wrapping_sub(u32::from(nearest - WHOLE > x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_whole_part_is_that_of_the_language() {
        let mut x = 0.0_f32;
        while x < 70_000.0 {
            for x in [x, x.next_up(), x.next_down().max(0.0)] {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "compared")]
                let expected = x as u32;
                assert_eq!(whole(x), expected, "{x}");
            }
            x += 0.25;
        }
    }

    /// Many at a time is the same as one by one, on lines in every direction, long and short.
    #[test]
    fn many_at_a_time_is_one_by_one() {
        let (columns, rows) = (300, 200);
        let samples: Vec<u16> =
            (0..columns * rows).map(|i| u16::try_from((i * 7919) % 65_521).unwrap()).collect();
        let source = SampleSource::new(&samples, columns, rows).unwrap();
        let mut far = 0;
        for direction in 0..97_u32 {
            let turn = f64::from(direction) * 0.13;
            let by = Vec2::new(turn.cos(), turn.sin()) * (0.2 + f64::from(direction % 5));
            for count in [1_usize, 4, 7, 16, 33, 64] {
                let at = Point::new(150.3, 100.7);
                let (mut many, mut one) = ([0_u16; 64], [0_u16; 64]);
                let (mut seen, mut seen_one) = ([false; 64], [false; 64]);
                let mut waiting = WaitingPlaces::none();
                source.line(&mut waiting, (0, count), (at, by), (&mut many, &mut seen));
                source.join(&mut waiting, &mut many);
                source.one_by_one(at, by, &mut one[..count], &mut seen_one[..count]);
                assert_eq!(seen, seen_one);
                far += u32::from(!seen[..count].iter().all(|&seen| seen));
                // Random neighbours differ by up to the whole range, and a stretch errs by 64 steps of a 2²²th at most.
                let worst = many.iter().zip(&one).map(|(a, b)| a.abs_diff(*b)).max();
                assert!(worst <= Some(2), "{direction} {count}: {worst:?}");
            }
        }
        assert!(far > 20, "some must have led outside: {far}");
    }
}
