//! What is done for pages away from the drawing thread, and what came of it.

use crate::app::pages::compare::work::{CompareDone, CompareWork};
use crate::app::pages::figure::drawing::{FigureDone, FigureWork};
use crate::app::pages::practice::work::{PracticeDone, PracticeWork};
use crate::app::pages::presenting::work::{PresentDone, PresentWork};
use crate::app::pages::series::work::{SeriesDone, SeriesWork};

/// What is done for a page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum PageWork {
    /// Two shots of one body, registered.
    Compare(CompareWork),
    /// A teaching figure and the case report.
    Figure(FigureWork),
    /// The bodies of many cases.
    Series(SeriesWork),
    /// Practice with known truth.
    Practice(PracticeWork),
    /// A slide for a room.
    Present(Box<PresentWork>),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum PageDone {
    /// Two shots of one body, registered.
    Compare(CompareDone),
    /// A teaching figure and the case report.
    Figure(FigureDone),
    /// The bodies of many cases.
    Series(SeriesDone),
    /// Practice with known truth.
    Practice(PracticeDone),
    /// A slide for a room.
    Present(Box<PresentDone>),
}

/// Work for a certain page.
pub(crate) trait WorkOfPage {
    /// The work in words, at the beginning of a sentence.
    fn named(&self) -> &'static str;
    /// What comes of it if the program fails at it, and whether that itself is shown as a notice.
    fn broken_off(&self, text: &str) -> (PageDone, bool);
}

impl PageWork {
    fn of_page(&self) -> &dyn WorkOfPage {
        match self {
            Self::Compare(work) => work,
            Self::Figure(work) => work,
            Self::Series(work) => work,
            Self::Practice(work) => work,
            Self::Present(work) => &**work,
        }
    }

    /// The work in words, at the beginning of a sentence.
    #[must_use]
    pub fn named(&self) -> &'static str {
        self.of_page().named()
    }

    /// What comes of it if the program fails at it, and whether that itself is shown as a notice.
    pub(crate) fn broken_off(&self, text: &str) -> (PageDone, bool) {
        self.of_page().broken_off(text)
    }
}
