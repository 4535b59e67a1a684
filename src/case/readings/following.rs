//! Readings that follow a case through its edits: only the shots that changed, and those that depend on them, are read
//! again; where they are many, somewhere else ([`super::due`]).
//!
//! A reading is a function of its shot, of what is known of its picture, of the case's settings and of its partner.
//! These are kept beside it and compared; comparing is some thousand times cheaper than reading. What is awaited from
//! elsewhere counts as long as they are the same when it comes.

use std::collections::BTreeMap;

use crate::case::document::{Case, Shot};
use crate::case::plan::pairing::{pairs, refusals};
use crate::case::readings::due::{DueReadings, MadeReadings, Unit};
use crate::case::readings::{Picture, ReadPairOf, ShotReading};
use crate::measure::mark::PatientRight;
use crate::measure::settings::Settings;

/// What the readings of a case were made from, and its matched pairs.
#[derive(Debug, Default)]
pub struct FollowedReadings {
    settings: Settings,
    patient_right: Option<PatientRight>,
    mm: bool,
    shots: Vec<MadeFrom>,
    pairs: Vec<ReadPairOf>,
}

/// What one shot's reading was made from.
#[derive(Debug)]
struct MadeFrom {
    shot: Shot,
    picture: Picture,
    /// Id of the partner in a matched pair.
    partner: Option<String>,
    refused: Vec<String>,
    /// The number of the work that its reading is awaited from; `None` where it is read.
    awaited: Option<u64>,
}

/// In place of a work's number where that ended without the reading: it is made once something of the shot changes.
const NEVER: u64 = 0;

/// How much is read at once, and what stands for the rest.
#[derive(Clone, Copy, Debug)]
pub struct AtOnce<'a> {
    /// With more shots than this to be read, only the first is read at once.
    pub most: usize,
    /// The shot that is read at once in any case, with its partner.
    pub first: Option<&'a str>,
    /// The number of the work that the rest becomes, from 1; it is given once.
    pub number: u64,
}

impl AtOnce<'_> {
    /// Everything, however much it is.
    pub const ALL: Self = Self { most: usize::MAX, first: None, number: NEVER };
}

/// What has to be replaced after an edit.
#[derive(Debug, Default)]
pub struct Followed {
    /// The shots that were read, by their places in the case.
    pub shots: Vec<(usize, ShotReading)>,
    /// Whether shots came, went or changed places.
    pub rearranged: bool,
    /// The places of the shots whose readings no longer hold and are due.
    pub awaited: Vec<usize>,
    /// The work that makes them.
    pub due: Option<DueReadings>,
}

/// The shots of a case with what became of each since the last time.
struct Changes {
    /// Whether it is to be read again.
    changed: Vec<bool>,
    /// The place it had before.
    before: Vec<Option<usize>>,
}

impl FollowedReadings {
    /// The matched pairs as they were last read, in the order of the lateral shots.
    #[must_use]
    pub fn pairs(&self) -> &[ReadPairOf] {
        &self.pairs
    }

    /// How many shots are awaited.
    #[must_use]
    pub fn awaited(&self) -> usize {
        self.shots.iter().filter(|made| made.awaited.is_some_and(|number| number != NEVER)).count()
    }

    /// Reads what changed since the last call, in the case or in what `picture` tells of its pictures. With `mm` shots
    /// without a scale say that they have no millimetres.
    pub fn follow(
        &mut self,
        case: &Case,
        picture: impl Fn(&Shot) -> Picture,
        mm: bool,
        at_once: AtOnce<'_>,
    ) -> Followed {
        let all = self.settings != case.settings || self.patient_right != case.patient_right || self.mm != mm;
        if all {
            self.settings.clone_from(&case.settings);
            (self.patient_right, self.mm) = (case.patient_right, mm);
        }
        let rearranged = self.shots.len() != case.shots.len()
            || self.shots.iter().zip(&case.shots).any(|(old, shot)| old.shot.id != shot.id);
        let matched = pairs(case);
        let partners = partners(case.shots.len(), &matched);
        let changes = self.compare(case, picture, &partners, rearranged, all);
        let units = self.take_units(&matched, &partners, &changes);
        Followed { rearranged, ..self.read(case, units, at_once) }
    }

