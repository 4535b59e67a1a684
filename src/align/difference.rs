//! The difference image: the earlier picture less the later one, both in one frame and with matched levels.

use rayon::prelude::*;

use crate::align::bilinear::whole;
use crate::align::greys::{Matching, PIECE};
use crate::align::warp::Warped;
use crate::case::image::frame::{Frame, Samples};

impl Matching {
    /// The laid picture, matched, less the one it lies on, with 8 bits: 128 where both agree or the laid one does not
    /// reach, brighter where the laid one is brighter; black and white are half the levels' span near the body apart
    /// from it. Frames of different sizes give 128 all over.
    #[must_use]
    pub fn difference(&self, laid: &Warped, onto: &Frame) -> Frame {
        let size = onto.width as usize * onto.height as usize;
        let mut greys = vec![MIDDLE; size];
        if (laid.frame.width, laid.frame.height) == (onto.width, onto.height) {
            let table = self.levels(laid.frame.max_value());
            let work = DifferenceWork { table: &table, span: self.span, covered: &laid.covered };
            match (&laid.frame.samples, &onto.samples) {
                (Samples::Gray8(a), Samples::Gray8(b)) => work.run(a, b, &mut greys),
                (Samples::Gray8(a), Samples::Gray16(b)) => work.run(a, b, &mut greys),
                (Samples::Gray16(a), Samples::Gray8(b)) => work.run(a, b, &mut greys),
                (Samples::Gray16(a), Samples::Gray16(b)) => work.run(a, b, &mut greys),
            }
        }
        Frame::of_samples(onto.width, onto.height, Samples::Gray8(greys))
    }
}

/// The grey where both agree.
const MIDDLE: u8 = 128;
/// Pixels whose levels are looked up before any is drawn.
const ROW: usize = 256;

/// What a difference is made with.
struct DifferenceWork<'a> {
    table: &'a [f32],
    span: f32,
    covered: &'a [bool],
}

impl DifferenceWork<'_> {
    /// Draws the difference of samples of any depth, on all cores.
    fn run<A, B>(&self, laid: &[A], onto: &[B], greys: &mut [u8])
    where
        A: Copy + Sync + Into<usize>,
        B: Copy + Sync + Into<f32>,
    {
        let pieces = laid.par_chunks(PIECE).zip(onto.par_chunks(PIECE)).zip(self.covered.par_chunks(PIECE));
        greys.par_chunks_mut(PIECE).zip(pieces).for_each(|(greys, ((laid, onto), covered))| {
            let mut levels = [0.0_f32; ROW];
            let rows = greys.chunks_mut(ROW).zip(laid.chunks(ROW));
            for (((greys, laid), onto), covered) in rows.zip(onto.chunks(ROW)).zip(covered.chunks(ROW)) {
                for (level, &value) in levels.iter_mut().zip(laid) {
                    *level = self.table.get(value.into()).copied().unwrap_or(0.0);
                }
                let values = levels.iter().zip(onto).zip(covered);
                for (grey, ((level, &b), &covered)) in greys.iter_mut().zip(values) {
                    let d = (level - b.into()) / self.span;
                    let found = whole((128.5 + 127.0 * d).clamp(0.0, 255.0)).to_le_bytes()[0];
                    *grey = if covered { found } else { MIDDLE };
                }
            }
        });
    }
}
