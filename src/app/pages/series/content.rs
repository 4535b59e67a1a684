//! What of a series is written or put on the clipboard.

use std::sync::Arc;

use crate::app::pages::figure::drawing::DrawnFigure;
use crate::io::export::audit_tables::AuditTable;
use crate::scene::drawing::theme::Mode;
use crate::scene::report::series::Plot;

/// What of it is written or copied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeriesContent {
    /// Plots and tables on paper.
    Paper,
    /// A table, unrounded.
    Table(AuditTable),
    /// A plot, in these colors where it is copied or saved as an image.
    Plot(Plot, Mode),
}

/// What is on its way to the clipboard.
#[derive(Clone, Debug)]
pub enum SeriesClip {
    /// A plot.
    Image(Arc<DrawnFigure>),
    /// A table, its cells apart by tabs, as spreadsheets take it.
    Text(String),
}
