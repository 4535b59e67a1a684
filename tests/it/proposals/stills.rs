//! Simulated stills for proposals: any level, dose, rotation and polarity, mirrored or not; the true lines; clicks with error.

use stillmark::case::document::Shot;
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::{Point, Vec2};
use stillmark::geom::spline::Spline;
use stillmark::measure::mark::{Level, MarkKind, Marks, Stage, View};
use stillmark::phantom::anatomy::{self, part::Part};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::imaging::grain::Grain;
use stillmark::phantom::look::Look;
use stillmark::phantom::marks::{Reader, Showing};
use stillmark::phantom::picture::picture;
use stillmark::phantom::series::{SimulatedShot, WantedShots, drawn};
use stillmark::propose::lateral::Clicks;

/// Pixels a side.
pub(super) const SIDE: u32 = 512;

/// A still and what is true of it.
pub(super) struct Still {
    pub(super) shot: Shot,
    pub(super) frame: Frame,
    pub(super) simulated: SimulatedShot,
    /// Marks on the middle lines.
    pub(super) middle: Marks,
    /// The near and the far line of each border.
    near: [Vec<Point>; 4],
    far: [Vec<Point>; 4],
}

/// How the ray is turned.
#[derive(Clone, Copy)]
pub(super) enum Turned {
    /// Turn and tilt each anywhere within ± this, in degrees.
    Within(f64),
    /// Turn and tilt together anywhere between these, in any direction.
    Between(f64, f64),
}

/// A lateral still: level, dose 0.3–2, rotation of the picture to 30°, polarity, words and side drawn from the seed.
pub(super) fn still(seed: u64, stage: Stage, turned: Turned) -> Still {
    let (look, inverted) = look_of(seed, turned);
    let (shot, simulated) = simulated(seed, stage, &look, None);
    let samples = simulated.picture().samples;
    Still::of(shot, simulated, if inverted { in_reverse(samples) } else { samples })
}

/// A still that is wanted of a body.
pub(super) struct Wanted {
    pub(super) stage: Stage,
    pub(super) look: Look,
    pub(super) inverted: bool,
}

/// Stills of a seed's body, one for each way the ray is turned, each with a look of its own.
pub(super) fn stills_of_body(seed: u64, stage: Stage, ways: &[Turned]) -> Vec<Still> {
    let look = |(way, turned): (u64, &Turned)| {
        let (look, inverted) = look_of(seed ^ (way << 50), *turned);
        Wanted { stage, look, inverted }
    };
    of_one_patient(seed, &(0..).zip(ways).map(look).collect::<Vec<Wanted>>())
}

/// Stills of a seed's body, each with noise of its own; the patient, who takes as long to make as a picture, is made once.
pub(super) fn of_one_patient(seed: u64, wanted: &[Wanted]) -> Vec<Still> {
    let mut patient = None;
    let one = |(number, wanted): (u64, &Wanted)| {
        let (shot, mut simulated) = simulated(seed, wanted.stage, &wanted.look, None);
        simulated.technique.seed = seed.wrapping_mul(1000).wrapping_add(500 + number);
        let samples = of_patient(&simulated, &mut patient);
        Still::of(shot, simulated, if wanted.inverted { in_reverse(samples) } else { samples })
    };
    (0..).zip(wanted).map(one).collect()
}

/// The picture of a patient who is made for the first one.
pub(super) fn of_patient(simulated: &SimulatedShot, patient: &mut Option<Vec<Part>>) -> Vec<u16> {
    let subject = &simulated.subject;
    let made = || anatomy::patient(subject.level, &subject.body, simulated.pose.view, simulated.patient);
    let patient = patient.get_or_insert_with(made);
    let tool = Some((&subject.instrument, simulated.tool));
    picture(patient, &Grain::new(simulated.patient), tool, &simulated.beam(), &simulated.technique).samples
}

pub(super) fn in_reverse(samples: Vec<u16>) -> Vec<u16> {
    samples.into_iter().map(|v| u16::MAX - v).collect()
}

/// How the still of a seed is taken, and whether it is inverted.
pub(super) fn look_of(seed: u64, turned: Turned) -> (Look, bool) {
    let mut draw = Draw::new(seed ^ 0x70_72_6f_70);
    let (turn, tilt) = match turned {
        Turned::Within(deg) => (draw.between(-deg, deg), draw.between(-deg, deg)),
        Turned::Between(low, high) => {
            let (angle, size) = (draw.between(0.0, std::f64::consts::TAU), draw.between(low, high));
            (size * angle.cos(), size * angle.sin())
        }
    };
    let look = Look {
        side_px: SIDE,
        turn_deg: Some(turn),
        tilt_deg: Some(tilt),
        roll_deg: Some(draw.between(-30.0, 30.0)),
        dose: Some(0.3 * (2.0_f64 / 0.3).powf(draw.unit())),
        mirrored: draw.coin(),
        words: draw.coin(),
        mm_per_px: Some(draw.between(0.25, 0.36)),
        off_axis: Some([draw.between(-20.0, 20.0), draw.between(-20.0, 20.0)]),
        ..Look::default()
    };
    let inverted = draw.coin();
    (look, inverted)
}

/// A lateral shot of a seed's body, and what it shows.
pub(super) fn simulated(seed: u64, stage: Stage, look: &Look, level: Option<Level>) -> (Shot, SimulatedShot) {
    let wanted =
        WantedShots { view: Some(View::Lateral), stage: Some(stage), level, ..WantedShots::default() };
    let mut series = drawn(seed, wanted, look);
    (series.case.shots.remove(0), series.shots.remove(0))
}

