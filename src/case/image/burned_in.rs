//! Finds what looks like words burned into a picture outside its round field, and proposes covers for them.
//!
//! Outside the field nothing was recorded, so whatever is there was drawn by a machine. Words are told from a
//! stray edge by their strokes: a row through them goes on and off many times. Nothing is covered by itself; the
//! user looks at what is proposed.

use std::ops::Range;

use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::geom::point::Point;
use crate::measure::reading::Field;

/// How far a value may be from the empty surround's, as a part of the frame's range of values.
const TOLERANCE: f64 = 0.06;
/// How far outside the circle words are looked for, as a part of its radius: its own edge is no word.
const CLEAR_OF_FIELD: f64 = 0.02;
/// Cells along the longer side of the frame.
const CELLS: u32 = 160;
/// Empty cells between two words of one line, and between two lines of one block.
const GAP: (u32, u32) = (4, 1);
/// How often a row through words goes from empty to ink, at least.
const STROKES: usize = 3;
/// Share of the frame's area above which a block is no line of words.
const LARGEST: f64 = 0.25;

/// Proposed covers, from top to bottom; none where the frame has no round field.
#[must_use]
pub fn proposed_covers(frame: &Frame, field: Field) -> Vec<Cover> {
    let Field::Round { centre, radius } = field else { return Vec::new() };
    let ink = Ink::of(frame, centre, radius * (1.0 + CLEAR_OF_FIELD));
    let mut boxes: Vec<Cover> = ink
        .blocks()
        .into_iter()
        .filter(|block| ink.is_written(*block))
        .filter_map(|b| ink.cover(b))
        .collect();
    boxes.sort_by(|a, b| a.min.y.total_cmp(&b.min.y).then(a.min.x.total_cmp(&b.min.x)));
    boxes
}

/// Those of the proposed covers that no cover of the shot holds yet.
#[must_use]
pub fn uncovered(proposed: &[Cover], covers: &[Cover]) -> Vec<Cover> {
    proposed.iter().filter(|one| !covers.iter().any(|cover| cover.holds(one))).copied().collect()
}

/// A block of cells: first column and row, last column and row.
type Block = (u32, u32, u32, u32);

/// Where there is something outside the field, pixel by pixel and in cells.
struct Ink {
    width: u32,
    height: u32,
    cell: u32,
    marked: Vec<bool>,
    cells: Vec<bool>,
    columns: u32,
    rows: u32,
}