    /// Takes over what the shots are now, and tells which of them are to be read again.
    fn compare(
        &mut self,
        case: &Case,
        picture: impl Fn(&Shot) -> Picture,
        partners: &[Option<usize>],
        rearranged: bool,
        all: bool,
    ) -> Changes {
        let mut refused: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        for (index, sentence) in refusals(case) {
            refused.entry(index).or_default().push(sentence);
        }
        let mut before: Vec<Option<MadeFrom>> =
            std::mem::take(&mut self.shots).into_iter().map(Some).collect();
        let place: BTreeMap<String, usize> = if rearranged {
            let ids = before.iter().enumerate();
            ids.filter_map(|(i, old)| Some((old.as_ref()?.shot.id.clone(), i))).collect()
        } else {
            BTreeMap::new()
        };
        let mut changes = Changes { changed: vec![all; case.shots.len()], before: Vec::new() };
        for (index, shot) in case.shots.iter().enumerate() {
            let own = if rearranged { place.get(&shot.id).copied() } else { Some(index) };
            changes.before.push(own);
            let old = own.and_then(|i| before[i].take());
            let picture = picture(shot);
            let partner = partners[index].map(|i| case.shots[i].id.as_str());
            let refused = refused.remove(&index).unwrap_or_default();
            match old {
                Some(old)
                    if old.shot == *shot
                        && old.picture == picture
                        && old.partner.as_deref() == partner
                        && old.refused == refused =>
                {
                    self.shots.push(old);
                }
                _ => {
                    changes.changed[index] = true;
                    let partner = partner.map(str::to_owned);
                    let shot = shot.clone();
                    self.shots.push(MadeFrom { shot, picture, partner, refused, awaited: None });
                }
            }
        }
        changes
    }

    /// What is to be read: the changed shots, each with its partner. Pairs that stay are kept, at the places that their
    /// shots have now.
    fn take_units(
        &mut self,
        matched: &[(usize, usize)],
        partners: &[Option<usize>],
        Changes { changed, before }: &Changes,
    ) -> Vec<Unit> {
        let kept = std::mem::take(&mut self.pairs).into_iter();
        let mut kept: BTreeMap<(usize, usize), ReadPairOf> =
            kept.map(|pair| ((pair.lateral, pair.ap), pair)).collect();
        let mut units = Vec::new();
        for &(lateral, ap) in matched {
            let places = before[lateral].zip(before[ap]);
            let old = places.and_then(|places| kept.remove(&places));
            let awaited = [lateral, ap].iter().all(|&at| self.shots[at].awaited.is_some());
            match old {
                _ if changed[lateral] || changed[ap] => units.push(Unit::Pair(lateral, ap)),
                Some(pair) => self.pairs.push(ReadPairOf { lateral, ap, ..pair }),
                None if awaited => {}
                None => units.push(Unit::Pair(lateral, ap)),
            }
        }
        let alone =
            changed.iter().enumerate().filter(|(index, changed)| **changed && partners[*index].is_none());
        units.extend(alone.map(|(index, _)| Unit::Alone(index)));
        units
    }

    /// Reads what is read at once; the rest is due.
    fn read(&mut self, case: &Case, units: Vec<Unit>, at_once: AtOnce<'_>) -> Followed {
        let many = units.iter().flat_map(|unit| unit.shots()).count() > at_once.most;
        let is_first = |at: usize| at_once.first == Some(self.shots[at].shot.id.as_str());
        let (now, later): (Vec<Unit>, Vec<Unit>) =
            units.into_iter().partition(|unit| !many || unit.shots().any(is_first));
        let mut followed = Followed::default();
        for unit in now {
            let known = |at: usize| (&self.shots[at].picture, self.shots[at].refused.as_slice());
            let (shots, pair) = unit.read(case, known, self.mm);
            for (index, _) in &shots {
                self.shots[*index].awaited = None;
            }
            followed.shots.extend(shots);
            self.pairs.extend(pair);
        }
        self.pairs.sort_unstable_by_key(|pair| (pair.lateral, pair.ap));
        for index in later.iter().flat_map(|unit| unit.shots()) {
            self.shots[index].awaited = Some(at_once.number);
            followed.awaited.push(index);
        }
        if !later.is_empty() {
            let known = |at: usize| (self.shots[at].picture.clone(), self.shots[at].refused.clone());
            followed.due = Some(DueReadings::new(at_once.number, case, later, known, self.mm));
        }
        followed
    }

