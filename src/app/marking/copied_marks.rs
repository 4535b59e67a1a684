//! Carrying marks from another shot of the same level and view: two clicks move all of them as a whole; they come
//! as a draft that has to be confirmed.

use crate::app::marking::proposal::change;
use crate::app::session::document::Document;
use crate::app::session::mode::{MarkCopy, Mode};
use crate::case::document::Shot;
use crate::case::document::copied_marks::{carried_onto, copied_scale, sources};
use crate::case::document::edit::{Description, Edit, EditError};
use crate::geom::point::Point;
use crate::measure::mark::{Marks, Material, View};

/// The shots whose marks can be carried to the shown one, nearest first; none once it has bone marks of its own,
/// for those would be lost.
#[must_use]
pub fn sources_of(document: &Document) -> Vec<&Shot> {
    let (Some(shot), Some(index)) = (document.shot(), document.index()) else { return Vec::new() };
    let own = shot.marks.placed().any(|(at, _)| at.kind.material() == Material::Bone);
    if own && !shot.draft {
        return Vec::new();
    }
    sources(document.case(), index).into_iter().map(|i| &document.case().shots[i]).collect()
}

/// What the first and the second click point at, as it continues a sentence.
#[must_use]
pub const fn landmark(view: View, second: bool) -> &'static str {
    match (view, second) {
        (View::Lateral, false) => "the posterior-superior corner",
        (View::Lateral, true) => "the anterior-superior corner",
        (View::Ap, false) => "the left end of the superior endplate, as displayed",
        (View::Ap, true) => "the right end of the superior endplate, as displayed",
        (View::Pedicle, false) => "the superior border of the pedicle",
        (View::Pedicle, true) => "the inferior border of the pedicle",
    }
}

/// Takes the first landmark in hand.
pub(crate) fn begin(document: &mut Document, source: &str) {
    if sources_of(document).iter().any(|shot| shot.id == source) {
        document.enter(Mode::Copying(MarkCopy { source: source.to_owned(), first: None }));
    }
}

/// Puts the landmark in hand at this place; the second one brings the marks, as one step back.
pub(crate) fn place(document: &mut Document, to: Point) -> Result<(), EditError> {
    let Mode::Copying(copy) = &mut document.mode else { return Ok(()) };
    let Some(first) = copy.first else {
        copy.first = Some(to);
        return Ok(());
    };
    let Some((shot, marks)) = brought(document, first, to) else { return Ok(()) };
    let scale = scale_along(document, first.distance(to));
    document.history.begin_gesture();
    let done = document
        .apply(&Edit::SetMarks { shot: shot.clone(), marks })
        .and_then(|()| document.apply(&Edit::Describe { shot, what: Description::Draft(true) }))
        .and_then(|()| scale.map_or(Ok(()), |edit| document.apply(&edit)));
    document.history.end_gesture();
    document.give_copy_up();
    done
}

/// The marks as they would come with the second landmark at `to`.
#[must_use]
pub fn preview(document: &Document, to: Point) -> Option<Marks> {
    let first = document.copying()?.first?;
    brought(document, first, to).map(|(_, marks)| marks)
}

fn brought(document: &Document, first: Point, second: Point) -> Option<(String, Marks)> {
    let shot = document.shot()?;
    let source = document.case().shot(&document.copying()?.source)?;
    Some((shot.id.clone(), carried_onto(shot, source, (first, second))?))
}

/// The scale comes along with the marks where the shot has none and the body shows as large as on the other shot.
fn scale_along(document: &Document, apart: f64) -> Option<Edit> {
    let (shot, source) = (document.shot()?, document.case().shot(&document.copying()?.source)?);
    let scale = copied_scale(shot, source, apart)?;
    Some(Edit::Describe { shot: shot.id.clone(), what: Description::Scale(Some(scale)) })
}

