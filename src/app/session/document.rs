//! An open case with what the user is doing in it: which shot is shown, what is in hand, whether it is saved.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use crate::app::annotation::label::draft::LabelDraft;
use crate::app::display::appearance::Appearance;
use crate::app::display::viewport::{Canvas, Showing};
use crate::app::marking::guide::Step;
use crate::app::marking::next_mark::required_done;
use crate::app::marking::proposal::memory::Proposals;
use crate::app::session::mode::{Grabbed, Hand, Mode};
use crate::app::session::readings::Readings;
use crate::app::shots::selection::Selection;
use crate::app::work::soft::Soft;
use crate::case::document::edit::{Edit, EditError};
use crate::case::document::history::History;
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::io::store::save::Seen;
use crate::measure::mark::{Marks, View};

/// An open case.
#[derive(Debug)]
pub struct Document {
    /// The case and the way back and forth through its changes.
    pub history: History,
    /// Where it is saved, if it is.
    pub file: Option<PathBuf>,
    /// What the file held when it was last read or written here.
    pub seen: Option<Seen>,
    /// The shot that is shown.
    pub shown: Option<String>,
    /// What pointer and keys are about.
    pub(crate) mode: Mode,
    /// The shot whose display was decided last, with that decision and the canvas it was made for.
    pub settled: Option<(String, Showing, Canvas)>,
    /// The shot that was shown before this one; its display is kept where it fits.
    pub came_from: Option<String>,
    /// Where marks are placed without a pointer.
    pub crosshair: Option<Point>,
    /// What part of each shot is seen.
    pub showing: BTreeMap<String, Showing>,
    /// How each shot's picture is shown, where it is not as usual.
    pub aspects: BTreeMap<String, Appearance>,
    /// How a picture is shown usually.
    pub usual: Appearance,
    /// Labels under way, chosen and moved.
    pub labelling: LabelDraft,
    /// Shots of which the user has said that what looks like words is none.
    pub refused: BTreeSet<String>,
    /// Whether the user will see to burned-in text later: nothing is asked about it beside the images any more.
    pub redact_later: bool,
    /// Whether millimetres are asked for.
    pub mm: bool,
    /// The user's word on which side the back of the spine is, while no mark tells.
    pub posterior_left: Option<bool>,
    /// The state that is kept beside the file, so that it is not kept twice.
    pub kept: Option<Case>,
    /// What is listed below the picture, and which shots are chosen beside the shown one.
    pub choice: Selection,
    /// Whether the guide asks about the view once the marks are placed.
    pub asks_about_view: bool,
    /// Views of which the user has said that nobody knows where the tube stood.
    pub tube_not_known: BTreeSet<View>,
    /// How soft the pictures are at each shot's marks, as far as they were in memory.
    pub soft: BTreeMap<String, Soft>,
    /// What is proposed for the shots.
    pub proposals: Proposals,
    /// Whether the readings are no longer those of the case and its pictures.
    pub stale: bool,
    pub(super) saved: Case,
    /// The steps of the guide that are left out, by shot.
    pub(in crate::app) skipped: BTreeSet<(String, Step)>,
    pub(super) readings: Readings,
    pub(super) differs: bool,
}

impl Document {
    /// A case as it lies in its file.
    #[must_use]
    pub fn opened(case: Case, file: PathBuf, seen: Option<Seen>) -> Self {
        Self::with(case.clone(), case, Some(file), seen)
    }

    /// A case with work that its file does not hold.
    #[must_use]
    pub fn recovered(case: Case, saved: Case, file: Option<PathBuf>, seen: Option<Seen>) -> Self {
        Self::with(case, saved, file, seen)
    }

    /// A case that lies in no file yet. Nothing of it is lost before something is changed.
    #[must_use]
    pub fn fresh(case: Case) -> Self {
        Self::with(case.clone(), case, None, None)
    }

    fn with(case: Case, saved: Case, file: Option<PathBuf>, seen: Option<Seen>) -> Self {
        let mut document = Self {
            shown: case.shots.first().map(|shot| shot.id.clone()),
            differs: case != saved,
            history: History::new(case),
            file,
            seen,
            mode: Mode::default(),
            settled: None,
            came_from: None,
            crosshair: None,
            showing: BTreeMap::new(),
            aspects: BTreeMap::new(),
            usual: Appearance::default(),
            labelling: LabelDraft::default(),
            refused: BTreeSet::new(),
            redact_later: false,
            mm: false,
            posterior_left: None,
            kept: None,
            choice: Selection::default(),
            asks_about_view: true,
            tube_not_known: BTreeSet::new(),
            soft: BTreeMap::new(),
            proposals: Proposals::default(),
            stale: true,
            saved,
            skipped: BTreeSet::new(),
            readings: Readings::default(),
        };
        if document.shot().is_some_and(|shot| !required_done(shot)) {
            document.resume(None);
        }
        document
    }

