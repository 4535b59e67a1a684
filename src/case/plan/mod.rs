//! From the degenerated discs to the bodies to treat, and for each body and side what has been saved.

pub mod pairing;
pub mod rows;
pub mod runs;
pub mod standing;

use std::collections::{BTreeMap, BTreeSet};

use crate::case::document::{Case, Shot};
use crate::case::plan::standing::{Standing, standing_so_far, together};
use crate::case::readings::{CaseReadings, ReadPairOf, ShotReading};
use crate::measure::mark::{Level, Side, Stage, View};
use crate::measure::verdict::{State, VerdictRule};

/// What is saved at each stage (common practice, no source): docking is seen down the pedicle, every later
/// stage from the front and from the side.
pub const EXPECTED: [(Stage, &[View]); 5] = [
    (Stage::Docking, &[View::Pedicle]),
    (Stage::Pedicle, &[View::Ap, View::Lateral]),
    (Stage::PosteriorWall, &[View::Ap, View::Lateral]),
    (Stage::Stylet, &[View::Ap, View::Lateral]),
    (Stage::Final, &[View::Ap, View::Lateral]),
];

/// One view of one stage of one body and side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expected {
    /// The stage.
    pub stage: Stage,
    /// The view.
    pub view: View,
    /// The shots there are, as places in the case's list, in order; empty when it is missing.
    pub shots: Vec<usize>,
    /// How far the last of them has come.
    pub standing: Option<Standing>,
}

/// What a matched pair says of the way through the pedicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Passage {
    /// The lateral shot's place in the case's list.
    pub lateral: usize,
    /// The AP shot's.
    pub ap: usize,
    /// The stage of both.
    pub stage: Option<Stage>,
    /// Whether the tip passed the pedicle's medial border while still behind the body.
    pub state: State,
}

/// One body entered from one side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SidePlan {
    /// The side.
    pub side: Side,
    /// What is expected, in the order of the procedure.
    pub expected: Vec<Expected>,
    /// The way through the pedicle, of every matched pair that shows it.
    pub passages: Vec<Passage>,
    /// The final verdict, of the last matched pair of the final stage; one view alone gives none.
    pub verdict: Option<State>,
}

/// One vertebral body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BodyPlan {
    /// The vertebra.
    pub level: Level,
    /// Whether a degenerated disc asks for it.
    pub wanted: bool,
    /// The sides from which there are shots. Either side will do, so a body without shots has none.
    pub sides: Vec<SidePlan>,
    /// Shots of this level whose side is not set.
    pub without_side: Vec<usize>,
}

/// What of a side's expected views is there, and what still has to be done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Views that are expected.
    pub expected: usize,
    /// Of these, how many have no shot.
    pub missing: usize,
    /// How many have a last shot that is not read yet: unmarked, incomplete, a draft or blocked.
    pub unread: usize,
    /// How many have a last shot outside its target.
    pub outside: usize,
}

/// A whole case.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plan {
    /// The discs that could be read, each by the body above it.
    pub discs: Vec<(Level, Level)>,
    /// Names of discs that could not be read.
    pub unreadable_discs: Vec<String>,
    /// The bodies, down the spine.
    pub bodies: Vec<BodyPlan>,
    /// Shots whose level is not set.
    pub without_level: Vec<usize>,
    /// Shots of which level, side, view or stage is not said, so that no place of the plan can hold them.
    pub to_sort: Vec<usize>,
}

impl Expected {
    /// Whether the last shot of it is read.
    #[must_use]
    pub const fn is_read(&self) -> bool {
        matches!(self.standing, Some(Standing::Read | Standing::Judged(_)))
    }
}

impl SidePlan {
    /// What is there and what is to be done.
    #[must_use]
    pub fn count(&self) -> Count {
        let many = |which: &dyn Fn(&Expected) -> bool| self.expected.iter().filter(|e| which(e)).count();
        Count {
            expected: self.expected.len(),
            missing: many(&|e| e.shots.is_empty()),
            unread: many(&|e| !e.shots.is_empty() && !e.is_read()),
            outside: many(&|e| e.standing == Some(Standing::Judged(State::Outside))),
        }
    }

    /// The way through the pedicle as one: outside if any pair says so.
    #[must_use]
    pub fn passage(&self) -> Option<State> {
        together(self.passages.iter().map(|passage| passage.state))
    }

    /// Whether every expected view of every stage is there and read.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.expected.iter().all(Expected::is_read)
    }
}

impl BodyPlan {
    /// The plan of a side, if there are shots from it.
    #[must_use]
    pub fn side(&self, side: Side) -> Option<&SidePlan> {
        self.sides.iter().find(|plan| plan.side == side)
    }

