//! What the program keeps for itself, in one folder: the names of cases opened lately, how the window was left, practice
//! exercises, a cache of series, digests of what it wrote and of folders that were allowed, and unsaved work. Readable by its owner only; listed, and
//! emptied on request. The user's own cases and images are never here.

use std::path::PathBuf;

use crate::io::error::Error;
use crate::io::store::hold;
use crate::io::store::home::{FILES, UNSAVED, data_dir};
use crate::io::store::outside;

/// One thing that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Its file.
    pub file: PathBuf,
    /// Its size in bytes.
    pub bytes: u64,
    /// Whether it is work that was not saved.
    pub unsaved: bool,
}

/// Everything that is kept, in order of name; empty on a system that has no place for it. Only the program's own files are
/// told: the folder may be one that the user named, with other things in it.
#[must_use]
pub fn kept() -> Vec<Kept> {
    let Some(folder) = data_dir() else { return Vec::new() };
    let own = FILES.map(|name| (folder.join(name), false));
    let unsaved = std::fs::read_dir(folder.join(UNSAVED)).into_iter().flatten().flatten();
    let unsaved = unsaved.map(|entry| (entry.path(), true)).filter(|(path, _)| !hold::is_hold(path));
    let told = |(file, unsaved): (PathBuf, bool)| {
        // A link is told as itself, so that nothing outside is ever deleted.
        let about = std::fs::symlink_metadata(&file).ok().filter(|about| !about.is_dir())?;
        Some(Kept { file, bytes: about.len(), unsaved })
    };
    let mut found: Vec<Kept> = own.into_iter().chain(unsaved).filter_map(told).collect();
    found.sort_by(|a, b| a.file.cmp(&b.file));
    found
}

/// Deletes what is kept, but for unsaved work, and returns how many files were deleted.
///
/// # Errors
/// The first file that could not be deleted; those before it are gone.
pub fn forget() -> Result<usize, Error> {
    outside::forget();
    let mut gone = 0;
    for kept in kept().iter().filter(|kept| !kept.unsaved) {
        std::fs::remove_file(&kept.file).map_err(|e| Error::writing(&kept.file, &e))?;
        gone += 1;
    }
    Ok(gone)
}
