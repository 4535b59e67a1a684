//! Rows of a JPEG 2000 image: all of them, or some, for which only what they need is decoded.

use std::ops::Range;

use jpeg2k::{DecodeArea, DecodeParameters, Image};

use crate::io::import::dicom::library::Layout;

/// A JPEG 2000 stream whose size has been checked.
#[derive(Clone, Copy, Debug)]
pub(super) struct CodedImage<'a> {
    /// The stream.
    pub(super) coded: &'a [u8],
    /// The samples that are to come out.
    pub(super) layout: Layout,
    /// Where the image begins on the stream's grid, across and down (ITU-T T.800, B.2).
    pub(super) origin: [u32; 2],
}

impl CodedImage<'_> {
    /// The samples of these rows; `None` if the stream is damaged.
    pub(super) fn rows(&self, rows: &Range<u32>) -> Option<Vec<u8>> {
        let Layout { columns, samples, allocated, .. } = self.layout;
        let image = Image::from_bytes_with(self.coded, self.parameters(rows)?).ok()?;
        let components = image.components();
        let fits = |component: &jpeg2k::ImageComponent| {
            (component.width(), component.height()) == (columns, rows.end - rows.start)
        };
        if components.len() != samples || !components.iter().all(fits) {
            return None;
        }
        let (width, apart) = (allocated as usize / 8, samples * allocated as usize / 8);
        let mut bytes = vec![0; self.layout.row_bytes() * (rows.end - rows.start) as usize];
        for (n, component) in components.iter().enumerate() {
            for (pixel, sample) in bytes.chunks_exact_mut(apart).zip(component.data()) {
                pixel[n * width..(n + 1) * width].copy_from_slice(&sample.to_le_bytes()[..width]);
            }
        }
        Some(bytes)
    }

    /// Whether some of the rows can be decoded without the others. Not where the main header holds what the decoder gets wrong
    /// then (high-throughput blocks come out as other values) or what that was not tried with, nor where the grid's numbers are
    /// too large for it.
    pub(super) fn divides(&self) -> bool {
        let Layout { columns, rows, .. } = self.layout;
        let small =
            |(&from, size): (&u32, u32)| from.checked_add(size).is_some_and(|end| i32::try_from(end).is_ok());
        self.origin.iter().zip([columns, rows]).all(small) && is_usual(self.coded).unwrap_or(false)
    }

    fn parameters(&self, rows: &Range<u32>) -> Option<DecodeParameters> {
        if *rows == (0..self.layout.rows) {
            return Some(DecodeParameters::new());
        }
        if rows.is_empty() || rows.end > self.layout.rows {
            return None;
        }
        let [left, top] = self.origin;
        let (right, bottom) = (left.checked_add(self.layout.columns)?, top.checked_add(rows.end)?);
        let area = DecodeArea::new(left, top + rows.start, right, bottom);
        Some(DecodeParameters::new().decode_area(Some(area)))
    }
}

/// Whether the main header holds only the usual segments, and none of them asks for high-throughput blocks (ITU-T T.800, Annex
/// A, and T.814, Annex A); `None` where it cannot be followed.
fn is_usual(coded: &[u8]) -> Option<bool> {
    const START: [u8; 4] = [0xff, 0x4f, 0xff, 0x51];
    /// Bit 14 of the capabilities: there are further ones in a segment of their own.
    const FURTHER: u16 = 1 << 14;
    /// Bit 6 of a code block's style: coded for high throughput.
    const HIGH_THROUGHPUT: u8 = 1 << 6;
    let two = |at: usize| coded.get(at..)?.first_chunk::<2>().map(|two| u16::from_be_bytes(*two));
    let plain = |at: usize| coded.get(at).map(|style| style & HIGH_THROUGHPUT == 0);
    let mut at = coded.windows(4).position(|four| four == START)? + 2;
    loop {
        let usual = match two(at)? {
            // The first tile's part begins.
            0xff90 => return Some(true),
            // Size.
            0xff51 => two(at + 4)? & FURTHER == 0,
            // Coding of all components, and of one.
            0xff52 => plain(at + 12)?,
            0xff53 => plain(at + 9)?,
            // Quantization of all and of one, lengths of tiles and packets, registration, comment.
            0xff5c | 0xff5d | 0xff55 | 0xff57 | 0xff63 | 0xff64 => true,
            _ => false,
        };
        if !usual {
            return Some(false);
        }
        at += 2 + usize::from(two(at + 2)?.max(2));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRAY: &[u8] = include_bytes!("../../../tests/it/samples/grey-12-bit.j2k");
    const COLOR: &[u8] = include_bytes!("../../../tests/it/samples/colour.j2k");
    const SMOOTH: &[u8] = include_bytes!("../../../tests/it/samples/smooth.j2k");
    const HIGH_THROUGHPUT: &[u8] = include_bytes!("../../../tests/it/samples/smooth-high-throughput.j2c");

    /// A sample as its own head describes it (SIZ, ITU-T T.800, A.5.1).
    fn image(coded: &[u8], samples: usize) -> CodedImage<'_> {
        let four = |at: usize| u32::from_be_bytes(*coded[at..].first_chunk::<4>().unwrap());
        let origin = [four(16), four(20)];
        let layout =
            Layout { columns: four(8) - origin[0], rows: four(12) - origin[1], samples, allocated: 16 };
        CodedImage { coded, layout, origin }
    }

    /// Rows decoded alone are those of the whole image, wherever it is divided.
    #[test]
    fn parts_are_those_of_the_whole() {
        for (coded, samples) in [(GRAY, 1), (COLOR, 3), (SMOOTH, 1)] {
            let image = image(coded, samples);
            let rows = image.layout.rows;
            let whole = image.rows(&(0..rows)).unwrap();
            assert_eq!(whole.len(), image.layout.bytes());
            assert!(image.divides() && rows > 8, "{rows}");
            for cut in [1, 2, 7, rows / 2, rows / 2 + 1, rows - 1] {
                let mut both = image.rows(&(0..cut)).unwrap();
                both.extend(image.rows(&(cut..rows)).unwrap());
                assert!(both == whole, "{samples} {cut} of {rows}");
            }
        }
    }

    /// The decoder gives other values for parts of such a stream, which is why it is not divided.
    #[test]
    fn high_throughput_is_decoded_as_a_whole() {
        let image = image(HIGH_THROUGHPUT, 1);
        assert!(!image.divides());
        assert!(image.rows(&(0..image.layout.rows)).is_some());
        let header = GRAY.windows(2).position(|two| two == [0xff, 0x90]).unwrap();
        assert!(!CodedImage { coded: &GRAY[..header], ..self::image(GRAY, 1) }.divides(), "cut off");
    }

    #[test]
    fn rows_that_are_not_there_and_other_sizes_are_refused() {
        let image = image(GRAY, 1);
        let rows = image.layout.rows;
        assert_eq!(image.rows(&(5..5)), None);
        assert_eq!(image.rows(&(5..rows + 1)), None);
        let wider = Layout { columns: image.layout.columns + 1, ..image.layout };
        assert_eq!(CodedImage { layout: wider, ..image }.rows(&(0..rows)), None);
        assert_eq!(
            CodedImage { layout: Layout { samples: 3, ..image.layout }, ..image }.rows(&(0..rows)),
            None
        );
        assert!(!CodedImage { origin: [0, u32::MAX - 3], ..image }.divides());
        assert_eq!(CodedImage { coded: &GRAY[..20], ..image }.rows(&(0..rows)), None);
    }
}
