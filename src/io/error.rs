//! One public error: which file, and one sentence that says what is wrong and what to do.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What kind of trouble it is, for code that can offer a way out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ErrorKind {
    /// There is no such file or folder.
    Missing,
    /// The file or its folder may not be read or written.
    NotAllowed,
    /// It is a folder, a pipe or a device where a file is needed.
    NotAFile,
    /// It is a file, but not of a kind that can be opened.
    Unsupported,
    /// It is larger than the limits allow.
    TooLarge,
    /// Its content is damaged or does not follow its format.
    Damaged,
    /// It was written by a newer version of the program.
    Newer,
    /// On saving: the file on disk is no longer the one that was opened; saving under another name or
    /// overwriting are the ways out.
    Conflict,
    /// On saving: another window is saving the same file at this moment.
    Busy,
    /// There is no room left on the disk.
    Full,
    /// Anything else the system reports.
    Other,
}

/// Why a file could not be read or written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    /// What kind of trouble it is.
    pub kind: ErrorKind,
    /// The file, as the user named it.
    pub file: PathBuf,
    /// What is wrong, where in the file (its field first, if there is one) and what to do.
    pub text: String,
}

impl Error {
    /// An error about `file`.
    #[must_use]
    pub fn new(kind: ErrorKind, file: &Path, text: impl Into<String>) -> Self {
        Self { kind, file: file.to_path_buf(), text: text.into() }
    }

    /// The error for a file that could not be opened or read.
    #[must_use]
    pub fn reading(file: &Path, source: &io::Error) -> Self {
        let (kind, text) = match source.kind() {
            io::ErrorKind::NotFound => {
                (ErrorKind::Missing, "there is no such file; check its name and folder".to_owned())
            }
            io::ErrorKind::PermissionDenied => (
                ErrorKind::NotAllowed,
                "you do not have permission to read it; change its permissions or copy it to a folder of your own"
                    .to_owned(),
            ),
            io::ErrorKind::NotADirectory => (
                ErrorKind::Missing,
                "part of its path is a file, not a folder; check its name".to_owned(),
            ),
            _ => (ErrorKind::Other, format!("it cannot be read: {}", said_by_system(source))),
        };
        Self::new(kind, file, text)
    }

    /// The error for a file that could not be written; the file on disk is as it was.
    #[must_use]
    pub fn writing(file: &Path, source: &io::Error) -> Self {
        let (kind, why, remedy) = match source.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => {
                (ErrorKind::Missing, "its folder does not exist".to_owned(), "select another folder")
            }
            io::ErrorKind::PermissionDenied => (
                ErrorKind::NotAllowed,
                "you do not have permission to write to its folder".to_owned(),
                "save as a new file in a folder of your own",
            ),
            io::ErrorKind::ReadOnlyFilesystem => (
                ErrorKind::NotAllowed,
                "its folder is read-only".to_owned(),
                "save as a new file in a folder you can write to",
            ),
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::WriteZero => {
                (ErrorKind::Full, "the disk is full".to_owned(), "free some space or save in another folder")
            }
            _ => (ErrorKind::Other, said_by_system(source), "save as a new file"),
        };
        Self::new(kind, file, format!("not saved, because {why}; {remedy}"))
    }
}

/// The system's own words, without its number.
fn said_by_system(source: &io::Error) -> String {
    let words = source.to_string();
    let words = words.split(" (os error").next().unwrap_or_default();
    let mut chars = words.chars();
    let first = chars.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    format!("{first}{}", chars.as_str())
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", one_line(&self.file.to_string_lossy()), one_line(&self.text))
    }
}

/// A name or a quotation may hold line breaks or control characters; a sentence may not.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

impl std::error::Error for Error {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_one_line_that_names_the_file() {
        let error = Error::reading(Path::new("a\nb.png"), &io::Error::from(io::ErrorKind::NotFound));
        let text = error.to_string();
        assert!(text.starts_with("a\u{fffd}b.png: there is no such file"), "{text}");
        assert_eq!(text.lines().count(), 1);
    }

    #[test]
    fn the_systems_number_is_left_out() {
        let error = Error::writing(Path::new("a"), &io::Error::from_raw_os_error(5));
        assert!(!error.to_string().contains("os error"), "{error}");
    }
}