    /// Takes in what was made elsewhere, as far as it is still awaited; gives the readings with the ids of their shots.
    pub fn take_in(&mut self, made: MadeReadings) -> Vec<(String, ShotReading)> {
        let places: BTreeMap<&str, usize> =
            self.shots.iter().enumerate().map(|(index, made)| (made.shot.id.as_str(), index)).collect();
        let awaited = |id: &str| {
            let index = places.get(id).copied()?;
            (self.shots[index].awaited == Some(made.number)).then_some(index)
        };
        let pairs: Vec<ReadPairOf> = made
            .pairs
            .into_iter()
            .filter_map(|([lateral, ap], pair)| {
                let (lateral, ap) = awaited(&lateral).zip(awaited(&ap))?;
                Some(ReadPairOf { lateral, ap, ..pair })
            })
            .collect();
        let mut shots = made.shots;
        shots.retain(|(id, _)| awaited(id).is_some());
        let taken: Vec<usize> = shots.iter().filter_map(|(id, _)| awaited(id)).collect();
        for index in taken {
            self.shots[index].awaited = None;
        }
        for left in self.shots.iter_mut().filter(|left| left.awaited == Some(made.number)) {
            left.awaited = Some(NEVER);
        }
        self.pairs.extend(pairs);
        self.pairs.sort_unstable_by_key(|pair| (pair.lateral, pair.ap));
        shots
    }
}