/// A square picture as a frame.
pub(super) fn frame_of(side: u32, samples: Vec<u16>) -> Frame {
    Frame {
        width: side,
        height: side,
        samples: Samples::Gray16(samples),
        was_colour: false,
        digest: String::new().into(),
        warnings: Vec::new(),
        taken: None,
        facts: Default::default(),
    }
}

impl Still {
    /// The still of a simulated shot with these samples.
    pub(super) fn of(shot: Shot, simulated: SimulatedShot, samples: Vec<u16>) -> Self {
        let near = Reader { showing: Showing::One, ..Reader::careful() };
        let far = Reader {
            superior: near.superior.other(),
            inferior: near.inferior.other(),
            posterior: near.posterior.other(),
            ..near.clone()
        };
        let lines =
            |reader: &Reader| lines(&simulated.subject.marks(View::Lateral, &simulated.beam(), reader));
        let (near, far) = (lines(&near), lines(&far));
        let middle = simulated.true_marks();
        let frame = frame_of(simulated.technique.side, samples);
        Self { shot, frame, near, far, middle, simulated }
    }

    pub(super) fn mm(&self) -> f64 {
        self.simulated.pose.mm_per_px
    }

    /// Clicks in the middle of both walls, off by normal errors: `sd` millimetres across the wall and along it.
    pub(super) fn clicks(&self, sd: (f64, f64), draw: &mut Draw) -> Clicks {
        let lines = lines(&self.middle);
        let (p, a) = (lines[2][50], lines[3][50]);
        let across = (a - p).normalized().unwrap_or(Vec2::new(1.0, 0.0));
        let mut off = |at: Point| {
            let (x, y) = (draw.normal(0.0, sd.0), draw.normal(0.0, sd.1));
            at + (across * x + across.perpendicular() * y) / self.mm()
        };
        Clicks { posterior: off(p), anterior: off(a) }
    }

    /// The body's own axes in the picture, a millimetre long: toward the front, and downward; and its middle.
    pub(super) fn axes(&self) -> (Point, Vec2, Vec2) {
        let lines = lines(&self.middle);
        let (p, a) = (lines[2][50], lines[3][50]);
        let front = (a - p).normalized().unwrap_or(Vec2::new(1.0, 0.0)) / self.mm();
        let (s, i) = (lines[0][50], lines[1][50]);
        let down = (i - s).normalized().unwrap_or(Vec2::new(0.0, 1.0)) / self.mm();
        (s.midpoint(i), front, down)
    }

    /// For each border, how far places of it lie off the nearer of its two lines, in millimetres: 0 between them, outward
    /// positive.
    pub(super) fn off_nearer(&self, marks: &Marks) -> [Vec<f64>; 4] {
        let found = lines(marks);
        let middle = self.axes().0;
        std::array::from_fn(|b| {
            let near = across(&found[b], &self.near[b], middle, self.mm());
            let far = across(&found[b], &self.far[b], middle, self.mm());
            let nearer = |(a, b): (f64, f64)| {
                if a * b < 0.0 {
                    0.0
                } else if a.abs() < b.abs() {
                    a
                } else {
                    b
                }
            };
            near.into_iter().zip(far).map(nearer).collect()
        })
    }

    /// For each border, how far places of it lie off its middle line.
    pub(super) fn off_middle(&self, marks: &Marks) -> [Vec<f64>; 4] {
        let (found, truth) = (lines(marks), lines(&self.middle));
        let middle = self.axes().0;
        std::array::from_fn(|b| across(&found[b], &truth[b], middle, self.mm()))
    }

    /// The true place of the tip.
    pub(super) fn tip(&self) -> Option<Point> {
        self.middle.complete(MarkKind::Tip)?.first().copied()
    }
}

/// The four borders as fine lines: superior and inferior end plate, posterior and anterior wall.
fn lines(marks: &Marks) -> [Vec<Point>; 4] {
    let of = |kind| marks.complete(kind).unwrap_or_default();
    let (s, i) = (of(MarkKind::SuperiorEndPlate), of(MarkKind::InferiorEndPlate));
    let wall = |kind, from: Option<&Point>, to: Option<&Point>| {
        let ends = |p: Option<&Point>| p.copied();
        let points: Vec<Point> = ends(from).into_iter().chain(of(kind)).chain(ends(to)).collect();
        fine(&points)
    };
    let posterior = wall(MarkKind::PosteriorWall, s.first(), i.first());
    let anterior = wall(MarkKind::AnteriorWall, s.last(), i.last());
    [fine(&s), fine(&i), posterior, anterior]
}

fn fine(points: &[Point]) -> Vec<Point> {
    let spline = Spline::through(points);
    (0..=100)
        .map(|n| {
            let t = f64::from(n) / 100.0;
            spline.as_ref().map_or_else(|| points[0].lerp(points[points.len() - 1], t), |s| s.at(t).0)
        })
        .collect()
}

/// How far outward of `truth` a line lies, at places from a tenth to nine tenths of it.
fn across(found: &[Point], truth: &[Point], middle: Point, mm: f64) -> Vec<f64> {
    (10..=90)
        .step_by(4)
        .map(|k| {
            let q = truth[k];
            let nearest =
                (1..100).min_by(|&a, &b| found[a].distance(q).total_cmp(&found[b].distance(q))).unwrap_or(50);
            let along = (found[nearest + 1] - found[nearest - 1]).normalized().unwrap_or(Vec2::new(1.0, 0.0));
            let out = along.perpendicular();
            let sign = if out.dot(q - middle) > 0.0 { 1.0 } else { -1.0 };
            sign * out.dot(found[nearest] - q) * mm
        })
        .collect()
}
