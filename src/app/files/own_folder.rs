//! Where the program keeps its own files.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use crate::io::store::home::{WINDOW, data_dir};

/// The folder; `None` on a system that has no place for it. Asked once, because it does not change while the program
/// runs.
#[must_use]
pub fn own_folder() -> Option<&'static Path> {
    static FOLDER: LazyLock<Option<PathBuf>> = LazyLock::new(data_dir);
    FOLDER.as_deref()
}

/// The file that the window's toolkit keeps how the window was left in.
#[must_use]
pub fn window_file() -> Option<PathBuf> {
    Some(own_folder()?.join(WINDOW))
}