/// For each shot the place of its partner.
fn partners(shots: usize, matched: &[(usize, usize)]) -> Vec<Option<usize>> {
    let mut partners = vec![None; shots];
    for &(lateral, ap) in matched {
        partners[lateral] = Some(ap);
        partners[ap] = Some(lateral);
    }
    partners
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::edit::Edit;
    use crate::case::document::history::History;
    use crate::case::readings::{ask_for_mm, read_case};
    use crate::geom::point::Vec2;
    use crate::measure::mark::{Level, MarkKind, MarkRef, Side, Stage, View};

    /// Four pairs of two levels and a shot down the pedicle, all marked.
    fn case() -> Case {
        let mut case = Case { patient_right: Some(PatientRight::ImageLeft), ..Case::default() };
        for (i, level) in [Level::L3, Level::L4].into_iter().enumerate() {
            for (j, stage) in [Stage::PosteriorWall, Stage::Final].into_iter().enumerate() {
                for view in [View::Lateral, View::Ap] {
                    let mut shot = Shot::new(format!("{i}{j}{}", view.key()), "a.png", view);
                    (shot.level, shot.side, shot.stage) = (Some(level), Some(Side::Right), Some(stage));
                    let x = 7.0 * f64::from(u8::try_from(i + j).unwrap());
                    shot.marks = shot
                        .marks
                        .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (150.0, 101.0)])
                        .with(MarkKind::InferiorEndPlate, &[(101.0, 140.0), (150.0, 141.0)])
                        .with(MarkKind::Tip, &[(112.0 + x, 121.0)]);
                    case.shots.push(shot);
                }
            }
        }
        let mut docking = Shot::new("docking", "d.png", View::Pedicle);
        docking.stage = Some(Stage::Docking);
        docking.marks = docking
            .marks
            .with(MarkKind::Pedicle, &[(10.0, 0.0), (10.0, 20.0), (0.0, 10.0), (20.0, 10.0)])
            .with(MarkKind::Tip, &[(14.0, 6.0)]);
        case.shots.push(docking);
        case
    }

    /// Readings put together from what was followed.
    #[derive(Default)]
    struct HeldReadings {
        followed: FollowedReadings,
        shots: BTreeMap<String, ShotReading>,
    }

    impl HeldReadings {
        /// Follows, holds the result against a whole reading, and gives the ids that were read.
        fn follow(&mut self, case: &Case, mm: bool) -> Vec<String> {
            let picture = |_: &Shot| Picture::NotLookedAt;
            let followed = self.followed.follow(case, picture, mm, AtOnce::ALL);
            let ids: Vec<String> = followed.shots.iter().map(|(i, _)| case.shots[*i].id.clone()).collect();
            self.shots
                .extend(followed.shots.into_iter().map(|(i, reading)| (case.shots[i].id.clone(), reading)));
            let mut whole = read_case(case, picture, None);
            if mm {
                ask_for_mm(case, &mut whole);
            }
            for (shot, reading) in case.shots.iter().zip(&whole.shots) {
                assert_eq!(self.shots.get(&shot.id), Some(reading), "{}", shot.id);
            }
            assert_eq!(self.followed.pairs(), whole.pairs);
            ids
        }
    }

    fn move_tip(case: &Case, index: usize, by: f64) -> Edit {
        let shot = &case.shots[index];
        let at = MarkRef { kind: MarkKind::Tip, index: 0 };
        let mut marks = shot.marks.clone();
        marks.set(MarkKind::Tip, vec![shot.marks.point(at).map(|p| p + Vec2::new(by, 0.0))]);
        Edit::SetMarks { shot: shot.id.clone(), marks }
    }

    #[test]
    fn an_edit_reads_its_shot_and_its_partner_only() {
        let mut held = HeldReadings::default();
        let mut case = case();
        assert_eq!(held.follow(&case, false).len(), 9);
        assert!(held.follow(&case, false).is_empty(), "nothing changed");
        case.apply(&move_tip(&case, 2, 1.0)).unwrap();
        assert_eq!(held.follow(&case, false), ["01lateral", "01ap"]);
        case.apply(&move_tip(&case, 8, 0.5)).unwrap();
        assert_eq!(held.follow(&case, false), ["docking"]);
        case.shots[8].labels.clear();
        assert!(held.follow(&case, false).is_empty());
    }

    #[test]
    fn settings_and_millimetres_concern_all() {
        let mut held = HeldReadings::default();
        let mut case = case();
        held.follow(&case, false);
        case.settings.bone_sd_mm = 0.7;
        assert_eq!(held.follow(&case, false).len(), 9);
        assert_eq!(held.follow(&case, true).len(), 9);
        case.patient_right = None;
        assert_eq!(held.follow(&case, true).len(), 9);
    }

    #[test]
    fn a_pairing_that_changes_reads_all_it_touches() {
        let mut held = HeldReadings::default();
        let mut case = case();
        held.follow(&case, false);
        case.shots[0].pair_with = Some("01ap".to_owned());
        let read = held.follow(&case, false);
        assert!(
            ["00lateral", "01ap", "00ap", "01lateral"].iter().all(|id| read.iter().any(|r| r == id)),
            "{read:?}"
        );
        case.shots[0].pair_with = Some("nobody".to_owned());
        held.follow(&case, false);
        case.shots[0].pair_with = None;
        held.follow(&case, false);
    }

    #[test]
    fn shots_that_come_go_and_change_places_are_followed() {
        let mut held = HeldReadings::default();
        let mut case = case();
        held.follow(&case, false);
        let gone = case.shots.remove(3);
        held.follow(&case, false);
        case.shots.insert(0, gone);
        held.follow(&case, false);
        case.shots.swap(1, 6);
        held.follow(&case, false);
    }

    #[test]
    fn undo_and_redo_are_followed() {
        let mut held = HeldReadings::default();
        let mut history = History::new(case());
        held.follow(history.case(), false);
        for index in [1, 4, 8] {
            history.apply(&move_tip(history.case(), index, 2.0)).unwrap();
            held.follow(history.case(), false);
        }
        while history.undo() {
            assert!(held.follow(history.case(), false).len() <= 2);
        }
        while history.redo() {
            assert!(held.follow(history.case(), false).len() <= 2);
        }
    }

    /// Three shots at most at once, and the docking first.
    const FEW: AtOnce<'_> = AtOnce { most: 3, first: Some("docking"), number: 7 };

    #[test]
    fn many_are_read_elsewhere_and_come_in_as_if_read_at_once() {
        let (case, mut held) = (case(), HeldReadings::default());
        let picture = |_: &Shot| Picture::NotLookedAt;
        let followed = held.followed.follow(&case, picture, false, FEW);
        assert_eq!(followed.shots.iter().map(|(index, _)| *index).collect::<Vec<_>>(), [8]);
        assert_eq!((followed.awaited.len(), held.followed.awaited()), (8, 8));
        assert!(held.followed.pairs().is_empty());
        let due = followed.due.unwrap();
        assert_eq!((due.number, due.shots()), (7, 8));
        assert!(held.followed.follow(&case, picture, false, FEW).due.is_none(), "it is asked for once");
        let whole = read_case(&case, picture, None);
        let made = held.followed.take_in(due.make(|| true));
        let at = |id: &str| case.shots.iter().position(|shot| shot.id == id).unwrap();
        assert!(made.iter().all(|(id, reading)| whole.shots[at(id)] == *reading));
        assert_eq!(
            (made.len(), held.followed.awaited(), held.followed.pairs()),
            (8, 0, whole.pairs.as_slice())
        );
        assert!(held.followed.take_in(due.make(|| true)).is_empty(), "what is no longer awaited is nothing");
    }

    #[test]
    fn what_changed_meanwhile_is_not_taken_from_elsewhere() {
        let (mut case, mut held) = (case(), HeldReadings::default());
        let picture = |_: &Shot| Picture::NotLookedAt;
        let due = held.followed.follow(&case, picture, false, FEW).due.unwrap();
        // An edit of one shot reads its pair at once; a shot that goes leaves its partner alone.
        case.apply(&move_tip(&case, 2, 1.0)).unwrap();
        assert_eq!(held.followed.follow(&case, picture, false, FEW).shots.len(), 2);
        case.shots.remove(5);
        assert_eq!(held.followed.follow(&case, picture, false, FEW).shots.len(), 1);
        let made = held.followed.take_in(due.make(|| true));
        let ids: Vec<&str> = made.iter().map(|(id, _)| id.as_str()).collect();
        assert_eq!(ids, ["00lateral", "00ap", "11lateral", "11ap"]);
        assert_eq!(held.followed.pairs(), read_case(&case, picture, None).pairs);
        // Other settings make all that was asked for worthless.
        case.settings.bone_sd_mm = 0.7;
        let due = held.followed.follow(&case, picture, false, FEW).due.unwrap();
        case.settings.bone_sd_mm = 0.6;
        let number = FEW.number + 1;
        let again = held.followed.follow(&case, picture, false, AtOnce { number, ..FEW }).due.unwrap();
        assert!(held.followed.take_in(due.make(|| true)).is_empty());
        assert_eq!(held.followed.take_in(again.make(|| true)).len(), 7);
        assert_eq!(held.followed.pairs(), read_case(&case, picture, None).pairs);
    }

    #[test]
    fn the_rest_is_left_unmade_once_it_is_not_wanted() {
        let (case, mut held) = (case(), HeldReadings::default());
        let due = held.followed.follow(&case, |_| Picture::NotLookedAt, false, FEW).due.unwrap();
        let left = std::cell::Cell::new(2);
        let made = due.make(|| left.replace(left.get() - 1) > 0);
        assert_eq!(held.followed.take_in(made).len(), 4);
        assert_eq!(held.followed.awaited(), 0, "nothing more comes of it");
    }
}
