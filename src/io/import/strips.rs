//! TIFF as scanners and frame grabbers write it: strips of gray samples of 8 or 16 bits, plain, LZW or deflate, decoded on all
//! cores straight into the frame. Whatever is otherwise, or damaged, is left to the library that reads it all and says what is wrong.

use std::io::Cursor;

use flate2::{Decompress, FlushDecompress, Status};
use rayon::prelude::*;
use tiff::decoder::Decoder;
use tiff::tags::{ByteOrder, CompressionMethod, Tag};
use weezl::{BitOrder, LzwStatus};

use crate::case::image::frame::Samples;
use crate::io::import::raster::{Grays, RasterGrays};
use crate::io::import::size::fits;

/// How a file's strips are laid out.
#[derive(Debug)]
struct Strips<'a> {
    bytes: &'a [u8],
    big_endian: bool,
    coding: StripCoding,
    /// Whether samples are differences from their left neighbours (section 14).
    differences: bool,
    width: usize,
    rows_a_strip: usize,
    offsets: Vec<u64>,
    counts: Vec<u64>,
}

/// How a strip's bytes are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum StripCoding {
    Plain,
    Lzw,
    Deflate,
}

/// Plain samples are taken over in blocks of so many bytes.
const BLOCK: usize = 64;
/// So many blocks, at least, are taken over by one core at a time.
const PIECE: usize = 1 << 12;

/// Reads a file that is so.
pub(super) fn read(bytes: &[u8]) -> Option<Grays> {
    let mut decoder = Decoder::new(Cursor::new(bytes)).ok()?;
    let (width, height) = decoder.dimensions().ok()?;
    let big_endian = matches!(decoder.byte_order(), ByteOrder::BigEndian);
    let mut numbers =
        |tag: Tag| decoder.find_tag_unsigned_vec::<u64>(tag).ok().map(Option::unwrap_or_default);
    // One sample a pixel, unsigned, the highest bit and the upper left corner first: what holds where nothing is said, too.
    for tag in [Tag::SamplesPerPixel, Tag::FillOrder, Tag::Orientation, Tag::SampleFormat] {
        if !matches!(numbers(tag)?.as_slice(), [] | [1]) {
            return None;
        }
    }
    if !numbers(Tag::TileWidth)?.is_empty() || numbers(Tag::PhotometricInterpretation)? != [1] {
        return None;
    }
    let compression = numbers(Tag::Compression)?;
    let is = |method: CompressionMethod| compression == [u64::from(method.to_u16())];
    let coding = if is(CompressionMethod::None) {
        StripCoding::Plain
    } else if is(CompressionMethod::LZW) {
        StripCoding::Lzw
    } else if is(CompressionMethod::Deflate) || is(CompressionMethod::OldDeflate) {
        StripCoding::Deflate
    } else {
        return None;
    };
    let differences = match numbers(Tag::Predictor)?.first() {
        None | Some(1) => false,
        Some(2) => true,
        Some(_) => return None,
    };
    let rows = numbers(Tag::RowsPerStrip)?.first().map_or(height, |&n| u32::try_from(n).unwrap_or(height));
    let (offsets, counts) = (numbers(Tag::StripOffsets)?, numbers(Tag::StripByteCounts)?);
    let bits = numbers(Tag::BitsPerSample)?;
    let rows = rows.clamp(1, height.max(1));
    let pixels = u64::from(width) * u64::from(height);
    let strips = height.div_ceil(rows) as usize;
    if !fits(width, height) || (offsets.len(), counts.len()) != (strips, strips) {
        return None;
    }
    let (width_px, rows_a_strip) = (width as usize, rows as usize);
    let strips =
        Strips { bytes, big_endian, coding, differences, width: width_px, rows_a_strip, offsets, counts };
    let size = usize::try_from(pixels).ok()?;
    let samples = match bits.as_slice() {
        [8] => Samples::Gray8(strips.narrow(size)?),
        [16] => Samples::Gray16(strips.wide(size)?),
        _ => return None,
    };
    let grey = RasterGrays { samples, was_colour: false, see_through: false };
    Some(Grays { width, height, grey })
}

