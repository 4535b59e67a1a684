//! The place of the image that is looked at closely: where the next mark would go, the mark that is dragged, or the mark that
//! is moved by keys.

use crate::app::session::document::Document;
use crate::app::session::mode::Tool;
use crate::geom::point::Point;
use crate::measure::mark::MarkRef;

/// How far, in pixels of the image, the pointer has moved once it counts as moved.
const MOVED_PX: f64 = 0.5;

/// Remembers where the pointer was when keys began to move a mark.
#[derive(Clone, Copy, Debug, Default)]
pub struct NudgeMemory(Option<(MarkRef, Option<Point>)>);

/// What of the shown shot is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LookedAt {
    /// Where the next point would be placed, if the pointer or the crosshair is about to place one.
    pub aimed: Option<Point>,
    /// The place that is shown enlarged.
    pub closely: Option<Point>,
}

impl LookedAt {
    /// With the pointer at this place of the image, if it is over it; `busy` while it does something else than placing.
    #[must_use]
    pub fn of(document: &Document, pointer: Option<Point>, busy: bool, memory: &mut NudgeMemory) -> Self {
        let nudged = memory.nudged(document, pointer);
        let aimed = aim(document, pointer, busy).filter(|_| nudged.is_none());
        let held = document
            .grabbed()
            .and_then(|grabbed| document.shot().and_then(|shot| shot.marks.point(grabbed.at)));
        Self { aimed, closely: held.or(nudged).or(aimed).or(document.crosshair) }
    }
}

impl NudgeMemory {
    /// The place of a mark that is being moved by keys: looked at until the pointer moves again.
    fn nudged(&mut self, document: &Document, pointer: Option<Point>) -> Option<Point> {
        let at = document.nudged()?;
        if self.0.is_none_or(|(of, _)| of != at) {
            self.0 = Some((at, pointer));
        }
        let (_, from) = self.0?;
        // A pointer that leaves the picture has not come back to it.
        let moved = pointer.is_some_and(|p| from.is_none_or(|q| q.distance(p) > MOVED_PX));
        if moved { None } else { document.shot()?.marks.point(at) }
    }
}

fn aim(document: &Document, pointer: Option<Point>, busy: bool) -> Option<Point> {
    if busy || !document.hand().places() || document.tool() != Tool::Marks {
        return None;
    }
    document.crosshair.or(pointer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::session::mode::{Hand, Mode};
    use crate::case::document::{Case, Shot};
    use crate::measure::mark::{MarkKind, Marks, View};

    #[test]
    fn a_nudged_mark_is_looked_at_until_the_pointer_moves() {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = Marks::new().with(MarkKind::Tip, &[(40.0, 50.0)]);
        let mut case = Case::default();
        case.shots.push(shot);
        let mut document = Document::fresh(case);
        let mut memory = NudgeMemory::default();
        let pointer = Point::new(7.0, 8.0);
        let looked = LookedAt::of(&document, Some(pointer), false, &mut memory);
        assert_eq!(
            (looked.aimed, looked.closely),
            (Some(pointer), Some(pointer)),
            "the first corner is asked for"
        );
        assert_eq!(LookedAt::of(&document, Some(pointer), true, &mut memory), LookedAt::default());

        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        document.enter(Mode::Nudging(Hand::Mark(tip)));
        let looked = LookedAt::of(&document, Some(pointer), false, &mut memory);
        assert_eq!((looked.aimed, looked.closely), (None, Some(Point::new(40.0, 50.0))));
        assert_eq!(LookedAt::of(&document, None, false, &mut memory).closely, Some(Point::new(40.0, 50.0)));
        let moved = Point::new(9.0, 8.0);
        assert_eq!(LookedAt::of(&document, Some(moved), false, &mut memory).closely, None);
    }
}
