//! Short films: animated GIF and motion JPEG in AVI, one frame after the other.

use std::io::Cursor;
use std::path::Path;

use image::codecs::gif::GifDecoder;
use image::{
    AnimationDecoder as _, DynamicImage, Frames, ImageDecoder as _, ImageFormat, ImageResult, Limits,
};

use crate::case::image::digest::FileDigest;
use crate::case::image::frame::Frame;
use crate::io::error::{Error, ErrorKind};
use crate::io::import::avi::{self, AviFrames};
use crate::io::import::size::{Remedy, check_size};
use crate::io::import::{gif, raster};

/// The most memory a decoder of a film may ask for, in bytes.
const MAX_ALLOCATION: u64 = 2_200_000_000;

/// A film whose frames have been found and not decoded.
#[derive(Clone, Debug)]
pub(super) enum Film {
    /// An animated GIF.
    Gif(gif::GifBlocks),
    /// Motion JPEG in AVI.
    Avi(AviFrames),
}

impl Film {
    /// The film of a GIF with more than one frame; `None` for a still.
    pub(super) fn of_gif(path: &Path, bytes: &[u8]) -> Result<Option<Self>, Error> {
        let Some(found) = gif::walk(bytes) else { return Err(raster::damaged(path, ImageFormat::Gif)) };
        check_size(path, found.size.0, found.size.1, Remedy::Save)?;
        if found.frames >= gif::MAX_FRAMES {
            return Err(too_many(path));
        }
        Ok((found.frames > 1).then_some(Self::Gif(found)))
    }

    /// The film of an AVI file.
    pub(super) fn of_avi(path: &Path, bytes: &[u8]) -> Result<Self, Error> {
        let found = avi::walk(bytes);
        if !found.is_motion_jpeg() {
            let coding: String = found
                .coding
                .unwrap_or_default()
                .iter()
                .map(|sign| char::from(*sign))
                .filter(char::is_ascii_alphanumeric)
                .collect();
            let coded = if coding.is_empty() { String::new() } else { format!(" coded as {coding}") };
            let text = format!(
                "it is an AVI video{coded}, which is not supported; export its frames as images, or the video as motion JPEG"
            );
            return Err(Error::new(ErrorKind::Unsupported, path, text));
        }
        if found.frames.is_empty() {
            let text = "the AVI video holds no whole frame; copy it again";
            return Err(Error::new(ErrorKind::Damaged, path, text));
        }
        if found.frames.len() >= gif::MAX_FRAMES {
            return Err(too_many(path));
        }
        Ok(Self::Avi(found))
    }

    /// How many frames there are, at least 1.
    pub(super) fn frames(&self) -> u32 {
        let count = match self {
            Self::Gif(found) => found.frames,
            Self::Avi(found) => found.frames.len(),
        };
        u32::try_from(count).unwrap_or(u32::MAX).max(1)
    }

    /// How it is written, in words.
    pub(super) const fn coding(&self) -> &'static str {
        match self {
            Self::Gif(_) => "GIF, animated",
            Self::Avi(_) => "AVI, motion JPEG",
        }
    }

    fn frame_time_ms(&self) -> Option<f64> {
        let ms = match self {
            Self::Gif(found) => found.delay.map(|hundredths| 10.0 * f64::from(hundredths)),
            Self::Avi(found) => found.frame_time_ms,
        };
        ms.filter(|ms| (1.0..=60_000.0).contains(ms))
    }

    /// Decodes a frame, counted from 0, which must be one of the film's.
    pub(super) fn frame(
        &self,
        path: &Path,
        bytes: &[u8],
        index: u32,
        digest: &FileDigest,
    ) -> Result<Frame, Error> {
        let frame = match self {
            Self::Gif(found) => {
                let drawn = drawn(path, bytes)?.nth(index as usize);
                of_gif(path, found.size, drawn)?
            }
            Self::Avi(found) => {
                let range = found.frames.get(index as usize).cloned().unwrap_or(0..0);
                let jpeg = avi::with_tables(bytes.get(range).unwrap_or(&[]));
                raster::decode(path, &jpeg, ImageFormat::Jpeg, digest)?
            }
        };
        Ok(self.of_film(frame, digest))
    }

    /// Decodes these frames, which rise and must be the film's, each handed on as it comes. Frames of a GIF are drawn over
    /// those before them, so that each is decoded once and not all of them anew for every one.
    pub(super) fn each_frame(
        &self,
        path: &Path,
        bytes: &[u8],
        (frames, digest): (&[u32], &FileDigest),
        with: &mut dyn FnMut(u32, Frame),
    ) -> Result<(), Error> {
        let Self::Gif(found) = self else {
            return frames.iter().try_for_each(|&index| {
                with(index, self.frame(path, bytes, index, digest)?);
                Ok(())
            });
        };
        let mut drawn = drawn(path, bytes)?;
        let mut next = 0;
        for &index in frames {
            let frame = drawn.nth((index - next) as usize);
            next = index + 1;
            with(index, self.of_film(of_gif(path, found.size, frame)?, digest));
        }
        Ok(())
    }

    /// What every frame of the film says.
    fn of_film(&self, mut frame: Frame, digest: &FileDigest) -> Frame {
        let cut = match self {
            Self::Gif(found) => !found.ended,
            Self::Avi(found) => found.cut,
        };
        if cut {
            frame.warnings.push("The file ends before the last frame is complete.".to_owned());
        }
        frame.digest.clone_from(digest);
        (frame.facts.frames, frame.facts.frame_time_ms) = (self.frames(), self.frame_time_ms());
        frame
    }
}

fn too_many(path: &Path) -> Error {
    let text = format!("it holds {} frames or more; export fewer", gif::MAX_FRAMES);
    Error::new(ErrorKind::TooLarge, path, text)
}

/// The frames of a GIF as they are seen, each drawn over those before it.
fn drawn<'a>(path: &Path, bytes: &'a [u8]) -> Result<Frames<'a>, Error> {
    let damaged = |error: image::ImageError| {
        drop(error);
        raster::damaged(path, ImageFormat::Gif)
    };
    let mut decoder = GifDecoder::new(Cursor::new(bytes)).map_err(damaged)?;
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MAX_ALLOCATION);
    decoder.set_limits(limits).map_err(damaged)?;
    Ok(decoder.into_frames())
}

/// A frame of a GIF, where it could be drawn.
fn of_gif(
    path: &Path,
    (width, height): (u32, u32),
    drawn: Option<ImageResult<image::Frame>>,
) -> Result<Frame, Error> {
    let damaged = || raster::damaged(path, ImageFormat::Gif);
    let drawn = drawn.and_then(Result::ok).ok_or_else(damaged)?;
    let grey = raster::to_grey(path, DynamicImage::ImageRgba8(drawn.into_buffer()))?;
    let mut frame = Frame::of_samples(width, height, grey.samples);
    frame.was_colour = grey.was_colour;
    if grey.see_through {
        frame.warnings.push("The image has transparent areas; they are shown as opaque.".to_owned());
    }
    Ok(frame)
}
