//! Two shots of one body compared: whether they can be, what changed, and what is drawn of it. The window and the
//! command line both show what is made here.
//!
//! Reading order: [`words`], [`arrow_and_marks`], [`layers`], [`page`], [`slide`], [`refined`].

use crate::align::registration::Registration;
use crate::case::document::{Case, Shot};
use crate::case::readings::{ReadPairOf, ShotReading};
use crate::geom::point::Point;
use crate::measure::compare::{self, PairChange, Position, ShotChange};
use crate::measure::issue::Issue;
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::scene::format;

pub mod arrow_and_marks;
pub mod layers;
pub mod page;
pub mod refined;
pub mod slide;
pub mod words;

/// What changed from one shot to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Places of the two shots in the case, the earlier one first.
    pub shots: [usize; 2],
    /// Whether the user says that both share one C-arm position.
    pub position: Position,
    /// The change between them.
    pub change: ShotChange,
    /// The matched pairs both belong to, lateral and AP, with the change between them.
    pub pairs: Option<([(usize, usize); 2], PairChange)>,
    /// The tip of the first shot carried into the second picture, and the tip there.
    pub arrow: Option<[Point; 2]>,
    /// What was found with each shot.
    pub issues: [Vec<Issue>; 2],
    /// Sentences about the comparison itself.
    pub notes: Vec<String>,
}

/// A shot's reading with that of the matched pair it belongs to.
pub type ShotRead<'a> = (&'a ShotReading, Option<&'a ReadPairOf>);

impl Comparison {
    /// The comparison of two shots of a case from their readings.
    ///
    /// # Errors
    /// Why these two cannot be compared, as the rest of a sentence.
    pub fn of(
        case: &Case,
        shots: [usize; 2],
        read: [ShotRead<'_>; 2],
        position: Position,
    ) -> Result<Self, String> {
        let notes = comparable(case, shots)?;
        let matters = case.settings.change_that_matters;
        let [(first, first_pair), (second, second_pair)] = read;
        let change = match (first, second) {
            (ShotReading::Lateral(a), ShotReading::Lateral(b)) => compare::lateral(a, b, position, matters),
            (ShotReading::Ap(a), ShotReading::Ap(b)) => compare::ap(a, b, position, matters),
            _ => ShotChange::default(),
        };
        let pairs = first_pair.zip(second_pair).map(|(a, b)| {
            let place = |pair: &ReadPairOf| (pair.lateral, pair.ap);
            ([place(a), place(b)], compare::pairs(&a.reading, &b.reading, position, matters))
        });
        let [from, to] = shots.map(|at| &case.shots[at]);
        let arrow = Registration::of_shots(case, [from, to]).ok().and_then(|laid| arrow(&laid, from, to));
        let issues = [first, second].map(|reading| reading.issues().to_vec());
        Ok(Self { shots, position, change, pairs, arrow, issues, notes })
    }
}

/// What is to be said of a comparison of these shots, or why there can be none.
///
/// # Errors
/// Why not, as the rest of a sentence.
pub fn comparable(case: &Case, [from, to]: [usize; 2]) -> Result<Vec<String>, String> {
    let (Some(a), Some(b)) = (case.shots.get(from), case.shots.get(to)) else {
        return Err("one of the shots is not in the case".to_owned());
    };
    if from == to {
        return Err("the same shot is given twice; select two shots".to_owned());
    }
    if let Some(open) = [a, b].into_iter().find(|shot| !shot.view_set) {
        return Err(format!("the view of “{}” is not set; set it first", open.id));
    }
    if a.view != b.view {
        let views = format!("{} and {}", format::view(a.view), format::view(b.view));
        return Err(format!("the views differ ({views}); select two shots of the same view"));
    }
    if a.view == View::Pedicle {
        return Err("an en face pedicle view shows where the needle docks, not how far it advanced; select two lateral or two AP shots"
            .to_owned());
    }
    if let (Some(x), Some(y)) = (a.level, b.level)
        && x != y
    {
        let levels = format!("{} and {}", x.name(), y.name());
        return Err(format!("the levels differ ({levels}); select two shots of the same level"));
    }
    let mut notes = Vec::new();
    if a.level.is_none() || b.level.is_none() {
        notes.push("One of the shots has no level set; make sure that both show the same body.".to_owned());
    }
    if let (Some(x), Some(y)) = (a.side, b.side)
        && x != y
    {
        if a.view == View::Ap {
            return Err("the entry sides differ, and the mediolateral position is measured from the entry side; select two shots of the same side"
                .to_owned());
        }
        notes.push(
            "The shots have different entry sides, so this is the difference between two instruments."
                .to_owned(),
        );
    }
    Ok(notes)
}

/// The shots that a shot can be compared with, in the case's order: of its view and level, and of its side where both
/// say theirs. Other levels are left out even where they could not be told apart by a marked level.
#[must_use]
pub fn others(case: &Case, shot: usize) -> Vec<usize> {
    let Some(own) = case.shots.get(shot) else { return Vec::new() };
    let like = |other: &Shot| {
        let same_side = own.side.zip(other.side).is_none_or(|(a, b)| a == b);
        let same_view = own.known_view().is_some_and(|view| other.shows(view) && view != View::Pedicle);
        same_view && own.level == other.level && same_side
    };
    (0..case.shots.len()).filter(|&i| i != shot && like(&case.shots[i])).collect()
}

/// The two shots that a comparison begins with: the one before the shown one and the shown one, of one level, view and
/// side; where there is none before, the shown one and the next.
#[must_use]
pub fn first_pair(case: &Case, shown: usize) -> Option<[usize; 2]> {
    let others = others(case, shown);
    let before = others.iter().copied().rfind(|&i| i < shown);
    let after = others.iter().copied().find(|&i| i > shown);
    before.map(|i| [i, shown]).or_else(|| after.map(|i| [shown, i]))
}

/// The first shot's tip carried into the second picture, and the tip there.
#[must_use]
pub fn arrow(laid: &Registration, from: &Shot, to: &Shot) -> Option<[Point; 2]> {
    let tip = |shot: &Shot| shot.marks.point(MarkRef { kind: MarkKind::Tip, index: 0 });
    Some([laid.there(tip(from)?), tip(to)?])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};

