//! Images that come without a file, from the clipboard or from another program: written as a file beside the case, so that
//! it can name them. Nothing that is there is replaced.

use std::path::{Path, PathBuf};

use crate::case::image::frame::Frame;
use crate::io::error::{Error, ErrorKind};
use crate::io::export;
use crate::io::import::source::Source;
use crate::io::import::{MAX_PIXELS, MAX_SIDE_PX};
use crate::io::store::save::{Over, write_file};

/// How many names are tried.
const MOST_NAMES: usize = 1000;

/// Writes pixels (red, green, blue and opacity of each) as a PNG.
///
/// # Errors
/// One sentence, and nothing is written.
pub fn keep_pixels(at: &ReceivedAt<'_>, size: (usize, usize), rgba: &[u8]) -> Result<PathBuf, Error> {
    let wrong = |text: &str| Error::new(ErrorKind::Unsupported, at.shown(), text);
    let (width, height) = size;
    let most = MAX_SIDE_PX as usize;
    let pixels = width.saturating_mul(height);
    if pixels == 0 || rgba.len() != pixels.saturating_mul(4) {
        return Err(wrong("the clipboard holds no image; copy it again"));
    }
    if width > most || height > most || pixels as u64 > MAX_PIXELS {
        return Err(wrong("the image on the clipboard is too large; copy a smaller part"));
    }
    let bytes = export::png::of_rgba(rgba, size).map_err(|e| wrong(&e.to_string()))?;
    keep(at, &bytes)
}

/// Writes the bytes of an image file as they are, once they have been found to be one.
///
/// # Errors
/// One sentence, and nothing is written.
pub fn keep_bytes(at: &ReceivedAt<'_>, bytes: &[u8]) -> Result<PathBuf, Error> {
    Source::read(at.shown(), bytes.to_vec())?.frame(0)?;
    keep(at, bytes)
}

/// Writes the samples of a frame as a PNG.
///
/// # Errors
/// One sentence, and nothing is written.
pub fn keep_frame(at: &ReceivedAt<'_>, frame: &Frame) -> Result<PathBuf, Error> {
    let bytes = export::frame::png(frame)
        .map_err(|e| Error::new(ErrorKind::Unsupported, at.shown(), e.to_string()))?;
    keep(at, &bytes)
}

/// Where an image is kept.
#[derive(Clone, Copy, Debug)]
pub enum ReceivedAt<'a> {
    /// In exactly this file.
    File(&'a Path),
    /// In a folder under this name, or that name with a number.
    In(&'a Path, &'a str),
}

impl ReceivedAt<'_> {
    /// What errors name.
    fn shown(&self) -> &Path {
        match self {
            Self::File(path) => path,
            Self::In(_, name) => Path::new(name),
        }
    }
}

fn keep(at: &ReceivedAt<'_>, bytes: &[u8]) -> Result<PathBuf, Error> {
    match at {
        ReceivedAt::File(path) => write_file(path, bytes, &Over::Nothing).map(|_seen| path.to_path_buf()),
        ReceivedAt::In(folder, name) => {
            let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "png"));
            for number in 1..=MOST_NAMES {
                let name = if number == 1 {
                    format!("{stem}.{ending}")
                } else {
                    format!("{stem}-{number}.{ending}")
                };
                let path = folder.join(name);
                match write_file(&path, bytes, &Over::Nothing) {
                    Ok(_seen) => return Ok(path),
                    Err(error) if error.kind == ErrorKind::Conflict => {}
                    Err(error) => return Err(error),
                }
            }
            let text = format!("there are {MOST_NAMES} images of that name already; save the case elsewhere");
            Err(Error::new(ErrorKind::Conflict, &folder.join(name), text))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_image_gets_a_name_of_its_own_and_none_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let at = ReceivedAt::In(folder.path(), "pasted.png");
        let first = keep_pixels(&at, (2, 1), &[9, 9, 9, 255, 1, 2, 3, 255]).unwrap();
        let second = keep_pixels(&at, (1, 1), &[7, 7, 7, 255]).unwrap();
        let names = [&first, &second].map(|path| path.file_name().unwrap().to_str().unwrap().to_owned());
        assert_eq!(names, ["pasted.png", "pasted-2.png"]);
        assert_eq!(image::open(&second).unwrap().into_luma8().into_raw(), [7]);
        assert!(keep_pixels(&at, (0, 0), &[]).is_err() && keep_pixels(&at, (2, 2), &[0; 4]).is_err());
        assert!(keep_bytes(&at, b"<html>").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}
