//! Native samples to grey samples: the grey pipeline up to stored values, which are kept as they are.

use std::path::Path;

use crate::case::image::frame::Samples;
use crate::io::error::{Error, ErrorKind};
use crate::io::import::dicom::codec::Native;
use crate::io::import::dicom::header::{Colours, Header};
use crate::io::import::dicom::palette::Palette;
use crate::io::import::raster::luma;

/// Grey samples and what is added to them to get stored values.
#[derive(Debug)]
pub(super) struct Grey {
    pub(super) samples: Samples,
    pub(super) stored_offset: i32,
    pub(super) was_colour: bool,
}

/// Bytes of a native frame; `None` if that is more than a machine can count.
pub(super) fn frame_bytes(header: &Header) -> Option<usize> {
    let bits = header.pixels().checked_mul(header.samples)?.checked_mul(header.allocated as usize)?;
    // Chrominances that serve two pixels.
    let bits = if header.colours == Colours::Ybr422 { bits / 3 * 2 } else { bits };
    Some(bits.div_ceil(8))
}

/// Grey samples of a frame.
pub(super) fn to_grey(path: &Path, native: &Native<'_>, palette: Option<&Palette>) -> Result<Grey, Error> {
    let header = &native.header;
    let plain = |samples, stored_offset| Grey { samples, stored_offset, was_colour: false };
    let too_short = || {
        let text = "the file ends before the image is complete; copy it again";
        Error::new(ErrorKind::Damaged, path, text)
    };
    let needed = frame_bytes(header).ok_or_else(too_short)?;
    let bytes = native.bytes.get(..needed).ok_or_else(too_short)?;
    match header.colours {
        Colours::Grey { .. } => match header.allocated {
            1 => Ok(plain(Samples::Gray8(bits(bytes, header.pixels())), 0)),
            8 => Ok(narrow(bytes, header)),
            16 => Ok(words(bytes, header)),
            _ => long_words(path, bytes, header),
        },
        Colours::Palette => {
            let Some(palette) = palette else {
                let text = "its color palette is missing or damaged; export it as grayscale";
                return Err(Error::new(ErrorKind::Damaged, path, text));
            };
            let indices = stored_words(bytes, header);
            let samples = palette.greys(&indices);
            Ok(Grey { samples, stored_offset: 0, was_colour: palette.is_colour() })
        }
        Colours::Rgb | Colours::Ybr | Colours::Ybr422 => Ok(colours(bytes, header)),
    }
}

/// One bit a pixel, the lowest bit of a byte first.
fn bits(bytes: &[u8], pixels: usize) -> Vec<u8> {
    bytes.iter().flat_map(|byte| (0..8).map(move |bit| (byte >> bit) & 1)).take(pixels).collect()
}

/// The bits of a sample that are stored, moved down; signed values are counted from the lowest one.
#[derive(Clone, Copy)]
struct StoredBits {
    shift: u32,
    mask: u32,
    flip: u32,
}

impl StoredBits {
    fn of(header: &Header) -> Self {
        let mask = if header.stored >= 32 { u32::MAX } else { (1 << header.stored) - 1 };
        let flip = if header.signed { 1 << (header.stored - 1) } else { 0 };
        Self { shift: header.high_bit + 1 - header.stored, mask, flip }
    }

    const fn pick(self, raw: u32) -> u32 {
        ((raw >> self.shift) & self.mask) ^ self.flip
    }

    /// The same of words, for as many bits as they have.
    #[expect(clippy::cast_possible_truncation, reason = "of a word no more than 16 bits are stored")]
    fn pick_words(self, bytes: &[u8]) -> Vec<u16> {
        let (shift, mask, flip) = (self.shift, self.mask as u16, self.flip as u16);
        let words = bytes.as_chunks::<2>().0.iter().map(|word| u16::from_le_bytes(*word));
        words.map(|raw| ((raw >> shift) & mask) ^ flip).collect()
    }

    /// What is added to a picked value to get the stored value.
    fn offset(self) -> i64 {
        -i64::from(self.flip)
    }
}

fn offset16(pick: StoredBits) -> i32 {
    i32::try_from(pick.offset()).unwrap_or(i32::MIN)
}

fn narrow(bytes: &[u8], header: &Header) -> Grey {
    let pick = StoredBits::of(header);
    let table: Vec<u8> = (0..=255_u32).map(|raw| u8::try_from(pick.pick(raw)).unwrap_or(u8::MAX)).collect();
    let samples = bytes.iter().map(|&byte| table[usize::from(byte)]).collect();
    Grey { samples: Samples::Gray8(samples), stored_offset: offset16(pick), was_colour: false }
}

