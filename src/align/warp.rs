//! A picture drawn in another one's frame.
//!
//! Where each pixel comes from is worked out on a coarse grid and joined bilinearly between, which errs by a few
//! hundredths of a pixel; greys are joined bilinearly between the four nearest stored samples.

use std::ops::Range;

use fearless_simd::{Level, Simd, dispatch};
use rayon::prelude::*;

use crate::align::bilinear::{BLOCK, Places, SampleSource, StoredSample};
use crate::align::cell::{Cell, Lies, Nodes};
use crate::align::reach::{ReachedPixels, RowReach};
use crate::align::registration::Registration;
use crate::case::image::frame::{Frame, Samples};
use crate::geom::point::{Point, Vec2};

/// A picture in another one's frame.
#[derive(Clone, Debug)]
pub struct Warped {
    /// The first picture in the second one's frame: as many columns and rows, samples as deep as before; 0 where it does not reach.
    pub frame: Frame,
    /// The pixels that the first picture reaches.
    pub reach: ReachedPixels,
}

/// A map from each pixel of one picture to a place of another, ready to draw any frame of that size.
#[derive(Clone, Debug)]
pub struct Warp {
    width: u32,
    height: u32,
    /// Pixels between nodes.
    step: u32,
    /// Nodes a row.
    columns: usize,
    /// Where each node comes from, in sample coordinates: the centre of the first sample is at 0.
    nodes: Vec<Point>,
}

/// Steps across the body, and the bounds of a step in pixels.
const STEPS: f64 = 24.0;
const STEP_PX: (f64, f64) = (4.0, 32.0);

