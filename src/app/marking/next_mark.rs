//! Which mark is asked for next: the first that is missing, on and back through the guide, and what is left out.

use crate::app::marking::guide::{self, Need, Step};
use crate::app::marking::placement;
use crate::app::session::document::Document;
use crate::app::session::mode::{Hand, Mode, WallClicks};
use crate::case::document::Shot;
use crate::measure::mark::{MarkKind, Marks, View};

impl Document {
    /// Leaves the marks of another shot where they are.
    pub(crate) fn give_copy_up(&mut self) {
        self.take(Hand::Nothing);
        self.resume(None);
    }

    /// One landmark back.
    fn copy_back(&mut self) {
        match &mut self.mode {
            Mode::Copying(copy) => copy.first = None,
            Mode::Pointing(walls) => *walls = WallClicks::default(),
            Mode::Marking(_)
            | Mode::Dragging(_)
            | Mode::Nudging(_)
            | Mode::Labeling
            | Mode::Redacting { .. }
            | Mode::Annotating(_)
            | Mode::Scaling { .. }
            | Mode::Straightening(_) => {}
        }
    }

    /// Takes up the first step after `after` that is neither placed nor skipped, round the whole guide.
    pub fn resume(&mut self, after: Option<Step>) {
        // While something else is drawn, or nobody has set the view, no mark is asked for.
        if self.mode.is_marking() {
            let next = self.next_step(after).filter(|_| !self.asks_for_view());
            self.take(next.map_or(Hand::Nothing, Hand::Next));
        }
    }

    /// The step that the guide asks for after `after`.
    #[must_use]
    pub fn next_step(&self, after: Option<Step>) -> Option<Step> {
        let (shot, marks) = (self.shot()?, self.seen_marks()?);
        let steps = guide::steps(shot.known_view()?);
        let start = after.and_then(|step| steps.iter().position(|s| *s == step)).map_or(0, |i| i + 1);
        let round = (start..steps.len()).chain(0..start);
        // What the other shot left out, a draft leaves out too: only what must be there is asked for.
        let asked = |step: &Step| !self.is_unconfirmed() || step.need(shot.view) == Need::Required;
        let missing = |step: &Step| asked(step) && step.placed(marks).is_none();
        round
            .map(|i| steps[i])
            .find(|step| missing(step) && !self.skipped.contains(&(shot.id.clone(), *step)))
    }

    /// Nothing counts as skipped in this shot any more.
    pub(crate) fn forget_skipped(&mut self, shot: &str) {
        self.skipped.retain(|(of, _)| of != shot);
    }

    /// Leaves the step in hand: a mark that has to be made comes again at the end of the round.
    pub fn skip(&mut self) {
        let Some(shot) = self.shot() else { return };
        let (view, id) = (shot.view, shot.id.clone());
        let step = match self.hand() {
            Hand::Next(step) => step,
            Hand::Again(at) | Hand::Mark(at) => Step::of(&shot.marks, at),
            Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => return self.give_copy_up(),
            Hand::Adding(_) | Hand::Nothing => return self.resume(None),
        };
        if matches!(self.hand(), Hand::Next(_)) && step.need(view) != Need::Required {
            self.skipped.insert((id, step));
        }
        if guide::other_lines(view).contains(&step.kind) {
            return self.skip_line(view, step.kind);
        }
        match self.next_step(Some(step)) {
            Some(next) => self.take(Hand::Next(next)),
            None => self.take(Hand::Nothing),
        }
    }