/// Two bytes a sample, as counts from the lowest storable value.
fn stored_words(bytes: &[u8], header: &Header) -> Vec<u16> {
    let pick = StoredBits::of(header);
    if header.allocated == 8 {
        let picked = |raw: u32| u16::try_from(pick.pick(raw)).unwrap_or(u16::MAX);
        return bytes.iter().map(|&byte| picked(u32::from(byte))).collect();
    }
    pick.pick_words(bytes)
}

fn words(bytes: &[u8], header: &Header) -> Grey {
    let values = stored_words(bytes, header);
    let stored_offset = offset16(StoredBits::of(header));
    let samples = if header.stored <= 8 {
        Samples::Gray8(values.into_iter().map(|value| u8::try_from(value).unwrap_or(u8::MAX)).collect())
    } else {
        Samples::Gray16(values)
    };
    Grey { samples, stored_offset, was_colour: false }
}

/// Four bytes a sample: kept exactly where the values that occur lie within 16 bits of each other.
fn long_words(path: &Path, bytes: &[u8], header: &Header) -> Result<Grey, Error> {
    let pick = StoredBits::of(header);
    let values = || {
        bytes.chunks_exact(4).filter_map(|b| {
            b.first_chunk().map(|b| i64::from(pick.pick(u32::from_le_bytes(*b))) + pick.offset())
        })
    };
    let low = values().min().unwrap_or(0);
    let samples: Option<Vec<u16>> = values().map(|value| u16::try_from(value - low).ok()).collect();
    let (Some(samples), Ok(stored_offset)) = (samples, i32::try_from(low)) else {
        let text = "its values span more than 16 bits, which is not supported; export it as 16-bit grayscale";
        return Err(Error::new(ErrorKind::Unsupported, path, text));
    };
    Ok(Grey { samples: Samples::Gray16(samples), stored_offset, was_colour: false })
}

/// Luma of colours, as for other pictures.
fn colours(bytes: &[u8], header: &Header) -> Grey {
    let pixels = header.pixels();
    let values = stored_words(bytes, header);
    let scale = f64::from(StoredBits::of(header).mask);
    let at = |pixel: usize, sample: usize| {
        let index = match header.colours {
            // Two luminances, then the pair of chrominances (PS3.3 C.7.6.3.1.2).
            Colours::Ybr422 if sample == 0 => pixel / 2 * 4 + pixel % 2,
            Colours::Ybr422 => pixel / 2 * 4 + 1 + sample,
            _ if header.planes => sample * pixels + pixel,
            _ => 3 * pixel + sample,
        };
        u32::from(values.get(index).copied().unwrap_or(0))
    };
    let mut was_colour = false;
    let mut greys = Vec::with_capacity(pixels);
    for pixel in 0..pixels {
        let parts = [at(pixel, 0), at(pixel, 1), at(pixel, 2)];
        let [red, green, blue] = match header.colours {
            Colours::Ybr | Colours::Ybr422 => to_rgb(parts, scale),
            _ => parts,
        };
        was_colour |= red != green || green != blue;
        greys.push(luma(red, green, blue));
    }
    let samples = if header.stored <= 8 {
        Samples::Gray8(greys.into_iter().map(|value| u8::try_from(value).unwrap_or(u8::MAX)).collect())
    } else {
        Samples::Gray16(greys.into_iter().map(|value| u16::try_from(value).unwrap_or(u16::MAX)).collect())
    };
    Grey { samples, stored_offset: 0, was_colour }
}

/// The inverse of the transform of PS3.3 C.7.6.3.1.2 (YBR_FULL), rounded and cut to what a sample holds.
fn to_rgb([y, cb, cr]: [u32; 3], scale: f64) -> [u32; 3] {
    let middle = f64::midpoint(scale, 1.0);
    let (y, cb, cr) = (f64::from(y), f64::from(cb) - middle, f64::from(cr) - middle);
    [y + 1.402 * cr, y - (0.114 * 1.772 / 0.587) * cb - (0.299 * 1.402 / 0.587) * cr, y + 1.772 * cb].map(
        |value| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "cut to a sample")]
            let value = value.round().clamp(0.0, scale) as u32;
            value
        },
    )
}

#[cfg(test)]
mod tests {
    use std::borrow::Cow;

    use super::*;

