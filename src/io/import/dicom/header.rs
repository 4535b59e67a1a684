//! How a file's pixels are laid out, checked before anything is allocated (PS3.3 C.7.6.3).

use std::path::Path;

use dicom_dictionary_std::tags;

use crate::io::error::{Error, ErrorKind};
use crate::io::import::dicom::data_set::DataSet;
use crate::io::import::size::{Remedy, check_size};

/// The largest number of frames of a file.
const MAX_FRAMES: u32 = 65_536;

/// What the samples mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Colours {
    /// Grey; whether the lowest value is white.
    Grey {
        /// MONOCHROME1.
        inverted: bool,
    },
    /// Red, green, blue.
    Rgb,
    /// Luminance and two chrominances.
    Ybr,
    /// The same, with one pair of chrominances to two pixels side by side.
    Ybr422,
    /// Numbers of a palette's entries.
    Palette,
}

/// The layout of a file's pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Header {
    /// 1 to 16 384.
    pub(super) columns: u32,
    /// 1 to 16 384.
    pub(super) rows: u32,
    /// Frames, at least 1.
    pub(super) frames: u32,
    /// 1 or 3.
    pub(super) samples: usize,
    /// 1, 8, 16 or 32.
    pub(super) allocated: u32,
    /// 1 to `allocated`.
    pub(super) stored: u32,
    /// `stored - 1` to `allocated - 1`.
    pub(super) high_bit: u32,
    /// Whether stored values are signed.
    pub(super) signed: bool,
    /// Whether colours lie plane by plane.
    pub(super) planes: bool,
    /// What the samples mean.
    pub(super) colours: Colours,
}

impl Header {
    /// Pixels of a frame.
    pub(super) const fn pixels(&self) -> usize {
        self.columns as usize * self.rows as usize
    }

    /// Reads and checks the layout.
    pub(super) fn read(path: &Path, set: DataSet<'_>) -> Result<Self, Error> {
        let damaged =
            |text: &str| Error::new(ErrorKind::Damaged, path, format!("{text}; export the image again"));
        let unsupported = |text: String| {
            let text = format!("{text}, which is not supported; export it as 8- or 16-bit grayscale");
            Error::new(ErrorKind::Unsupported, path, text)
        };
        let need = |tag, name: &str| set.short(tag).ok_or_else(|| damaged(&format!("its {name} is missing")));
        let columns = u32::from(need(tags::COLUMNS, "Columns")?);
        let rows = u32::from(need(tags::ROWS, "Rows")?);
        check_size(path, columns, rows, Remedy::Export)?;
        let frames = match set.decimal(tags::NUMBER_OF_FRAMES) {
            None => 1,
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the limit")]
            Some(n) if n >= 1.0 && n <= f64::from(MAX_FRAMES) => n as u32,
            Some(n) if n > f64::from(MAX_FRAMES) => {
                let text =
                    format!("it states {n} frames; at most {MAX_FRAMES} can be opened, so export fewer");
                return Err(Error::new(ErrorKind::TooLarge, path, text));
            }
            Some(_) => 1,
        };
        let samples = set.short(tags::SAMPLES_PER_PIXEL).unwrap_or(1);
        let colours = match set.text(tags::PHOTOMETRIC_INTERPRETATION).unwrap_or_default().as_str() {
            "MONOCHROME1" => Colours::Grey { inverted: true },
            // A file that does not say it is grey all the same, if it has one sample a pixel.
            "MONOCHROME2" => Colours::Grey { inverted: false },
            "" if samples == 1 => Colours::Grey { inverted: false },
            "" if samples == 3 => Colours::Rgb,
            "RGB" | "YBR_RCT" | "YBR_ICT" => Colours::Rgb,
            "YBR_FULL" => Colours::Ybr,
            "YBR_FULL_422" => Colours::Ybr422,
            "PALETTE COLOR" => Colours::Palette,
            other => {
                let word: String =
                    other.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '_')).collect();
                return Err(unsupported(format!("its Photometric Interpretation is “{word}”")));
            }
        };
        let expected = if matches!(colours, Colours::Grey { .. } | Colours::Palette) { 1 } else { 3 };
        if samples != expected {
            return Err(damaged(&format!(
                "it states {samples} samples per pixel where its Photometric Interpretation needs {expected}"
            )));
        }
        let allocated = u32::from(need(tags::BITS_ALLOCATED, "Bits Allocated")?);
        if !matches!(allocated, 1 | 8 | 16 | 32) || (expected == 3 && !matches!(allocated, 8 | 16)) {
            return Err(unsupported(format!("its samples take {allocated} bits")));
        }
        let stored = set.short(tags::BITS_STORED).map_or(allocated, u32::from);
        if stored == 0 || stored > allocated {
            return Err(damaged(&format!(
                "it states that {stored} of {allocated} bits are used, which is impossible"
            )));
        }
        let high_bit = set.short(tags::HIGH_BIT).map_or(stored - 1, u32::from);
        if high_bit + 1 < stored || high_bit >= allocated {
            return Err(damaged(&format!(
                "it states High Bit {high_bit} for {stored} of {allocated} bits, which is impossible"
            )));
        }
        let signed = match set.short(tags::PIXEL_REPRESENTATION) {
            None | Some(0) => false,
            Some(1) => true,
            Some(other) => {
                return Err(damaged(&format!("its Pixel Representation is {other}, which is not defined")));
            }
        };
        Ok(Self {
            columns,
            rows,
            frames,
            samples: usize::from(samples),
            allocated,
            stored,
            high_bit,
            signed,
            planes: set.short(tags::PLANAR_CONFIGURATION) == Some(1),
            colours,
        })
    }
}
