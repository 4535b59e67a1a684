//! DICOMDIR (PS3.3, Annex F): the pictures of a medium, in the order it lists them.

use std::path::{Path, PathBuf};

use dicom_dictionary_std::tags;

use crate::io::error::{Error, ErrorKind};
use crate::io::import::dicom::data_set::{self, DataSet};
use crate::io::import::dicom::{damaged, explain, walk};

/// Media Storage Directory Storage.
pub(super) const CLASS: &str = "1.2.840.10008.1.3.10";

/// Whether a file's first bytes are those of a DICOMDIR; 2048 bytes suffice.
pub(in crate::io::import) fn is_directory(start: &[u8]) -> bool {
    start.get(128..132) == Some(b"DICM") && walk::class_of(start).as_deref() == Some(CLASS)
}

/// The pictures that a DICOMDIR lists and that are there, and how many are not.
///
/// # Errors
/// Says why the list cannot be read.
pub(in crate::io::import) fn list(path: &Path, bytes: &[u8]) -> Result<(Vec<PathBuf>, usize), Error> {
    let walked = walk::walk(bytes).map_err(|fault| explain(path, fault))?;
    let object =
        data_set::parse_kept(&walked.wanted, &walked.kept, walked.syntax).ok_or_else(|| damaged(path))?;
    let set = DataSet::new(&object, walked.syntax);
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let mut found = Vec::new();
    let mut missing = 0;
    for record in set.items(tags::DIRECTORY_RECORD_SEQUENCE) {
        let is_picture = record.text(tags::DIRECTORY_RECORD_TYPE).is_some_and(|kind| kind == "IMAGE");
        let parts = record.texts(tags::REFERENCED_FILE_ID);
        if !is_picture || parts.is_empty() {
            continue;
        }
        match below(folder, &parts) {
            Some(file) if !found.contains(&file) => found.push(file),
            Some(_) => {}
            None => missing += 1,
        }
    }
    if found.is_empty() {
        let text = if missing > 0 {
            "none of the images this DICOMDIR lists is present; copy the whole medium"
        } else {
            "this DICOMDIR lists no images; open the image folder"
        };
        return Err(Error::new(ErrorKind::Missing, path, text));
    }
    Ok((found, missing))
}

/// A file below a folder by its parts. A part never climbs out, and where a copy has changed capitals or added an
/// ending, as media often do, the one file that is meant is taken all the same.
fn below(folder: &Path, parts: &[String]) -> Option<PathBuf> {
    let mut at = folder.to_path_buf();
    for part in parts {
        let plain = !part.is_empty() && !part.contains(['/', '\\', ':', '\0']) && part != "." && part != "..";
        if !plain {
            return None;
        }
        let exact = at.join(part);
        at = if exact.exists() { exact } else { at.join(alike(&at, part)?) };
    }
    std::fs::metadata(&at).is_ok_and(|found| found.is_file()).then_some(at)
}

/// The first name in a folder that differs by capitals only.
fn alike(folder: &Path, part: &str) -> Option<std::ffi::OsString> {
    let mut names: Vec<_> = std::fs::read_dir(folder)
        .ok()?
        .flatten()
        .map(|entry| entry.file_name())
        .filter(|name| name.to_string_lossy().eq_ignore_ascii_case(part))
        .collect();
    names.sort();
    names.into_iter().next()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_found_below_the_folder_only_and_whatever_their_capitals() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("dicom")).unwrap();
        std::fs::write(folder.path().join("dicom/im1"), b"").unwrap();
        std::fs::write(folder.path().join("secret"), b"").unwrap();
        let parts = |parts: &[&str]| parts.iter().map(|&p| p.to_owned()).collect::<Vec<_>>();
        assert_eq!(below(folder.path(), &parts(&["DICOM", "IM1"])), Some(folder.path().join("dicom/im1")));
        for bad in
            [&["..", "secret"][..], &["dicom", "..", "secret"], &["dicom/../secret"], &[""], &["dicom"]]
        {
            assert_eq!(below(folder.path(), &parts(bad)), None, "{bad:?}");
        }
    }
}
