//! Coded frames to native samples. What a stream says of itself is compared with what the file says before a
//! decoder sees it: decoders trust one of them and panic, or reserve memory, where the other lies.

use std::borrow::Cow;
use std::io::Cursor;
use std::path::Path;

use image::codecs::jpeg::JpegDecoder;
use image::{DynamicImage, ImageError};

use crate::io::error::{Error, ErrorKind};
use crate::io::import::apart::{self, ApartFault};
use crate::io::import::dicom::header::{Colours, Header};
use crate::io::import::dicom::library::{self, Layout, Process};
use crate::io::import::dicom::syntax::{Coding, Syntax};
use crate::io::import::dicom::{jpeg_2000, jpeg_ls, rle, walk};
use crate::io::import::entropy::{self, Health};
use crate::io::import::jpeg;
use crate::io::import::jpeg_2000_rows::CodedImage;

/// The largest number of pixels of a coded frame: decoders keep several copies of it.
const MAX_CODED_PIXELS: usize = 64_000_000;
/// What is said of a stream whose parts do not fit each other.
const DOUBT: &str = "The compressed image data are damaged, so parts of the image may be wrong. Copy or export the file again.";
/// A frame is not thought to shrink by more than this.
const MAX_RATIO: usize = 2_000;

/// A frame's samples as a decoder gives them, little endian, pixel by pixel unless `planes`.
#[derive(Debug)]
pub(super) struct Native<'a> {
    /// The samples.
    pub(super) bytes: Cow<'a, [u8]>,
    /// Their layout, which a decoder may have changed.
    pub(super) header: Header,
    /// What should be known of the stream; whole sentences.
    pub(super) warnings: Vec<String>,
}

/// Whether a sample of an unsigned stream is larger than its bits allow, as only damaged codes make it.
fn exceeds(native: &Native<'_>, bits: u32) -> bool {
    let most = (1_u32 << bits.min(16)) - 1;
    !native.header.signed
        && native.header.allocated == 16
        && native.bytes.chunks_exact(2).any(|pair| u32::from(u16::from_le_bytes([pair[0], pair[1]])) > most)
}

/// Decodes one frame.
pub(super) fn decode<'a>(
    path: &Path,
    syntax: Syntax,
    header: Header,
    coded: Cow<'a, [u8]>,
) -> Result<Native<'a>, Error> {
    if header.allocated == 1
        && !matches!(syntax.coding, Coding::Native | Coding::InFragments | Coding::DeflatedFrames)
    {
        let text = format!(
            "its one-bit samples are coded as {}, which is not supported; export it as 8- or 16-bit grayscale",
            syntax.name
        );
        return Err(Error::new(ErrorKind::Unsupported, path, text));
    }
    let job = CodecJob { path, syntax, header };
    match syntax.coding {
        Coding::Native | Coding::InFragments => Ok(job.native(coded)),
        Coding::DeflatedFrames => {
            let bytes = header.pixels() * header.samples * 4;
            let limit = u64::try_from(bytes).unwrap_or(u64::MAX).min(walk::MAX_INFLATED);
            let bytes = walk::inflate(&coded, limit).map_err(|fault| {
                drop(fault);
                job.damaged()
            })?;
            Ok(job.native(Cow::Owned(bytes)))
        }
        Coding::Rle => {
            let sample = header.allocated as usize / 8;
            let bytes =
                rle::decode(&coded, header.pixels(), header.samples, sample).ok_or_else(|| job.damaged())?;
            let header = Header { planes: false, ..header };
            Ok(Native { bytes: Cow::Owned(bytes), header, warnings: Vec::new() })
        }
        // What the stream is, it says itself; files name one process and use another.
        Coding::Jpeg | Coding::JpegLs | Coding::Jpeg2000 => {
            let jpeg_2000 = find_j2k(&coded);
            if let Some(at) = jpeg_2000 {
                job.jpeg_2000(&coded, at)
            } else if let Some(stream) = jpeg_ls::look(&coded) {
                job.jpeg_ls(&coded, stream)
            } else {
                job.jpeg(coded)
            }
        }
        Coding::NotRead => Err(not_read(path, syntax)),
    }
}

/// The refusal of a syntax that is not read.
pub(super) fn not_read(path: &Path, syntax: Syntax) -> Error {
    let text = format!(
        "its pixels are coded as {}, which is not supported; export it uncompressed or as JPEG 2000",
        syntax.name
    );
    Error::new(ErrorKind::Unsupported, path, text)
}

/// Where a JPEG 2000 stream begins, bare or in a JP2 file.
fn find_j2k(coded: &[u8]) -> Option<usize> {
    const START: [u8; 4] = [0xff, 0x4f, 0xff, 0x51];
    if coded.starts_with(&START) {
        return Some(0);
    }
    let boxed = coded.starts_with(b"\0\0\0\x0cjP  ");
    boxed.then(|| coded.windows(4).position(|four| four == START)).flatten()
}

struct CodecJob<'p> {
    path: &'p Path,
    syntax: Syntax,
    header: Header,
}

