//! A page of paper that a page of the window shows: two compared shots, the way of a tip.

use std::path::{Path, PathBuf};

use crate::case::document::Case;
use crate::case::document::figure_spec::FigureWidth;
use crate::io::export::comparison::{comparison_page, comparison_slide, way_page};
use crate::measure::compare::Position;
use crate::measure::mark::{Level, Side};
use crate::scene::comparison::page::ShownAs;
use crate::scene::drawing::theme::{Mode, Theme};
use crate::scene::page::Page;

/// A page of paper to be made.
#[derive(Clone, Debug, PartialEq)]
pub struct PageOrder {
    /// The case.
    pub case: Box<Case>,
    /// The file its pictures are named from, if it has one.
    pub file: Option<PathBuf>,
    /// What is on it.
    pub of: PageOf,
    /// Whether it is light on dark, as the window is.
    pub mode: Mode,
}

/// What is on a page of paper.
#[derive(Clone, Debug, PartialEq)]
pub enum PageOf {
    /// Two shots, by their places in the case.
    Comparison([usize; 2], Position, ShownAs),
    /// The same as a slide of this width, the two laid on each other.
    ComparisonSlide([usize; 2], Position, ShownAs, FigureWidth),
    /// The way of a tip through a body.
    TipPath(Level, Side),
}

impl PageOrder {
    pub(super) fn base(&self) -> &Path {
        self.file.as_deref().unwrap_or_else(|| Path::new(""))
    }

    pub(super) fn theme(&self) -> Theme {
        Theme::of(self.mode)
    }

    /// The page.
    ///
    /// # Errors
    /// One sentence, where it cannot be made.
    pub(super) fn page(&self) -> Result<Page, String> {
        match self.of {
            PageOf::Comparison(shots, position, way) => {
                comparison_page(self.base(), &self.case, shots, position, way)
            }
            PageOf::ComparisonSlide(shots, position, way, width) => {
                comparison_slide(self.base(), &self.case, shots, (position, way, width))
            }
            PageOf::TipPath(level, side) => Ok(way_page(self.base(), &self.case, (level, side))),
        }
    }
}
