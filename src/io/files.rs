//! Reading whole regular files, never more than a stated size, and never a folder, pipe or device.

use std::fmt::Write as _;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use sha2::{Digest as _, Sha256};

use crate::io::error::{Error, ErrorKind};
use crate::io::names;

const DEVICE: &str = "it is a pipe or a device; enter a file";

/// The bytes of a regular file of at most `limit` bytes.
///
/// # Errors
/// Says why the file cannot be read: missing, not allowed, no regular file, larger than the limit.
pub fn read(path: &Path, limit: u64) -> Result<Vec<u8>, Error> {
    let Some((file, length)) = regular(path)? else { return Ok(Vec::new()) };
    let too_large = || {
        let text = format!("it is larger than {} MB, the most that can be opened", limit / 1_000_000);
        Error::new(ErrorKind::TooLarge, path, text)
    };
    if length > limit {
        return Err(too_large());
    }
    // Room for as many bytes as there are, and for one more, so that it is read at once.
    let room = usize::try_from(length).ok().and_then(|length| length.checked_add(1)).unwrap_or(0);
    let mut bytes = Vec::with_capacity(room);
    // One byte more than the limit tells a file that grew, or one whose size the system does not know.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(|e| Error::reading(path, &e))?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > limit {
        return Err(too_large());
    }
    Ok(bytes)
}

/// The first bytes of a regular file, as many as are asked for or as there are.
///
/// # Errors
/// As [`read`].
pub fn beginning(path: &Path, bytes: u64) -> Result<Vec<u8>, Error> {
    let mut start = Vec::new();
    if let Some((file, _)) = regular(path)? {
        file.take(bytes).read_to_end(&mut start).map_err(|e| Error::reading(path, &e))?;
    }
    Ok(start)
}

/// Opens a regular file; `None` if it is empty. Files that the system makes up, as those of its kernel's log, say that they are
/// empty and may keep a reader waiting for ever, so that nothing is read of them.
fn regular(path: &Path) -> Result<Option<(File, u64)>, Error> {
    // Opening a pipe would wait for a writer, so the kind of file is asked for first; a device's name is one before that.
    if names::is_device_here(path) {
        return Err(Error::new(ErrorKind::NotAFile, path, DEVICE));
    }
    let asked = std::fs::metadata(path).map_err(|e| Error::reading(path, &e))?;
    check_regular(path, &asked)?;
    let file = File::open(path).map_err(|e| Error::reading(path, &e))?;
    let found = file.metadata().map_err(|e| Error::reading(path, &e))?;
    check_regular(path, &found)?;
    Ok((found.len() > 0).then_some((file, found.len())))
}

/// When a file was last written, in seconds since 1970-01-01 00:00 UTC, where the system tells.
#[must_use]
pub fn written(path: &Path) -> Option<u64> {
    let time = std::fs::metadata(path).and_then(|found| found.modified()).ok()?;
    time.duration_since(std::time::UNIX_EPOCH).ok().map(|since| since.as_secs())
}

/// Size and time of the last change of a file, to notice that it has changed; `None` if the system does not tell.
#[must_use]
pub fn size_and_time(path: &Path) -> Option<(u64, std::time::SystemTime)> {
    let about = std::fs::metadata(path).ok()?;
    Some((about.len(), about.modified().ok()?))
}

/// Digest of bytes as the case file writes it: `sha256:` and 64 hexadecimal digits.
#[must_use]
pub fn digest(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(71);
    text.push_str("sha256:");
    for byte in Sha256::digest(bytes) {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

fn check_regular(path: &Path, found: &std::fs::Metadata) -> Result<(), Error> {
    if found.is_file() {
        return Ok(());
    }
    let text = if found.is_dir() { "it is a folder; enter a file" } else { DEVICE };
    Err(Error::new(ErrorKind::NotAFile, path, text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digest_of_abc() {
        // FIPS 180-4, example of SHA-256 for the message "abc".
        let expected = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(digest(b"abc"), expected);
    }

    #[test]
    fn a_file_over_the_limit_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        std::fs::write(&path, b"12345").unwrap();
        assert_eq!(read(&path, 5).unwrap(), b"12345");
        assert_eq!(read(&path, 4).unwrap_err().kind, ErrorKind::TooLarge);
        assert_eq!(read(folder.path(), 4).unwrap_err().kind, ErrorKind::NotAFile);
    }
}
