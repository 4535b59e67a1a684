//! Stored samples of one frame: what was saved, before any grey-level choice.

use crate::case::image::digest::FileDigest;
use crate::case::image::facts::Facts;
use crate::case::image::field::field_of;
use crate::measure::reading::FrameExtent;

/// Stored grey samples, row by row, at the depth they were saved with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Samples {
    /// 8 bits a sample.
    Gray8(Vec<u8>),
    /// 16 bits a sample.
    Gray16(Vec<u16>),
}

impl Samples {
    /// How many there are.
    #[must_use]
    pub(crate) const fn len(&self) -> usize {
        match self {
            Self::Gray8(samples) => samples.len(),
            Self::Gray16(samples) => samples.len(),
        }
    }
}

/// A decoded frame with its EXIF orientation applied.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `width × height` samples. Colour pictures are kept as their luma.
    pub samples: Samples,
    /// Whether the file was in colour.
    pub was_colour: bool,
    /// Digest of the file's bytes.
    pub digest: FileDigest,
    /// Sentences about the file that the user should see: truncated, further pages.
    pub warnings: Vec<String>,
    /// Time taken as the file says it, if it does.
    pub taken: Option<String>,
    /// What the file says about its values, their display and their scale.
    pub facts: Facts,
}

impl Frame {
    /// A frame of which nothing is known but its samples, row by row; there must be `width × height` of them.
    #[must_use]
    pub fn of_samples(width: u32, height: u32, samples: Samples) -> Self {
        Self {
            width,
            height,
            samples,
            was_colour: false,
            digest: FileDigest::default(),
            warnings: Vec::new(),
            taken: None,
            facts: Facts::default(),
        }
    }

    /// Other samples with all that this frame's file says.
    #[must_use]
    pub fn with_samples(&self, width: u32, height: u32, samples: Samples) -> Self {
        Self {
            width,
            height,
            samples,
            was_colour: self.was_colour,
            digest: self.digest.clone(),
            warnings: self.warnings.clone(),
            taken: self.taken.clone(),
            facts: self.facts.clone(),
        }
    }

    /// The stored value at a column and row, or `None` outside the frame.
    #[must_use]
    pub fn value(&self, column: u32, row: u32) -> Option<u16> {
        if column >= self.width || row >= self.height {
            return None;
        }
        let index = row as usize * self.width as usize + column as usize;
        match &self.samples {
            Samples::Gray8(s) => s.get(index).map(|&v| u16::from(v)),
            Samples::Gray16(s) => s.get(index).copied(),
        }
    }

    /// How many bytes its samples take.
    #[must_use]
    pub const fn bytes(&self) -> usize {
        match &self.samples {
            Samples::Gray8(samples) => samples.len(),
            Samples::Gray16(samples) => 2 * samples.len(),
        }
    }

    /// What a reading needs to know of the frame. Looks for a round field, so ask once and keep it.
    #[must_use]
    pub fn extent(&self) -> FrameExtent {
        FrameExtent { width: self.width, height: self.height, field: field_of(self) }
    }

    /// The largest value a sample can hold.
    #[must_use]
    pub const fn max_value(&self) -> u16 {
        match self.samples {
            Samples::Gray8(_) => 255,
            Samples::Gray16(_) => u16::MAX,
        }
    }
}