    /// The marks that are seen on the shown shot: its own, or those that are offered in their place.
    #[must_use]
    pub fn seen_marks(&self) -> Option<&Marks> {
        let shot = self.shot()?;
        Some(self.proposals.offered(shot).map_or(&shot.marks, |offer| &offer.marks))
    }

    /// Whether what is seen on the shown shot waits to be confirmed: a draft, or what is offered.
    #[must_use]
    pub fn is_unconfirmed(&self) -> bool {
        self.shot().is_some_and(|shot| shot.draft || self.proposals.offered(shot).is_some())
    }

    /// The case as it is now.
    #[must_use]
    pub const fn case(&self) -> &Case {
        self.history.case()
    }

    /// The shown shot.
    #[must_use]
    pub fn shot(&self) -> Option<&Shot> {
        self.case().shot(self.shown.as_deref()?)
    }

    /// How the shown shot's picture is shown.
    #[must_use]
    pub fn aspect(&self) -> Appearance {
        self.shown.as_ref().and_then(|id| self.aspects.get(id)).copied().unwrap_or(self.usual)
    }

    /// The same, to be changed; `None` where no shot is shown.
    pub fn aspect_mut(&mut self) -> Option<&mut Appearance> {
        Some(self.aspects.entry(self.shown.clone()?).or_insert(self.usual))
    }

    /// The position of the shown shot.
    #[must_use]
    pub fn index(&self) -> Option<usize> {
        let shown = self.shown.as_deref()?;
        self.case().shots.iter().position(|shot| shot.id == shown)
    }

    /// The id of the shot this many places further.
    #[must_use]
    pub fn neighbour(&self, by: isize) -> Option<&str> {
        let index = self.index()?.checked_add_signed(by)?;
        self.case().shots.get(index).map(|shot| shot.id.as_str())
    }

    /// Applies a change and notes whether the case now differs from its file.
    ///
    /// # Errors
    /// Says why the change is impossible; the case is then as it was.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        self.history.apply(edit)?;
        self.changed();
        Ok(())
    }

    /// To be called after the history moved: what is shown and in hand must still be there.
    pub fn changed(&mut self) {
        self.stale = true;
        self.differs = *self.case() != self.saved;
        let gone = |grabbed: &Grabbed| {
            self.case().shot(&grabbed.shot).is_none_or(|shot| shot.marks.point(grabbed.at).is_none())
        };
        if self.grabbed().is_some_and(gone) {
            self.end_change();
        }
        let case = self.history.case();
        self.choice.retain(|id| case.shot(id).is_some());
        if self.shot().is_none() {
            self.shown = self.case().shots.first().map(|shot| shot.id.clone());
            self.resume(None);
        }
        // A step back may have taken the view back; nothing says what a mark is then.
        if self.asks_for_view() && self.hand() != Hand::Nothing {
            self.take(Hand::Nothing);
        }
        if let (Some(at), Some(shot)) = (self.hand().mark(), self.shot())
            && shot.marks.point(at).is_none()
        {
            self.resume(None);
        }
    }

    /// Shows a shot and takes up its first missing mark.
    pub fn show(&mut self, id: &str) {
        if self.case().shot(id).is_none() {
            return;
        }
        self.choice.moved();
        if self.shown.as_deref() == Some(id) {
            return;
        }
        self.came_from = self.shown.replace(id.to_owned());
        self.crosshair = None;
        self.end_change();
        // What is clicked of a screen is clicked in that photo.
        if self.mode.is_marking() || matches!(self.mode, Mode::Straightening(_)) {
            self.take(Hand::Nothing);
        }
        if self.shot().is_some_and(|shot| !required_done(shot)) {
            self.resume(None);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::marking::guide::StepPart;
    use crate::app::marking::placement;
    use crate::measure::mark::MarkKind;

    fn document(marks: Marks) -> Document {
        let mut case = Case::default();
        for id in ["a", "b"] {
            let mut shot = Shot::new(id, format!("pictures/{id}.png"), View::Lateral);
            shot.marks = marks.clone();
            case.shots.push(shot);
        }
        Document::opened(case, PathBuf::from("/tmp/x/demo.case.json"), None)
    }

    #[test]
    fn undo_of_the_mark_in_hand_puts_it_down() {
        let mut document = document(Marks::new());
        let (edit, at) = placement::place(
            "a",
            &Marks::new(),
            Step { kind: MarkKind::Tip, part: StepPart::Nth(0) },
            Point::new(1.0, 1.0),
        );
        document.apply(&edit).unwrap();
        document.take(Hand::Mark(at));
        assert!(document.unsaved());
        assert!(document.history.undo());
        document.changed();
        assert!(!document.unsaved() && document.hand().mark().is_none());
    }

    #[test]
    fn neighbours_stop_at_the_ends() {
        let document = document(Marks::new());
        assert_eq!(document.neighbour(1), Some("b"));
        assert_eq!(document.neighbour(-1), None);
    }
}
