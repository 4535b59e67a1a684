//! The order in which the marks of a view are asked for, and their names.
//!
//! The bone marks walk once around the body, each border's interior point between its corners, and the tip
//! comes last. That closed walk is the shortest way through all of them (for points in convex position no
//! tour is shorter than the one along their hull), so the hand never crosses the body and the eye follows one
//! border at a time.

use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

/// Which point of a mark a step is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepPart {
    /// Its first point.
    First,
    /// A point between the first and the last.
    Between,
    /// Its last point.
    Last,
    /// The point with this index of a mark with a fixed number of points.
    Nth(usize),
}

/// One thing to be marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Step {
    /// The mark.
    pub kind: MarkKind,
    /// Which point of it.
    pub part: StepPart,
}

/// Whether a step has to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// No reading without it.
    Required,
    /// Asked for by the guide, makes the reading truer; may be skipped.
    Skippable,
    /// Not asked for; there for those who want it.
    Extra,
}

/// The name of a point of a border's second contour: the ends of a plate in either order, a wall from above to below.
macro_rules! second {
    (plate $border:literal, $part:expr) => {
        second!($border, $part, "one end", "other end")
    };
    (wall $border:literal, $part:expr) => {
        second!($border, $part, "upper end", "lower end")
    };
    ($border:literal, $part:expr, $first:literal, $last:literal) => {
        match $part {
            StepPart::First => concat!($first, " of the ", $border, "'s second contour"),
            StepPart::Last => concat!($last, " of the ", $border, "'s second contour"),
            StepPart::Between | StepPart::Nth(_) => concat!($border, "'s second contour"),
        }
    };
}

/// The same under a heading that says what it is: the border and its end.
macro_rules! end {
    (plate $border:literal, $part:expr) => {
        if matches!($part, StepPart::Last) {
            concat!($border, ", other end")
        } else {
            concat!($border, ", one end")
        }
    };
    (wall $border:literal, $part:expr) => {
        if matches!($part, StepPart::Last) {
            concat!($border, ", lower end")
        } else {
            concat!($border, ", upper end")
        }
    };
}

const fn step(kind: MarkKind, part: StepPart) -> Step {
    Step { kind, part }
}

/// The lateral walk: superior end plate from back to front, down the anterior wall, inferior end plate from
/// front to back, up the posterior wall, then the tip.
const LATERAL: [Step; 9] = [
    step(MarkKind::SuperiorEndPlate, StepPart::First),
    step(MarkKind::SuperiorEndPlate, StepPart::Between),
    step(MarkKind::SuperiorEndPlate, StepPart::Last),
    step(MarkKind::AnteriorWall, StepPart::Between),
    step(MarkKind::InferiorEndPlate, StepPart::Last),
    step(MarkKind::InferiorEndPlate, StepPart::Between),
    step(MarkKind::InferiorEndPlate, StepPart::First),
    step(MarkKind::PosteriorWall, StepPart::Between),
    step(MarkKind::Tip, StepPart::Nth(0)),
];

const LATERAL_EXTRAS: [Step; 12] = [
    step(MarkKind::Cannula, StepPart::First),
    step(MarkKind::Cannula, StepPart::Last),
    step(MarkKind::Electrodes, StepPart::Nth(0)),
    step(MarkKind::Electrodes, StepPart::Nth(1)),
    step(MarkKind::SuperiorEndPlateSecond, StepPart::First),
    step(MarkKind::SuperiorEndPlateSecond, StepPart::Last),
    step(MarkKind::InferiorEndPlateSecond, StepPart::First),
    step(MarkKind::InferiorEndPlateSecond, StepPart::Last),
    step(MarkKind::PosteriorWallSecond, StepPart::First),
    step(MarkKind::PosteriorWallSecond, StepPart::Last),
    step(MarkKind::AnteriorWallSecond, StepPart::First),
    step(MarkKind::AnteriorWallSecond, StepPart::Last),
];