impl Ink {
    fn of(frame: &Frame, centre: Point, radius: f64) -> Self {
        let (width, height) = (frame.width, frame.height);
        let cell = (width.max(height) / CELLS).max(2);
        let (columns, rows) = (width.div_ceil(cell), height.div_ceil(cell));
        let mut ink = Self {
            width,
            height,
            cell,
            marked: vec![false; width as usize * height as usize],
            cells: vec![false; columns as usize * rows as usize],
            columns,
            rows,
        };
        let outside =
            |x: u32, y: u32| Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5).distance(centre) > radius;
        let Some((empty, tolerance)) = surround(frame, &outside) else { return ink };
        for y in 0..height {
            let within = columns_within(f64::from(y) + 0.5, centre, radius, width);
            for x in (0..within.start).chain(within.end..width) {
                let value = frame.value(x, y).map_or(empty, f64::from);
                if (value - empty).abs() > tolerance && outside(x, y) {
                    ink.marked[(y * width + x) as usize] = true;
                    ink.cells[((y / cell) * columns + x / cell) as usize] = true;
                }
            }
        }
        ink
    }

    /// Marked cells that belong together: words of a line, lines of a block.
    fn blocks(&self) -> Vec<Block> {
        let mut seen = vec![false; self.cells.len()];
        let mut blocks = Vec::new();
        for start in 0..self.cells.len() {
            if seen[start] || !self.cells[start] {
                continue;
            }
            seen[start] = true;
            let mut waiting = vec![start];
            let mut block = (u32::MAX, u32::MAX, 0, 0);
            while let Some(at) = waiting.pop() {
                #[expect(clippy::cast_possible_truncation, reason = "fewer cells than u32::MAX")]
                let (x, y) = (at as u32 % self.columns, at as u32 / self.columns);
                block = (block.0.min(x), block.1.min(y), block.2.max(x), block.3.max(y));
                let (dx, dy) = (GAP.0 + 1, GAP.1 + 1);
                for ny in y.saturating_sub(dy)..(y + dy + 1).min(self.rows) {
                    for nx in x.saturating_sub(dx)..(x + dx + 1).min(self.columns) {
                        let next = (ny * self.columns + nx) as usize;
                        if self.cells[next] && !seen[next] {
                            seen[next] = true;
                            waiting.push(next);
                        }
                    }
                }
            }
            blocks.push(block);
        }
        blocks
    }

    fn pixels(&self, block: Block) -> (u32, u32, u32, u32) {
        let end = |last: u32, all: u32| ((last + 1) * self.cell).min(all);
        (block.0 * self.cell, block.1 * self.cell, end(block.2, self.width), end(block.3, self.height))
    }

    /// Whether a block goes on and off as words do, and is not so large that it would be something else.
    fn is_written(&self, block: Block) -> bool {
        let (x0, y0, x1, y1) = self.pixels(block);
        let strokes = |y: u32| {
            let row = &self.marked[(y * self.width + x0) as usize..(y * self.width + x1) as usize];
            usize::from(row.first() == Some(&true)) + row.windows(2).filter(|w| !w[0] && w[1]).count()
        };
        let written = (y0..y1).filter(|y| strokes(*y) >= STROKES).count();
        let share =
            f64::from(x1 - x0) * f64::from(y1 - y0) / (f64::from(self.width) * f64::from(self.height));
        written >= 2 && share <= LARGEST
    }

    /// The block's box with half a cell of room about its ink.
    fn cover(&self, block: Block) -> Option<Cover> {
        let (x0, y0, x1, y1) = self.pixels(block);
        let at = |x: u32, y: u32| self.marked[(y * self.width + x) as usize];
        let (mut min, mut max) = ((x1, y1), (x0, y0));
        for y in y0..y1 {
            for x in (x0..x1).filter(|x| at(*x, y)) {
                min = (min.0.min(x), min.1.min(y));
                max = (max.0.max(x + 1), max.1.max(y + 1));
            }
        }
        let room = self.cell.div_ceil(2);
        let near = |a: u32| f64::from(a.saturating_sub(room));
        let far = |a: u32, all: u32| f64::from((a + room).min(all));
        Cover::between(
            Point::new(near(min.0), near(min.1)),
            Point::new(far(max.0, self.width), far(max.1, self.height)),
        )
    }
}

/// Columns of a row through a disc whose pixels surely lie within it, half a pixel or more.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the frame's columns")]
fn columns_within(y: f64, centre: Point, radius: f64, width: u32) -> Range<u32> {
    let half = (radius * radius - (y - centre.y).powi(2)).max(0.0).sqrt();
    let column = |x: f64| x.clamp(0.0, f64::from(width)) as u32;
    let (first, last) = (column((centre.x - half + 1.0).ceil()), column((centre.x + half - 1.0).floor()));
    first..last.max(first)
}

