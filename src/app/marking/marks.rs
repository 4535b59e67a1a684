//! Commands on marks: what is in hand, placing, dragging, nudging, taking away.

use crate::app::command::stride::{Stride, Way};
use crate::app::marking::copied_marks;
use crate::app::marking::guide::{self, Need, Step};
use crate::app::marking::placement;
use crate::app::marking::proposal::change;
use crate::app::marking::proposal::memory::ProposalBasis;
use crate::app::marking::view_questions::{self, ViewQuestion};
use crate::app::session::document::Document;
use crate::app::session::mode::{Grabbed, Hand, Mode};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit, EditError};
use crate::geom::point::Point;
use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

/// Takes the guide's n-th step in hand, counted from 1.
pub(crate) fn take_number(document: &mut Document, n: u8) {
    let steps = document.shot().map_or(&[][..], |shot| guide::steps(shot.view));
    if let Some(step) = steps.get(usize::from(n).saturating_sub(1)) {
        take(document, *step);
    }
}

/// The step that begins the second contour of the border in hand; of a corner, that of the endplate it ends. With no border
/// in hand, while it is asked whether one shows twice, that of the border which tells most: the posterior wall of a lateral,
/// the superior endplate of an AP. `None` for what has no second contour.
pub(crate) fn second_contour(document: &Document) -> Option<Step> {
    let shot = document.shot()?;
    let kind = match document.hand() {
        // A corner belongs to two borders, so it names none while a border is asked for.
        Hand::Again(at) | Hand::Mark(at) if is_corner(shot, at) && contours_asked(document) => None,
        Hand::Next(step) => Some(step.kind),
        Hand::Again(at) | Hand::Mark(at) => Some(at.kind),
        Hand::Adding(kind) => Some(kind),
        Hand::Nothing | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => None,
    };
    let asked = || match (view_questions::asked(document)?, shot.view) {
        (ViewQuestion::Contours, View::Lateral) => Some(MarkKind::PosteriorWallSecond),
        (ViewQuestion::Contours, View::Ap) => Some(MarkKind::SuperiorEndPlateSecond),
        _ => None,
    };
    let second = kind.and_then(MarkKind::second).or_else(asked)?;
    let begins = guide::steps_of(shot.view, second).next()?;
    // One that is begun goes on at its open end.
    guide::steps_of(shot.view, second).find(|step| step.placed(&shot.marks).is_none()).or(Some(begins))
}

/// Whether the guide asks if a border shows twice.
fn contours_asked(document: &Document) -> bool {
    view_questions::asked(document) == Some(ViewQuestion::Contours)
}

/// Whether a point is an end of an endplate.
fn is_corner(shot: &Shot, at: MarkRef) -> bool {
    let ends = [Some(0), shot.marks.slots(at.kind).len().checked_sub(1)];
    matches!(at.kind, MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate)
        && ends.contains(&Some(at.index))
}

/// Takes a step in hand: its mark if it is placed, else placing it.
pub(crate) fn take(document: &mut Document, step: Step) {
    document.take(hand_of(document, step));
}

/// Whether a step is in hand already.
#[must_use]
pub fn is_in_hand(document: &Document, step: Step) -> bool {
    document.mode().is_marking() && document.hand() == hand_of(document, step)
}

fn hand_of(document: &Document, step: Step) -> Hand {
    let placed = document.shot().and_then(|shot| step.placed(&shot.marks));
    placed.map_or(Hand::Next(step), Hand::Again)
}

/// What is in hand goes back; with nothing in hand the crosshair goes, and then what is proposed.
pub(crate) fn put_down(document: &mut Document) -> Result<(), EditError> {
    match document.hand() {
        Hand::Wall { .. } | Hand::Border(_) => return change::by_hand(document),
        Hand::Nothing | Hand::Next(_) if document.crosshair.is_none() && has_proposal(document) => {
            return change::by_hand(document);
        }
        Hand::Nothing => document.crosshair = None,
        Hand::Next(step) if document.shot().is_some_and(|shot| step.need(shot.view) == Need::Required) => {
            document.crosshair = None;
            document.take(Hand::Nothing);
        }
        Hand::Next(_) => document.take(Hand::Nothing),
        Hand::Landmark { .. } => document.give_copy_up(),
        Hand::Again(_) | Hand::Mark(_) | Hand::Adding(_) => document.back_to_marking(),
    }
    Ok(())
}

