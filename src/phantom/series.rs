//! Series of simulated shots: a drawn one with true marks, and the demonstration.

use glam::DVec2;

use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::measure::mark::{Level, MarkKind, Marks, PatientRight, Side, Stage, View};
use crate::phantom::beam::{Beam, Pose, sign};
use crate::phantom::body::{Body, Plate};
use crate::phantom::contour::{self, Contour};
use crate::phantom::draw::Draw;
use crate::phantom::instrument::{Instrument, TipPlace};
use crate::phantom::marks::{self, Reader};
use crate::phantom::picture::{Picture, RoundField, picture};
use crate::phantom::scenario::{Ray, Subject, drawn_pose, drawn_ray, drawn_tip, placed_with_error};
use crate::phantom::size::{LUMBAR, Sample, Size};
use crate::phantom::spine::column;
use crate::phantom::truth::TruePosition;

/// Pixels a side of a simulated picture.
pub const SIDE: u32 = 768;
/// The placement errors of a reader, in millimetres: the method's.
const BONE_MM: f64 = 0.5;
const METAL_MM: f64 = 0.25;

/// One simulated shot.
#[derive(Clone, Debug)]
pub struct SimulatedShot {
    /// Id of its shot in the case.
    pub id: String,
    /// Its true position.
    pub truth: TruePosition,
    /// Turn and tilt of the ray through the body's middle.
    pub ray: Ray,
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
fn whole_field(pose: &Pose) -> RoundField {
    RoundField { centre: pose.centre, radius: 0.5 * f64::from(SIDE) - 6.0 }
}

/// A case of one drawn body: all stages in lateral and AP, and the docking down the pedicle, with true marks.
///
/// Marks follow the near contour of each border.
#[must_use]
pub fn drawn(seed: u64) -> Series {
    let mut draw = Draw::new(seed);
    let level = draw.one_of(&LUMBAR);
    let side = draw.one_of(&Side::ALL);
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
            let beam = pose.beam(-body.pedicle(sign(side)).axis);
            let reader = Reader::careful();
            let marks = match view {
                View::Lateral => subject.lateral_marks(&beam, &reader),
                View::Ap => subject.ap_marks(&beam, &reader),
                View::Pedicle => {
                    let mut marks = marks::pedicle(&body, &beam, side);
                    marks.set(MarkKind::Tip, vec![Some(beam.project(subject.instrument.tip()))]);
                    marks
                }
            };
            let id = format!("{}-{}-{}-{}", level.name().to_lowercase(), side.key(), view.key(), stage.key());
            let image = format!("images/{id}.png");
            series.add(&id, &image, marks, &subject, &pose, beam, whole_field(&pose));
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
    #[expect(clippy::too_many_arguments, reason = "one shot, said in full at its two callers")]
    fn add(
        &mut self,
        id: &str,
        image: &str,
        marks: Marks,
        subject: &Subject,
        pose: &Pose,
        beam: Beam,
        field: RoundField,
    ) {
        let mut shot = Shot::new(id, image, pose.view);
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
            subject: subject.clone(),
            beam,
            field,
        });
    }
}

/// A shot of the demonstration.
struct Told {
    stage: Stage,
    tip: TipPlace,
    ray: (f64, f64),
    off_axis: (f64, f64),
    roll_deg: f64,
    taken: &'static str,
    cropped: bool,
}

/// The demonstration's shots in the order they were taken.
fn told() -> [Told; 6] {
    let tip = |depth, height, off_middle| TipPlace { depth, height, off_middle };
    let shot = |stage, tip, ray, off_axis, roll_deg, taken| Told {
        stage,
        tip,
        ray,
        off_axis,
        roll_deg,
        taken,
        cropped: false,
    };
    [
        shot(Stage::Pedicle, tip(-0.27, 0.30, -14.5), (0.8, -0.6), (-14.0, 6.0), 2.0, "10:18:40"),
        shot(Stage::PosteriorWall, tip(0.06, 0.36, -10.5), (-0.5, 0.7), (-10.0, 4.0), 2.0, "10:24:12"),
        shot(Stage::Stylet, tip(0.27, 0.44, -6.0), (-0.9, 0.3), (-10.0, 3.0), 2.5, "10:29:55"),
        shot(Stage::Final, tip(0.63, 0.52, -0.5), (0.4, -0.9), (-8.0, 2.0), 2.5, "10:36:31"),
        shot(Stage::Final, tip(0.40, 0.50, -1.5), (0.6, 0.5), (-8.0, 2.0), 2.5, "10:42:05"),
        Told {
            cropped: true,
            ..shot(Stage::Final, tip(0.40, 0.50, -1.5), (-0.7, -0.4), (0.0, 0.0), -1.0, "10:43:20")
        },
    ]
}

