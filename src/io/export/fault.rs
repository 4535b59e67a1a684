//! Why a page could not be written.

/// Why a page could not be written.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The name ends in something else.
    #[error("“{0}” has no supported file type; use a name ending in .png, .svg or .pdf")]
    UnknownFormat(String),
    /// A document of several pages is asked for in a format that has one.
    #[error("{0}: several pages need a PDF; use a name ending in .pdf")]
    OnePage(String),
    /// The drawing cannot be made.
    #[error("the figure cannot be drawn: {0}")]
    Drawing(String),
}