const AP: [Step; 15] = [
    step(MarkKind::SuperiorEndPlate, StepPart::First),
    step(MarkKind::SuperiorEndPlate, StepPart::Between),
    step(MarkKind::SuperiorEndPlate, StepPart::Last),
    step(MarkKind::InferiorEndPlate, StepPart::Last),
    step(MarkKind::InferiorEndPlate, StepPart::Between),
    step(MarkKind::InferiorEndPlate, StepPart::First),
    step(MarkKind::RightWall, StepPart::Between),
    step(MarkKind::RightPedicle, StepPart::Nth(0)),
    step(MarkKind::RightPedicle, StepPart::Nth(1)),
    step(MarkKind::SpinousProcess, StepPart::Nth(0)),
    step(MarkKind::SpinousProcess, StepPart::Nth(1)),
    step(MarkKind::LeftPedicle, StepPart::Nth(1)),
    step(MarkKind::LeftPedicle, StepPart::Nth(0)),
    step(MarkKind::LeftWall, StepPart::Between),
    step(MarkKind::Tip, StepPart::Nth(0)),
];

const AP_EXTRAS: [Step; 12] = [
    step(MarkKind::Cannula, StepPart::First),
    step(MarkKind::Cannula, StepPart::Last),
    step(MarkKind::Electrodes, StepPart::Nth(0)),
    step(MarkKind::Electrodes, StepPart::Nth(1)),
    step(MarkKind::SuperiorEndPlateSecond, StepPart::First),
    step(MarkKind::SuperiorEndPlateSecond, StepPart::Last),
    step(MarkKind::InferiorEndPlateSecond, StepPart::First),
    step(MarkKind::InferiorEndPlateSecond, StepPart::Last),
    step(MarkKind::RightWallSecond, StepPart::First),
    step(MarkKind::RightWallSecond, StepPart::Last),
    step(MarkKind::LeftWallSecond, StepPart::First),
    step(MarkKind::LeftWallSecond, StepPart::Last),
];

const PEDICLE: [Step; 5] = [
    step(MarkKind::Pedicle, StepPart::Nth(0)),
    step(MarkKind::Pedicle, StepPart::Nth(3)),
    step(MarkKind::Pedicle, StepPart::Nth(1)),
    step(MarkKind::Pedicle, StepPart::Nth(2)),
    step(MarkKind::Tip, StepPart::Nth(0)),
];

/// What the guide asks for in a view, in order.
#[must_use]
pub const fn steps(view: View) -> &'static [Step] {
    match view {
        View::Lateral => &LATERAL,
        View::Ap => &AP,
        View::Pedicle => &PEDICLE,
    }
}

/// What can be marked beyond that, in the order of the list.
#[must_use]
pub const fn extras(view: View) -> &'static [Step] {
    match view {
        View::Lateral => &LATERAL_EXTRAS,
        View::Ap => &AP_EXTRAS,
        View::Pedicle => &[],
    }
}

/// The borders' other lines, the one that tells most about the view first.
#[must_use]
pub const fn other_lines(view: View) -> &'static [MarkKind] {
    match view {
        View::Lateral => &[
            MarkKind::PosteriorWallSecond,
            MarkKind::SuperiorEndPlateSecond,
            MarkKind::InferiorEndPlateSecond,
            MarkKind::AnteriorWallSecond,
        ],
        View::Ap => &[
            MarkKind::SuperiorEndPlateSecond,
            MarkKind::InferiorEndPlateSecond,
            MarkKind::RightWallSecond,
            MarkKind::LeftWallSecond,
        ],
        View::Pedicle => &[],
    }
}

/// The steps of one mark, guided or extra.
pub fn steps_of(view: View, kind: MarkKind) -> impl Iterator<Item = Step> {
    steps(view).iter().chain(extras(view)).copied().filter(move |step| step.kind == kind)
}

impl Step {
    /// Whether it has to be done in this view.
    #[must_use]
    pub fn need(self, view: View) -> Need {
        if !steps(view).contains(&self) {
            return Need::Extra;
        }
        match (self.part, self.kind) {
            (StepPart::Between, _)
            | (_, MarkKind::RightPedicle | MarkKind::LeftPedicle | MarkKind::SpinousProcess) => {
                Need::Skippable
            }
            _ => Need::Required,
        }
    }

