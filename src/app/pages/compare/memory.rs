//! What the page of compared shots remembers.

use crate::align::registration::Registration;
use crate::app::display::viewport::Canvas;
use crate::app::display::viewport::Showing;
use crate::app::pages::figure::memory::InReport;
use crate::app::session::document::Document;
use crate::app::work::picture_store::PictureKey;
use crate::case::document::Shot;
use crate::case::document::redaction::Cover;
use crate::case::image::digest::FileDigest;
use crate::measure::compare::Position;
use crate::measure::mark::Marks;
use crate::measure::mark::PatientRight;
use crate::measure::mark::Side;
use crate::scene::comparison::Comparison;
use crate::scene::comparison::arrow_and_marks::Whose;
use crate::scene::comparison::layers::Layers;
use crate::scene::comparison::page::ShownAs;
use crate::scene::comparison::refined::Refined;
use std::sync::Arc;

/// What the page remembers.
#[derive(Debug)]
pub struct Compare {
    /// Ids of the earlier and the later shot.
    pub shots: Option<[String; 2]>,
    /// How they are shown.
    pub mode: CompareMode,
    /// Whose marks are drawn.
    pub whose: Whose,
    /// Whether the user says that both share one C-arm position.
    pub position: Position,
    /// Which part of the later shot's picture is seen; the earlier one follows. The body where nothing was chosen.
    pub showing: Option<Showing>,
    /// The room that one picture has.
    pub canvas: Canvas,
    /// What changed, or why nothing can be said.
    pub found: Option<Result<Comparison, String>>,
    /// Share of the later picture where both are blended.
    pub share: f64,
    /// Where the dividing line stands, as a share of the room's width.
    pub line: f64,
    /// Changes from one picture to the other a second.
    pub rate_hz: f64,
    /// Whether they alternate by themselves.
    pub alternating: bool,
    /// Whether the later one is shown just now.
    pub later_shown: bool,
    /// The earlier picture drawn in the later one's frame.
    pub laid: Laid,
    /// How one lies on the other, or why it cannot.
    pub registered: Option<Result<Registration, String>>,
    /// A refinement by the pictures, once it was asked for.
    pub refining: Option<Refining>,
}

impl Default for Compare {
    fn default() -> Self {
        Self {
            shots: None,
            mode: CompareMode::SideBySide,
            whose: Whose::Both,
            position: Position::Own,
            showing: None,
            canvas: Canvas::default(),
            found: None,
            registered: None,
            refining: None,
            share: 0.5,
            line: 0.5,
            rate_hz: 1.0,
            alternating: false,
            later_shown: true,
            laid: Laid::Nothing,
        }
    }
}

impl Compare {
    /// The places of the two shots in a case.
    #[must_use]
    pub fn places(&self, document: &Document) -> Option<[usize; 2]> {
        let [from, to] = self.shots.as_ref()?;
        let place = |id: &String| document.case().shots.iter().position(|shot| shot.id == *id);
        Some([place(from)?, place(to)?])
    }

    /// What of it is put into the report; none without two shots.
    #[must_use]
    pub(super) fn in_report(&self) -> Option<InReport> {
        Some(InReport::Comparison(self.shots.clone()?, self.position, self.shown_as()))
    }

    /// How the two are shown, as a page of paper has it.
    #[must_use]
    pub(in crate::app::pages) fn shown_as(&self) -> ShownAs {
        match self.mode {
            CompareMode::SideBySide => ShownAs::SideBySide,
            CompareMode::Blend => ShownAs::Blend(self.share),
            CompareMode::Alternate => ShownAs::Blend(if self.later_shown { 1.0 } else { 0.0 }),
            CompareMode::Divider => ShownAs::Divider(self.line),
            CompareMode::Difference => ShownAs::Difference,
        }
    }
}

/// How two shots are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CompareMode {
    /// Beside each other.
    SideBySide,
    /// One over the other with a share.
    Blend,
    /// One after the other in the same place.
    Alternate,
    /// On either side of a line.
    Divider,
    /// What differs.
    Difference,
}

/// What a refinement was found from, to tell whether it still holds.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundFrom {
    pub(super) shots: [Shot; 2],
    pub(super) position: Position,
    pub(super) bone_sd_mm: f64,
}

/// How far a refinement has come.
#[derive(Clone, Debug)]
pub struct Refining {
    pub(super) from: FoundFrom,
    /// What was found, or why there is nothing to find; `None` while it is being worked on.
    pub found: Option<Result<Arc<Refined>, String>>,
    /// Whether the user has taken it.
    pub taken: bool,
}

impl Refining {
    /// What was found, if that can be trusted.
    #[must_use]
    pub fn trusted(&self) -> Option<&Arc<Refined>> {
        let Some(Ok(refined)) = &self.found else { return None };
        refined.refinement.trusted().map(|_| refined)
    }
}

/// What two layers are made of, to tell whether they are still those.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeOf {
    pub(super) both: [One; 2],
    /// Whether they are laid by the pictures and not by the marks.
    pub(super) refined: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct One {
    pub(super) key: PictureKey,
    pub(super) digest: FileDigest,
    pub(super) marks: Marks,
    pub(super) sides: (Option<Side>, Option<PatientRight>),
    pub(super) covers: Vec<Cover>,
}

/// How far the layers have come.
#[derive(Clone, Debug, Default)]
pub enum Laid {
    /// They are not wanted, or a picture is not there yet.
    #[default]
    Nothing,
    /// They are being made of this.
    Busy(MadeOf),
    /// They are there.
    Ready(MadeOf, Arc<Layers>),
    /// They cannot be made: one sentence.
    Failed(MadeOf, String),
}

impl Laid {
    pub(super) const fn of(&self) -> Option<&MadeOf> {
        match self {
            Self::Nothing => None,
            Self::Busy(of) | Self::Ready(of, _) | Self::Failed(of, _) => Some(of),
        }
    }

    /// The layers, if they are there.
    #[must_use]
    pub const fn layers(&self) -> Option<&Arc<Layers>> {
        match self {
            Self::Ready(_, layers) => Some(layers),
            Self::Nothing | Self::Busy(_) | Self::Failed(..) => None,
        }
    }
}
