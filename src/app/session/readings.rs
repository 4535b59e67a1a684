//! What follows from an open case: the readings of its shots and pairs, and the plan. After a change only what depends on it is
//! read again.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

use crate::app::session::document::Document;
use crate::app::shots::shot_summary::ShotSummary;
use crate::case::document::{Case, Shot};
use crate::case::plan::{Plan, plan_of};
use crate::case::readings::due::{DueReadings, MadeReadings};
use crate::case::readings::following::{AtOnce, Followed, FollowedReadings};
use crate::case::readings::{CaseReadings, Picture, ReadPairOf, ShotReading};

/// With more shots than this to be read, only the shown one and its partner are read on the drawing thread: as many take
/// about half a frame at 60 frames a second (see the pair in docs/speed.md).
const AT_ONCE: usize = 32;

/// Numbers of works that make readings, over all cases that are opened: what comes late for another case is not taken.
static NUMBER: AtomicU64 = AtomicU64::new(1);

/// The readings of a case as they are now.
#[derive(Debug, Default)]
pub(super) struct Readings {
    looked: BTreeMap<String, ShotSummary>,
    followed: FollowedReadings,
    /// The place of each shot's pair among all pairs, by the shot's id, and the places that this was made of.
    pair_places: BTreeMap<String, usize>,
    matched: Vec<(usize, usize)>,
    plan: Plan,
    /// The work that makes what is not read yet, until somebody takes it on.
    due: Option<DueReadings>,
}

impl Readings {
    /// Reads again what changed. While a mark is dragged the plan waits: nothing shows it to a hand that drags, and letting
    /// go of the mark is a change of its own.
    fn follow(
        &mut self,
        case: &Case,
        picture: impl Fn(&Shot) -> Picture,
        mm: bool,
        shown: Option<&str>,
        dragged: bool,
    ) {
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let at_once = AtOnce { most: AT_ONCE, first: shown, number };
        let Followed { shots, rearranged, awaited, due } = self.followed.follow(case, picture, mm, at_once);
        if rearranged {
            self.looked.retain(|id, _| case.shot(id).is_some());
        }
        self.find_pairs(case, rearranged);
        // What no longer holds is not shown while the new one is under way.
        for index in awaited {
            self.looked.remove(&case.shots[index].id);
        }
        self.due = due.or_else(|| self.due.take());
        for (index, reading) in shots {
            let shot = &case.shots[index];
            self.looked.insert(shot.id.clone(), ShotSummary::new(case, shot, reading));
        }
        if !dragged {
            self.make_plan(case);
        }
    }

    /// Where each shot's pair stands, made anew where shots or pairs changed places.
    fn find_pairs(&mut self, case: &Case, rearranged: bool) {
        let matched = self.followed.pairs().iter().map(|pair| (pair.lateral, pair.ap));
        if !rearranged && matched.clone().eq(self.matched.iter().copied()) {
            return;
        }
        self.matched = matched.collect();
        let both =
            self.matched.iter().enumerate().flat_map(|(at, (lateral, ap))| [(*lateral, at), (*ap, at)]);
        let named = both.filter_map(|(shot, at)| Some((case.shots.get(shot)?.id.clone(), at)));
        self.pair_places = named.collect();
    }

    fn make_plan(&mut self, case: &Case) {
        let reading =
            |index: usize| self.looked.get(&case.shots.get(index)?.id).map(|looked| &looked.reading);
        self.plan = plan_of(case, reading, self.followed.pairs());
    }
}

impl Document {
    /// Reads again what changed since the last time, in the case or in its pictures, and what depends on it. `picture`
    /// tells what is known of a shot's picture. Where that is much, it becomes a work for somebody else
    /// (`readings_due`).
    pub fn look(&mut self, picture: impl Fn(&Shot) -> Picture) {
        if !std::mem::take(&mut self.stale) {
            return;
        }
        let dragged = self.grabbed().is_some();
        let shown = self.shown.as_deref();
        self.readings.follow(self.history.case(), picture, self.mm, shown, dragged);
    }

    /// Hands over the work that makes the readings which are not there yet.
    pub(crate) fn readings_due(&mut self) -> Option<DueReadings> {
        self.readings.due.take()
    }

    /// Takes in readings that were made elsewhere, as far as what they were made from still holds.
    pub(crate) fn take_in_readings(&mut self, made: MadeReadings) {
        let case = self.history.case();
        for (id, reading) in self.readings.followed.take_in(made) {
            if let Some(shot) = case.shot(&id) {
                self.readings.looked.insert(id, ShotSummary::new(case, shot, reading));
            }
        }
        self.readings.find_pairs(case, false);
        self.readings.make_plan(case);
    }

    /// Whether readings are under way.
    #[must_use]
    pub fn awaits_readings(&self) -> bool {
        self.readings.followed.awaited() > 0
    }

    /// The reading of the matched pair that the shown shot belongs to.
    #[must_use]
    pub fn pair(&self) -> Option<&ReadPairOf> {
        self.pair_with(self.shown.as_deref()?)
    }

    /// The reading of the matched pair that a shot belongs to, by its id.
    #[must_use]
    pub fn pair_with(&self, id: &str) -> Option<&ReadPairOf> {
        self.readings.followed.pairs().get(*self.readings.pair_places.get(id)?)
    }

    /// The reading of a shot by its place in the case, with that of the matched pair it belongs to.
    #[must_use]
    pub fn read(&self, index: usize) -> Option<(&ShotReading, Option<&ReadPairOf>)> {
        let id = &self.case().shots.get(index)?.id;
        Some((&self.looked(id)?.reading, self.pair_with(id)))
    }

    /// All readings as they are now; `None` while any is still to be made.
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
