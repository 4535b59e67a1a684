//! How far a shot has come, and what several verdicts say together.

use crate::case::document::Shot;
use crate::case::readings::ShotReading;
use crate::measure::issue::IssueCode;
use crate::measure::verdict::State;

/// How far a shot has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Nothing is marked.
    Unmarked,
    /// Marked, and not read yet: its reading is under way.
    Awaited,
    /// Marks are missing.
    Incomplete,
    /// Its marks were carried from another shot and wait to be confirmed.
    Draft,
    /// Marked, but something stands in the way of a reading.
    Blocked,
    /// An AP whose sides are not known: its height is read, and nothing else.
    HeightOnly,
    /// Read; its stage has no target.
    Read,
    /// Read, against a target.
    Judged(State),
}

impl Standing {
    /// Its key in tables and JSON.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Unmarked => "unmarked",
            Self::Awaited => "awaited",
            Self::Incomplete => "incomplete",
            Self::Draft => "draft",
            Self::Blocked => "blocked",
            Self::HeightOnly => "height_only",
            Self::Read => "read",
            Self::Judged(state) => state.key(),
        }
    }
}

/// How far a shot has come, from its reading if there is one yet.
#[must_use]
pub fn standing_so_far(shot: &Shot, reading: Option<&ShotReading>) -> Standing {
    match reading {
        Some(reading) => standing(shot, reading),
        None if shot.marks.is_empty() => Standing::Unmarked,
        None => Standing::Awaited,
    }
}

/// How far a shot has come, from its reading.
#[must_use]
pub fn standing(shot: &Shot, reading: &ShotReading) -> Standing {
    if shot.marks.is_empty() {
        return Standing::Unmarked;
    }
    if shot.draft {
        return Standing::Draft;
    }
    if reading.issues().iter().any(|issue| issue.code == IssueCode::MissingMarks) {
        return Standing::Incomplete;
    }
    if reading.is_height_only() {
        return Standing::HeightOnly;
    }
    if !reading.is_read() {
        return Standing::Blocked;
    }
    together(reading.verdicts().iter().map(|verdict| verdict.state)).map_or(Standing::Read, Standing::Judged)
}

/// Several verdicts as one: outside if any is, inside only if all are; what is not shown does not count.
#[must_use]
pub fn together(states: impl IntoIterator<Item = State>) -> Option<State> {
    states.into_iter().filter(|state| *state != State::NotShown).reduce(|a, b| match (a, b) {
        (State::Outside, _) | (_, State::Outside) => State::Outside,
        (State::Inside, State::Inside) => State::Inside,
        _ => State::Undecided,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Case;
    use crate::case::readings::{Picture, read_shot};
    use crate::measure::mark::{MarkKind, Marks, Stage, View};

    fn standing_of(shot: &Shot) -> Standing {
        let case = Case { shots: vec![shot.clone()].into(), ..Case::default() };
        standing(shot, &read_shot(&case, 0, |_| Picture::NotLookedAt))
    }

    #[test]
    fn a_shot_goes_from_unmarked_over_incomplete_to_judged() {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Final);
        assert_eq!(standing_of(&shot), Standing::Unmarked);
        shot.marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)]);
        assert_eq!(standing_of(&shot), Standing::Incomplete);
        shot.marks = shot
            .marks
            .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
            .with(MarkKind::Tip, &[(351.0, 358.0)]);
        assert!(matches!(standing_of(&shot), Standing::Judged(_)));
        shot.stage = None;
        assert_eq!(standing_of(&shot), Standing::Read);
        shot.marks = shot.marks.with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (405.0, 398.0)]);
        assert_eq!(standing_of(&shot), Standing::Blocked);
    }

    #[test]
    fn one_outside_is_enough_and_one_inside_is_not() {
        use State::{Inside, NotShown, Outside, Undecided};
        assert_eq!(together([Inside, Outside]), Some(Outside));
        assert_eq!(together([Inside, Undecided]), Some(Undecided));
        assert_eq!(together([Inside, NotShown, Inside]), Some(Inside));
        assert_eq!(together([]), None);
    }
}