impl Strips<'_> {
    /// The bytes of `size` samples as they stand in the file, where they are plain, every strip is full and nothing lies between them.
    fn plain(&self, size: usize, bytes_a_sample: usize) -> Option<&[u8]> {
        if self.coding != StripCoding::Plain || self.differences {
            return None;
        }
        let start = usize::try_from(*self.offsets.first()?).ok()?;
        let whole = self.bytes.get(start..start.checked_add(bytes_a_sample * size)?)?;
        let mut strips = whole.chunks(bytes_a_sample * self.width * self.rows_a_strip).enumerate();
        strips
            .all(|(index, strip)| self.strip(index).is_some_and(|said| std::ptr::eq(said, strip)))
            .then_some(whole)
    }

    /// Samples of 8 bits.
    fn narrow(&self, size: usize) -> Option<Vec<u8>> {
        if let Some(plain) = self.plain(size, 1) {
            return Some(in_blocks(plain, size, |block| *block));
        }
        let mut samples = vec![0_u8; size];
        let strips = samples.par_chunks_mut(self.width * self.rows_a_strip).enumerate();
        strips
            .map(|(index, out)| {
                self.decode(self.strip(index)?, out)?;
                self.sum_up(out, u8::wrapping_add);
                Some(())
            })
            .collect::<Option<()>>()?;
        Some(samples)
    }

    /// Samples of 16 bits, in the file's order of bytes.
    fn wide(&self, size: usize) -> Option<Vec<u16>> {
        if let Some(plain) = self.plain(size, 2) {
            return Some(if self.big_endian {
                in_blocks(plain, size, |block| numbers(block, u16::from_be_bytes))
            } else {
                in_blocks(plain, size, |block| numbers(block, u16::from_le_bytes))
            });
        }
        let mut samples = vec![0_u16; size];
        let strips = samples.par_chunks_mut(self.width * self.rows_a_strip).enumerate();
        strips
            .map_init(Vec::new, |bytes, (index, out)| {
                let coded = self.strip(index)?;
                let whole = 2 * out.len();
                let plain = match self.coding {
                    StripCoding::Plain => Some(coded).filter(|coded| coded.len() == whole)?,
                    StripCoding::Lzw | StripCoding::Deflate => {
                        bytes.resize(whole, 0_u8);
                        self.decode(coded, bytes)?;
                        bytes
                    }
                };
                let pairs = plain.as_chunks::<2>().0.iter();
                if self.big_endian {
                    out.iter_mut().zip(pairs).for_each(|(value, pair)| *value = u16::from_be_bytes(*pair));
                } else {
                    out.iter_mut().zip(pairs).for_each(|(value, pair)| *value = u16::from_le_bytes(*pair));
                }
                self.sum_up(out, u16::wrapping_add);
                Some(())
            })
            .collect::<Option<()>>()?;
        Some(samples)
    }

    /// Makes samples of differences, row by row, where the file holds those.
    fn sum_up<T: Copy + Default>(&self, samples: &mut [T], plus: impl Fn(T, T) -> T) {
        if !self.differences {
            return;
        }
        for row in samples.chunks_mut(self.width) {
            let mut left = T::default();
            for value in row {
                left = plus(left, *value);
                *value = left;
            }
        }
    }

    /// The bytes of a strip as they stand in the file.
    fn strip(&self, index: usize) -> Option<&[u8]> {
        let start = usize::try_from(*self.offsets.get(index)?).ok()?;
        let count = usize::try_from(*self.counts.get(index)?).ok()?;
        self.bytes.get(start..start.checked_add(count)?)
    }

    /// Decodes a strip, which must fill what it is decoded into.
    fn decode(&self, coded: &[u8], out: &mut [u8]) -> Option<()> {
        let filled = match self.coding {
            StripCoding::Plain => {
                out.get_mut(..coded.len())?.copy_from_slice(coded);
                coded.len()
            }
            StripCoding::Deflate => inflate(coded, out)?,
            StripCoding::Lzw => unpack(coded, out)?,
        };
        (filled == out.len()).then_some(())
    }
}

/// Takes over plain samples block by block, on all cores, into memory that nothing was written to before.
fn in_blocks<T: Copy + Send, const N: usize>(
    plain: &[u8],
    size: usize,
    samples: impl Fn(&[u8; BLOCK]) -> [T; N] + Sync,
) -> Vec<T> {
    let (blocks, rest) = plain.as_chunks::<BLOCK>();
    let mut taken = Vec::with_capacity(blocks.len() + 1);
    blocks.par_iter().with_min_len(PIECE).map(&samples).collect_into_vec(&mut taken);
    let mut last = [0; BLOCK];
    last.iter_mut().zip(rest).for_each(|(to, from)| *to = *from);
    taken.push(samples(&last));
    let mut taken = taken.into_flattened();
    taken.truncate(size);
    taken
}

