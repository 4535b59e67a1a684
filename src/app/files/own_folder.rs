//! Where the program keeps its own files.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use crate::io::store::home::{WINDOW, data_dir, own_file};

/// The folder; `None` on a system that has no place for it. Asked once, because it does not change while the program
/// runs.
#[must_use]
pub fn own_folder() -> Option<&'static Path> {
    static FOLDER: LazyLock<Option<PathBuf>> = LazyLock::new(data_dir);
    FOLDER.as_deref()
}

/// The file that the window's toolkit keeps how the window was left in, and where which case was left. The toolkit writes it
/// as it finds it, so it is there beforehand, readable by its owner only.
#[must_use]
pub fn window_file() -> Option<PathBuf> {
    let file = own_folder()?.join(WINDOW);
    // What cannot be hidden still works.
    let _ = own_file(&file);
    Some(file)
}
