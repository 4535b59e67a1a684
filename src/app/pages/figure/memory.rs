//! What the page with figures and the report remembers, with its own steps back and forth.

use crate::app::pages::figure::drawing::{DrawnFigure, FigureOrder};
use crate::case::document::Case;
use crate::case::document::figure_spec::FigureSpec;
use crate::measure::compare::Position;
use crate::measure::mark::{Level, Side};
use crate::scene::comparison::page::ShownAs;
use crate::scene::format;
use crate::scene::report::ReportPart;
use std::sync::Arc;

/// What the page remembers.
#[derive(Debug, Default)]
pub struct Figure {
    /// How the figure is made.
    pub spec: FigureSpec,
    /// The shots in it, by their ids.
    pub shots: Vec<String>,
    /// The figure as pixels for the window.
    pub drawn: Option<Arc<DrawnFigure>>,
    /// Why there is none, a sentence each.
    pub trouble: Vec<String>,
    /// Whether what stands in the way is only that words may be readable.
    pub in_doubt: bool,
    /// Whether the figure is being drawn.
    pub drawing: bool,
    /// Whether a file is being written or an image copied.
    pub writing: bool,
    /// How far a long document has come: steps done, and how many there are.
    pub progress: Option<(usize, usize)>,
    /// What is put into the report beside the bodies.
    pub in_report: Vec<InReport>,
    /// The figure at its own resolution, on its way to the clipboard.
    pub copying: Option<Arc<DrawnFigure>>,
    pub(in crate::app::pages) as_is: bool,
    /// What the figure was last drawn of.
    pub(super) made: Option<FigureOrder>,
    /// The shown and the chosen shots when the page last came up.
    pub(super) from: Vec<String>,
    pub(super) past: Vec<SpecStep>,
    pub(super) future: Vec<SpecStep>,
}

/// Something that is put into the report beside the bodies.
#[derive(Clone, Debug, PartialEq)]
pub enum InReport {
    /// Two compared shots, by their ids.
    Comparison([String; 2], Position, ShownAs),
    /// The tip path of a body.
    TipPath(Level, Side),
}

impl InReport {
    /// The same by places of the case; none where a shot is no longer there.
    #[must_use]
    pub(super) fn part(&self, case: &Case) -> Option<ReportPart> {
        let place = |id: &String| case.shots.iter().position(|shot| shot.id == *id);
        match self {
            Self::Comparison([from, to], position, way) => {
                Some(ReportPart::Comparison([place(from)?, place(to)?], *position, *way))
            }
            Self::TipPath(level, side) => Some(ReportPart::TipPath(*level, *side)),
        }
    }

    /// What it is, in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Comparison([from, to], ..) => {
                format!("{} → {}", format::shortened(from, 24), format::shortened(to, 24))
            }
            Self::TipPath(level, side) => format!("Tip path, {}", format::body(*level, *side)),
        }
    }
}

/// One step back or forth.
#[derive(Clone, Debug)]
pub(super) enum SpecStep {
    /// Other choices of this page.
    Choices(Box<(FigureSpec, Vec<String>)>),
    /// A change of the case.
    Case,
}

impl Figure {
    /// Whether the page has a step of its own to take back, or forward.
    #[must_use]
    pub(super) fn can_step(&self, forward: bool) -> bool {
        let steps = if forward { &self.future } else { &self.past };
        matches!(steps.last(), Some(SpecStep::Choices(_)))
    }

    pub(super) fn choices(&self) -> SpecStep {
        SpecStep::Choices(Box::new((self.spec.clone(), self.shots.clone())))
    }

    /// Makes a choice that can be taken back.
    pub(super) fn choose(&mut self, spec: FigureSpec, shots: Vec<String>) {
        if (&spec, &shots) == (&self.spec, &self.shots) {
            return;
        }
        self.past.push(self.choices());
        self.future.clear();
        if shots != self.shots {
            self.as_is = false;
        }
        (self.spec, self.shots) = (spec, shots);
    }

    /// Goes one step; `None` where it is the case that has to.
    pub(super) fn step(&mut self, forward: bool) -> Option<()> {
        let now = self.choices();
        let (from, to) =
            if forward { (&mut self.future, &mut self.past) } else { (&mut self.past, &mut self.future) };
        match from.pop()? {
            SpecStep::Choices(choices) => {
                to.push(now);
                (self.spec, self.shots) = *choices;
                Some(())
            }
            SpecStep::Case => {
                to.push(SpecStep::Case);
                None
            }
        }
    }
}
