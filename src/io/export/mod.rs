//! Results as files: pages as vector text and pixels from the same primitives, and readings as JSON and tables.
//!
//! Nothing of the machine goes into a file: no paths, no names, no times. Reading order: [`svg`], [`raster`], [`png`], [`pdf`], which each draw
//! the same primitives (pixels and PDF in the order of `surface`);
//! [`result`], [`json`], [`csv`], [`change`], [`proposal`], [`reliability`], [`rereading`], [`audit`], [`audit_tables`],
//! [`mod@figure`], [`questions`], [`comparison`], [`report`]; [`case_folder`] (a whole case to give away); [`mod@dicom`] (objects for an archive); [`mod@frame`].

use std::path::Path;

use crate::io::error::{Error, ErrorKind};
use crate::io::store::written::{self, Replacing};
use crate::scene::drawing::theme::Theme;
use crate::scene::page::Page;

pub mod audit;
mod audit_body;
pub mod audit_tables;
pub mod case_folder;
pub mod change;
pub mod comparison;
pub mod csv;
pub mod dicom;
pub mod dictionary;
mod fault;
pub mod figure;
pub mod frame;
pub mod json;
pub(in crate::io) mod new_folder;
pub mod pdf;
pub(crate) mod plan;
pub mod png;
pub mod proposal;
pub mod questions;
pub mod raster;
pub mod reliability;
pub mod report;
pub mod report_back;
pub mod rereading;
mod resample;
pub mod result;
mod surface;
pub mod svg;
mod true_view;

pub use fault::ExportError;

/// The formats a page can be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PageFormat {
    /// Vectors, words as outlines.
    Svg,
    /// Pixels.
    Png,
    /// A document of one page, words to be searched and copied.
    Pdf,
}

impl PageFormat {
    /// The format a file's name asks for.
    ///
    /// # Errors
    /// A name that ends in none of them.
    pub fn of_name(path: &Path) -> Result<Self, ExportError> {
        let name = || path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("svg") => Ok(Self::Svg),
            Some("png") => Ok(Self::Png),
            Some("pdf") => Ok(Self::Pdf),
            _ => Err(ExportError::UnknownFormat(name())),
        }
    }
}

/// Refuses a format that cannot hold several pages.
///
/// # Errors
/// Any but PDF; `path` is for the sentence only.
pub fn only_pdf(format: PageFormat, path: &Path) -> Result<(), ExportError> {
    let one_page = || ExportError::OnePage(path.display().to_string());
    (format == PageFormat::Pdf).then_some(()).ok_or_else(one_page)
}

/// Writes a result into a file, which appears whole or not at all. An existing file is replaced as far as `replacing`
/// goes, but never one of `inputs`.
///
/// # Errors
/// Says why nothing was written.
pub fn write_result(file: &Path, bytes: &[u8], inputs: &[&Path], replacing: Replacing) -> Result<(), Error> {
    let full = |path: &Path| std::fs::canonicalize(path).ok();
    let here = full(file);
    if here.is_some() && inputs.iter().any(|input| full(input) == here) {
        let text = "the result would overwrite its source; use another name";
        return Err(Error::new(ErrorKind::Conflict, file, text));
    }
    written::write(file, bytes, replacing)
}

/// The bytes of a page in a format.
///
/// # Errors
/// A page too large to be drawn.
pub fn page_bytes(page: &Page, theme: &Theme, format: PageFormat) -> Result<Vec<u8>, ExportError> {
    match format {
        PageFormat::Svg => svg::text(page, theme).map(String::into_bytes),
        PageFormat::Png => png::pixels(page, theme),
        PageFormat::Pdf => pdf::document(std::slice::from_ref(page), theme),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_says_the_format() {
        let of = |name: &str| PageFormat::of_name(Path::new(name));
        assert!(matches!(of("a.PNG"), Ok(PageFormat::Png)));
        assert!(matches!(of("a/b.svg"), Ok(PageFormat::Svg)));
        assert!(matches!(of("a.pdf"), Ok(PageFormat::Pdf)));
        assert!(matches!(of("png"), Err(ExportError::UnknownFormat(_))));
    }
}