/// A block's bytes as numbers of 16 bits.
fn numbers(block: &[u8; BLOCK], number: impl Fn([u8; 2]) -> u16) -> [u16; BLOCK / 2] {
    let mut found = [0; BLOCK / 2];
    found.iter_mut().zip(block.as_chunks::<2>().0).for_each(|(value, pair)| *value = number(*pair));
    found
}

fn inflate(coded: &[u8], out: &mut [u8]) -> Option<usize> {
    let mut stream = Decompress::new(true);
    let status = stream.decompress(coded, out, FlushDecompress::Finish).ok()?;
    if status != Status::StreamEnd {
        return None;
    }
    usize::try_from(stream.total_out()).ok()
}

/// LZW, but not that of before 1988, with the lowest bit first, which its first code gives away.
fn unpack(coded: &[u8], out: &mut [u8]) -> Option<usize> {
    match coded {
        [0, second, ..] if second & 1 == 1 => None,
        _ => {
            let mut decoder = weezl::decode::Decoder::with_tiff_size_switch(BitOrder::Msb, 8);
            let (mut rest, mut filled) = (coded, 0);
            while filled < out.len() {
                let done = decoder.decode_bytes(rest, out.get_mut(filled..)?);
                (rest, filled) = (rest.get(done.consumed_in..)?, filled + done.consumed_out);
                match done.status {
                    Ok(LzwStatus::Ok) if done.consumed_in + done.consumed_out > 0 => {}
                    Ok(LzwStatus::Done) => break,
                    _ => return None,
                }
            }
            Some(filled)
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use image::ImageFormat;

    /// A file with one directory; `ends` is `II` or `MM`.
    fn file(ends: &[u8; 2], entries: &[(u16, u32)], strips: &[Vec<u8>]) -> Vec<u8> {
        let big = ends == b"MM";
        let short = |v: u16| if big { v.to_be_bytes() } else { v.to_le_bytes() };
        let long = |v: u32| if big { v.to_be_bytes() } else { v.to_le_bytes() };
        let mut bytes = [&ends[..], &short(42), &long(8)].concat();
        let count = entries.len() + 2;
        let lists = 8 + 2 + 12 * count + 4;
        let data = lists + 8 * strips.len();
        let n = u32::try_from(strips.len()).unwrap();
        let at = |x: usize| u32::try_from(x).unwrap();
        let mut all: Vec<(u16, u32, u32)> = entries.iter().map(|&(tag, value)| (tag, 1, value)).collect();
        // A single number stands in its entry itself, and what is pointed at is not asked for.
        let of_one = |number: usize, list: usize| at(if strips.len() == 1 { number } else { list });
        all.push((273, n, of_one(data, lists)));
        all.push((279, n, of_one(strips[0].len(), lists + 4 * strips.len())));
        all.sort_unstable();
        bytes.extend(short(u16::try_from(count).unwrap()));
        for (tag, n, value) in all {
            bytes.extend([&short(tag)[..], &short(4), &long(n), &long(value)].concat());
        }
        bytes.extend(long(0));
        let mut next = data;
        for strip in strips {
            bytes.extend(long(at(next)));
            next += strip.len();
        }
        strips.iter().for_each(|strip| bytes.extend(long(at(strip.len()))));
        strips.iter().for_each(|strip| bytes.extend(strip));
        bytes
    }

    fn deflated(bytes: &[u8]) -> Vec<u8> {
        use std::io::Write as _;
        let mut writer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::fast());
        writer.write_all(bytes).unwrap();
        writer.finish().unwrap()
    }

    /// Codes of 9 bits only: a clear code after every 200 bytes.
    fn packed(bytes: &[u8]) -> Vec<u8> {
        let codes = bytes
            .chunks(200)
            .flat_map(|some| std::iter::once(256_u16).chain(some.iter().map(|&byte| u16::from(byte))));
        let bits: Vec<bool> = codes
            .chain(std::iter::once(257))
            .flat_map(|code| (0..9).rev().map(move |i| code >> i & 1 == 1))
            .collect();
        bits.chunks(8)
            .map(|bits| (0..8).map(|i| u8::from(*bits.get(i).unwrap_or(&false)) << (7 - i)).sum())
            .collect()
    }

    /// Every layout that is read here is read as the library reads it.
    #[test]
    fn it_reads_what_the_library_reads() {
        let (width, height, rows) = (37_u32, 25_u32, 8_usize);
        let mut seen = 0;
        for (ends, bits, predictor, coding) in [b"II", b"MM"].into_iter().flat_map(|ends| {
            [8_u32, 16].into_iter().flat_map(move |bits| {
                [1_u32, 2].into_iter().flat_map(move |p| [1_u32, 5, 8].map(|coding| (ends, bits, p, coding)))
            })
        }) {
            let row = (width * bits / 8) as usize;
            let pixels: Vec<u8> =
                (0..row * height as usize).map(|i| (i * i % 251).to_le_bytes()[0]).collect();
            let strips: Vec<Vec<u8>> = pixels
                .chunks(row * rows)
                .map(|strip| match coding {
                    1 => strip.to_vec(),
                    5 => packed(strip),
                    _ => deflated(strip),
                })
                .collect();
            let entries = [
                (256, width),
                (257, height),
                (258, bits),
                (259, coding),
                (262, 1),
                (277, 1),
                (278, 8),
                (317, predictor),
            ];
            let bytes = file(ends, &entries, &strips);
            let quick = read(&bytes).unwrap_or_else(|| panic!("{ends:?} {bits} {predictor} {coding}"));
            let by_library = image::load_from_memory_with_format(&bytes, ImageFormat::Tiff).unwrap();
            let expected = crate::io::import::raster::to_grey(Path::new("a"), by_library).unwrap();
            assert!(quick.grey.samples == expected.samples, "{ends:?} {bits} {predictor} {coding}");
            seen += 1;
            // What is cut short or torn is left to the library.
            assert!(read(&bytes[..bytes.len() - 9]).is_none());
            let mut torn = bytes.clone();
            let at = bytes.len() - strips[3].len();
            torn[at] ^= 0xff;
            let _ = read(&torn);
        }
        assert_eq!(seen, 24);
    }

    /// Plain strips that follow each other are taken over in blocks, the last one smaller, to the last byte; others one by one.
    #[test]
    fn plain_strips_are_taken_over_in_blocks() {
        let (width, height) = (1500_u32, 301_u32);
        let pixels: Vec<u8> = (0..2 * width * height).map(|i| (i % 251).to_le_bytes()[0]).collect();
        let entries = [(256, width), (257, height), (258, 16), (259, 1), (262, 1), (277, 1), (278, height)];
        let bytes = file(b"II", &entries, std::slice::from_ref(&pixels));
        let Samples::Gray16(found) = read(&bytes).unwrap().grey.samples else { panic!("16 bits") };
        let expected = pixels.as_chunks::<2>().0.iter().map(|pair| u16::from_le_bytes(*pair));
        assert!(found.into_iter().eq(expected));
        assert!(read(&bytes[..bytes.len() - 1]).is_none());
        // Two strips of rows, with nothing between them and with four bytes.
        let (width, height) = (33_u32, 10_u32);
        let pixels: Vec<u8> = (0..width * height).map(|i| (i * 7 % 251).to_le_bytes()[0]).collect();
        let entries = [(256, width), (257, height), (258, 8), (259, 1), (262, 1), (277, 1), (278, 6)];
        let (upper, lower) = pixels.split_at(6 * width as usize);
        let together = file(b"MM", &entries, &[upper.to_vec(), lower.to_vec()]);
        let mut apart = file(b"MM", &entries, &[[upper, &[9; 4]].concat(), lower.to_vec()]);
        // The first strip's count, which counts those four bytes: of two offsets and two counts the third number.
        let counts = 8 + 2 + 12 * (entries.len() + 2) + 4 + 8;
        apart[counts..counts + 4].copy_from_slice(&(6 * width).to_be_bytes());
        for bytes in [together, apart] {
            assert!(read(&bytes).unwrap().grey.samples == Samples::Gray8(pixels.clone()));
        }
    }
}