    fn header(allocated: u32, stored: u32, high_bit: u32, signed: bool) -> Header {
        let colours = Colours::Grey { inverted: false };
        Header {
            columns: 2,
            rows: 2,
            frames: 1,
            samples: 1,
            allocated,
            stored,
            high_bit,
            signed,
            planes: false,
            colours,
        }
    }

    fn grey(header: Header, bytes: &[u8]) -> Grey {
        let native = Native { bytes: Cow::Borrowed(bytes), header, warnings: Vec::new() };
        to_grey(Path::new("a"), &native, None).unwrap()
    }

    fn stored(grey: &Grey) -> Vec<i32> {
        let values: Vec<i32> = match &grey.samples {
            Samples::Gray8(values) => values.iter().map(|&v| i32::from(v)).collect(),
            Samples::Gray16(values) => values.iter().map(|&v| i32::from(v)).collect(),
        };
        values.iter().map(|value| value + grey.stored_offset).collect()
    }

    fn word_bytes(values: [u16; 4]) -> Vec<u8> {
        values.iter().flat_map(|value| value.to_le_bytes()).collect()
    }

    #[test]
    fn signed_values_of_12_and_13_bits_extend_their_sign() {
        // 12 bits: 0xfff is −1 whether or not the unused bits repeat the sign.
        let bytes = word_bytes([0x0fff, 0xffff, 0x0800, 0x07ff]);
        assert_eq!(stored(&grey(header(16, 12, 11, true), &bytes)), [-1, -1, -2048, 2047]);
        let bytes = word_bytes([0x1fff, 0x1000, 0x0fff, 0]);
        assert_eq!(stored(&grey(header(16, 13, 12, true), &bytes)), [-1, -4096, 4095, 0]);
        assert_eq!(stored(&grey(header(16, 12, 11, false), &word_bytes([0xffff, 1, 2, 3]))), [4095, 1, 2, 3]);
        assert_eq!(stored(&grey(header(8, 8, 7, true), &[0xff, 0x80, 0x7f, 0])), [-1, -128, 127, 0]);
    }

    #[test]
    fn bits_beside_the_stored_ones_are_left_out() {
        // 12 bits stored in the upper part of a word, an overlay in the lower four.
        let bytes = word_bytes([0x123f, 0x0010, 0xfff0, 0]);
        assert_eq!(stored(&grey(header(16, 12, 15, false), &bytes)), [0x123, 1, 0xfff, 0]);
    }

    #[test]
    fn order_is_kept_and_long_values_that_fit_are_exact() {
        let bytes: Vec<u8> =
            [-70_000_i32, -69_999, -5000, -70_000].iter().flat_map(|v| v.to_le_bytes()).collect();
        let found = grey(header(32, 32, 31, true), &bytes);
        assert_eq!(stored(&found), [-70_000, -69_999, -5000, -70_000]);
        let wide: Vec<u8> = [0_u32, 1 << 20, 0, 0].iter().flat_map(|v| v.to_le_bytes()).collect();
        let native =
            Native { bytes: Cow::Owned(wide), header: header(32, 32, 31, false), warnings: Vec::new() };
        assert_eq!(to_grey(Path::new("a"), &native, None).unwrap_err().kind, ErrorKind::Unsupported);
    }

    #[test]
    fn single_bits_are_unpacked_from_the_lowest() {
        let found = grey(header(1, 1, 0, false), &[0b0000_0110]);
        assert_eq!(stored(&found), [0, 1, 1, 0]);
    }

    #[test]
    fn colours_become_luma_from_every_layout() {
        let red = [255, 0, 0];
        let rgb = Header { samples: 3, colours: Colours::Rgb, ..header(8, 8, 7, false) };
        let by_pixel: Vec<u8> = red.repeat(4);
        let by_plane: Vec<u8> = [[255; 4], [0; 4], [0; 4]].concat();
        let want = i32::try_from(luma(255, 0, 0)).unwrap();
        assert_eq!(stored(&grey(rgb, &by_pixel)), [want; 4]);
        assert_eq!(stored(&grey(Header { planes: true, ..rgb }, &by_plane)), [want; 4]);
        // Pure red in YBR_FULL by the standard's matrix: Y 76, Cb 85, Cr 255.
        let ybr = Header { colours: Colours::Ybr, ..rgb };
        let found = stored(&grey(ybr, &[76, 85, 255].repeat(4)));
        assert!(found.iter().all(|value| (value - want).abs() <= 1), "{found:?}");
        let halved = Header { colours: Colours::Ybr422, ..rgb };
        assert_eq!(stored(&grey(halved, &[10, 20, 128, 128, 30, 40, 128, 128])), [10, 20, 30, 40]);
    }
}