    /// From the other line of one border to that of the next; past all of them, back to the question.
    fn skip_line(&mut self, view: View, from: MarkKind) {
        let (Some(shot), lines) = (self.shot(), guide::other_lines(view)) else { return };
        let at = lines.iter().position(|line| *line == from).unwrap_or(0);
        let round = (1..lines.len()).map(|n| lines[(at + n) % lines.len()]);
        let begin = |line: MarkKind| guide::steps_of(view, line).next();
        let open = |step: &Step| {
            step.placed(&shot.marks).is_none() && !self.skipped.contains(&(shot.id.clone(), *step))
        };
        let next = round.filter_map(begin).find(open);
        if next.is_none() {
            let id = shot.id.clone();
            self.skipped.retain(|(of, step)| *of != id || !lines.contains(&step.kind));
        }
        self.take(next.map_or(Hand::Nothing, Hand::Next));
    }

    /// Takes the placed step before the one in hand, to be placed again.
    pub fn back(&mut self) {
        let Some(shot) = self.shot() else { return };
        let view = shot.view;
        let steps = guide::steps(view);
        let here = match self.hand() {
            Hand::Next(step) => Some(step),
            Hand::Again(at) | Hand::Mark(at) => Some(Step::of(&shot.marks, at)),
            Hand::Landmark { second: true } | Hand::Wall { second: true } | Hand::Border(_) => {
                return self.copy_back();
            }
            Hand::Landmark { second: false } | Hand::Wall { second: false } => return self.give_copy_up(),
            Hand::Adding(_) | Hand::Nothing => None,
        };
        if let Some(step) = here.filter(|step| !steps.contains(step)) {
            return self.back_within(step, view);
        }
        let start = here.and_then(|step| steps.iter().position(|s| *s == step)).unwrap_or(steps.len());
        let round = (0..start).rev().chain((start..steps.len()).rev());
        let placed = round.filter_map(|i| steps[i].placed(&shot.marks)).next();
        if let Some(at) = placed {
            self.take(Hand::Again(at));
        }
    }

    /// One step back in a mark that the guide does not ask for, such as the other line of a border: its own point before, to
    /// be placed again; from its first point back to where it was begun.
    fn back_within(&mut self, step: Step, view: View) {
        let Some(marks) = self.shot().map(|shot| shot.marks.clone()) else { return };
        let own: Vec<Step> = guide::steps_of(view, step.kind).collect();
        let here = own.iter().position(|other| *other == step).unwrap_or(0);
        match own[..here].iter().rev().find_map(|before| before.placed(&marks)) {
            Some(at) => self.take(Hand::Again(at)),
            None => {
                self.take(Hand::Nothing);
                if !all_required(view, &marks) {
                    self.resume(None);
                }
            }
        }
    }

    /// Whether nobody has set the view of the shown shot yet.
    #[must_use]
    pub fn asks_for_view(&self) -> bool {
        self.shot().is_some_and(|shot| !shot.view_set)
    }

    /// The border whose point is in hand, if further points can be added to it.
    #[must_use]
    pub fn border_in_hand(&self) -> Option<MarkKind> {
        let kind = match self.hand() {
            Hand::Nothing | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => return None,
            Hand::Next(step) => step.kind,
            Hand::Again(at) | Hand::Mark(at) => at.kind,
            Hand::Adding(kind) => kind,
        };
        (kind.count().1 == usize::MAX).then_some(kind)
    }

    /// Which way the back of the spine lies in the shown shot, as far as anything tells: its own or offered marks, else
    /// the user's word, else the other lateral shots of the case.
    #[must_use]
    pub fn posterior_is_left(&self) -> Option<bool> {
        let turn = self.aspect().turn;
        let seen = self.seen_marks()?.map(|p| turn.seen(p.to_vec()).to_point());
        let stored = || self.posterior_is_stored_left().map(|left| left != turn.swaps_sides());
        placement::posterior_is_left(&seen).or_else(stored)
    }

    /// The same in the stored picture, however it is turned for show.
    pub(crate) fn posterior_is_stored_left(&self) -> Option<bool> {
        let shot = self.shot()?;
        placement::posterior_is_left(self.seen_marks()?).or(self.posterior_left).or_else(|| {
            let others = self.case().shots.iter().filter(|other| other.shows(shot.view));
            others.filter_map(|other| placement::posterior_is_left(&other.marks)).next()
        })
    }
}

