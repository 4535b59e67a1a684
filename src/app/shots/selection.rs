//! Which shots are listed, and which are selected beside the shown one.

use std::collections::BTreeSet;

use crate::case::document::Shot;
use crate::case::document::shot_list::ShotList;
use crate::measure::mark::{Level, Side, Stage, View};

/// What the rows below the picture list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// The shots of one body, entered from one side.
    Body(Level, Side),
    /// Every shot of the case.
    All,
    /// The shots of which level, side, view or stage is not said.
    ToSort,
}

/// How a further shot is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// It alone, or it no longer.
    Toggle,
    /// All from the shown shot up to it.
    Through,
}

/// A place of the plan that has no shot yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FreePlace {
    /// The vertebra.
    pub level: Level,
    /// The side.
    pub side: Side,
    /// The view.
    pub view: View,
    /// The stage.
    pub stage: Stage,
}

impl FreePlace {
    /// Where in the case's list a shot for this place belongs: behind the shots of the same body that are no later,
    /// else before the first of them, else at the end.
    #[must_use]
    pub fn position(&self, shots: &ShotList) -> usize {
        let own = |shot: &Shot| (shot.level, shot.side) == (Some(self.level), Some(self.side));
        let no_later = |shot: &Shot| own(shot) && shot.stage.is_some_and(|stage| stage <= self.stage);
        let behind = shots.iter().rposition(no_later).map(|i| i + 1);
        behind.or_else(|| shots.iter().position(own)).unwrap_or(shots.len())
    }
}

/// What is chosen beside the shown shot.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Selection {
    /// What is listed, where the user has said so; else what the shown shot belongs to.
    pub scope: Option<Scope>,
    /// Shots chosen beside the shown one.
    pub also: BTreeSet<String>,
    /// The free place that pictures are being asked for, if one was chosen.
    pub place: Option<FreePlace>,
    /// The far end of a run of selected shots.
    pub(super) end: Option<String>,
}

impl Selection {
    /// Another shot is shown: it alone is chosen, and the list follows it unless every shot is listed.
    pub fn moved(&mut self) {
        self.also.clear();
        self.end = None;
        if self.scope != Some(Scope::All) {
            self.scope = None;
        }
    }

    /// Forgets shots that are no longer there.
    pub fn retain(&mut self, there: impl Fn(&str) -> bool) {
        self.also.retain(|id| there(id));
        self.end = self.end.take().filter(|id| there(id));
    }

    /// Follows a shot that gets another name.
    pub fn rename(&mut self, from: &str, to: &str) {
        if self.also.remove(from) {
            self.also.insert(to.to_owned());
        }
        if self.end.as_deref() == Some(from) {
            self.end = Some(to.to_owned());
        }
    }
}