    /// Whether one side of it is complete; either will do.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.sides.iter().any(SidePlan::is_complete)
    }
}

impl Plan {
    /// The plan of a body, if a disc asks for it or there are shots of it.
    #[must_use]
    pub fn body(&self, level: Level) -> Option<&BodyPlan> {
        self.bodies.iter().find(|body| body.level == level)
    }

    /// Whether a disc is said to be degenerated, and every body that discs ask for is complete from one side.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        let mut wanted = self.bodies.iter().filter(|body| body.wanted).peekable();
        wanted.peek().is_some() && wanted.all(BodyPlan::is_complete)
    }
}

/// Whether something is missing that a shot needs to stand in the plan: its level, side, view or stage.
#[must_use]
pub const fn is_to_sort(shot: &Shot) -> bool {
    shot.level.is_none() || shot.side.is_none() || !shot.view_set || shot.stage.is_none()
}

/// The list of degenerated discs with the one below this body added, or taken out if it is there; `None` below S1.
/// Names that cannot be read stay.
#[must_use]
pub fn with_disc_switched(discs: &[String], above: Level) -> Option<Vec<String>> {
    let this = (above, above.below()?);
    let mut others: Vec<String> = discs.iter().filter(|name| disc(name) != Some(this)).cloned().collect();
    if others.len() == discs.len() {
        others.push(format!("{}-{}", this.0.name(), this.1.name()));
        // Down the spine; names that cannot be read come last, as they were.
        others.sort_by_key(|name| disc(name).map_or((true, None), |disc| (false, Some(disc.0))));
    }
    Some(others)
}

/// The two bodies beside a disc named like `L4-L5` (a hyphen or an en dash), if they are neighbours.
#[must_use]
pub fn disc(name: &str) -> Option<(Level, Level)> {
    let (above, below) = name.trim().split_once(['-', '–'])?;
    let (above, below) = (Level::from_name(above.trim())?, Level::from_name(below.trim())?);
    (above.below() == Some(below)).then_some((above, below))
}

/// The plan of a case with its readings.
#[must_use]
pub fn plan(case: &Case, readings: &CaseReadings) -> Plan {
    plan_of(case, |index| readings.shots.get(index), &readings.pairs)
}

/// The plan of a case, given the reading of each shot by its place, and the matched pairs.
#[must_use]
pub fn plan_of<'a>(
    case: &Case,
    reading: impl Fn(usize) -> Option<&'a ShotReading>,
    pairs: &[ReadPairOf],
) -> Plan {
    let mut plan = Plan::default();
    for name in &case.discs {
        match disc(name) {
            Some(disc) => plan.discs.push(disc),
            None => plan.unreadable_discs.push(name.clone()),
        }
    }
    let wanted: BTreeSet<Level> = plan.discs.iter().flat_map(|&(above, below)| [above, below]).collect();
    let mut bodies: BTreeMap<Level, BTreeSet<Side>> =
        wanted.iter().map(|&level| (level, BTreeSet::new())).collect();
    for (index, shot) in case.shots.iter().enumerate() {
        match shot.level {
            Some(level) => bodies.entry(level).or_default().extend(shot.side),
            None => plan.without_level.push(index),
        }
        if is_to_sort(shot) {
            plan.to_sort.push(index);
        }
    }
    plan.bodies = bodies
        .into_iter()
        .map(|(level, sides)| BodyPlan {
            level,
            wanted: wanted.contains(&level),
            sides: sides.into_iter().map(|side| side_plan(case, &reading, pairs, level, side)).collect(),
            without_side: places(case, |shot| shot.level == Some(level) && shot.side.is_none()),
        })
        .collect();
    plan
}

fn places(case: &Case, wanted: impl Fn(&Shot) -> bool) -> Vec<usize> {
    case.shots.iter().enumerate().filter(|(_, shot)| wanted(shot)).map(|(index, _)| index).collect()
}

