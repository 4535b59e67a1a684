//! How large a picture may be.

use std::path::Path;

use crate::io::error::{Error, ErrorKind};

/// The largest side of a picture that is opened, in pixels.
pub const MAX_SIDE_PX: u32 = 16_384;
/// The largest number of pixels of a picture that is opened.
pub const MAX_PIXELS: u64 = 256_000_000;
/// The largest picture file that is opened, in bytes.
pub const MAX_FILE_BYTES: u64 = 1_000_000_000;

/// The largest file of a common picture format that is opened, in bytes: a single image, or a short film.
pub const MAX_RASTER_BYTES: u64 = 300_000_000;
/// How many bytes tell what a file is.
pub(super) const BEGINNING: u64 = 2048;

/// What helps where a picture's size cannot be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Remedy {
    /// A picture is saved again.
    Save,
    /// A frame is exported again.
    Export,
}

/// Whether a picture has an area that may be opened.
pub(super) const fn fits(width: u32, height: u32) -> bool {
    width > 0
        && height > 0
        && width <= MAX_SIDE_PX
        && height <= MAX_SIDE_PX
        && width as u64 * height as u64 <= MAX_PIXELS
}

/// Refuses a picture without a size, and one that is larger than what is opened.
pub(super) fn check_size(path: &Path, width: u32, height: u32, remedy: Remedy) -> Result<(), Error> {
    let (again, smaller) = match remedy {
        Remedy::Save => ("save it again", "save"),
        Remedy::Export => ("export it again", "export"),
    };
    if width == 0 || height == 0 {
        let text = format!("the image has no area ({width} × {height} pixels); {again}");
        return Err(Error::new(ErrorKind::Damaged, path, text));
    }
    if !fits(width, height) {
        let text = format!(
            "the image states {width} × {height} pixels; at most {MAX_SIDE_PX} on a side and {} million in all can be opened, so {smaller} a smaller one",
            MAX_PIXELS / 1_000_000
        );
        return Err(Error::new(ErrorKind::TooLarge, path, text));
    }
    Ok(())
}