/// The demonstration, “Demonstration A”: a right L4 lateral sequence through the pedicle to a tip that lies too
/// far forward, then in the target after an adjustment, and a last still whose crop leaves out the anterior
/// wall. Everything about it is invented. Marks are placed with a reader's errors, in hundredths of a pixel.
#[must_use]
pub fn demonstration() -> Series {
    let (level, side) = (Level::L4, Side::Right);
    let body = Body::new(Size::typical(level, Sample::All));
    let mut draw = Draw::new(20_260_203);
    let mut series = Series {
        case: Case {
            title: Some("Demonstration A".to_owned()),
            operator: Some("R1".to_owned()),
            date: Some("2026-02-03".to_owned()),
            discs: vec!["L4-L5".to_owned()],
            ..Case::default()
        },
        shots: Vec::new(),
    };
    for (n, told) in (1..).zip(told()) {
        let instrument = Instrument::placed(&body, told.stage, side, told.tip);
        let subject = Subject { level, side, stage: told.stage, body: body.clone(), instrument };
        let mut pose = Pose::true_view(View::Lateral, 0.22, f64::from(SIDE));
        (pose.turn_deg, pose.tilt_deg) = told.ray;
        pose.off_axis = DVec2::new(told.off_axis.0, told.off_axis.1);
        pose.roll_deg = told.roll_deg;
        let mut field = whole_field(&pose);
        if told.cropped {
            // A part of the still, without its left side: the field reaches beyond every edge.
            pose.centre = Point::new(58.0, 0.5 * f64::from(SIDE));
            field = RoundField { centre: pose.centre, radius: 1000.0 };
        }
        let beam = pose.beam(-body.pedicle(sign(side)).axis);
        let either = |draw: &mut Draw| if draw.coin() { Contour::Near } else { Contour::Far };
        let reader = Reader {
            superior: either(&mut draw),
            inferior: either(&mut draw),
            posterior: either(&mut draw),
            ..Reader::careful()
        };
        let mut marks = subject.lateral_marks(&beam, &reader);
        if told.cropped {
            crop(&mut marks, &body, &beam, &reader);
        }
        let placed = placed_with_error(&marks, BONE_MM, METAL_MM, pose.mm_per_px, &mut draw);
        let edge = f64::from(SIDE);
        let in_hundredths = |x: f64| (x.clamp(0.5, edge - 0.5) * 100.0).round() / 100.0;
        let placed = placed.map(|p| Point::new(in_hundredths(p.x), in_hundredths(p.y)));
        let id = format!("l4-right-lateral-{n}");
        let image = format!("images/demonstration-a-lateral-{n}.png");
        series.add(&id, &image, placed, &subject, &pose, beam, field);
        if let Some(shot) = series.case.shots.last_mut() {
            shot.taken = Some(told.taken.to_owned());
        }
    }
    series
}

