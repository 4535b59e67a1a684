//! A laid picture with its levels matched, and the difference image: the earlier picture less the later one, both in one
//! frame and with matched levels.

use fearless_simd::{Level, dispatch};
use rayon::prelude::*;

use crate::align::bilinear::{StoredSample, whole};
use crate::align::greys::Matching;
use crate::align::reach::{ReachedPixels, RowReach};
use crate::align::warp::Warped;
use crate::case::image::frame::{Frame, Samples};

/// A laid picture beside the one it lies on.
#[derive(Clone, Debug)]
pub struct Matched {
    /// The laid picture with the other one's levels and depth.
    pub picture: Frame,
    /// The same less the one it lies on, with 8 bits: 128 where both agree or the laid one does not reach, brighter where the
    /// laid one is brighter; black and white are half the levels' span near the body apart from it.
    pub difference: Frame,
    /// The pixels that the laid picture reaches.
    pub reach: ReachedPixels,
}

impl Matching {
    /// The laid picture matched to the one it lies on, and their difference; `None` where they are not of one size.
    #[must_use]
    pub fn laid_on(&self, laid: Warped, onto: &Frame) -> Option<Matched> {
        let Warped { frame, reach } = laid;
        if (frame.width, frame.height) != (onto.width, onto.height) {
            return None;
        }
        let (table, most) = (self.levels(frame.max_value()), f32::from(onto.max_value()));
        // Every pixel is written below; zeros are had from the system page by page, by whichever core comes first.
        let mut greys = vec![0; onto.samples.len()];
        let work =
            MatchedWork { table: &table, span: self.span, most, width: onto.width as usize, reach: &reach };
        let about = frame.with_samples(0, 0, Samples::Gray8(Vec::new()));
        let samples = match (frame.samples, &onto.samples) {
            (Samples::Gray8(a), Samples::Gray8(b)) => Samples::Gray8(work.in_place(a, b, &mut greys)),
            (Samples::Gray8(a), Samples::Gray16(b)) => Samples::Gray16(work.apart(&a, b, &mut greys)),
            (Samples::Gray16(a), Samples::Gray8(b)) => Samples::Gray8(work.apart(&a, b, &mut greys)),
            (Samples::Gray16(a), Samples::Gray16(b)) => Samples::Gray16(work.in_place(a, b, &mut greys)),
        };
        Some(Matched {
            picture: about.with_samples(onto.width, onto.height, samples),
            difference: Frame::of_samples(onto.width, onto.height, Samples::Gray8(greys)),
            reach,
        })
    }
}

/// The grey where both agree.
const MIDDLE: u8 = 128;
/// Pixels whose levels are looked up before any is drawn.
const PIECE: usize = 256;

/// What a matched picture and a difference are made with.
struct MatchedWork<'a> {
    /// The level that each value of the laid picture stands for.
    table: &'a [f32],
    span: f32,
    /// The highest value of the picture it lies on.
    most: f32,
    width: usize,
    reach: &'a ReachedPixels,
}

impl MatchedWork<'_> {
    /// The laid picture's own samples, matched, and the difference, on all cores.
    fn in_place<T: StoredSample>(&self, mut laid: Vec<T>, onto: &[T], greys: &mut [u8]) -> Vec<T> {
        let (processor, width) = (Level::new(), self.width.max(1));
        let rows = laid.par_chunks_mut(width).zip(onto.par_chunks(width)).zip(greys.par_chunks_mut(width));
        rows.zip(self.reach.rows()).for_each(|(((laid, onto), greys), reach)| {
            dispatch!(processor, _ => {
                for ((laid, onto), greys) in
                    laid.chunks_mut(PIECE).zip(onto.chunks(PIECE)).zip(greys.chunks_mut(PIECE))
                {
                    let levels = self.levels(laid);
                    self.draw(&levels, onto, laid, greys);
                }
            });
            agree_in_gaps(reach, greys);
        });
        laid
    }

    /// The same for a picture of another depth.
    fn apart<A: StoredSample, B: StoredSample>(&self, laid: &[A], onto: &[B], greys: &mut [u8]) -> Vec<B> {
        let (processor, width) = (Level::new(), self.width.max(1));
        let mut matched = vec![B::default(); onto.len()];
        let rows = laid.par_chunks(width).zip(onto.par_chunks(width)).zip(greys.par_chunks_mut(width));
        let rows = rows.zip(matched.par_chunks_mut(width)).zip(self.reach.rows());
        rows.for_each(|((((laid, onto), greys), matched), reach)| {
            dispatch!(processor, _ => {
                let pieces = laid.chunks(PIECE).zip(onto.chunks(PIECE));
                let into = matched.chunks_mut(PIECE).zip(greys.chunks_mut(PIECE));
                for ((laid, onto), (matched, greys)) in pieces.zip(into) {
                    self.draw(&self.levels(laid), onto, matched, greys);
                }
            });
            agree_in_gaps(reach, greys);
        });
        matched
    }

    /// The levels of a piece of the laid picture.
    #[inline(always)]
    fn levels<T: StoredSample>(&self, laid: &[T]) -> [f32; PIECE] {
        let mut levels = [0.0; PIECE];
        for (level, &value) in levels.iter_mut().zip(laid) {
            let value: usize = value.into();
            *level = self.table.get(value).copied().unwrap_or(0.0);
        }
        levels
    }

    /// Draws a piece from its levels.
    #[inline(always)]
    fn draw<T: StoredSample>(&self, levels: &[f32], onto: &[T], matched: &mut [T], greys: &mut [u8]) {
        let (span, most) = (self.span, self.most);
        for (((&level, &onto), matched), grey) in levels.iter().zip(onto).zip(matched).zip(greys) {
            let onto: f32 = onto.into();
            let d = (level - onto) / span;
            *grey = u8::of(whole((128.5 + 127.0 * d).clamp(0.0, 255.0)));
            *matched = T::of(whole((level + 0.5).max(0.0).min(most)));
        }
    }
}

/// Where the laid picture does not reach, the two are shown to agree.
fn agree_in_gaps(reach: &RowReach, greys: &mut [u8]) {
    for gap in reach.gaps(greys.len()) {
        greys[gap].fill(MIDDLE);
    }
}
