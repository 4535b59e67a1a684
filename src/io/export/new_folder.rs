//! Several files that belong together: in a folder of their own that appears whole or not at all.

use std::path::Path;

use crate::io::error::Error;
use crate::io::export::case_folder::{NotExported, free_parent};

/// Writes files by their names into `folder`, which must not exist yet or be empty.
///
/// # Errors
/// What stands in the way; nothing is left behind.
pub(in crate::io) fn write_folder(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), NotExported> {
    let impossible = |error: Error| NotExported::Impossible(vec![error.to_string()]);
    let writing = |e: &std::io::Error| impossible(Error::writing(folder, e));
    let parent = free_parent(folder).map_err(impossible)?;
    let under_way =
        tempfile::Builder::new().prefix(".export-").tempdir_in(parent).map_err(|e| writing(&e))?;
    // The folder that is made first is its owner's alone; the one within it is as the system makes folders.
    let inside = under_way.path().join("files");
    std::fs::create_dir(&inside).map_err(|e| writing(&e))?;
    for (name, bytes) in files {
        std::fs::write(inside.join(name), bytes).map_err(|e| writing(&e))?;
    }
    // An empty folder of that name gives way; one that has been filled meanwhile does not.
    let _ = std::fs::remove_dir(folder);
    std::fs::rename(&inside, folder).map_err(|e| writing(&e))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_files_are_there_whole_and_a_filled_folder_is_left_alone() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("new");
        let files = [("a.txt".to_owned(), b"a".to_vec()), ("b.txt".to_owned(), b"b".to_vec())];
        write_folder(&folder, &files).unwrap();
        assert_eq!(std::fs::read(folder.join("b.txt")).unwrap(), b"b");
        assert!(matches!(write_folder(&folder, &files[..1]), Err(NotExported::Impossible(_))));
        // A name that cannot be written leaves nothing behind.
        let bad = [("no/such/folder.txt".to_owned(), Vec::new())];
        assert!(write_folder(&place.path().join("other"), &bad).is_err());
        assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
    }
}
