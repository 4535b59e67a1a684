//! Recognises a picture by its content and hands it to its decoder.
//!
//! Reading order: this file, [`raster`] (common picture formats), [`jpeg`] (what the decoder does not say about a
//! JPEG file).

mod jpeg;
mod raster;

use std::any::Any;
use std::cmp::Ordering;
use std::fs::File;
use std::io::Read;
use std::panic::AssertUnwindSafe;
use std::path::{Path, PathBuf};

use image::ImageFormat;

use crate::case::frame::Frame;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;

/// The largest side of a picture that is opened, in pixels.
pub const MAX_SIDE_PX: u32 = 16_384;
/// The largest number of pixels of a picture that is opened.
pub const MAX_PIXELS: u64 = 256_000_000;
/// The largest picture file that is opened, in bytes.
pub const MAX_FILE_BYTES: u64 = 1_000_000_000;

/// What the first bytes of a file say it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Content {
    /// A picture that can be opened.
    Picture(ImageFormat),
    /// Something else that is recognised, by its name.
    Other(&'static str),
    /// Nothing that is recognised.
    Unknown,
}

/// Opens a picture: PNG, JPEG, TIFF or BMP, whatever its name says. Its EXIF orientation is applied, colour
/// becomes luma, and 16 bits stay 16 bits. Of several pages the first is read, with a warning.
///
/// # Errors
/// One sentence that names the file and says why it cannot be opened. It never panics on a file's content.
pub fn import_frame(path: &Path) -> Result<Frame, Error> {
    let bytes = files::read(path, MAX_FILE_BYTES)?;
    import_bytes(path, &bytes)
}

/// The same for bytes that are already in memory; `path` is for sentences only.
///
/// # Errors
/// As [`import_frame`].
pub fn import_bytes(path: &Path, bytes: &[u8]) -> Result<Frame, Error> {
    let format = match recognise(bytes) {
        Content::Picture(format) => format,
        Content::Other(what) => {
            let text =
                format!("it is {what}, which cannot be opened here; save the picture as PNG or TIFF first");
            return Err(Error::new(ErrorKind::Unsupported, path, text));
        }
        Content::Unknown => {
            let text = if bytes.is_empty() {
                "the file is empty; copy the picture again"
            } else {
                "it is not a picture that can be opened here; PNG, JPEG, TIFF and BMP are"
            };
            return Err(Error::new(ErrorKind::Unsupported, path, text));
        }
    };
    // The decoders are good, but a panic in one of them must not take unsaved work with it.
    let decoded = std::panic::catch_unwind(AssertUnwindSafe(|| raster::decode(path, bytes, format)));
    let mut frame = decoded.unwrap_or_else(|panic: Box<dyn Any + Send>| {
        drop(panic);
        let text = "its content is damaged in a way the decoder does not survive; save the picture anew";
        Err(Error::new(ErrorKind::Damaged, path, text))
    })?;
    if let Some(warning) = extension_lies(path, format) {
        frame.warnings.insert(0, warning);
    }
    Ok(frame)
}

/// The pictures in a folder that can be opened, by their content and not their names, sorted as people count:
/// `lateral-2` before `lateral-10`. Hidden files and folders inside are left out.
///
/// # Errors
/// Says why the folder cannot be read.
pub fn pictures_in(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let reading = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::NotFound => {
            Error::new(ErrorKind::Missing, folder, "there is no such folder; check its name")
        }
        _ => Error::reading(folder, &e),
    };
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(reading)? {
        let path = entry.map_err(reading)?.path();
        let hidden = path.file_name().is_none_or(|name| name.to_string_lossy().starts_with('.'));
        if !hidden && is_picture(&path) {
            found.push(path);
        }
    }
    found.sort_by(|a, b| counted(&a.to_string_lossy(), &b.to_string_lossy()));
    Ok(found)
}

/// Whether a file's first bytes are those of a picture that can be opened; false for anything that cannot be
/// read, is a folder, a pipe or a device.
#[must_use]
pub fn is_picture(path: &Path) -> bool {
    if !std::fs::metadata(path).is_ok_and(|found| found.is_file()) {
        return false;
    }
    let mut start = Vec::new();
    let read = File::open(path).and_then(|file| file.take(32).read_to_end(&mut start));
    read.is_ok() && matches!(recognise(&start), Content::Picture(_))
}

/// What the first bytes are; signatures from the formats' own specifications.
fn recognise(bytes: &[u8]) -> Content {
    let starts = |signature: &[u8]| bytes.starts_with(signature);
    let at = |from: usize, signature: &[u8]| bytes.get(from..).is_some_and(|b| b.starts_with(signature));
    if starts(b"\x89PNG\r\n\x1a\n") {
        Content::Picture(ImageFormat::Png)
    } else if starts(b"\xff\xd8\xff") {
        Content::Picture(ImageFormat::Jpeg)
    } else if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
        Content::Picture(ImageFormat::Tiff)
    } else if starts(b"BM") && bytes.len() >= 14 {
        Content::Picture(ImageFormat::Bmp)
    } else if at(128, b"DICM") {
        Content::Other("a DICOM file")
    } else if starts(b"GIF8") {
        Content::Other("a GIF picture")
    } else if starts(b"RIFF") && at(8, b"WEBP") {
        Content::Other("a WebP picture")
    } else if starts(b"\0\0\0\x0cjP  ") || starts(b"\xff\x4f\xff\x51") {
        Content::Other("a JPEG 2000 picture")
    } else if at(4, b"ftypheic") || at(4, b"ftypheix") || at(4, b"ftypmif1") || at(4, b"ftypavif") {
        Content::Other("a HEIF picture")
    } else if at(4, b"ftyp") {
        Content::Other("a film")
    } else if starts(b"%PDF-") {
        Content::Other("a PDF document")
    } else if starts(b"PK\x03\x04") {
        Content::Other("a ZIP archive")
    } else {
        Content::Unknown
    }
}

/// A sentence if the name's ending is that of another kind of picture.
fn extension_lies(path: &Path, format: ImageFormat) -> Option<String> {
    let extension = path.extension()?.to_str()?.to_ascii_lowercase();
    let named = ImageFormat::from_extension(&extension);
    if named == Some(format) {
        return None;
    }
    Some(format!("The name ends in .{extension}, but the content is a {} picture.", format_name(format)))
}

/// The format's name for people.
const fn format_name(format: ImageFormat) -> &'static str {
    match format {
        ImageFormat::Png => "PNG",
        ImageFormat::Jpeg => "JPEG",
        ImageFormat::Tiff => "TIFF",
        ImageFormat::Bmp => "BMP",
        _ => "further",
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

    #[test]
    fn a_lying_name_is_told() {
        assert!(extension_lies(Path::new("a.png"), ImageFormat::Jpeg).is_some());
        for fine in ["a.jpg", "a.JPEG", "a"] {
            assert_eq!(extension_lies(Path::new(fine), ImageFormat::Jpeg), None, "{fine}");
        }
    }

    #[test]
    fn other_files_are_named_where_they_are_known() {
        assert_eq!(recognise(b"%PDF-1.7"), Content::Other("a PDF document"));
        assert_eq!(recognise(b"hello"), Content::Unknown);
        assert_eq!(recognise(b""), Content::Unknown);
    }
}
