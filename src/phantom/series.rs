//! Series of simulated shots with true marks, drawn at random.

use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::measure::mark::{Level, Marks, PatientRight, Side, Stage, View};
use crate::phantom::beam::{Beam, Pose, sign};
use crate::phantom::body::Body;
use crate::phantom::draw::Draw;
use crate::phantom::instrument::Instrument;
use crate::phantom::marks::{Reader, Showing};
use crate::phantom::picture::{Picture, RoundField, picture};
use crate::phantom::scenario::{Ray, Subject, drawn_pose, drawn_ray, drawn_tip};
use crate::phantom::size::{LUMBAR, Sample, Size};
use crate::phantom::spine::column;
use crate::phantom::truth::TruePosition;

/// Pixels a side of a simulated picture.
pub const SIDE: u32 = 768;

/// One simulated shot.
#[derive(Clone, Debug)]
pub struct SimulatedShot {
    /// Id of its shot in the case.
    pub id: String,
    /// Its true position.
    pub truth: TruePosition,
    /// Turn and tilt of the ray through the body's middle.
    pub ray: Ray,
    /// Bits of a sample of its picture as a file: 8 or 16.
    pub bits: u8,
    subject: Subject,
    beam: Beam,
    field: RoundField,
}

/// A case with what its pictures are made from.
#[derive(Clone, Debug)]
pub struct Series {
    /// The case; its pictures' digests are not known yet.
    pub case: Case,
    /// What each shot shows, in the order of the case.
    pub shots: Vec<SimulatedShot>,
}

impl SimulatedShot {
    /// Its picture.
    #[must_use]
    pub fn picture(&self, threads: usize) -> Picture {
        let spine = column(self.subject.level, &self.subject.body, Sample::All);
        picture(&spine, Some(&self.subject.instrument), &self.beam, SIDE, self.field, threads)
    }
}

/// The round field of a picture that is not cropped.
pub(super) fn whole_field(pose: &Pose) -> RoundField {
    RoundField { centre: pose.centre, radius: 0.5 * f64::from(SIDE) - 6.0 }
}

/// Which shots of a drawn case are wanted; what is `None` is drawn (level, side) or wanted in full (stage, view).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// The level, L1 to L5.
    pub level: Option<Level>,
    /// The entry side.
    pub side: Option<Side>,
    /// The stage.
    pub stage: Option<Stage>,
    /// The view.
    pub view: Option<View>,
}

/// A case of one drawn body: all stages in lateral and AP, and the docking down the pedicle, with true marks.
///
/// A shot does not depend on which others are wanted. Marks follow the near contour of each border, and its far
/// one too where it is seen.
#[must_use]
pub fn drawn(seed: u64, wanted: Wanted) -> Series {
    let mut draw = Draw::new(seed);
    let (level, side) = (draw.one_of(&LUMBAR), draw.one_of(&Side::ALL));
    let (level, side) = (wanted.level.unwrap_or(level), wanted.side.unwrap_or(side));
    let body = Body::new(Size::drawn(level, &mut draw));
    let mut series = Series {
        case: Case {
            title: Some(format!("Simulated {seed}")),
            operator: Some("R1".to_owned()),
            patient_right: Some(PatientRight::ImageRight),
            ..Case::default()
        },
        shots: Vec::new(),
    };
    for stage in Stage::ALL {
        let tip = drawn_tip(stage, side, &mut draw);
        let instrument = Instrument::placed(&body, stage, side, tip);
        let subject = Subject { level, side, stage, body: body.clone(), instrument };
        for view in View::ALL {
            if view == View::Pedicle && stage != Stage::Docking {
                continue;
            }
            let ray = drawn_ray(1.4, &mut draw);
            let pose = Pose { mirrored: false, ..upright(drawn_pose(view, side, ray, &mut draw)) };
            if wanted.stage.is_some_and(|s| s != stage) || wanted.view.is_some_and(|v| v != view) {
                continue;
            }
            let beam = pose.beam(-body.pedicle(sign(side)).axis);
            let marks =
                subject.marks(view, &beam, &Reader { showing: Showing::WhereSeen, ..Reader::careful() });
            let id = format!("{}-{}-{}-{}", level.name().to_lowercase(), side.key(), view.key(), stage.key());
            series.add(&id, marks, &subject, &pose, beam, whole_field(&pose));
        }
    }
    series
}

/// A pose for looking at: little roll, the body near the middle of the picture, one scale.
fn upright(pose: Pose) -> Pose {
    let half = 0.5 * f64::from(SIDE);
    Pose {
        mm_per_px: 0.22,
        centre: Point::new(half, half),
        roll_deg: pose.roll_deg / 5.0,
        off_axis: pose.off_axis * 0.5,
        ..pose
    }
}

impl Series {
    /// Adds a shot; its picture bears its id.
    pub(super) fn add(
        &mut self,
        id: &str,
        marks: Marks,
        subject: &Subject,
        pose: &Pose,
        beam: Beam,
        field: RoundField,
    ) {
        let mut shot = Shot::new(id, format!("images/{id}.png"), pose.view);
        shot.level = Some(subject.level);
        shot.side = Some(subject.side);
        shot.stage = Some(subject.stage);
        shot.mm_per_px = Some(pose.mm_per_px);
        shot.marks = marks;
        self.case.shots.push(shot);
        self.shots.push(SimulatedShot {
            id: id.to_owned(),
            truth: subject.truth(),
            ray: Ray { turn_deg: pose.turn_deg, tilt_deg: pose.tilt_deg },
            bits: 16,
            subject: subject.clone(),
            beam,
            field,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture as Looked, ShotReading, read_case};

    #[test]
    fn a_drawn_series_has_every_stage_and_marks_that_are_true() {
        let Series { case, shots } = drawn(3, Wanted::default());
        assert_eq!(case.shots.len(), 11);
        let readings = read_case(&case, |_| Looked::NotLookedAt, None);
        for ((shot, truth), reading) in case.shots.iter().zip(&shots).zip(&readings.shots) {
            assert!(shot.marks.kinds().all(|kind| kind.belongs_to(shot.view)));
            let (tip, truth) = match reading {
                ShotReading::Lateral(reading) => (reading.tip.clone(), truth.truth.lateral),
                ShotReading::Ap(reading) => (reading.tip.clone(), truth.truth.ap),
                ShotReading::Pedicle(reading) => {
                    assert!(reading.lateral_offset.is_some());
                    continue;
                }
            };
            let (tip, truth) = (tip.unwrap(), truth.unwrap().curved);
            assert!((tip.along.value - truth.along).abs() < 3.0 * tip.along.sd(), "{}", shot.id);
            assert!((tip.height.value - truth.height).abs() < 3.0 * tip.height.sd(), "{}", shot.id);
        }
    }

    #[test]
    fn a_wanted_shot_is_that_of_the_whole_series() {
        let all = drawn(5, Wanted::default());
        let wanted = Wanted { stage: Some(Stage::Final), view: Some(View::Ap), ..Wanted::default() };
        let one = drawn(5, wanted);
        assert_eq!(one.case.shots.len(), 1);
        assert_eq!(all.case.shot(&one.case.shots[0].id), Some(&one.case.shots[0]));
        let elsewhere = drawn(5, Wanted { level: Some(Level::L2), side: Some(Side::Left), ..wanted });
        assert_eq!(elsewhere.case.shots[0].id, "l2-left-ap-final");
    }
}