impl CodecJob<'_> {
    fn damaged(&self) -> Error {
        let text = format!("its {} pixels are damaged; copy or export the file again", self.syntax.name);
        Error::new(ErrorKind::Damaged, self.path, text)
    }

    fn unsupported(&self, what: &str) -> Error {
        let text = format!("its pixels are {what}, which is not supported; export it uncompressed");
        Error::new(ErrorKind::Unsupported, self.path, text)
    }

    fn native<'a>(&self, bytes: Cow<'a, [u8]>) -> Native<'a> {
        Native { bytes, header: self.header, warnings: Vec::new() }
    }

    /// Refuses a stream of another size than the file's, and one that is too large to be decoded safely.
    fn check(&self, columns: usize, rows: usize, components: usize, coded: usize) -> Result<(), Error> {
        let header = &self.header;
        if (columns, rows) != (header.columns as usize, header.rows as usize) {
            let text = format!(
                "the file states {} × {} pixels, its {} stream {columns} × {rows}; export it again",
                header.columns, header.rows, self.syntax.name
            );
            return Err(Error::new(ErrorKind::Damaged, self.path, text));
        }
        if components != header.samples {
            let text = format!(
                "the file states {} samples per pixel, its {} stream {components}; export it again",
                header.samples, self.syntax.name
            );
            return Err(Error::new(ErrorKind::Damaged, self.path, text));
        }
        let pixels = header.pixels();
        if pixels > MAX_CODED_PIXELS || (pixels > 1 << 20 && coded < pixels / MAX_RATIO) {
            let text = format!(
                "decoding {columns} × {rows} pixels from {coded} bytes of {} would take more memory than allowed; export it uncompressed",
                self.syntax.name
            );
            return Err(Error::new(ErrorKind::TooLarge, self.path, text));
        }
        Ok(())
    }

    fn jpeg<'a>(&self, coded: Cow<'a, [u8]>) -> Result<Native<'a>, Error> {
        let found = jpeg::walk(&coded);
        let (Some(process), Some(bits), Some((rows, columns)), Some(components)) =
            (found.process, found.precision, found.size, found.components)
        else {
            return Err(self.damaged());
        };
        match process {
            0xc0..=0xc2 if bits == 8 => {}
            0xc3 if (2..=16).contains(&bits) => {}
            0xc0..=0xc2 => {
                return Err(self.unsupported(&format!("JPEG extended with {bits} bits per sample")));
            }
            _ => return Err(self.unsupported("coded by a rarely used JPEG process")),
        }
        self.check(usize::from(columns), usize::from(rows), usize::from(components), coded.len())?;
        let mut coded = coded.into_owned();
        if self.header.colours == Colours::Rgb && components == 3 && !found.tells_colours {
            // The decoder takes silence for YCbCr; an Adobe segment says that the file means RGB.
            const RGB: &[u8] = b"\xff\xee\0\x0eAdobe\0\x64\0\0\0\0\0";
            coded.splice(2..2, RGB.iter().copied());
        }
        let (health, mut native) = if process == 0xc3 {
            let health = entropy::walk(&coded);
            if health == Health::Short {
                return Err(self.damaged());
            }
            (health, self.by_library(coded, Process::JpegLossless, u32::from(bits))?)
        } else if found.ended {
            let (health, decoded) = rayon::join(|| entropy::walk(&coded), || self.jpeg_8_bit(&coded));
            // The other decoder bears some malformed segments that this one does not.
            (health, decoded.or_else(|_| self.by_library(coded, Process::Jpeg, 8))?)
        } else {
            return Err(self.damaged());
        };
        if matches!(health, Health::Short | Health::Torn) || exceeds(&native, u32::from(bits)) {
            native.warnings.push(DOUBT.to_owned());
        }
        let colours = if components == 3 { Colours::Rgb } else { self.header.colours };
        Ok(Native { header: Header { colours, ..native.header }, ..native })
    }

    /// The decoder of common JPEG files: of those at hand the one whose colours lie nearest to other decoders'.
    fn jpeg_8_bit<'a>(&self, coded: &[u8]) -> Result<Native<'a>, Error> {
        let failed = |error: ImageError| {
            drop(error);
            self.damaged()
        };
        let decoder = JpegDecoder::new(Cursor::new(coded)).map_err(failed)?;
        let bytes = match DynamicImage::from_decoder(decoder).map_err(failed)? {
            DynamicImage::ImageLuma8(picture) if self.header.samples == 1 => picture.into_raw(),
            DynamicImage::ImageRgb8(picture) if self.header.samples == 3 => picture.into_raw(),
            _ => return Err(self.damaged()),
        };
        Ok(Native { bytes: Cow::Owned(bytes), header: self.words(8, true), warnings: Vec::new() })
    }

    fn jpeg_ls<'a>(&self, coded: &[u8], stream: jpeg_ls::Stream) -> Result<Native<'a>, Error> {
        if stream.components != 1 {
            return Err(self.unsupported("color JPEG-LS"));
        }
        self.check(usize::from(stream.columns), usize::from(stream.rows), 1, coded.len())?;
        let bytes = jpeg_ls::decode(coded, stream).ok_or_else(|| self.damaged())?;
        let header = self.words(u32::from(stream.bits), false);
        Ok(Native { bytes: Cow::Owned(bytes), header, warnings: Vec::new() })
    }

    fn jpeg_2000<'a>(&self, coded: &[u8], at: usize) -> Result<Native<'a>, Error> {
        let four = |i: usize| {
            let four = coded.get(at + i..)?.first_chunk::<4>()?;
            usize::try_from(u32::from_be_bytes(*four)).ok()
        };
        // Image and tile size (SIZ), ITU-T T.800, A.5.1.
        let sizes: Option<Vec<usize>> = (0..8).map(|k| four(8 + 4 * k)).collect();
        let (Some(sizes), Some(&[c1, c0])) =
            (sizes, coded.get(at + 40..).and_then(|bytes| bytes.first_chunk::<2>()))
        else {
            return Err(self.damaged());
        };
        let components = usize::from(u16::from_be_bytes([c1, c0]));
        let parts = coded.get(at + 42..at + 42 + 3 * components).ok_or_else(|| self.damaged())?;
        let &[x1, y1, x0, y0, tile_x, tile_y, ..] = sizes.as_slice() else { return Err(self.damaged()) };
        let (Some(columns), Some(rows)) = (x1.checked_sub(x0), y1.checked_sub(y0)) else {
            return Err(self.damaged());
        };
        self.check(columns, rows, components, coded.len())?;
        if tile_x == 0 || tile_y == 0 || x1.div_ceil(tile_x).saturating_mul(y1.div_ceil(tile_y)) > 65_535 {
            return Err(self.damaged());
        }
        let Some(&[first, ..]) = parts.first_chunk::<3>() else { return Err(self.damaged()) };
        if parts.chunks_exact(3).any(|part| part != [first, 1, 1]) {
            return Err(self.unsupported("JPEG 2000 with components of different sizes"));
        }
        let (bits, signed) = (u32::from(first & 0x7f) + 1, first & 0x80 != 0);
        if bits > 16 {
            return Err(self.unsupported(&format!("JPEG 2000 with {bits} bits per sample")));
        }
        let origin = [x0, y0].map(|at| u32::try_from(at).unwrap_or(u32::MAX));
        let mut native = self.apart(coded, origin, bits)?;
        if native.warnings.is_empty() && (!jpeg_2000::hangs_together(coded, at) || exceeds(&native, bits)) {
            native.warnings.push(DOUBT.to_owned());
        }
        let stored = if signed == self.header.signed { bits.max(self.header.stored) } else { bits };
        let stored = stored.min(native.header.allocated);
        Ok(Native { header: Header { stored, high_bit: stored - 1, ..native.header }, ..native })
    }

    /// The layout of a decoder's samples of so many bits.
    fn words(&self, bits: u32, narrow: bool) -> Header {
        let allocated = if narrow && bits <= 8 { 8 } else { 16 };
        let stored = self.header.stored.max(bits).min(allocated);
        Header { allocated, stored, high_bit: stored - 1, planes: false, ..self.header }
    }

    /// Decodes a stream through the library.
    fn by_library<'a>(&self, coded: Vec<u8>, process: Process, bits: u32) -> Result<Native<'a>, Error> {
        let (header, layout) = self.layout(bits);
        let bytes = library::decode(coded, process, layout).ok_or_else(|| self.damaged())?;
        Ok(Native { bytes: Cow::Owned(bytes), header, warnings: Vec::new() })
    }

    /// Decodes a JPEG 2000 stream in a process of its own, or in two.
    fn apart<'a>(&self, coded: &[u8], origin: [u32; 2], bits: u32) -> Result<Native<'a>, Error> {
        let (header, layout) = self.layout(bits);
        let decoded = apart::decode(CodedImage { coded, layout, origin }).map_err(|fault| match fault {
            ApartFault::Damaged => self.damaged(),
            ApartFault::Failed => {
                let text = format!(
                    "decoding its {} pixels failed or would take more memory than allowed; copy the file again, or export it uncompressed",
                    self.syntax.name
                );
                Error::new(ErrorKind::Damaged, self.path, text)
            }
            ApartFault::TooLong => {
                let text = format!(
                    "decoding its {} pixels takes longer than allowed; export it uncompressed",
                    self.syntax.name
                );
                Error::new(ErrorKind::TooLarge, self.path, text)
            }
            ApartFault::NotStarted => {
                let text = "the decoder for JPEG 2000 cannot be started; start the program again";
                Error::new(ErrorKind::Other, self.path, text)
            }
        })?;
        let warnings = if decoded.warned { vec![DOUBT.to_owned()] } else { Vec::new() };
        Ok(Native { bytes: Cow::Owned(decoded.bytes), header, warnings })
    }

    fn layout(&self, bits: u32) -> (Header, Layout) {
        let header = self.words(bits, true);
        let Header { columns, rows, samples, allocated, .. } = header;
        (header, Layout { columns, rows, samples, allocated })
    }
}
