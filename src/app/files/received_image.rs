//! An image that comes without a file, or is still to be made of a photo.

use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;

use crate::case::image::straighten::ScreenOutline;

/// An image from the clipboard, or one that another program hands over as bytes.
#[derive(Clone, PartialEq)]
pub enum ReceivedImage {
    /// Red, green, blue and opacity of each pixel.
    Pixels {
        /// Columns and rows.
        size: (usize, usize),
        /// Four bytes for each pixel.
        rgba: Arc<[u8]>,
    },
    /// The bytes of a file.
    Bytes {
        /// Its name, without a folder.
        name: String,
        /// The bytes.
        bytes: Arc<[u8]>,
    },
    /// A photo of a screen, straightened once it is written.
    Straightened(StraightenedPhoto),
}

/// A photo of a screen that is to be straightened.
#[derive(Clone, PartialEq)]
pub struct StraightenedPhoto {
    /// The file of the photo.
    pub photo: PathBuf,
    /// Which of its frames, from 0.
    pub frame: u32,
    /// What of the screen is known in it.
    pub outline: ScreenOutline,
    /// The name that the file of the new image is to have.
    pub name: String,
}

impl ReceivedImage {
    /// The name that its file is to have.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Pixels { .. } => "pasted.png",
            Self::Bytes { name, .. } => name,
            Self::Straightened(photo) => &photo.name,
        }
    }
}

/// Pixels are not printed.
impl fmt::Debug for ReceivedImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ReceivedImage({})", self.name())
    }
}
