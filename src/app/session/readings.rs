//! What follows from an open case: the readings of its shots and pairs, and the plan. After a change only what depends on it is
//! read again.

use std::collections::BTreeMap;

use crate::app::session::document::Document;
use crate::app::shots::shot_summary::ShotSummary;
use crate::case::document::{Case, Shot};
use crate::case::plan::{Plan, plan_of};
use crate::case::readings::following::{Followed, FollowedReadings};
use crate::case::readings::{CaseReadings, Picture, ReadPairOf, ShotReading};

/// The readings of a case as they are now.
#[derive(Debug, Default)]
pub(super) struct Readings {
    looked: BTreeMap<String, ShotSummary>,
    followed: FollowedReadings,
    plan: Plan,
}

impl Readings {
    /// Reads again what changed. While a mark is dragged the plan waits: nothing shows it to a hand that drags, and letting
    /// go of the mark is a change of its own.
    fn follow(&mut self, case: &Case, picture: impl Fn(&Shot) -> Picture, mm: bool, dragged: bool) {
        let Followed { shots, rearranged } = self.followed.follow(case, picture, mm);
        if rearranged {
            self.looked.retain(|id, _| case.shot(id).is_some());
        }
        for (index, reading) in shots {
            let shot = &case.shots[index];
            self.looked.insert(shot.id.clone(), ShotSummary::new(case, shot, reading));
        }
        if !dragged {
            let reading =
                |index: usize| self.looked.get(&case.shots.get(index)?.id).map(|looked| &looked.reading);
            self.plan = plan_of(case, reading, self.followed.pairs());
        }
    }
}

impl Document {
    /// Reads again what changed since the last time, in the case or in its pictures, and what depends on it. `picture`
    /// tells what is known of a shot's picture.
    pub fn look(&mut self, picture: impl Fn(&Shot) -> Picture) {
        if !std::mem::take(&mut self.stale) {
            return;
        }
        let dragged = self.grabbed().is_some();
        self.readings.follow(self.history.case(), picture, self.mm, dragged);
    }

    /// The reading of the matched pair that the shown shot belongs to.
    #[must_use]
    pub fn pair(&self) -> Option<&ReadPairOf> {
        let index = self.index()?;
        self.readings.followed.pairs().iter().find(|pair| pair.lateral == index || pair.ap == index)
    }

    /// The reading of a shot by its place in the case, with that of the matched pair it belongs to.
    #[must_use]
    pub fn read(&self, index: usize) -> Option<(&ShotReading, Option<&ReadPairOf>)> {
        let looked = self.looked(&self.case().shots.get(index)?.id)?;
        let mut pairs = self.readings.followed.pairs().iter();
        Some((&looked.reading, pairs.find(|pair| pair.lateral == index || pair.ap == index)))
    }

    /// All readings as they are now; `None` before they were made.
    #[must_use]
    pub fn readings(&self) -> Option<CaseReadings> {
        let shots = self.case().shots.iter().map(|shot| Some(self.looked(&shot.id)?.reading.clone()));
        Some(CaseReadings {
            shots: shots.collect::<Option<Vec<_>>>()?,
            pairs: self.readings.followed.pairs().to_vec(),
        })
    }

    /// What is expected of the case and how far it has come.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.readings.plan
    }

    /// What follows from a shot's marks.
    #[must_use]
    pub fn looked(&self, id: &str) -> Option<&ShotSummary> {
        self.readings.looked.get(id)
    }
}