impl Warp {
    /// The warp that draws the first picture of a registration in a frame of this width and height, the second one's.
    #[must_use]
    pub fn new(registration: &Registration, (width, height): (u32, u32)) -> Self {
        let body = registration.to().depth_px().min(registration.to().mean_height_px());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to a few pixels"
        )]
        let step = (body / STEPS).clamp(STEP_PX.0, STEP_PX.1) as u32;
        Self::by_rows(|| registration.back_along_a_line(), (width, height), step)
    }

    /// The warp of any map from image coordinates of the frame to those of the picture, with nodes `step` pixels apart.
    #[must_use]
    pub fn of(back: impl Fn(Point) -> Point + Sync, size: (u32, u32), step: u32) -> Self {
        Self::by_rows(|| &back, size, step)
    }

    /// The same by a map for each row of nodes, which is asked for one node after the other.
    fn by_rows<B: FnMut(Point) -> Point>(
        row: impl Fn() -> B + Sync,
        (width, height): (u32, u32),
        step: u32,
    ) -> Self {
        let step = step.max(1);
        let (columns, rows) = (width.div_ceil(step) + 1, height.div_ceil(step) + 1);
        let half = Vec2::new(0.5, 0.5);
        let nodes = (0..rows)
            .into_par_iter()
            .flat_map_iter(|j| {
                let mut back = row();
                (0..columns).map(move |i| {
                    back(Point::new(f64::from(i * step) + 0.5, f64::from(j * step) + 0.5)) - half
                })
            })
            .collect();
        Self { width, height, step, columns: columns as usize, nodes }
    }

    /// The picture drawn anew.
    #[must_use]
    pub fn picture(&self, frame: &Frame) -> Warped {
        let (samples, reach) = match &frame.samples {
            Samples::Gray8(s) => {
                let (values, reach) = self.drawn(s, frame);
                (Samples::Gray8(values), reach)
            }
            Samples::Gray16(s) => {
                let (values, reach) = self.drawn(s, frame);
                (Samples::Gray16(values), reach)
            }
        };
        let frame = frame.with_samples(self.width, self.height, samples);
        Warped { frame, reach }
    }

    /// Samples and what is reached, on all cores, with the widest instructions that the processor has.
    fn drawn<T: StoredSample>(&self, samples: &[T], frame: &Frame) -> (Vec<T>, ReachedPixels) {
        let (width, band) = (self.width as usize, self.step as usize);
        let mut values = vec![T::default(); width * self.height as usize];
        let source = SampleSource::new(samples, frame.width, frame.height).filter(|_| width > 0);
        let Some(source) = source else { return (values, ReachedPixels::nothing((self.width, self.height))) };
        let processor = Level::new();
        let bands = values.par_chunks_mut(width * band).enumerate();
        let rows: Vec<Vec<RowReach>> = bands
            .map_init(Places::none, |places, (above, values)| {
                dispatch!(processor, simd => self.band(simd, &source, places, (above, values)))
            })
            .collect();
        (values, ReachedPixels::new(self.width, rows.into_iter().flatten().collect()))
    }

    /// Draws the rows between two rows of nodes; in blocks, so that what lies above each other in the other picture is read while
    /// it is at hand.
    #[inline(always)]
    fn band<S: Simd, T: StoredSample>(
        &self,
        simd: S,
        source: &SampleSource<'_, T>,
        places: &mut Places,
        (above, values): (usize, &mut [T]),
    ) -> Vec<RowReach> {
        let width = self.width as usize;
        let mut reach = vec![RowReach::default(); values.len() / width];
        let block = (BLOCK / self.step as usize).max(1);
        for first in (0..self.columns - 1).step_by(block) {
            let mut cells = self.cells(first..(first + block).min(self.columns - 1), above, source.size());
            let rows = values.chunks_mut(width).zip(&mut reach);
            for (row, (values, reach)) in rows.enumerate() {
                source.row(simd, places, (&mut cells, row), values, reach);
            }
        }
        reach
    }

    /// Cells of the grid side by side, before their first row, for a picture of this many columns and rows; those that are straight
    /// on are one.
    fn cells(&self, columns: Range<usize>, row: usize, size: (u32, u32)) -> Vec<Cell> {
        let step = self.step as usize;
        let last = |column: usize| (column * step).min(self.width as usize);
        let nodes: Vec<Nodes> = columns.clone().map(|column| self.nodes(column, row)).collect();
        match Nodes::joined(&nodes).map(|all| all.lie(size)) {
            // Of many pixels only those of the cells at the rim itself are worth a look each.
            Some(Lies::AtTheRim(_)) | None => {}
            Some(lies) => return vec![Cell { columns: columns.start * step..last(columns.end), lies }],
        }
        let of = |(column, nodes): (usize, Nodes)| Cell {
            columns: column * step..last(column + 1),
            lies: nodes.lie(size),
        };
        columns.zip(nodes).map(of).collect()
    }

    /// Where the corners of a cell come from.
    fn nodes(&self, column: usize, row: usize) -> Nodes {
        let pair = |row: usize| [0, 1].map(|right| self.nodes[row * self.columns + column + right]);
        Nodes { above: pair(row), below: pair(row + 1), size: [self.step; 2] }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::align::registration::tests::map;

    /// A frame whose stored values are those of a function of the place.
    pub(crate) fn frame(width: u32, height: u32, value: impl Fn(f64, f64) -> f64) -> Frame {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "made to fit")]
        let values = (0..height).flat_map(|y| {
            let value = &value;
            (0..width).map(move |x| value(f64::from(x) + 0.5, f64::from(y) + 0.5).round() as u16)
        });
        Frame::of_samples(width, height, Samples::Gray16(values.collect()))
    }

    /// A slope of greys is joined exactly, so that each pixel must show the value of the place it comes from.
    #[test]
    fn each_pixel_shows_the_place_it_comes_from() {
        let slope = |x: f64, y: f64| 5000.0 + 30.0 * x + 20.0 * y;
        let first = frame(500, 420, slope);
        let place = |x: f64, y: f64| Point::new(x + 60.0, y + 70.0);
        let moved = |x: f64, y: f64| Point::new(560.0 - 1.3 * x, 40.0 + 1.3 * y);
        let registration = Registration::new(map(place), map(moved)).unwrap();
        let laid = Warp::new(&registration, (640, 480)).picture(&first);
        let mut seen = 0;
        for (x, y) in (0..640).flat_map(|x| (0..480).map(move |y| (x, y))) {
            let q = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
            let p = registration.back(q);
            let covered = laid.reach.contains(x, y);
            let clear = 0.6_f64;
            let within = |v: f64, side: f64| v >= clear && v <= side - clear;
            if within(p.x, 500.0) && within(p.y, 420.0) {
                assert!(covered, "{q:?}");
                let value = f64::from(laid.frame.value(x, y).unwrap());
                assert!((value - slope(p.x, p.y)).abs() < 2.0, "{q:?}: {value} for {}", slope(p.x, p.y));
                seen += 1;
            }
            if p.x < 0.0 || p.x > 500.0 || p.y < 0.0 || p.y > 420.0 {
                assert!(!covered, "{q:?}");
            }
        }
        assert!(seen > 100_000, "{seen}");
    }

    /// Bodies marked differently bend the registration; the grid follows within 0.05 px.
    #[test]
    fn the_grid_follows_the_laying() {
        let place = |x: f64, y: f64| Point::new(x + 60.0, y + 70.0);
        let bent = |x: f64, y: f64| place(x, y) + Vec2::new(5.0 * (y / 90.0).sin(), 4.0 * (x / 110.0).cos());
        let registration = Registration::new(map(place), map(bent)).unwrap();
        let warp = Warp::new(&registration, (500, 420));
        let alone = Warp::of(|q| registration.back(q), (500, 420), warp.step);
        let apart = warp.nodes.iter().zip(&alone.nodes).map(|(p, q)| p.distance(*q)).fold(0.0, f64::max);
        assert!(apart < 3e-7, "{apart}: nodes looked for one after another");
        let mut worst = 0.0_f64;
        for (column, row) in (0..500).flat_map(|column| (0..420).map(move |row| (column, row))) {
            let step = warp.step as usize;
            let (at, by) = warp.nodes(column / step, row / step).line(row % step);
            let found = at + by * ((column % step) as f64) + Vec2::new(0.5, 0.5);
            let q = Point::new(column as f64 + 0.5, row as f64 + 0.5);
            if registration
                .to()
                .to_body(q)
                .is_some_and(|at| (0.0..=1.0).contains(&at.along) && (0.0..=1.0).contains(&at.height))
            {
                worst = worst.max(found.distance(registration.back(q)));
            }
        }
        assert!(worst < 0.05, "{worst}");
    }

    #[test]
    fn an_empty_frame_gives_an_empty_picture() {
        let warp = Warp::of(|q| q, (8, 6), 4);
        let laid = warp.picture(&frame(1, 0, |_, _| 0.0));
        assert_eq!((laid.reach.count(), laid.frame.samples.len()), (0, 48));
        assert_eq!(Warp::of(|q| q, (0, 0), 4).picture(&frame(9, 9, |_, _| 7.0)).frame.samples.len(), 0);
    }
}
