//! DICOM files (PS3.10), frame by frame, to stored grey values with what the file says of them.
//!
//! View, side and position are never taken over: in real files they contradict the picture. Nothing that names a
//! patient is read at all.
//!
//! Reading order: [`syntax`] (transfer syntaxes), [`element`] (heads of elements), [`walk`] (the first walk over a file) with [`value_types`], [`early`] (what only can be refused), [`data_set`] (its values),
//! [`header`] (the layout of its pixels), [`frames`] (which fragments are which frame's), [`codec`] with [`rle`], [`jpeg_ls`],
//! [`jpeg_2000`] and [`library`] (coded to native), [`grey`] with [`palette`] (native to grey), [`values`] and [`spacing`] (what the
//! file says of values and distances), [`geometry`] (where it contradicts its own order), [`directory`] (DICOMDIR), [`source_object`] (what a derived object refers to),
//! [`structured_report`] (a report of our own, read back).

mod codec;
mod data_set;
pub(super) mod directory;
pub(super) mod early;
mod element;
mod frames;
mod geometry;
mod grey;
mod header;
mod jpeg_2000;
mod jpeg_ls;
pub(super) mod library;
mod palette;
mod rle;
pub(crate) mod source_object;
mod spacing;
pub(crate) mod structured_report;
mod syntax;
mod value_types;
mod values;
mod walk;

use std::borrow::Cow;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use crate::case::image::digest::FileDigest;
use crate::case::image::facts::Facts;
use crate::case::image::frame::Frame;
use crate::case::image::scale_fault::ScaleFault;
use crate::io::error::{Error, ErrorKind};
use crate::io::import::dicom::data_set::DataSet;
use crate::io::import::dicom::frames::FrameIndex;
use crate::io::import::dicom::header::{Colours, Header};
use crate::io::import::dicom::palette::Palette;
use crate::io::import::dicom::spacing::OfFrame;
use crate::io::import::dicom::syntax::{Coding, Syntax};
use crate::io::import::dicom::walk::{PixelRanges, WalkFault};

pub(super) use crate::io::import::dicom::walk::is_dicom;

/// A file whose elements have been read, and whose frames can be decoded one after the other.
#[derive(Debug)]
pub(super) struct OpenedDicom {
    path: PathBuf,
    syntax: Syntax,
    header: Header,
    object: InMemDicomObject,
    /// The data set, and where in these bytes it begins.
    data: Arc<Vec<u8>>,
    start: usize,
    place: FramePlace,
    warnings: Vec<String>,
    /// Where what the file says of its geometry contradicts its own order.
    faults: Vec<ScaleFault>,
}

/// Where the frames are.
#[derive(Debug)]
enum FramePlace {
    Native { range: Range<usize>, words: bool },
    Fragments { pieces: Vec<Range<usize>>, index: FrameIndex },
}

impl OpenedDicom {
    /// The time of day the picture was taken, if the file says it.
    pub(super) fn taken(&self) -> Option<String> {
        taken(DataSet::new(&self.object, self.syntax))
    }

