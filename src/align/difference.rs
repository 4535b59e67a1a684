//! The difference image: the earlier picture less the later one, both in one frame and with matched levels.

use rayon::prelude::*;

use crate::align::greys::{Matching, values_of};
use crate::align::warp::Warped;
use crate::case::image::frame::{Frame, Samples};

impl Matching {
    /// The laid picture, matched, less the one it lies on, with 8 bits: 128 where both agree or the laid one does not
    /// reach, brighter where the laid one is brighter; black and white are half the levels' span near the body apart
    /// from it. Frames of different sizes give 128 all over.
    #[must_use]
    pub fn difference(&self, laid: &Warped, onto: &Frame) -> Frame {
        let same_size = laid.frame.width == onto.width && laid.frame.height == onto.height;
        let table: Vec<f32> = (0..=laid.frame.max_value()).map(|v| self.level(f32::from(v))).collect();
        let (first, second) = (values_of(&laid.frame), values_of(onto));
        let grey = |((&a, &b), &covered): ((&u16, &u16), &bool)| {
            if !(covered && same_size) {
                return 128;
            }
            let d = (table.get(usize::from(a)).copied().unwrap_or(0.0) - f32::from(b)) / self.span;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 8 bits")]
            let grey = (128.5 + 127.0 * d).clamp(0.0, 255.0) as u8;
            grey
        };
        let mut samples: Vec<u8> = first.par_iter().zip(&second).zip(&laid.covered).map(grey).collect();
        samples.resize(onto.width as usize * onto.height as usize, 128);
        Frame::of_samples(onto.width, onto.height, Samples::Gray8(samples))
    }
}