/// Whether something is proposed for the shown shot, or looked for after two clicks.
#[must_use]
pub fn has_proposal(document: &Document) -> bool {
    document.shot().is_some_and(|shot| {
        let one = document.proposals.of(&shot.id);
        let clicked = one.is_some_and(|one| matches!(one.basis, Some(ProposalBasis::Walls(..))));
        document.proposals.present(shot).is_some() || (clicked && document.proposals.is_sought(&shot.id))
    })
}

pub(crate) fn place(document: &mut Document, to: Point) -> Result<(), EditError> {
    let Some(shot) = document.shot() else { return Ok(()) };
    let (id, view) = (shot.id.clone(), shot.view);
    match document.hand() {
        Hand::Nothing | Hand::Mark(_) => {}
        Hand::Next(step) => {
            let (edit, at) = placement::place(&id, &shot.marks, step, to);
            document.apply(&edit)?;
            go_on(document, step, at, view);
        }
        Hand::Again(at) => {
            document.apply(&change::moving(document, &id, at, to))?;
            let step = document.shot().map(|shot| Step::of(&shot.marks, at));
            match step {
                Some(step) => go_on(document, step, at, view),
                None => document.take(Hand::Mark(at)),
            }
        }
        Hand::Adding(kind) => {
            insert(document, kind, to)?;
        }
        Hand::Landmark { .. } => copied_marks::place(document, to)?,
        Hand::Wall { .. } | Hand::Border(_) => change::point(document, to),
    }
    Ok(())
}

/// After a point is placed: the same mark's next point, else what the guide asks for, else the point itself.
fn go_on(document: &mut Document, step: Step, at: MarkRef, view: View) {
    let Some(shot) = document.shot() else { return };
    let own = guide::steps_of(view, step.kind)
        .find(|own| step.need(view) == Need::Extra && own.placed(&shot.marks).is_none());
    let after = (step.need(view) != Need::Extra).then_some(step);
    let next = own.or_else(|| document.next_step(after));
    document.take(next.map_or(Hand::Mark(at), Hand::Next));
}

pub(crate) fn insert(
    document: &mut Document,
    kind: MarkKind,
    to: Point,
) -> Result<Option<MarkRef>, EditError> {
    let Some(shot) = document.shot() else { return Ok(None) };
    let (edit, at) = placement::add(&shot.id, &shot.marks, kind, to);
    document.apply(&edit)?;
    Ok(Some(at))
}

pub(crate) fn grab(document: &mut Document, at: MarkRef, pointer: Point) {
    let Some(shot) = document.shot() else { return };
    let Some(place) = shot.marks.point(at) else { return };
    let (shot, offset) = (shot.id.clone(), place - pointer);
    document.end_change();
    let before = document.hand();
    document.begin_change(Mode::Dragging(Grabbed { shot, at, offset, before, moved: false }));
}

pub(crate) fn drag(document: &mut Document, pointer: Point) -> Result<(), EditError> {
    let Mode::Dragging(grabbed) = &mut document.mode else { return Ok(()) };
    grabbed.moved = true;
    let (shot, at, to) = (grabbed.shot.clone(), grabbed.at, pointer + grabbed.offset);
    document.apply(&change::moving(document, &shot, at, to))
}

pub(crate) fn nudge(
    document: &mut Document,
    way: Way,
    stride: Stride,
    middle: Point,
) -> Result<(), EditError> {
    let by = document.aspect().turn.unseen(way.unit()) * stride.px();
    match document.hand() {
        Hand::Again(at) | Hand::Mark(at) => {
            let Some(shot) = document.shot() else { return Ok(()) };
            let Some(place) = shot.marks.point(at) else { return Ok(()) };
            let shot = shot.id.clone();
            if document.nudged() != Some(at) {
                let hand = document.hand();
                document.begin_change(Mode::Nudging(hand));
            }
            document.apply(&change::moving(document, &shot, at, place + by))
        }
        Hand::Next(_) | Hand::Adding(_) | Hand::Landmark { .. } | Hand::Wall { .. } | Hand::Border(_) => {
            // The first press brings the crosshair up where the eye is.
            document.crosshair = Some(document.crosshair.map_or(middle, |at| at + by));
            Ok(())
        }
        Hand::Nothing => Ok(()),
    }
}

