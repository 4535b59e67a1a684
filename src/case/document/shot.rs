//! One shot of a case: its picture, what it shows, and its marks.

use crate::case::annotation::Label;
use crate::case::document::extra::Extra;
use crate::case::document::proposed::ProposedMarks;
use crate::case::document::redaction::Cover;
use crate::measure::calibration::{KnownLength, ScaleFrom};
use crate::measure::mark::{Level, Marks, PatientRight, Side, Stage, View};
use crate::measure::true_view::known::CannotTell;

/// One saved frame with its marks.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// Unique within the case.
    pub id: String,
    /// The picture, relative to the case file with `/` between parts, or absolute where the user chose so.
    pub image: String,
    /// Which frame of the picture's file, from 0.
    pub frame: u32,
    /// Digest of the file's bytes when it was marked, `sha256:` and 64 hexadecimal digits.
    pub digest: Option<String>,
    /// The vertebra.
    pub level: Option<Level>,
    /// Entry side.
    pub side: Option<Side>,
    /// From where it looks; without meaning while `view_set` is false. Ask [`Shot::known_view`] whether it counts.
    pub view: View,
    /// Whether somebody has set the view; until then no mark of the shot counts, and it belongs to no view.
    pub view_set: bool,
    /// Stage of the procedure.
    pub stage: Option<Stage>,
    /// Time taken, as written by the user or the picture.
    pub taken: Option<String>,
    /// Millimetres to a pixel at the plane of the body.
    pub mm_per_px: Option<f64>,
    /// Standard uncertainty of that scale; none counts as exact.
    pub mm_per_px_sd: Option<f64>,
    /// Where the scale comes from.
    pub scale_from: Option<ScaleFrom>,
    /// The length on the picture that it was worked out from.
    pub known_length: Option<KnownLength>,
    /// Opaque boxes over words that were burned into the picture.
    pub covers: Vec<Cover>,
    /// Words and drawing for teaching, in the order in which they are drawn.
    pub labels: Vec<Label>,
    /// Which side of this picture is the patient's right; stands before the case's.
    pub patient_right: Option<PatientRight>,
    /// In which directions the reader cannot tell whether a border shows twice; `None` where nobody has said.
    pub cannot_tell: Option<CannotTell>,
    /// Id of the shot it is paired with, instead of the pairing by order.
    pub pair_with: Option<String>,
    /// The marks.
    pub marks: Marks,
    /// Whether the marks were carried from another shot and wait to be confirmed; a draft is not read.
    pub draft: bool,
    /// Which points are as the program proposed them.
    pub proposed: ProposedMarks,
    /// Keys of the shot that this version does not know.
    pub extra: Extra,
    /// Marks that this version does not know.
    pub marks_extra: Extra,
}

impl Shot {
    /// A shot of this view without marks.
    #[must_use]
    pub fn new(id: impl Into<String>, image: impl Into<String>, view: View) -> Self {
        Self {
            id: id.into(),
            image: image.into(),
            frame: 0,
            digest: None,
            level: None,
            side: None,
            view,
            view_set: true,
            stage: None,
            taken: None,
            mm_per_px: None,
            mm_per_px_sd: None,
            scale_from: None,
            known_length: None,
            covers: Vec::new(),
            labels: Vec::new(),
            patient_right: None,
            cannot_tell: None,
            pair_with: None,
            marks: Marks::new(),
            draft: false,
            proposed: ProposedMarks::default(),
            extra: Extra::default(),
            marks_extra: Extra::default(),
        }
    }

    /// The same shot while nobody has set its view: it counts as none, and no mark is placed before it is set.
    #[must_use]
    pub fn with_view_open(self) -> Self {
        // Who reads the file without knowing of open views takes it as the view that a shot begins with.
        Self { view: View::Lateral, view_set: false, ..self }
    }

    /// The view, if somebody has set it.
    #[must_use]
    pub const fn known_view(&self) -> Option<View> {
        if self.view_set { Some(self.view) } else { None }
    }

    /// Whether it is known to show this view.
    #[must_use]
    pub fn shows(&self, view: View) -> bool {
        self.known_view() == Some(view)
    }

    /// Whether its marks are read: a draft waits to be confirmed, and without a view nothing says what a mark is.
    #[must_use]
    pub const fn marks_count(&self) -> bool {
        self.view_set && !self.draft
    }
}