/// What a reader marks of a body whose front the picture's left edge cuts off: end plates as far as the edge.
fn crop(marks: &mut Marks, body: &Body, beam: &Beam, reader: &Reader) {
    for (plate, kind, contour) in [
        (Plate::Superior, MarkKind::SuperiorEndPlate, reader.superior),
        (Plate::Inferior, MarkKind::InferiorEndPlate, reader.inferior),
    ] {
        let at = |u: f64| beam.project(contour::plate_lateral(body, beam, plate, contour, u));
        // Depth runs to the left; the plate leaves the picture between these two.
        let (mut inside, mut outside) = (0.5, 1.0);
        for _ in 0..40 {
            let middle = 0.5 * (inside + outside);
            if at(middle).x > 1.0 { inside = middle } else { outside = middle }
        }
        let Some(corner) = marks.slots(kind).first().copied() else { continue };
        let between = [0.25, 0.5, 0.75].map(|t| Some(at(t * inside)));
        let points = std::iter::once(corner).chain(between).chain([Some(at(inside))]);
        marks.set(kind, points.collect());
    }
    marks.set(MarkKind::AnteriorWall, Vec::new());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::issue::IssueCode;
    use crate::measure::lateral::read_lateral;
    use crate::measure::reading::{Field, FrameExtent, LateralReading, Lent, ShotInput};
    use crate::measure::settings::Rule;
    use crate::measure::verdict::{Nominal, State, VerdictRule};

    fn read(case: &Case, shot: &Shot) -> LateralReading {
        read_lateral(&ShotInput {
            view: shot.view,
            marks: &shot.marks,
            side: shot.side,
            stage: shot.stage,
            patient_right: None,
            mm_per_px: shot.mm_per_px,
            mm_per_px_sd: None,
            frame: Some(FrameExtent { width: SIDE, height: SIDE, field: Field::Whole }),
            settings: &case.settings,
            lent: Lent::default(),
            monte_carlo: None,
        })
    }

    #[test]
    fn the_demonstration_ends_outside_and_then_inside() {
        let Series { case, shots } = demonstration();
        let depth = |n: usize| {
            let reading = read(&case, &case.shots[n]);
            let verdict = reading.verdicts.iter().find(|v| v.rule == VerdictRule::Band(Rule::Depth)).copied();
            verdict.map(|v| (v.nominal, v.state))
        };
        assert_eq!(depth(0), None);
        assert_eq!(depth(1).map(|d| d.0), Some(Nominal::Inside));
        assert_eq!(depth(3), Some((Nominal::Anterior, State::Outside)));
        assert_eq!(depth(4), Some((Nominal::Inside, State::Inside)));
        let reading = read(&case, &case.shots[4]);
        assert!(reading.verdicts.iter().all(|v| v.state == State::Inside), "{:?}", reading.verdicts);
        // Every reading but that of the crop holds the truth within three standard uncertainties.
        for (shot, truth) in case.shots.iter().zip(&shots).take(5) {
            let tip = read(&case, shot).tip.unwrap();
            let truth = truth.truth.lateral.unwrap().curved;
            assert!((tip.along.value - truth.along).abs() < 3.0 * tip.along.sd(), "{}", shot.id);
            assert!((tip.height.value - truth.height).abs() < 3.0 * tip.height.sd(), "{}", shot.id);
        }
    }

    #[test]
    fn the_last_shot_is_cut_off_in_front() {
        let series = demonstration();
        let codes: Vec<_> = series
            .case
            .shots
            .iter()
            .map(|s| read(&series.case, s).issues.iter().map(|i| i.code).collect::<Vec<_>>())
            .collect();
        assert!(codes[5].contains(&IssueCode::BodyCutOff));
        // The first tip is still in the pedicle, which is said too.
        assert_eq!(codes[0], [IssueCode::OutsideBody]);
        assert!(codes[1..5].iter().all(Vec::is_empty), "{codes:?}");
    }

    #[test]
    fn a_drawn_series_has_every_stage_and_marks_that_are_true() {
        let Series { case, shots } = drawn(3);
        assert_eq!(case.shots.len(), 11);
        for (shot, truth) in case.shots.iter().zip(&shots) {
            assert!(shot.marks.kinds().all(|kind| kind.belongs_to(shot.view)));
            if shot.view != View::Lateral {
                continue;
            }
            let tip = read(&case, shot).tip.unwrap();
            let truth = truth.truth.lateral.unwrap().curved;
            assert!((tip.along.value - truth.along).abs() < 3.0 * tip.along.sd(), "{}", shot.id);
        }
    }
}