    /// Reads the elements of a file; its frames are not decoded yet.
    ///
    /// # Errors
    /// One sentence that says why there is no picture to be seen.
    pub(super) fn read(path: &Path, bytes: Arc<Vec<u8>>) -> Result<Self, Error> {
        let walked = walk::walk(&bytes).map_err(|fault| explain(path, fault))?;
        if walked.syntax.coding == Coding::NotRead {
            return Err(codec::not_read(path, walked.syntax));
        }
        let mut faults = geometry::out_of_order(&walked);
        let Some(pixels) = walked.pixels else {
            return Err(without_pixels(path, walked.class.as_deref(), walked.float_pixels));
        };
        let object =
            data_set::parse_kept(&walked.wanted, &walked.kept, walked.syntax).ok_or_else(|| damaged(path))?;
        let set = DataSet::new(&object, walked.syntax);
        let header = Header::read(path, set)?;
        let (all, start) = match walked.inflated {
            Some(inflated) => (Arc::new(inflated), 0),
            None => (bytes, walked.start),
        };
        let data = all.get(start..).unwrap_or(&[]);
        let mut warnings = Vec::new();
        let place = match pixels {
            PixelRanges::Native(range, words) => {
                if !matches!(walked.syntax.coding, Coding::Native) {
                    let text = format!(
                        "its pixels are labeled as {} but are not coded that way; export it again",
                        walked.syntax.name
                    );
                    return Err(Error::new(ErrorKind::Damaged, path, text));
                }
                faults.extend(geometry::more_native(&header, range.len()));
                FramePlace::Native { range, words }
            }
            PixelRanges::Fragments { offsets, pieces } => {
                if walked.syntax.coding == Coding::Native {
                    let text = format!(
                        "its pixels are in fragments, which {} does not have; export it again",
                        walked.syntax.name
                    );
                    return Err(Error::new(ErrorKind::Damaged, path, text));
                }
                let extended = set.long_longs(tags::EXTENDED_OFFSET_TABLE);
                let frames = header.frames as usize;
                let one_each = walked.syntax.coding == Coding::Rle;
                let held = FrameIndex::held(data, offsets.clone(), &extended, &pieces, one_each);
                faults.extend(geometry::more_than_declared(&header, held));
                let index = FrameIndex::new(data, frames, offsets, &extended, &pieces).ok_or_else(|| {
                    let text = format!(
                        "it states {frames} frames, but its {} fragments cannot be assigned to them; export it again",
                        pieces.len()
                    );
                    Error::new(ErrorKind::Damaged, path, text)
                })?;
                FramePlace::Fragments { pieces, index }
            }
        };
        if set.text(tags::NUMBER_OF_FRAMES).is_some() && set.decimal(tags::NUMBER_OF_FRAMES).is_none() {
            warnings
                .push("The file's Number of Frames is not a number; the first frame is shown.".to_owned());
        }
        let path = path.to_path_buf();
        if faults.iter().all(|fault| !matches!(fault, ScaleFault::MoreFrames { .. })) {
            let described = set.items(tags::PER_FRAME_FUNCTIONAL_GROUPS_SEQUENCE).count();
            faults.extend(geometry::more_than_declared(&header, described));
        }
        let syntax = walked.syntax;
        Ok(Self { path, syntax, header, object, data: all, start, place, warnings, faults })
    }

    /// Frames that the file says it has.
    pub(super) const fn frames(&self) -> u32 {
        self.header.frames
    }

    /// Bytes of memory that it takes: those of its data set, of which the elements are a small part.
    pub(super) fn bytes(&self) -> usize {
        self.data().len()
    }

    /// The data set.
    fn data(&self) -> &[u8] {
        self.data.get(self.start..).unwrap_or(&[])
    }

    /// Whether its frames are decoded in a process of its own, for which this one waits.
    pub(super) fn is_decoded_apart(&self) -> bool {
        self.syntax.coding == Coding::Jpeg2000
    }

