//! Recognises a picture by its content and hands it to its decoder.
//!
//! Reading order: this file, [`source`] (a file and its frames), [`open_files`] (files
//! that several work on), [`guarded`] (decoders on threads apart), [`apart`] (one in a process apart) with `jpeg_2000_rows`, [`size`] (limits),
//! [`content`] (what a file is), [`mod@format`] (names of formats), [`raster`] (common
//! picture formats) with [`bitmap`] and [`strips`] (the most usual layouts of BMP and TIFF), [`jpeg`] (what the decoder does not say about a JPEG file) with [`entropy`] (whether its codes are complete), [`film`] with [`gif`] and
//! [`avi`] (short films), [`dicom`].

pub mod apart;
mod avi;
mod bitmap;
mod content;
mod dicom;
mod entropy;
mod film;
mod format;
mod gif;
mod guarded;
mod jpeg;
mod jpeg_2000_rows;
pub mod open_files;
mod raster;
mod size;
pub mod source;
mod strips;

use std::cmp::Ordering;
use std::path::{Path, PathBuf};

use crate::case::image::frame::Frame;
use crate::io::error::{Error, ErrorKind};
use crate::io::import::content::{Content, recognise};
use crate::io::import::source::Source;

pub(crate) use crate::io::import::dicom::{source_object, structured_report};
use crate::io::import::size::BEGINNING;

pub use crate::io::import::size::{MAX_FILE_BYTES, MAX_PIXELS, MAX_RASTER_BYTES, MAX_SIDE_PX};

/// Opens a picture: PNG, JPEG, TIFF, BMP, WebP, GIF, PNM, motion JPEG in AVI or DICOM, whatever its name says; of several frames the first. EXIF
/// orientation is applied, colour becomes luma, and 16 bits stay 16 bits. Of several pages of a TIFF the first is
/// read, with a warning.
///
/// # Errors
/// One sentence that names the file and says why it cannot be opened. It never panics on a file's content.
pub fn import_frame(path: &Path) -> Result<Frame, Error> {
    Source::open(path)?.frame(0)
}

/// The same for bytes that are already in memory; `path` is for sentences only.
///
/// # Errors
/// As [`import_frame`].
pub fn import_bytes(path: &Path, bytes: &[u8]) -> Result<Frame, Error> {
    Source::read(path, bytes.to_vec())?.frame(0)
}

/// The pictures in a folder that can be opened, by their content and not their names, sorted as people count:
/// `lateral-2` before `lateral-10`. Hidden files and folders inside are left out. A DICOMDIR in the folder stands
/// for the pictures it lists, also in folders inside, in its own order and before the others.
///
/// # Errors
/// Says why the folder, or a DICOMDIR in it, cannot be read.
pub fn pictures_in(folder: &Path) -> Result<Listed, Error> {
    let reading = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::NotFound => {
            Error::new(ErrorKind::Missing, folder, "there is no such folder; check its name")
        }
        _ => Error::reading(folder, &e),
    };
    let mut listed = Listed::default();
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(reading)? {
        let path = entry.map_err(reading)?.path();
        if path.file_name().is_none_or(|name| name.to_string_lossy().starts_with('.')) {
            continue;
        }
        match look(&path) {
            Some(FileLook::Directory) => listed.take(listed_in(&path)?),
            Some(FileLook::Picture) => found.push(path),
            None => {}
        }
    }
    found.sort_by(|a, b| counted(&a.to_string_lossy(), &b.to_string_lossy()));
    found.retain(|path| !listed.pictures.contains(path));
    listed.pictures.extend(found);
    Ok(listed)
}

/// Pictures in their order, and how many more a DICOMDIR lists that are not there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listed {
    /// The files.
    pub pictures: Vec<PathBuf>,
    /// How many are missing.
    pub missing: usize,
}

impl Listed {
    /// Adds what another list holds.
    pub fn take(&mut self, more: Self) {
        self.pictures.extend(more.pictures);
        self.missing += more.missing;
    }
}

/// The pictures that a DICOMDIR lists.
///
/// # Errors
/// Says why the list cannot be read, or that none of its pictures is there.
pub fn listed_in(path: &Path) -> Result<Listed, Error> {
    let bytes = crate::io::files::read(path, MAX_FILE_BYTES)?;
    let (pictures, missing) = guarded::run(|| dicom::directory::list(path, &bytes)).unwrap_or_else(|| {
        let text = "the DICOMDIR is damaged; open the image folder";
        Err(Error::new(ErrorKind::Damaged, path, text))
    })?;
    Ok(Listed { pictures, missing })
}

/// Whether a file is a DICOMDIR, by its content.
#[must_use]
pub fn is_directory(path: &Path) -> bool {
    look(path) == Some(FileLook::Directory)
}

/// What a file is by its first bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum FileLook {
    /// A picture that can be opened.
    Picture,
    /// A DICOMDIR.
    Directory,
}

/// Looks at a file's first bytes; `None` for anything that cannot be read, is a folder, a pipe or a device, or is
/// neither a picture nor a list of them.
fn look(path: &Path) -> Option<FileLook> {
    let start = crate::io::files::beginning(path, BEGINNING).ok()?;
    match recognise(&start) {
        Content::Dicom if dicom::directory::is_directory(&start) => Some(FileLook::Directory),
        Content::Picture(_) | Content::Dicom | Content::Avi => Some(FileLook::Picture),
        Content::Other(_) | Content::Unknown => None,
    }
}

/// Order of names in which runs of digits compare by their number.
fn counted(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a, b);
    loop {
        let (x, y) = (digits(left), digits(right));
        let order = if x.is_empty() || y.is_empty() {
            let (c, d) = (left.chars().next(), right.chars().next());
            let order = c.cmp(&d);
            if c.is_none() || d.is_none() {
                // The same number may be written with different zeros in front; the text then decides.
                return order.then_with(|| a.cmp(b));
            }
            left = &left[c.map_or(0, char::len_utf8)..];
            right = &right[d.map_or(0, char::len_utf8)..];
            order
        } else {
            let (p, q) = (x.trim_start_matches('0'), y.trim_start_matches('0'));
            left = &left[x.len()..];
            right = &right[y.len()..];
            p.len().cmp(&q.len()).then_with(|| p.cmp(q))
        };
        if order != Ordering::Equal {
            return order;
        }
    }
}

fn digits(text: &str) -> &str {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    &text[..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_sort_as_people_count() {
        let mut names = ["b10", "b9", "a", "b09", "", "b10c", "ü", "b"];
        names.sort_by(|a, b| counted(a, b));
        assert_eq!(names, ["", "a", "b", "b09", "b9", "b10", "b10c", "ü"]);
    }
}