/// From now on the draft's marks, or those that are offered, count.
pub(crate) fn confirm(document: &mut Document) -> Result<(), EditError> {
    change::accept(document)?;
    if document.hand().mark().is_none() {
        document.resume(None);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::marking::guide::{Step, StepPart};
    use crate::app::marking::marks::tests::mark;
    use crate::app::session::mode::Hand;
    use crate::case::document::Case;
    use crate::case::plan::standing::Standing;
    use crate::measure::calibration::Calibration;
    use crate::measure::mark::{Level, MarkKind, MarkRef};

    fn document() -> Document {
        let mut case = Case::default();
        for id in ["a", "b"] {
            let mut shot = Shot::new(id, format!("{id}.png"), View::Lateral);
            shot.level = Some(Level::L4);
            case.shots.push(shot);
        }
        case.shots[0].marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (200.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 180.0), (200.0, 180.0)])
            .with(MarkKind::Tip, &[(140.0, 140.0)]);
        let mut document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        document.show("b");
        document
    }

    fn run(document: &mut Document, command: Command) {
        mark(document, &command, Point::new(50.0, 50.0)).unwrap();
        document.look(|_| crate::case::readings::Picture::NotLookedAt);
    }

    fn carried() -> Document {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::CopyMarksFrom("a".to_owned())));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(110.0, 120.0))));
        assert!(document.shot().unwrap().marks.is_empty());
        assert!(preview(&document, Point::new(210.0, 120.0)).is_some());
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(210.0, 120.0))));
        document
    }

    fn corner(document: &Document) -> Option<Point> {
        document.shot().unwrap().marks.point(MarkRef { kind: MarkKind::InferiorEndPlate, index: 1 })
    }

    #[test]
    fn two_clicks_bring_a_draft_and_undo_takes_it_back_whole() {
        let mut document = carried();
        assert_eq!(corner(&document), Some(Point::new(210.0, 200.0)));
        assert!(document.shot().unwrap().draft);
        assert_eq!(document.looked("b").unwrap().standing, Standing::Draft);
        assert!(
            matches!(document.hand(), Hand::Next(step) if step.kind == MarkKind::Tip),
            "the tip has moved, and is asked for"
        );
        run(&mut document, Command::Case(CaseCommand::Undo));
        assert!(document.shot().unwrap().marks.is_empty() && !document.shot().unwrap().draft);
        assert!(!document.unsaved());
    }

    #[test]
    fn the_scale_comes_along_and_goes_with_the_same_step_back() {
        let mut document = document();
        let scale = Calibration::typed(0.3, Some(0.01));
        let what = Description::Scale(Some(scale));
        document.apply(&Edit::Describe { shot: "a".to_owned(), what }).unwrap();
        run(&mut document, Command::Marks(MarksCommand::CopyMarksFrom("a".to_owned())));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(110.0, 120.0))));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(210.0, 120.0))));
        let shot = document.shot().unwrap();
        assert_eq!((shot.mm_per_px, shot.mm_per_px_sd), (Some(0.3), Some(0.01)));
        run(&mut document, Command::Case(CaseCommand::Undo));
        assert_eq!(document.shot().unwrap().mm_per_px, None);
    }

    #[test]
    fn a_draft_is_read_only_once_it_is_confirmed() {
        let mut document = carried();
        document.take(Hand::Next(Step { kind: MarkKind::Tip, part: StepPart::Nth(0) }));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(150.0, 160.0))));
        assert!(!document.looked("b").unwrap().reading.is_read());
        run(&mut document, Command::Marks(MarksCommand::ConfirmMarks));
        assert!(!document.shot().unwrap().draft && document.looked("b").unwrap().reading.is_read());
    }

    #[test]
    fn marks_of_ones_own_are_never_replaced() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
        assert!(sources_of(&document).is_empty());
        run(&mut document, Command::Marks(MarksCommand::CopyMarksFrom("a".to_owned())));
        assert!(document.copying().is_none());
    }

    #[test]
    fn escape_and_back_leave_the_marks_where_they_are() {
        let mut document = document();
        run(&mut document, Command::Marks(MarksCommand::CopyMarksFrom("a".to_owned())));
        run(&mut document, Command::Marks(MarksCommand::Place(Point::new(110.0, 120.0))));
        run(&mut document, Command::Marks(MarksCommand::Back));
        assert_eq!(document.hand(), Hand::Landmark { second: false });
        run(&mut document, Command::Marks(MarksCommand::PutDown));
        assert!(document.copying().is_none() && matches!(document.hand(), Hand::Next(_)));
    }
}
