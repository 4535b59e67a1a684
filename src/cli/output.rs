//! Where results go: standard output, or a file that appears whole or not at all.

use std::io::{self, Write};
use std::path::Path;

use crate::cli::ending::Refused;
use crate::io::export;
use crate::io::store::written::Replacing;

/// Whether a result may replace a file that this program did not write.
#[derive(Clone, Copy, Debug, clap::Args)]
pub struct Replace {
    /// Replace the files named for results even if this program did not write them.
    #[arg(long)]
    force: bool,
}

impl Replace {
    /// What a result may replace.
    #[must_use]
    pub fn replacing(self) -> Replacing {
        if self.force { Replacing::Anything } else { Replacing::OwnResults }
    }
}

/// Whether results name folders and files, which may be a person's name.
#[derive(Clone, Copy, Debug, clap::Args)]
pub struct Paths {
    /// Name case files by their paths; otherwise by the case's title and a number (`read --json` and `keypoints`: by the file's own name), for a path may tell a person's name.
    #[arg(long)]
    paths: bool,
}

impl Paths {
    /// Whether they do.
    #[must_use]
    pub fn are_told(self) -> bool {
        self.paths
    }
}

/// Writes a result to standard output, or to `file` if one is named, as [`write_result`] does.
///
/// # Errors
/// One sentence, and nothing is written.
pub fn deliver(
    text: &str,
    file: Option<&Path>,
    inputs: &[&Path],
    replace: Replace,
    out: &mut dyn Write,
) -> Result<(), Refused> {
    match file {
        None => show(text, out),
        Some(file) => write_result(text.as_bytes(), file, inputs, replace),
    }
}

/// Writes a result into a file, which appears whole or not at all. A result of an earlier run is replaced, any other
/// file only with `--force`, and never one of `inputs`.
///
/// # Errors
/// One sentence, and nothing is written.
pub fn write_result(bytes: &[u8], file: &Path, inputs: &[&Path], replace: Replace) -> Result<(), Refused> {
    Ok(export::write_result(file, bytes, inputs, replace.replacing())?)
}

/// Writes a text to standard output. A reader that has stopped reading is no error.
///
/// # Errors
/// One sentence, if standard output cannot be written to.
pub fn show(text: &str, out: &mut dyn Write) -> Result<(), Refused> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => {
            let words = e.to_string();
            let words = words.split(" (os error").next().unwrap_or_default();
            Err(Refused(vec![format!(
                "the result could not be written: {words}; use --out to write to another file"
            )]))
        }
        _ => Ok(()),
    }
}

/// A table with its columns below each other.
#[must_use]
pub fn columns(heads: &[String], rows: &[Vec<String>]) -> Vec<String> {
    let all: Vec<&[String]> = std::iter::once(heads).chain(rows.iter().map(Vec::as_slice)).collect();
    let width = |column: usize| all.iter().filter_map(|row| row.get(column)).map(|c| c.chars().count()).max();
    let widths: Vec<usize> = (0..heads.len()).map(|column| width(column).unwrap_or(0)).collect();
    let line = |row: &&[String]| {
        let cells = row.iter().zip(&widths).enumerate();
        let padded = cells.map(|(i, (cell, width))| match i {
            0 => format!("{cell:width$}"),
            _ => format!("{cell:>width$}"),
        });
        format!("  {}", padded.collect::<Vec<_>>().join("  ")).trim_end().to_owned()
    };
    all.iter().map(line).collect()
}
