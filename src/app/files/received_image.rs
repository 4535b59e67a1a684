//! An image that comes without a file.

use std::fmt;
use std::sync::Arc;

/// An image from the clipboard, or one that another program hands over as bytes.
#[derive(Clone, PartialEq, Eq)]
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
}

impl ReceivedImage {
    /// The name that its file is to have.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Pixels { .. } => "pasted.png",
            Self::Bytes { name, .. } => name,
        }
    }
}

/// Pixels are not printed.
impl fmt::Debug for ReceivedImage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ReceivedImage({})", self.name())
    }
}
