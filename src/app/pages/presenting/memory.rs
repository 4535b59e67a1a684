//! What presenting remembers: the slides, which one is shown, and those that are drawn.

use crate::app::pages::page::Page;
use crate::app::pages::presenting::work::{DrawnSlide, SlideOrder};
use crate::case::document::figure_spec::FigureSpec;
use crate::measure::compare::Position;
use crate::scene::comparison::page::ShownAs;

/// What is on a slide that is presented.
#[derive(Clone, Debug, PartialEq)]
pub enum PresentedSlide {
    /// A figure of these shots, by their ids.
    Figure(Vec<String>, Box<FigureSpec>),
    /// A question about a shot, with its number where there are several; the answer comes when it is asked for.
    Question(String, Option<usize>),
    /// Two shots laid on each other, by their ids.
    Comparison([String; 2], Position, ShownAs),
}

/// What presenting remembers.
#[derive(Debug, Default)]
pub struct Presenting {
    /// The page that is gone back to.
    pub from: Page,
    /// The slides.
    pub slides: Vec<PresentedSlide>,
    /// Which one is shown, from 0.
    pub at: usize,
    /// Whether the answer to a question is shown.
    pub revealed: bool,
    /// Width and height of the room for a slide, in pixels of the screen; nothing is drawn before it is known.
    pub room: Option<(u32, u32)>,
    /// Whether questions are presented once the page comes up, whatever page it is opened from.
    pub questions: bool,
    /// Although words may be readable in images, which was answered on the page of figures.
    pub(super) as_is: bool,
    /// The slide that is being drawn.
    pub(super) drawing: Option<SlideOrder>,
    /// The last slides that were drawn, or why they cannot be.
    pub(super) drawn: Vec<(SlideOrder, DrawnSlide)>,
    /// The order of the slide that is shown.
    pub(super) shown: Option<SlideOrder>,
}

impl Presenting {
    /// The slide that is shown, once it is drawn.
    #[must_use]
    pub fn slide(&self) -> Option<&DrawnSlide> {
        let shown = self.shown.as_ref()?;
        self.drawn.iter().find(|(order, _)| order == shown).map(|(_, slide)| slide)
    }

    /// Whether the shown slide is a question.
    #[must_use]
    pub fn asks(&self) -> bool {
        matches!(self.slides.get(self.at), Some(PresentedSlide::Question(..)))
    }

    /// Where the next step leads: to the answer, or to the next slide.
    pub(super) fn next(&self) -> Option<(usize, bool)> {
        if self.asks() && !self.revealed {
            return Some((self.at, true));
        }
        (self.at + 1 < self.slides.len()).then_some((self.at + 1, false))
    }

    /// Where the step back leads: from the answer to its question, or to the slide before.
    pub(super) fn back(&self) -> Option<(usize, bool)> {
        if self.revealed {
            return Some((self.at, false));
        }
        self.at.checked_sub(1).map(|at| (at, false))
    }
}
