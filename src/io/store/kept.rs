//! What the program keeps for itself, in one folder: the names of cases opened lately, how the window was left, practice
//! exercises, a cache of series, digests of what it wrote, and unsaved work. Readable by its owner only; listed, and
//! emptied on request. The user's own cases and images are never here.

use std::path::{Path, PathBuf};

use crate::io::error::Error;
use crate::io::store::home::data_dir;

/// The folder of unsaved work, which is not forgotten with the rest.
const UNSAVED: &str = "unsaved";

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

/// Everything that is kept, in order of name; empty on a system that has no place for it.
#[must_use]
pub fn kept() -> Vec<Kept> {
    let Some(folder) = data_dir() else { return Vec::new() };
    let mut found = Vec::new();
    collect(&folder, false, &mut found);
    found.sort_by(|a, b| a.file.cmp(&b.file));
    found
}

fn collect(folder: &Path, unsaved: bool, found: &mut Vec<Kept>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        // A link is told as itself, so that nothing outside is ever listed or deleted.
        let (path, Ok(about)) = (entry.path(), entry.metadata()) else { continue };
        if about.is_dir() {
            collect(&path, unsaved || entry.file_name() == UNSAVED, found);
        } else {
            found.push(Kept { file: path, bytes: about.len(), unsaved });
        }
    }
}

/// Deletes what is kept, but for unsaved work, and returns how many files were deleted.
///
/// # Errors
/// The first file that could not be deleted; those before it are gone.
pub fn forget() -> Result<usize, Error> {
    let mut gone = 0;
    for kept in kept().iter().filter(|kept| !kept.unsaved) {
        std::fs::remove_file(&kept.file).map_err(|e| Error::writing(&kept.file, &e))?;
        gone += 1;
    }
    Ok(gone)
}