fn side_plan<'a>(
    case: &Case,
    reading: &impl Fn(usize) -> Option<&'a ShotReading>,
    pairs: &[ReadPairOf],
    level: Level,
    side: Side,
) -> SidePlan {
    let of = |stage, view| {
        places(case, |shot| {
            (shot.level, shot.side, shot.stage) == (Some(level), Some(side), Some(stage)) && shot.shows(view)
        })
    };
    let expected: Vec<Expected> = EXPECTED
        .iter()
        .flat_map(|&(stage, views)| views.iter().map(move |&view| (stage, view)))
        .map(|(stage, view)| {
            let shots = of(stage, view);
            let standing = shots.last().map(|&last| standing_so_far(&case.shots[last], reading(last)));
            Expected { stage, view, shots, standing }
        })
        .collect();
    let last_of = |view| of(Stage::Final, view).last().copied();
    let (lateral, ap) = (last_of(View::Lateral), last_of(View::Ap));
    let read = |index: usize| reading(index).is_some_and(ShotReading::is_read);
    let pair = pairs.iter().rev().find(|pair| {
        (Some(pair.lateral), Some(pair.ap)) == (lateral, ap) && read(pair.lateral) && read(pair.ap)
    });
    let verdict = pair.and_then(|pair| together(pair.reading.verdicts.iter().map(|verdict| verdict.state)));
    let own = |index: usize| {
        let shot = &case.shots[index];
        (shot.level, shot.side) == (Some(level), Some(side))
    };
    let passages = pairs
        .iter()
        .filter(|pair| own(pair.lateral) && own(pair.ap))
        .filter_map(|pair| {
            let mut verdicts = pair.reading.verdicts.iter();
            let passage = verdicts.find(|verdict| verdict.rule == VerdictRule::SafePassage)?;
            let stage = case.shots[pair.lateral].stage;
            let state = passage.state;
            (state != State::NotShown).then_some(Passage { lateral: pair.lateral, ap: pair.ap, stage, state })
        })
        .collect();
    SidePlan { side, expected, passages, verdict }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture, read_case};

    fn shot(id: &str, level: Level, side: Option<Side>, view: View, stage: Stage) -> Shot {
        let mut shot = Shot::new(id, "x.png", view);
        shot.level = Some(level);
        shot.side = side;
        shot.stage = Some(stage);
        shot
    }

    fn plan_of(case: &Case) -> Plan {
        plan(case, &read_case(case, |_| Picture::NotLookedAt, None))
    }

    #[test]
    fn a_disc_asks_for_both_its_bodies() {
        assert_eq!(disc("L4-L5"), Some((Level::L4, Level::L5)));
        assert_eq!(disc("L5–S1"), Some((Level::L5, Level::S1)));
        assert_eq!(disc("L3-L5"), None);
        let case = Case { discs: vec!["L4-L5".to_owned(), "L9".to_owned()], ..Case::default() };
        let plan = plan_of(&case);
        assert_eq!(plan.bodies.iter().map(|body| body.level).collect::<Vec<_>>(), [Level::L4, Level::L5]);
        assert!(plan.bodies.iter().all(|body| body.wanted && body.sides.is_empty()));
        assert_eq!(plan.unreadable_discs, ["L9"]);
    }

    #[test]
    fn what_is_missing_and_what_is_unmarked_is_told_apart() {
        let right = Some(Side::Right);
        let case = Case {
            discs: vec!["L4-L5".to_owned()],
            shots: vec![
                shot("a", Level::L4, right, View::Lateral, Stage::Final),
                shot("b", Level::L3, right, View::Ap, Stage::Final),
                shot("c", Level::L4, None, View::Ap, Stage::Final),
                Shot::new("d", "x.png", View::Ap),
            ]
            .into(),
            ..Case::default()
        };
        let plan = plan_of(&case);
        let l4 = plan.bodies.iter().find(|body| body.level == Level::L4).unwrap();
        let at = |stage, view| {
            l4.sides[0].expected.iter().find(|e| (e.stage, e.view) == (stage, view)).unwrap().standing
        };
        assert_eq!(at(Stage::Final, View::Lateral), Some(Standing::Unmarked));
        assert_eq!(at(Stage::Docking, View::Pedicle), None);
        assert_eq!(l4.without_side, [2]);
        assert_eq!(plan.without_level, [3]);
        assert_eq!(plan.to_sort, [2, 3]);
        let count = Count { expected: 9, missing: 8, unread: 1, outside: 0 };
        assert_eq!(l4.sides[0].count(), count);
        assert!(!plan.is_complete());
        assert!(plan.bodies.iter().any(|body| body.level == Level::L3 && !body.wanted));
    }

    #[test]
    fn a_disc_is_said_and_taken_back_in_its_place() {
        let discs = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect::<Vec<_>>();
        let both = with_disc_switched(&discs(&["L5-S1", "odd"]), Level::L4).unwrap();
        assert_eq!(both, ["L4-L5", "L5-S1", "odd"]);
        assert_eq!(with_disc_switched(&discs(&["L4–L5"]), Level::L4), Some(Vec::new()));
        assert_eq!(with_disc_switched(&[], Level::S1), None);
    }
}