    fn case() -> Case {
        let mut case = Case::default();
        for (id, view, level, side) in [
            ("a", View::Lateral, Level::L4, Side::Right),
            ("b", View::Ap, Level::L4, Side::Right),
            ("c", View::Lateral, Level::L4, Side::Left),
            ("d", View::Lateral, Level::L4, Side::Right),
            ("e", View::Lateral, Level::L5, Side::Right),
            ("f", View::Pedicle, Level::L4, Side::Right),
        ] {
            let mut shot = Shot::new(id, "a.png", view);
            (shot.level, shot.side) = (Some(level), Some(side));
            case.shots.push(shot);
        }
        case
    }

    #[test]
    fn a_comparison_begins_with_the_shot_before() {
        let case = case();
        assert_eq!(first_pair(&case, 3), Some([0, 3]));
        assert_eq!(first_pair(&case, 0), Some([0, 3]), "none before, so the next");
        assert_eq!(first_pair(&case, 1), None);
        assert_eq!(first_pair(&case, 5), None);
        assert_eq!(others(&case, 4), Vec::<usize>::new());
    }

    #[test]
    fn what_cannot_be_compared_is_said() {
        let case = case();
        for (pair, why) in [
            ([0, 0], "the same shot"),
            ([0, 1], "the views differ"),
            ([0, 4], "the levels differ"),
            ([5, 5], "the same shot"),
            ([0, 9], "not in the case"),
        ] {
            assert!(comparable(&case, pair).unwrap_err().contains(why), "{pair:?}");
        }
        assert_eq!(comparable(&case, [0, 3]), Ok(Vec::new()));
        assert!(comparable(&case, [0, 2]).unwrap()[0].contains("two instruments"));
    }
}
