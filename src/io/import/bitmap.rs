//! BMP as gray pictures are saved: 8 bits a pixel, uncompressed, with a palette of 256 grays. Whatever is otherwise, or
//! damaged, is left to the library that reads it all and says what is wrong.

use crate::case::image::frame::Samples;
use crate::io::import::raster::{Grays, RasterGrays};
use crate::io::import::size::fits;

/// Length of the file's header, before that of the picture.
const FILE_HEADER: usize = 14;
/// Lengths of the picture's header in its versions 3, 4 and 5.
const HEADERS: [u32; 3] = [40, 108, 124];
const COLOURS: usize = 256;

/// Reads a file that is so.
pub(super) fn read(bytes: &[u8]) -> Option<Grays> {
    let four = |at: usize| Some(*bytes.get(at..)?.first_chunk::<4>()?);
    let long = |at: usize| four(at).map(u32::from_le_bytes);
    let two = |at: usize| Some(u16::from_le_bytes(*bytes.get(at..)?.first_chunk()?));
    let header = long(FILE_HEADER).filter(|length| HEADERS.contains(length))?;
    let (width, signed_height) = (long(18)?, i32::from_le_bytes(four(22)?));
    let (planes, bits, compression, colours) = (two(26)?, two(28)?, long(30)?, long(46)?);
    if (planes, bits, compression) != (1, 8, 0)
        || !matches!(colours, 0 | 256)
        || i32::try_from(width).is_err()
    {
        return None;
    }
    let height = signed_height.unsigned_abs();
    if !fits(width, height) {
        return None;
    }
    let pixels = u64::from(width) * u64::from(height);
    let palette = FILE_HEADER + header as usize;
    let greys = greys(bytes.get(palette..palette + 4 * COLOURS)?)?;
    let start = long(10)? as usize;
    if start < palette + 4 * COLOURS {
        return None;
    }
    // Rows are filled up to whole words.
    let stride = (width as usize).next_multiple_of(4);
    let rows = bytes.get(start..)?.get(..stride.checked_mul(height as usize)?)?.chunks_exact(stride);
    let rows = rows.map(|row| &row[..width as usize]);
    let mut samples = Vec::with_capacity(usize::try_from(pixels).ok()?);
    let mut take = |row: &[u8]| match &greys {
        None => samples.extend_from_slice(row),
        Some(table) => samples.extend(row.iter().map(|&index| table[usize::from(index)])),
    };
    // The lowest row comes first, unless the height is negative.
    if signed_height > 0 {
        rows.rev().for_each(&mut take)
    } else {
        rows.for_each(&mut take)
    }
    let grey = RasterGrays { samples: Samples::Gray8(samples), was_colour: false, see_through: false };
    Some(Grays { width, height, grey })
}

/// What each index stands for, where all colors are grays; the inner `None` where it stands for itself.
fn greys(palette: &[u8]) -> Option<Option<[u8; COLOURS]>> {
    let mut table = [0; COLOURS];
    for (grey, colour) in table.iter_mut().zip(palette.as_chunks::<4>().0) {
        let [blue, green, red, _] = *colour;
        if blue != green || green != red {
            return None;
        }
        *grey = blue;
    }
    let itself = (0..=u8::MAX).zip(table).all(|(index, grey)| index == grey);
    Some((!itself).then_some(table))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::io::import::raster::to_grey;
    use image::ImageFormat;

    fn file(width: i32, height: i32, grey: impl Fn(u8) -> [u8; 3]) -> Vec<u8> {
        let stride = usize::try_from(width).unwrap().next_multiple_of(4);
        let rows = usize::try_from(height.abs()).unwrap();
        let mut bytes = b"BM".to_vec();
        bytes.extend([0; 8]);
        bytes.extend(1078_u32.to_le_bytes());
        bytes.extend(40_u32.to_le_bytes());
        bytes.extend(width.to_le_bytes());
        bytes.extend(height.to_le_bytes());
        bytes.extend([1, 0, 8, 0]);
        bytes.extend([0; 24]);
        bytes.extend((0..=u8::MAX).flat_map(|index| {
            let [r, g, b] = grey(index);
            [b, g, r, 0]
        }));
        bytes.extend((0..stride * rows).map(|i| (i * 7 % 253).to_le_bytes()[0]));
        bytes
    }

    /// It is read as the library reads it, upside down too, with any palette of grays.
    #[test]
    fn it_reads_what_the_library_reads() {
        for (width, height) in [(8, 5), (9, 6), (11, -7)] {
            for turn in [0, 255] {
                let bytes = file(width, height, |index| [index ^ turn; 3]);
                let quick = read(&bytes).unwrap();
                let library = image::load_from_memory_with_format(&bytes, ImageFormat::Bmp).unwrap();
                assert_eq!((quick.width, quick.height), (library.width(), library.height()));
                let expected = to_grey(Path::new("a"), library).unwrap();
                assert!(quick.grey.samples == expected.samples && !expected.was_colour);
                assert!(read(&bytes[..bytes.len() - 1]).is_none(), "cut short");
            }
        }
    }

    #[test]
    fn colours_are_left_to_the_library() {
        assert!(read(&file(8, 5, |index| [index, 0, index])).is_none());
        assert!(read(b"BM").is_none());
    }

    /// A side that is refused otherwise is not opened here, either.
    #[test]
    fn what_is_too_wide_is_left_to_the_library() {
        assert!(read(&file(16_384, 1, |index| [index; 3])).is_some());
        assert!(read(&file(16_385, 1, |index| [index; 3])).is_none());
    }
}