    /// The placed point that fulfils it; of several interior points the one nearest the middle of the list.
    #[must_use]
    pub fn placed(self, marks: &Marks) -> Option<MarkRef> {
        let slots = marks.slots(self.kind);
        let index = match self.part {
            StepPart::First => 0,
            StepPart::Last => slots.len().checked_sub(1).filter(|&i| i > 0)?,
            StepPart::Nth(i) => i,
            StepPart::Between => {
                let (from, to) = interior(self.kind, slots.len());
                (from < to).then(|| usize::midpoint(from, to))?
            }
        };
        let at = MarkRef { kind: self.kind, index };
        marks.point(at).map(|_| at)
    }

    /// The step that a placed point belongs to.
    #[must_use]
    pub fn of(marks: &Marks, at: MarkRef) -> Self {
        let len = marks.slots(at.kind).len();
        let part = if at.kind.count().1 != usize::MAX {
            StepPart::Nth(at.index)
        } else {
            let (from, to) = interior(at.kind, len);
            if (from..to).contains(&at.index) {
                StepPart::Between
            } else if at.index == 0 {
                StepPart::First
            } else {
                StepPart::Last
            }
        };
        Self { kind: at.kind, part }
    }

    /// What is marked, in the words of the trade, as it continues a sentence.
    #[must_use]
    pub const fn name(self, view: View) -> &'static str {
        let lateral = matches!(view, View::Lateral);
        match (self.kind, self.part) {
            (MarkKind::SuperiorEndPlate, StepPart::First) if lateral => "posterior-superior corner",
            (MarkKind::SuperiorEndPlate, StepPart::Last) if lateral => "anterior-superior corner",
            (MarkKind::InferiorEndPlate, StepPart::First) if lateral => "posterior-inferior corner",
            (MarkKind::InferiorEndPlate, StepPart::Last) if lateral => "anterior-inferior corner",
            (MarkKind::SuperiorEndPlate, StepPart::First) => {
                "left end of the superior endplate (as displayed)"
            }
            (MarkKind::SuperiorEndPlate, StepPart::Last) => {
                "right end of the superior endplate (as displayed)"
            }
            (MarkKind::InferiorEndPlate, StepPart::Last) => {
                "right end of the inferior endplate (as displayed)"
            }
            (MarkKind::InferiorEndPlate, StepPart::First) => {
                "left end of the inferior endplate (as displayed)"
            }
            (MarkKind::SuperiorEndPlate, _) => "mid superior endplate",
            (MarkKind::InferiorEndPlate, _) => "mid inferior endplate",
            (MarkKind::PosteriorWall, _) => "posterior wall, mid-height",
            (MarkKind::AnteriorWall, _) => "anterior wall, mid-height",
            (MarkKind::RightWall, _) => "patient's right wall, mid-height",
            (MarkKind::LeftWall, _) => "patient's left wall, mid-height",
            (MarkKind::SuperiorEndPlateSecond, part) => second!(plate "superior endplate", part),
            (MarkKind::InferiorEndPlateSecond, part) => second!(plate "inferior endplate", part),
            (MarkKind::PosteriorWallSecond, part) => second!(wall "posterior wall", part),
            (MarkKind::AnteriorWallSecond, part) => second!(wall "anterior wall", part),
            (MarkKind::RightWallSecond, part) => second!(wall "right wall", part),
            (MarkKind::LeftWallSecond, part) => second!(wall "left wall", part),
            (MarkKind::RightPedicle, StepPart::Nth(0)) => "lateral border of the right pedicle",
            (MarkKind::RightPedicle, _) => "medial border of the right pedicle",
            (MarkKind::LeftPedicle, StepPart::Nth(0)) => "lateral border of the left pedicle",
            (MarkKind::LeftPedicle, _) => "medial border of the left pedicle",
            (MarkKind::SpinousProcess, StepPart::Nth(0)) => "one border of the spinous process",
            (MarkKind::SpinousProcess, _) => "other border of the spinous process",
            (MarkKind::Pedicle, StepPart::Nth(0)) => "superior border of the pedicle",
            (MarkKind::Pedicle, StepPart::Nth(1)) => "inferior border of the pedicle",
            (MarkKind::Pedicle, StepPart::Nth(2)) => "medial border of the pedicle",
            (MarkKind::Pedicle, _) => "lateral border of the pedicle",
            (MarkKind::Tip, _) if matches!(view, View::Pedicle) => "docking point",
            (MarkKind::Tip, _) => "tip",
            (MarkKind::Cannula, StepPart::First) => "proximal cannula shaft",
            (MarkKind::Cannula, StepPart::Last) => "cannula tip (distal opening)",
            (MarkKind::Cannula, _) => "cannula, between its ends",
            (MarkKind::Electrodes, StepPart::Nth(0)) => "proximal electrode",
            (MarkKind::Electrodes, _) => "distal electrode",
        }
    }

    /// Where exactly to click; empty where the name says it all.
    #[must_use]
    pub const fn advice(self, view: View) -> &'static str {
        match (self.kind, self.part) {
            (MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate, StepPart::Between) => {
                "on the endplate line at the deepest point of the concavity, not on the rim"
            }
            (MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate, _) => {
                "exclude osteophytes: mark where the wall line and the endplate line would meet"
            }
            (MarkKind::PosteriorWall, _) => "carry the wall straight across the basivertebral foramen",
            (MarkKind::AnteriorWall, _) => "at the narrowest level of the body",
            (MarkKind::RightWall | MarkKind::LeftWall, _) => {
                "mark both side walls or neither: one alone shifts the middle of the body"
            }
            (MarkKind::Tip, _) if matches!(view, View::Pedicle) => "where the tip rests on the bone",
            (MarkKind::Tip, _) => "the most distal point of the probe",
            (MarkKind::Cannula, StepPart::First) => "anywhere on the shaft, well outside the body",
            (MarkKind::Electrodes, _) => "at its center",
            _ => "",
        }
    }

    /// The second contour's border and end in a few words, for a list under a heading that says what they are;
    /// `None` for other marks.
    #[must_use]
    pub const fn second_words(self) -> Option<&'static str> {
        let part = self.part;
        Some(match self.kind {
            MarkKind::SuperiorEndPlateSecond => end!(plate "Superior endplate", part),
            MarkKind::InferiorEndPlateSecond => end!(plate "Inferior endplate", part),
            MarkKind::PosteriorWallSecond => end!(wall "Posterior wall", part),
            MarkKind::AnteriorWallSecond => end!(wall "Anterior wall", part),
            MarkKind::RightWallSecond => end!(wall "Right wall", part),
            MarkKind::LeftWallSecond => end!(wall "Left wall", part),
            _ => return None,
        })
    }

    /// The name with its article, as it continues a sentence: `the tip`, `one end of the superior end plate`.
    #[must_use]
    pub fn named(self, view: View) -> String {
        let name = self.name(view);
        if name.starts_with("one ") { name.to_owned() } else { format!("the {name}") }
    }

    /// The name as it stands in a list, short enough for a narrow column.
    #[must_use]
    pub fn listed(self, view: View) -> String {
        if matches!(view, View::Lateral) {
            return self.title(view);
        }
        let words = match (self.kind, self.part) {
            (MarkKind::SuperiorEndPlate, StepPart::First) => "Superior endplate, left end",
            (MarkKind::SuperiorEndPlate, StepPart::Last) => "Superior endplate, right end",
            (MarkKind::InferiorEndPlate, StepPart::Last) => "Inferior endplate, right end",
            (MarkKind::InferiorEndPlate, StepPart::First) => "Inferior endplate, left end",
            (MarkKind::RightWall, _) => "Patient's right wall",
            (MarkKind::LeftWall, _) => "Patient's left wall",
            (MarkKind::RightPedicle, StepPart::Nth(0)) => "Right pedicle, lateral border",
            (MarkKind::RightPedicle, _) => "Right pedicle, medial border",
            (MarkKind::LeftPedicle, StepPart::Nth(0)) => "Left pedicle, lateral border",
            (MarkKind::LeftPedicle, _) => "Left pedicle, medial border",
            (MarkKind::SpinousProcess, StepPart::Nth(0)) => "Spinous process, one border",
            (MarkKind::SpinousProcess, _) => "Spinous process, other border",
            _ => return self.title(view),
        };
        words.to_owned()
    }

    /// The name as a title, with a capital letter.
    #[must_use]
    pub fn title(self, view: View) -> String {
        capital(self.name(view))
    }
}

