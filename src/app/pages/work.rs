//! What is done for pages away from the drawing thread, and what came of it.

use crate::app::pages::compare::work::{CompareDone, CompareWork};
use crate::app::pages::figure::drawing::{FigureDone, FigureWork};
use crate::app::pages::practice::work::{PracticeDone, PracticeWork};
use crate::app::pages::rereading::work::{RereadingDone, RereadingWork};
use crate::app::pages::series::work::{SeriesDone, SeriesWork};
use crate::app::pages::tip_path::work::{TipPathDone, TipPathWork};

/// What is done for a page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum PageWork {
    /// Two shots of one body, registered.
    Compare(CompareWork),
    /// The tip path of one body.
    TipPath(TipPathWork),
    /// A teaching figure and the case report.
    Figure(FigureWork),
    /// The bodies of many cases.
    Series(SeriesWork),
    /// Blinded re-reading.
    Rereading(RereadingWork),
    /// Practice with known truth.
    Practice(PracticeWork),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum PageDone {
    /// Two shots of one body, registered.
    Compare(CompareDone),
    /// The tip path of one body.
    TipPath(TipPathDone),
    /// A teaching figure and the case report.
    Figure(FigureDone),
    /// The bodies of many cases.
    Series(SeriesDone),
    /// Blinded re-reading.
    Rereading(RereadingDone),
    /// Practice with known truth.
    Practice(PracticeDone),
}