/// The value most of the surround shows, and how far from it still counts as the same.
fn surround(frame: &Frame, outside: &impl Fn(u32, u32) -> bool) -> Option<(f64, f64)> {
    let (mut lowest, mut highest) = (f64::MAX, f64::MIN);
    let mut values = Vec::new();
    let step = (frame.width.max(frame.height) / 256).max(1);
    for y in (0..frame.height).step_by(step as usize) {
        for x in (0..frame.width).step_by(step as usize) {
            let Some(value) = frame.value(x, y) else { continue };
            let value = f64::from(value);
            lowest = lowest.min(value);
            highest = highest.max(value);
            if outside(x, y) {
                values.push(value);
            }
        }
    }
    values.sort_by(f64::total_cmp);
    let empty = *values.get(values.len() / 2)?;
    let tolerance = TOLERANCE * (highest - lowest);
    (tolerance > 0.0).then_some((empty, tolerance))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::frame::Samples;

    const SIDE: u32 = 400;

    /// A round field of greys in a black surround, with what `burn` draws over it.
    fn frame(burn: impl Fn(u32, u32) -> Option<u16>) -> (Frame, Field) {
        let centre = Point::new(200.0, 200.0);
        let field = Field::Round { centre, radius: 190.0 };
        let value = |x: u32, y: u32| {
            let p = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
            let picture =
                if p.distance(centre) <= 190.0 { 20_000 + u16::try_from(40 * x).unwrap() } else { 0 };
            burn(x, y).unwrap_or(picture)
        };
        let values =
            (0..SIDE).flat_map(|y| (0..SIDE).map(move |x| (x, y))).map(|(x, y)| value(x, y)).collect();
        let frame = Frame::of_samples(SIDE, SIDE, Samples::Gray16(values));
        (frame, field)
    }

    /// Upright strokes two wide and two apart, eight high, as letters are.
    fn letters(x: u32, y: u32, at: (u32, u32), width: u32) -> Option<u16> {
        let inside = (at.0..at.0 + width).contains(&x) && (at.1..at.1 + 8).contains(&y);
        (inside && (x - at.0) % 4 < 2).then_some(60_000)
    }

    #[test]
    fn a_line_of_words_in_a_corner_is_found_whole_and_nothing_else() {
        let (frame, field) =
            frame(|x, y| letters(x, y, (4, 6), 30).or_else(|| letters(x, y, (340, 384), 50)));
        let proposed = proposed_covers(&frame, field);
        assert_eq!(proposed.len(), 2, "{proposed:?}");
        for (cover, at, width) in [(proposed[0], (4, 6), 30), (proposed[1], (340, 384), 50)] {
            let ink = Cover::between(
                Point::new(f64::from(at.0), f64::from(at.1)),
                Point::new(f64::from(at.0 + width), f64::from(at.1 + 8)),
            );
            assert!(cover.holds(&ink.unwrap()), "{cover:?}");
            assert!(cover.max.x - cover.min.x < f64::from(width) + 10.0);
        }
        assert!(uncovered(&proposed, &proposed).is_empty());
        assert_eq!(uncovered(&proposed, &proposed[..1]), proposed[1..]);
    }

    #[test]
    fn an_edge_a_bar_and_an_empty_surround_are_no_words() {
        let (empty, field) = frame(|_, _| None);
        assert!(proposed_covers(&empty, field).is_empty());
        let (bar, field) = frame(|x, y| (x < 40 && y < 6).then_some(50_000));
        assert!(proposed_covers(&bar, field).is_empty());
        let (line, field) = frame(|x, _| (x == 2).then_some(50_000));
        assert!(proposed_covers(&line, field).is_empty());
    }

    /// What is passed over unlooked at is within the field, wherever that lies, and only a rim of what is within is looked at.
    #[test]
    fn what_is_passed_over_lies_within() {
        for (x, y, radius) in
            [(200.0, 200.0, 190.0), (10.3, 390.7, 250.2), (-50.0, 20.0, 60.5), (200.0, 900.0, 80.0)]
        {
            let centre = Point::new(x, y);
            for row in 0..SIDE {
                let within = columns_within(f64::from(row) + 0.5, centre, radius, SIDE);
                let distance = |x: u32| Point::new(f64::from(x) + 0.5, f64::from(row) + 0.5).distance(centre);
                assert!(within.end <= SIDE && within.clone().all(|x| distance(x) < radius), "{row}");
                let clear = |x: u32| {
                    let on = |side: f64| {
                        Point::new(f64::from(x) + 0.5 + side, f64::from(row) + 0.5).distance(centre)
                    };
                    on(2.0) < radius && on(-2.0) < radius
                };
                assert!((0..SIDE).all(|x| !clear(x) || within.contains(&x)), "{row}");
            }
        }
    }

    #[test]
    fn words_inside_the_picture_and_frames_without_a_field_get_no_proposal() {
        let (frame, field) = frame(|x, y| letters(x, y, (180, 200), 40));
        assert!(proposed_covers(&frame, field).is_empty());
        assert!(proposed_covers(&frame, Field::Whole).is_empty());
    }
}