/// Whether the view is set and every mark without which there is no reading is placed.
#[must_use]
pub fn required_done(shot: &Shot) -> bool {
    shot.view_set && all_required(shot.view, &shot.marks)
}

/// The same of marks of this view, whether they are a shot's own or offered.
#[must_use]
pub fn all_required(view: View, marks: &Marks) -> bool {
    let required = guide::steps(view).iter().filter(|step| step.need(view) == Need::Required);
    required.copied().all(|step| step.placed(marks).is_some())
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::marking::guide::StepPart;
    use crate::case::document::Case;
    use crate::case::document::edit::{Description, Edit};
    use crate::measure::mark::{Level, MarkRef, Side, Stage};

    fn document(marks: Marks) -> Document {
        let mut case = Case::default();
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = marks;
        case.shots.push(shot);
        Document::opened(case, PathBuf::from("/tmp/x/demo.case.json"), None)
    }

    fn tip() -> MarkRef {
        MarkRef { kind: MarkKind::Tip, index: 0 }
    }

    /// A level or a stage given to many added images at once says nothing of their views; setting the view asks for the
    /// first mark, and a step back asks for the view again.
    #[test]
    fn no_mark_is_asked_for_before_the_view_is_set() {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral).with_view_open());
        let mut document = Document::fresh(case);
        let say = |document: &mut Document, what| {
            document.apply(&Edit::Describe { shot: "a".to_owned(), what }).unwrap();
            document.resume(None);
        };
        say(&mut document, Description::Level(Some(Level::L5)));
        say(&mut document, Description::Side(Some(Side::Left)));
        say(&mut document, Description::Stage(Some(Stage::Final)));
        assert!(document.asks_for_view());
        assert_eq!((document.hand(), document.next_step(None)), (Hand::Nothing, None));
        say(&mut document, Description::View(View::Ap));
        assert!(!document.asks_for_view());
        assert_eq!(document.hand(), Hand::Next(guide::steps(View::Ap)[0]));
        document.history.undo();
        document.changed();
        assert!(document.asks_for_view());
        assert_eq!(document.hand(), Hand::Nothing, "nothing says which marks belong there");
    }

    #[test]
    fn the_guide_starts_with_the_first_corner_and_skips_on_request() {
        let mut document = document(Marks::new());
        let steps = guide::steps(View::Lateral);
        assert_eq!(document.hand(), Hand::Next(steps[0]));
        document.skip();
        document.skip();
        assert_eq!(document.hand(), Hand::Next(steps[2]));
        document.take(Hand::Next(steps[8]));
        document.skip();
        assert_eq!(
            document.hand(),
            Hand::Next(steps[0]),
            "a required mark comes again, a skipped one does not"
        );
    }

    /// Back from the other line of a border leads to where it was begun, not to the tip.
    #[test]
    fn back_from_the_other_line_leads_to_its_own_points_and_then_out() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(351.0, 358.0)]);
        let mut document = document(marks.clone());
        let step = |part| Step { kind: MarkKind::PosteriorWallSecond, part };
        document.take(Hand::Next(step(StepPart::First)));
        document.back();
        assert_eq!(document.hand(), Hand::Nothing);
        let begun = marks.with(MarkKind::PosteriorWallSecond, &[(409.0, 306.0)]);
        let mut document = self::document(begun);
        document.take(Hand::Next(step(StepPart::Last)));
        document.back();
        let first = MarkRef { kind: MarkKind::PosteriorWallSecond, index: 0 };
        assert_eq!(document.hand(), Hand::Again(first));
    }

    #[test]
    fn back_takes_the_mark_before_in_hand() {
        let mut document = document(Marks::new().with(MarkKind::Tip, &[(4.0, 4.0)]));
        document.back();
        assert_eq!(document.hand(), Hand::Again(tip()));
    }
}
