//! How soft a shot's picture is at its marks, and of which picture that was found.

use std::path::{Path, PathBuf};

use crate::align::softness::Softnesses;

/// What was found of one picture; it stays when the picture is put aside.
#[derive(Debug)]
pub struct Soft {
    path: PathBuf,
    frame: u32,
    digest: String,
    /// How soft it is at the marks.
    pub found: Softnesses,
}

impl Soft {
    /// Nothing found yet of this frame of a file with this digest.
    #[must_use]
    pub fn of(path: &Path, frame: u32, digest: &str) -> Self {
        Self { path: path.to_path_buf(), frame, digest: digest.to_owned(), found: Softnesses::default() }
    }

    /// Whether it was found of this frame of a file with this digest.
    #[must_use]
    pub fn is_of(&self, path: &Path, frame: u32, digest: &str) -> bool {
        (self.path.as_path(), self.frame, self.digest.as_str()) == (path, frame, digest)
    }
}
