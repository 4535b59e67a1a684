//! Series of simulated shots with true marks, drawn at random.

use crate::case::document::{Case, Shot};
use crate::geom::point::Vec2;
use crate::measure::mark::{Level, Marks, PatientRight, Side, Stage, View};
use crate::phantom::anatomy;
use crate::phantom::anatomy::tool::CannulaTool;
use crate::phantom::beam::{Beam, Pose, sign};
use crate::phantom::body::Body;
use crate::phantom::draw::Draw;
use crate::phantom::imaging::grain::Grain;
use crate::phantom::instrument::PlacedInstrument;
use crate::phantom::look::Look;
use crate::phantom::marks::{Reader, Showing, mean};
use crate::phantom::picture::{Crop, GrayPicture, Technique, picture};
use crate::phantom::scenario::{Subject, drawn_pose, drawn_ray, drawn_tip};
use crate::phantom::size::{LUMBAR, Size};
use crate::phantom::truth::TruePosition;

/// One simulated shot.
#[derive(Clone, Debug)]
pub struct SimulatedShot {
    /// Id of its shot in the case.
    pub id: String,
    /// Its true position.
    pub truth: TruePosition,
    /// What it shows.
    pub subject: Subject,
    /// How the beam stood.
    pub pose: Pose,
    /// How its marks follow the contours.
    pub reader: Reader,
    /// How its picture is made.
    pub technique: Technique,
    /// What stands out of the cannula.
    pub tool: CannulaTool,
    /// Seed of everything in the patient that is not the body itself.
    pub patient: u64,
    /// The part of the picture that was kept; its pose is that of the part.
    pub crop: Option<Crop>,
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
    /// The beam of its pose.
    #[must_use]
    pub fn beam(&self) -> Beam {
        self.pose.beam(-self.subject.body.pedicle(sign(self.subject.side)).axis)
    }

    /// The marks of a reader without error. A border whose near and far contour fall apart is marked in their middle, which
    /// is the outline that a parallel, true view would show.
    #[must_use]
    pub fn true_marks(&self) -> Marks {
        let near = Reader { showing: Showing::One, ..self.reader.clone() };
        let far = Reader {
            superior: near.superior.other(),
            inferior: near.inferior.other(),
            posterior: near.posterior.other(),
            ..near.clone()
        };
        let (view, beam) = (self.pose.view, self.beam());
        mean(&self.subject.marks(view, &beam, &near), &self.subject.marks(view, &beam, &far))
    }

    /// Its picture.
    #[must_use]
    pub fn picture(&self) -> GrayPicture {
        let s = &self.subject;
        let patient = anatomy::patient(s.level, &s.body, self.pose.view, self.patient);
        let tool = Some((&s.instrument, self.tool));
        let whole = |beam: &Beam| picture(&patient, &Grain::new(self.patient), tool, beam, &self.technique);
        let Some(crop) = self.crop else { return whole(&self.beam()) };
        let mut taken = self.clone();
        taken.pose.centre += Vec2::new(f64::from(crop.left), f64::from(crop.top));
        whole(&taken.beam()).cropped(crop)
    }
}

/// Which shots of a drawn case are wanted; what is `None` is drawn (level, side) or wanted in full (stage, view).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WantedShots {
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
pub fn drawn(seed: u64, wanted: WantedShots, look: &Look) -> Series {
    let mut draw = Draw::new(seed);
    let (level, side) = (draw.one_of(&LUMBAR), draw.one_of(&Side::ALL));
    let (level, side) = (wanted.level.unwrap_or(level), wanted.side.unwrap_or(side));
    let body = Body::new(Size::drawn(level, &mut draw));
    let title = format!("Simulated {seed}");
    let patient_right = if look.mirrored { PatientRight::ImageLeft } else { PatientRight::ImageRight };
    let mut series = Series {
        case: Case {
            title: Some(title.clone()),
            operator: Some("R1".to_owned()),
            patient_right: Some(patient_right),
            ..Case::default()
        },
        shots: Vec::new(),
    };
    let mut shot_seed = seed.wrapping_mul(1000);
    for stage in Stage::ALL {
        let tip = drawn_tip(stage, side, &mut draw);
        let instrument = PlacedInstrument::placed(&body, stage, side, tip);
        let subject = Subject { level, side, stage, body: body.clone(), instrument };
        for view in View::ALL {
            shot_seed = shot_seed.wrapping_add(1);
            if view == View::Pedicle && stage != Stage::Docking {
                continue;
            }
            let ray = drawn_ray(1.4, &mut draw);
            let pose = look.pose(drawn_pose(view, side, ray, &mut draw));
            if wanted.stage.is_some_and(|s| s != stage) || wanted.view.is_some_and(|v| v != view) {
                continue;
            }
            let reader = Reader { showing: Showing::WhereSeen, ..Reader::careful() };
            let id = format!("{}-{}-{}-{}", level.name().to_lowercase(), side.key(), view.key(), stage.key());
            let simulated = SimulatedShot {
                id,
                truth: subject.truth(),
                technique: look.technique(&pose, &title, shot_seed),
                tool: look.tool(stage),
                subject: subject.clone(),
                pose,
                reader,
                patient: seed,
                crop: None,
            };
            let marks = subject.marks(view, &simulated.beam(), &simulated.reader);
            series.add(marks, simulated);
        }
    }
    series
}

impl Series {
    /// Adds a shot with these marks; its picture bears its id.
    pub(super) fn add(&mut self, marks: Marks, simulated: SimulatedShot) {
        let id = &simulated.id;
        let mut shot = Shot::new(id, format!("images/{id}.png"), simulated.pose.view);
        shot.level = Some(simulated.subject.level);
        shot.side = Some(simulated.subject.side);
        shot.stage = Some(simulated.subject.stage);
        shot.mm_per_px = Some(simulated.pose.mm_per_px);
        shot.marks = marks;
        self.case.shots.push(shot);
        self.shots.push(simulated);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::readings::{Picture as Looked, ShotReading, read_case};

    #[test]
    fn a_drawn_series_has_every_stage_and_marks_that_are_true() {
        let Series { case, shots } = drawn(3, WantedShots::default(), &Look::default());
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
        let all = drawn(5, WantedShots::default(), &Look::default());
        let wanted =
            WantedShots { stage: Some(Stage::Final), view: Some(View::Ap), ..WantedShots::default() };
        let one = drawn(5, wanted, &Look::default());
        assert_eq!(one.case.shots.len(), 1);
        assert_eq!(all.case.shot(&one.case.shots[0].id), Some(&one.case.shots[0]));
        let wanted = WantedShots { level: Some(Level::L2), side: Some(Side::Left), ..wanted };
        let elsewhere = drawn(5, wanted, &Look::default());
        assert_eq!(elsewhere.case.shots[0].id, "l2-left-ap-final");
    }
}