    /// The transfer syntax by its name.
    pub(super) const fn syntax(&self) -> &'static str {
        self.syntax.name
    }

    /// Decodes a frame, counted from 0, which must be one of the file's; `digest` is of the file's bytes.
    ///
    /// # Errors
    /// One sentence that says why it cannot be decoded.
    pub(super) fn frame(&self, frame: u32, digest: &FileDigest) -> Result<Frame, Error> {
        let path = self.path.as_path();
        let set = DataSet::new(&self.object, self.syntax);
        let coded = self.coded(frame)?;
        let native = codec::decode(path, self.syntax, self.header, coded)?;
        let palette = if native.header.colours == Colours::Palette { Palette::read(set) } else { None };
        let grey = grey::to_grey(path, &native, palette.as_ref())?;
        let mut warnings = self.warnings.clone();
        warnings.extend_from_slice(&native.warnings);
        let signed = self.header.signed;
        let is_grey = matches!(native.header.colours, Colours::Grey { .. });
        let plain = Facts::default();
        // Modality transform and windows are about grey values; luma of colours has none.
        let modality = if is_grey {
            values::modality(set, frame, signed, &mut warnings)
        } else {
            plain.modality.clone()
        };
        let presets = if is_grey { values::presets(set, frame, signed) } else { Vec::new() };
        let size = (self.header.columns, self.header.rows);
        let of = OfFrame { frame, size, faults: &self.faults };
        let facts = Facts {
            frames: self.frames(),
            frame_time_ms: frame_time(set),
            stored_offset: grey.stored_offset,
            modality,
            presets,
            inverted: native.header.colours == Colours::Grey { inverted: true },
            spacing: spacing::read(set, of, &mut warnings),
            burned_in: match set.text(tags::BURNED_IN_ANNOTATION).as_deref() {
                Some("YES") => Some(true),
                Some("NO") => Some(false),
                _ => None,
            },
            unchecked: matches!(
                self.syntax.coding,
                Coding::DeflatedFrames | Coding::Rle | Coding::Jpeg | Coding::JpegLs | Coding::Jpeg2000
            ),
        };
        Ok(Frame {
            width: self.header.columns,
            height: self.header.rows,
            samples: grey.samples,
            was_colour: grey.was_colour,
            digest: digest.clone(),
            warnings,
            taken: taken(set),
            facts,
        })
    }

    /// The bytes of a frame as the file has them.
    fn coded(&self, frame: u32) -> Result<Cow<'_, [u8]>, Error> {
        let cut = || {
            let text = match frame {
                0 => "the file ends before the image is complete; copy it again".to_owned(),
                n => format!("the file ends before its frame {n} does; copy it again"),
            };
            Error::new(ErrorKind::Damaged, &self.path, text)
        };
        match &self.place {
            FramePlace::Fragments { pieces, index } => {
                index.bytes(self.data(), pieces, frame as usize).ok_or_else(cut)
            }
            FramePlace::Native { range, words } => {
                let all = self.data().get(range.clone()).ok_or_else(cut)?;
                let header = &self.header;
                let size = grey::frame_bytes(header).ok_or_else(cut)?;
                if header.allocated == 1 {
                    return one_bit(all, header.pixels(), frame as usize).map(Cow::Owned).ok_or_else(cut);
                }
                let start = size.checked_mul(frame as usize).ok_or_else(cut)?;
                let end = start.checked_add(size).ok_or_else(cut)?;
                let bytes = all.get(start..end).ok_or_else(cut)?;
                let width = match (self.syntax.big_endian, header.allocated) {
                    (false, _) => return Ok(Cow::Borrowed(bytes)),
                    // Bytes typed as words are swapped in pairs (PS3.5, 8.1.2).
                    (true, 8) if *words => {
                        return swapped_pairs(all, start, end).map(Cow::Owned).ok_or_else(cut);
                    }
                    (true, bits) => bits as usize / 8,
                };
                let swapped = bytes.chunks_exact(width).flat_map(|b| b.iter().rev().copied());
                Ok(Cow::Owned(swapped.collect()))
            }
        }
    }
}

/// Bytes of words that have their highest byte first. A frame may begin in the middle of a word.
fn swapped_pairs(all: &[u8], start: usize, end: usize) -> Option<Vec<u8>> {
    (start..end).map(|at| all.get(at ^ 1).or_else(|| all.get(at)).copied()).collect()
}

/// Frames of single bits do not begin at whole bytes (PS3.5, 8.2): the bits of one, moved to begin at one.
fn one_bit(all: &[u8], pixels: usize, frame: usize) -> Option<Vec<u8>> {
    let first = pixels.checked_mul(frame)?;
    if all.len().checked_mul(8)? < first.checked_add(pixels)? {
        return None;
    }
    let bit = |at: usize| all.get(at / 8).map_or(0, |byte| (byte >> (at % 8)) & 1);
    let byte = |k: usize| (0..8).map(|i| bit(first + 8 * k + i) << i).sum();
    Some((0..pixels.div_ceil(8)).map(byte).collect())
}