/// The range of interior points of an open-ended mark with this many slots. A wall's corners belong to the
/// end plates, so all of its points are interior; a mark with a fixed number of points has none.
#[must_use]
pub const fn interior(kind: MarkKind, len: usize) -> (usize, usize) {
    match kind.count() {
        (0, _) => (0, len),
        (_, usize::MAX) if len >= 2 => (1, len - 1),
        _ => (0, 0),
    }
}

/// The same words with a capital first letter.
#[must_use]
pub fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// The guide's steps with their number keys.
#[must_use]
pub fn numbered(view: View) -> Vec<(Option<u8>, Step)> {
    let numbers = (1..=10).map(Some).chain(std::iter::repeat(None));
    steps(view).iter().copied().zip(numbers).map(|(step, n)| (n, step)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_belongs_to_its_view() {
        for view in View::ALL {
            for step in steps(view).iter().chain(extras(view)) {
                assert!(step.kind.belongs_to(view), "{step:?} in {view:?}");
                assert!(!step.name(view).is_empty());
            }
        }
    }

    #[test]
    fn the_walk_is_shorter_than_corners_first() {
        // A body of 34 × 27 (depth × height), corners and the middles of the borders; the lengths are those of
        // the two polylines through the bone marks.
        let place = |step: &Step| match (step.kind, step.part) {
            (MarkKind::SuperiorEndPlate, StepPart::First) => (0.0, 0.0),
            (MarkKind::SuperiorEndPlate, StepPart::Last) => (34.0, 0.0),
            (MarkKind::SuperiorEndPlate, _) => (17.0, 2.0),
            (MarkKind::InferiorEndPlate, StepPart::First) => (0.0, 27.0),
            (MarkKind::InferiorEndPlate, StepPart::Last) => (34.0, 27.0),
            (MarkKind::InferiorEndPlate, _) => (17.0, 25.0),
            (MarkKind::PosteriorWall, _) => (1.0, 13.5),
            _ => (33.0, 13.5),
        };
        let length = |order: &[usize]| -> f64 {
            let points: Vec<(f64, f64)> = order.iter().map(|&i| place(&LATERAL[i])).collect();
            points.windows(2).map(|w| f64::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1)).sum()
        };
        let walk = length(&[0, 1, 2, 3, 4, 5, 6, 7]);
        let corners_first = length(&[0, 2, 4, 6, 7, 1, 3, 5]);
        let plates_first = length(&[0, 2, 4, 6, 1, 5, 7, 3]);
        assert!(
            walk < 0.7 * corners_first && corners_first < plates_first,
            "{walk} {corners_first} {plates_first}"
        );
    }

    #[test]
    fn placed_points_and_steps_name_each_other() {
        let marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (5.0, 1.0), (9.0, 0.0)])
            .with(MarkKind::PosteriorWall, &[(0.0, 5.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)]);
        for (at, _) in marks.placed() {
            assert_eq!(Step::of(&marks, at).placed(&marks), Some(at));
        }
        assert_eq!(step(MarkKind::AnteriorWall, StepPart::Between).placed(&marks), None);
    }

    #[test]
    fn an_incomplete_plate_has_a_first_point_only() {
        let mut marks = Marks::new();
        marks.set(MarkKind::SuperiorEndPlate, vec![None, Some(crate::geom::point::Point::new(1.0, 1.0))]);
        assert_eq!(step(MarkKind::SuperiorEndPlate, StepPart::First).placed(&marks), None);
        assert!(step(MarkKind::SuperiorEndPlate, StepPart::Last).placed(&marks).is_some());
    }
}
