//! Readings that follow a case through its edits: only the shots that changed, and those that depend on them, are read
//! again.
//!
//! A reading is a function of its shot, of what is known of its picture, of the case's settings and of its partner.
//! These are kept beside it and compared; comparing is some thousand times cheaper than reading.

use std::collections::BTreeMap;

use crate::case::document::{Case, Shot};
use crate::case::plan::pairing::{pairs, refusals};
use crate::case::readings::{Picture, ReadPairOf, ShotReading, read_apart, read_matched_with};
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
}

/// What has to be replaced after an edit.
#[derive(Debug, Default)]
pub struct Followed {
    /// The shots that were read, by their places in the case.
    pub shots: Vec<(usize, ShotReading)>,
    /// Whether shots came, went or changed places.
    pub rearranged: bool,
}

impl FollowedReadings {
    /// The matched pairs as they were last read, in the order of the lateral shots.
    #[must_use]
    pub fn pairs(&self) -> &[ReadPairOf] {
        &self.pairs
    }

    /// Reads what changed since the last call, in the case or in what `picture` tells of its pictures. With `mm` shots
    /// without a scale say that they have no millimetres.
    pub fn follow(&mut self, case: &Case, picture: impl Fn(&Shot) -> Picture, mm: bool) -> Followed {
        let all = self.settings != case.settings || self.patient_right != case.patient_right || self.mm != mm;
        if all {
            self.settings.clone_from(&case.settings);
            (self.patient_right, self.mm) = (case.patient_right, mm);
        }
        let rearranged = self.shots.len() != case.shots.len()
            || self.shots.iter().zip(&case.shots).any(|(old, shot)| old.shot.id != shot.id);
        let matched = pairs(case);
        let mut refused: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        for (index, sentence) in refusals(case) {
            refused.entry(index).or_default().push(sentence);
        }
        let partners = partners(case.shots.len(), &matched);
        let mut before: Vec<Option<MadeFrom>> =
            std::mem::take(&mut self.shots).into_iter().map(Some).collect();
        let place: BTreeMap<String, usize> = if rearranged {
            let ids = before.iter().enumerate();
            ids.filter_map(|(i, old)| Some((old.as_ref()?.shot.id.clone(), i))).collect()
        } else {
            BTreeMap::new()
        };
        let mut changed = vec![all; case.shots.len()];
        for (index, shot) in case.shots.iter().enumerate() {
            let own = if rearranged { place.get(&shot.id).copied() } else { Some(index) };
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
                    changed[index] = true;
                    let partner = partner.map(str::to_owned);
                    self.shots.push(MadeFrom { shot: shot.clone(), picture, partner, refused });
                }
            }
        }
        let shots = self.read(case, &matched, &partners, &changed, rearranged);
        Followed { shots, rearranged }
    }

    /// Reads the changed shots, each with its partner.
    fn read(
        &mut self,
        case: &Case,
        matched: &[(usize, usize)],
        partners: &[Option<usize>],
        changed: &[bool],
        rearranged: bool,
    ) -> Vec<(usize, ShotReading)> {
        let mut read = Vec::new();
        // Where shots changed places the pairs' places mean others, so that all pairs are read again.
        let kept = std::mem::take(&mut self.pairs).into_iter().filter(|_| !rearranged);
        let mut kept: BTreeMap<(usize, usize), ReadPairOf> =
            kept.map(|pair| ((pair.lateral, pair.ap), pair)).collect();
        for &(lateral, ap) in matched {
            let again = changed[lateral] || changed[ap];
            if let Some(pair) = kept.remove(&(lateral, ap)).filter(|_| !again) {
                self.pairs.push(pair);
                continue;
            }
            let known = |i: usize| (&self.shots[i].picture, self.shots[i].refused.as_slice());
            let (of_lateral, of_ap, pair) = read_matched_with(case, (lateral, ap), known(lateral), known(ap));
            self.pairs.push(pair);
            read.push((lateral, of_lateral));
            read.push((ap, of_ap));
        }
        for (index, _) in
            changed.iter().enumerate().filter(|(index, changed)| **changed && partners[*index].is_none())
        {
            let MadeFrom { picture, refused, .. } = &self.shots[index];
            read.push((index, read_apart(case, index, picture, refused)));
        }
        if self.mm {
            for (index, reading) in &mut read {
                reading.ask_for_mm(&case.shots[*index]);
            }
        }
        read
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
    struct Held {
        followed: FollowedReadings,
        shots: BTreeMap<String, ShotReading>,
    }

    impl Held {
        /// Follows, holds the result against a whole reading, and gives the ids that were read.
        fn follow(&mut self, case: &Case, mm: bool) -> Vec<String> {
            let picture = |_: &Shot| Picture::NotLookedAt;
            let followed = self.followed.follow(case, picture, mm);
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
        let mut held = Held::default();
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
        let mut held = Held::default();
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
        let mut held = Held::default();
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
        let mut held = Held::default();
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
        let mut held = Held::default();
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
}