pub(crate) fn remove(document: &mut Document) -> Result<(), EditError> {
    let (Some(at), Some(shot)) = (document.hand().mark(), document.shot()) else { return Ok(()) };
    let (id, step) = (shot.id.clone(), Step::of(&shot.marks, at));
    document.apply(&Edit::Remove { shot: id, at })?;
    let missing = document.shot().is_some_and(|shot| step.placed(&shot.marks).is_none());
    if missing {
        document.take(Hand::Next(step))
    } else {
        document.back_to_marking()
    }
    Ok(())
}

/// One step back or forth through the changes of the case.
pub(crate) fn step_in_time(document: &mut Document, forward: bool) {
    let hand = document.hand();
    let moved = if forward { document.history.redo() } else { document.history.undo() };
    if !moved {
        return;
    }
    document.changed();
    // What is in hand next is what the guide would ask for, unless a border is being filled.
    if document.mode().is_marking() && !matches!(hand, Hand::Adding(_)) {
        match hand.mark().filter(|at| document.shot().is_some_and(|shot| shot.marks.point(*at).is_some())) {
            Some(at) if document.next_step(None).is_none() => document.take(Hand::Mark(at)),
            _ => document.back_to_marking(),
        }
    }
}

/// Takes all marks of the shown shot away, as one step back.
pub(crate) fn clear(document: &mut Document) -> Result<(), EditError> {
    let Some(shot) = document.shown.clone() else { return Ok(()) };
    // Whoever begins anew is asked for everything anew.
    document.forget_skipped(&shot);
    document.history.begin_gesture();
    let done = document
        .apply(&Edit::SetMarks { shot: shot.clone(), marks: Marks::new() })
        .and_then(|()| document.apply(&Edit::Describe { shot, what: Description::Draft(false) }));
    document.history.end_gesture();
    document.resume(None);
    done
}

/// Shows the small diagram with the back of the spine on the other side.
pub(crate) fn mirror_diagram(document: &mut Document) {
    document.posterior_left = Some(!document.posterior_is_stored_left().unwrap_or(true));
}