/// Milliseconds from frame to frame: Frame Time, else by Cine Rate.
fn frame_time(set: DataSet<'_>) -> Option<f64> {
    let usable = |ms: &f64| (1.0..=60_000.0).contains(ms);
    let by_rate = || set.decimal(tags::CINE_RATE).filter(|rate| *rate > 0.0).map(|rate| 1000.0 / rate);
    set.decimal(tags::FRAME_TIME).filter(usable).or_else(by_rate).filter(usable)
}

/// The time of day the picture was taken, `10:42:05`: of the acquisition, else of the content.
fn taken(set: DataSet<'_>) -> Option<String> {
    let by_date_time =
        || set.text(tags::ACQUISITION_DATE_TIME).and_then(|text| text.get(8..).map(str::to_owned));
    let text =
        set.text(tags::ACQUISITION_TIME).or_else(by_date_time).or_else(|| set.text(tags::CONTENT_TIME))?;
    let part = |at: usize, below: u8| {
        let digits = text.get(at..at + 2)?;
        let good =
            digits.bytes().all(|b| b.is_ascii_digit()) && digits.parse::<u8>().is_ok_and(|n| n < below);
        good.then_some(digits)
    };
    Some(format!("{}:{}:{}", part(0, 24)?, part(2, 60)?, part(4, 61).unwrap_or("00")))
}

fn damaged(path: &Path) -> Error {
    let text = "the DICOM file is damaged and cannot be opened; copy or export it again";
    Error::new(ErrorKind::Damaged, path, text)
}

fn without_pixels(path: &Path, class: Option<&str>, float: bool) -> Error {
    let text = if class == Some(directory::CLASS) {
        "it is a DICOMDIR, a list of files; open its folder"
    } else if float {
        "its samples are floating-point numbers, which is not supported; export it as 16-bit grayscale"
    } else {
        "it is a DICOM file without an image, such as a report; open one of the images"
    };
    Error::new(ErrorKind::Unsupported, path, text)
}

/// A fault of the walk as a sentence.
fn explain(path: &Path, fault: WalkFault) -> Error {
    let at = |(group, element): element::Tag| format!("({group:04x},{element:04x})");
    match fault {
        WalkFault::CutShort(tag) => {
            let text = format!("the DICOM file ends inside its element {}; copy it again", at(tag));
            Error::new(ErrorKind::Damaged, path, text)
        }
        WalkFault::Damaged(tag) => {
            let text = format!(
                "the DICOM file is damaged at or after its element {}; copy or export it again",
                at(tag)
            );
            Error::new(ErrorKind::Damaged, path, text)
        }
        WalkFault::TooDeep | WalkFault::TooMany => {
            let text = "the DICOM file is nested or listed beyond any real file and is not opened; export the image again";
            Error::new(ErrorKind::TooLarge, path, text)
        }
        WalkFault::NotInflated => {
            let text = "the deflated DICOM file is damaged; copy or export it again";
            Error::new(ErrorKind::Damaged, path, text)
        }
        WalkFault::Inflated => {
            let text = format!(
                "the deflated DICOM file grows beyond {} million bytes; export it uncompressed",
                walk::MAX_INFLATED / 1_000_000
            );
            Error::new(ErrorKind::TooLarge, path, text)
        }
        WalkFault::UnknownSyntax(uid) => {
            let uid: String = uid.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '.').collect();
            let text =
                format!("its transfer syntax {uid} is not supported; export it as explicit little endian");
            Error::new(ErrorKind::Unsupported, path, text)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_of_single_bits_begin_inside_a_byte() {
        // Two frames of 6 bits: 110100 and 001011, the lowest bit first.
        let all = [0b0000_1011_u8, 0b0000_1101];
        assert_eq!(one_bit(&all, 6, 0), Some(vec![0b0000_1011]));
        assert_eq!(one_bit(&all, 6, 1).map(|b| b[0] & 0b11_1111), Some(0b11_0100));
        assert_eq!(one_bit(&all, 6, 2), None);
    }

    #[test]
    fn pairs_are_swapped_also_from_the_middle_of_one() {
        assert_eq!(swapped_pairs(&[2, 1, 4, 3, 6, 5], 3, 6), Some(vec![4, 5, 6]));
    }
}
