//! A finished figure: shots with their overlay, what was read, what the lines mean, and the caution.
//!
//! Reading order: [`asked`] (what is wanted), [`style`] (sizes), [`region`] (which part of a frame), [`furniture`] and
//! [`clear`] (what stands on an image, and how words keep clear), [`mod@pictured`] (an image with all of it), [`flow`] (figures
//! that grow downward), [`slide`] and [`slide_words`] (pages of fixed size), [`legend`], [`change`], [`together`], [`c_arm`], [`questions`].

pub mod asked;
pub(crate) mod c_arm;
mod change;
mod clear;
mod flow;
pub mod furniture;
pub(crate) mod legend;
mod pictured;
pub mod questions;
mod region;
mod slide;
mod slide_words;
pub mod style;
mod together;

pub use asked::{Extent, FigureOptions, FigurePair, FigureShot, pairs_among};
pub(crate) use pictured::pictured;
pub use region::shown;
pub(crate) use region::{bounds_of, region_of, shows_whole};
pub(crate) use together::{SeenBody, drawings};

use crate::case::document::Case;
use crate::scene::page::Page;

/// Lays out a figure: the shots, and for a matched pair the body from three sides with the tip. What
/// [`FigureOptions::refusal`] refuses is laid out, too, in bounded time, but not well.
#[must_use]
pub fn figure(
    case: &Case,
    shots: &[FigureShot<'_>],
    pairs: &[FigurePair<'_>],
    options: &FigureOptions,
) -> Page {
    let as_slide = options.style.width.and_then(|width| slide::page(case, shots, pairs, options, width));
    as_slide.unwrap_or_else(|| flow::page(case, shots, pairs, options))
}