#[cfg(test)]
pub(crate) mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::marking::guide::StepPart;
    use crate::case::document::Case;
    use crate::case::readings::Picture;
    use crate::measure::mark::{Marks, View};

    /// A command on marks, or one step through the changes of the case, on a document alone.
    pub(crate) fn mark(document: &mut Document, command: &Command, middle: Point) -> Result<(), EditError> {
        match command {
            Command::Marks(command) => return command.clone().apply(document, middle),
            Command::Case(CaseCommand::Undo) => step_in_time(document, false),
            Command::Case(CaseCommand::Redo) => step_in_time(document, true),
            other => panic!("{other:?} is not about marks"),
        }
        Ok(())
    }

    fn document() -> Document {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        Document::opened(case, PathBuf::from("/x/a.case.json"), None)
    }

    fn run(document: &mut Document, command: Command) {
        mark(document, &command, Point::new(50.0, 50.0)).unwrap();
    }

    /// The places of the guide's nine steps on an upright body.
    const PLACES: [(f64, f64); 9] = [
        (100.0, 100.0),
        (150.0, 104.0),
        (200.0, 100.0),
        (198.0, 140.0),
        (200.0, 180.0),
        (150.0, 176.0),
        (100.0, 180.0),
        (102.0, 140.0),
        (140.0, 140.0),
    ];

    fn marked() -> Document {
        let mut document = document();
        for (x, y) in PLACES {
            run(&mut document, Command::Marks(MarksCommand::Place(Point::new(x, y))));
        }
        document
    }

    fn marks(document: &Document) -> &Marks {
        &document.case().shots[0].marks
    }

    #[test]
    fn nine_clicks_mark_a_body() {
        let document = marked();
        assert_eq!(marks(&document).placed().count(), 9);
        assert_eq!(marks(&document).slots(MarkKind::SuperiorEndPlate).len(), 3);
        let first = marks(&document).point(MarkRef { kind: MarkKind::InferiorEndPlate, index: 0 });
        assert_eq!(first, Some(Point::new(100.0, 180.0)));
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        assert_eq!(document.hand(), Hand::Mark(tip));
        // Nothing is moved by a further click.
        let mut after = document;
        run(&mut after, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
        assert_eq!(marks(&after).point(tip), Some(Point::new(140.0, 140.0)));
    }

    #[test]
    fn a_drag_is_one_step_back_and_goes_on_with_the_guide() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(100.0, 100.0))));
        let asked = document.hand();
        let at = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
        run(&mut document, Command::Marks(MarksCommand::Grab(at, Point::new(102.0, 101.0))));
        for x in [105.0, 110.0, 120.0] {
            run(&mut document, Command::Marks(MarksCommand::Drag(Point::new(x, 101.0))));
        }
        run(&mut document, Command::Marks(MarksCommand::Release));
        assert_eq!(marks(&document).point(at), Some(Point::new(118.0, 100.0)), "grasped off its middle");
        assert_eq!(document.hand(), asked);
        run(&mut document, Command::Case(CaseCommand::Undo));
        assert_eq!(marks(&document).point(at), Some(Point::new(100.0, 100.0)));
    }

    #[test]
    fn nudges_of_one_mark_go_the_stated_way() {
        let mut document = marked();
        for (way, stride) in [(Way::Right, Stride::Ten), (Way::Up, Stride::One), (Way::Left, Stride::Fine)] {
            run(&mut document, Command::Marks(MarksCommand::Nudge(way, stride)));
        }
        let tip = marks(&document).point(MarkRef { kind: MarkKind::Tip, index: 0 }).unwrap();
        assert!(tip.distance(Point::new(149.9, 139.0)) < 1e-9);
        run(&mut document, Command::Case(CaseCommand::Undo));
        let tip = marks(&document).point(MarkRef { kind: MarkKind::Tip, index: 0 });
        assert_eq!(tip, Some(Point::new(140.0, 140.0)));
    }

    #[test]
    fn a_crosshair_marks_without_a_pointer() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::Nudge(Way::Right, Stride::Ten)));
        assert_eq!(document.crosshair, Some(Point::new(50.0, 50.0)), "it comes up in the middle");
        run(&mut document, Command::Marks(MarksCommand::Nudge(Way::Right, Stride::Ten)));
        run(&mut document, Command::Marks(MarksCommand::PlaceAtCrosshair));
        let at = MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 };
        assert_eq!(marks(&document).point(at), Some(Point::new(60.0, 50.0)));
        assert!(document.hand().places());
    }

    #[test]
    fn one_key_begins_the_second_contour_of_the_border_in_hand() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::TakeNumber(8)));
        run(&mut document, Command::Marks(MarksCommand::SecondContour));
        let first = Hand::Next(Step { kind: MarkKind::PosteriorWallSecond, part: StepPart::First });
        assert_eq!(document.hand(), first);
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(5.0, 5.0))));
        let last = Hand::Next(Step { kind: MarkKind::PosteriorWallSecond, part: StepPart::Last });
        assert_eq!(document.hand(), last, "the other end is asked for by itself");
        document.take(Hand::Nothing);
        assert_eq!(second_contour(&document), None);
    }

    /// A corner is an end of a wall as well as of an endplate, so the line that tells most about the view is begun; what is
    /// skipped leads on to the next border, and past the last one back to the question.
    #[test]
    fn skipping_the_other_line_of_a_border_leads_to_the_next_border() {
        let mut document = marked();
        document.look(|_| Picture::NotLookedAt);
        document.take(Hand::Mark(MarkRef { kind: MarkKind::SuperiorEndPlate, index: 0 }));
        assert!(contours_asked(&document));
        let begins = |kind| Hand::Next(Step { kind, part: StepPart::First });
        run(&mut document, Command::Marks(MarksCommand::SecondContour));
        assert_eq!(document.hand(), begins(MarkKind::PosteriorWallSecond));
        for kind in guide::other_lines(View::Lateral)[1..].iter().copied() {
            run(&mut document, Command::Marks(MarksCommand::Skip));
            assert_eq!(document.hand(), begins(kind));
        }
        run(&mut document, Command::Marks(MarksCommand::Skip));
        assert!(document.hand() == Hand::Nothing && contours_asked(&document));
        document.take(Hand::Mark(MarkRef { kind: MarkKind::SuperiorEndPlate, index: 1 }));
        run(&mut document, Command::Marks(MarksCommand::SecondContour));
        assert_eq!(document.hand(), begins(MarkKind::SuperiorEndPlateSecond), "its middle names a border");
    }

    #[test]
    fn a_mark_can_be_taken_out_of_order_placed_again_and_removed() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::TakeNumber(9)));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(5.0, 5.0))));
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        assert_eq!(marks(&document).point(tip), Some(Point::new(5.0, 5.0)));
        run(&mut document, Command::Marks(MarksCommand::TakeNumber(9)));
        assert_eq!(document.hand(), Hand::Again(tip));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(6.0, 6.0))));
        assert_eq!(marks(&document).point(tip), Some(Point::new(6.0, 6.0)));
        run(&mut document, Command::Marks(MarksCommand::TakeMark(tip)));
        run(&mut document, Command::Marks(MarksCommand::Remove));
        assert_eq!(marks(&document).point(tip), None);
        assert!(matches!(document.hand(), Hand::Next(step) if step.kind == MarkKind::Tip));
    }

    #[test]
    fn the_cannula_takes_two_clicks_and_comes_back_to_rest() {
        let mut document = marked();
        run(&mut document, Command::Marks(MarksCommand::Take(guide::extras(View::Lateral)[0])));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(10.0, 90.0))));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(90.0, 130.0))));
        assert_eq!(marks(&document).slots(MarkKind::Cannula).len(), 2);
        assert_eq!(document.hand(), Hand::Mark(MarkRef { kind: MarkKind::Cannula, index: 1 }));
    }

    #[test]
    fn points_are_added_until_they_are_put_down() {
        let mut document = marked();
        run(&mut document, Command::Marks(MarksCommand::AddPointsTo(MarkKind::SuperiorEndPlate)));
        for x in [120.0, 180.0] {
            run(&mut document, Command::Marks(MarksCommand::Place(Point::new(x, 103.0))));
        }
        run(&mut document, Command::Marks(MarksCommand::PutDown));
        assert_eq!(marks(&document).slots(MarkKind::SuperiorEndPlate).len(), 5);
        assert_eq!(document.hand(), Hand::Nothing);
    }

    #[test]
    fn undoing_everything_returns_to_the_first_corner() {
        let mut document = marked();
        for _ in 0..9 {
            run(&mut document, Command::Case(CaseCommand::Undo));
        }
        assert!(marks(&document).is_empty() && !document.unsaved());
        assert_eq!(document.hand(), Hand::Next(guide::steps(View::Lateral)[0]));
        for _ in 0..9 {
            run(&mut document, Command::Case(CaseCommand::Redo));
        }
        assert_eq!(marks(&document), marks(&marked()));
    }

    #[test]
    fn a_grabbed_point_that_is_gone_is_let_go() {
        let mut document = marked();
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        run(&mut document, Command::Marks(MarksCommand::Grab(tip, Point::new(140.0, 140.0))));
        document.apply(&Edit::RemoveShot { shot: "a".to_owned() }).unwrap();
        assert!(document.grabbed().is_none(), "or unsaved work would never be kept again");
        run(&mut document, Command::Marks(MarksCommand::Drag(Point::new(1.0, 1.0))));
        run(&mut document, Command::Marks(MarksCommand::Release));
        run(&mut document, Command::Case(CaseCommand::Undo));
        assert_eq!(marks(&document).point(tip), Some(Point::new(140.0, 140.0)));
    }
}
