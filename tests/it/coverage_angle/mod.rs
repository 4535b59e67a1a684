//! Do turned and tilted views read right, and do the intervals of what a true view would show hold? Two families of simulated
//! bodies, every stage, turn and tilt, against the three-dimensional truth. The acceptance values of the method's section
//! 9 are asserted on every run; with `STILLMARK_ANGLES=150` all rows are simulated with that many pairs each, and
//! `STILLMARK_UPDATE=1` writes them to `docs/coverage-angle.md`.

mod other_body;
mod page;
mod subject;

use glam::DVec3;
use stillmark::measure::mark::Side;
use stillmark::measure::mark::{MarkKind, Marks, Stage, View};
use stillmark::measure::pair::{ReadPair, read_pair};
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::{Lent, ShotInput};
use stillmark::measure::settings::Settings;
use stillmark::measure::true_view::known::{ApTube, CannotTell, Known, Tube};
use stillmark::measure::verdict::{State, Verdict};
use stillmark::phantom::draw::Draw;
use stillmark::phantom::marks::Showing;
use stillmark::phantom::scenario::{self, Ray};

use subject::{Drawn, Family, Values};

/// How much a C-arm is off a true view: `None` is anywhere within ± 1.4°, a number that angle with either sign.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Off {
    turn: Option<f64>,
    tilt: Option<f64>,
}

/// What is marked of borders that may show twice, and what is said of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Contours {
    /// One contour; the reader says that each shows once.
    One,
    /// Both, where they lie apart as those of 1.4° would, as a reader sees them.
    Seen,
    /// Both.
    Both,
    /// One contour; the reader cannot tell.
    CannotTell,
    /// One contour, and nobody has said anything.
    Unanswered,
}

/// One row of a table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    family: Family,
    stage: Stage,
    off: Off,
    contours: Contours,
    tube: bool,
}

/// One value against the truth.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outcome {
    error: f64,
    sd: f64,
    held: bool,
}

/// How a verdict came out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Judged {
    decided: bool,
    wrong: bool,
    /// Whether the interval it goes by holds the truth.
    held: bool,
}

/// A pair, read both ways, and how its verdicts came out.
pub(super) struct Trial {
    direct: [Option<Outcome>; 8],
    view: [Option<Outcome>; 8],
    /// The turn of the AP found, its standard uncertainty, and the truth, in degrees.
    turn: Option<[f64; 3]>,
    verdicts: Vec<Judged>,
}

fn outcome(q: Option<&Quantity>, truth: f64) -> Option<Outcome> {
    q.map(|q| Outcome { error: q.value - truth, sd: q.sd(), held: q.low() <= truth && truth <= q.high() })
}

/// Two shots of one subject, marked.
struct Shots {
    drawn: Drawn,
    lateral: (Marks, f64, Side),
    ap: (Marks, f64, bool),
    turn_deg: f64,
    truth: Values,
}

impl Shots {
    fn new(row: &Row, seed: u64) -> Option<Self> {
        let mut draw = Draw::new(seed);
        let drawn = Drawn::new(row.family, row.stage, &mut draw);
        let truth = drawn.truth()?;
        let ray = |draw: &mut Draw| {
            let within = scenario::drawn_ray(1.4, draw);
            let signs = [draw.sign(), draw.sign()];
            Ray {
                turn_deg: row.off.turn.map_or(within.turn_deg, |deg| signs[0] * deg),
                tilt_deg: row.off.tilt.map_or(within.tilt_deg, |deg| signs[1] * deg),
            }
        };
        let (from_side, from_front) = (ray(&mut draw), ray(&mut draw));
        let side_pose = scenario::drawn_pose(View::Lateral, drawn.side(), from_side, &mut draw);
        let front_pose = scenario::drawn_pose(View::Ap, drawn.side(), from_front, &mut draw);
        let readers = [
            scenario::drawn_reader(Showing::One, &mut draw),
            scenario::drawn_reader(Showing::One, &mut draw),
        ];
        let both = matches!(row.contours, Contours::Both | Contours::Seen);
        let mut lateral = drawn.lateral(&side_pose.beam(DVec3::NEG_X), &readers[0], both);
        let mut ap = drawn.ap(&front_pose.beam(DVec3::NEG_X), &readers[1], both);
        if row.contours == Contours::Seen {
            leave_out_unseen(&mut lateral, View::Lateral, side_pose.mm_per_px, drawn.side(), row.stage);
            leave_out_unseen(&mut ap, View::Ap, front_pose.mm_per_px, drawn.side(), row.stage);
        }
        let placed =
            |marks: &Marks, mm: f64, draw: &mut Draw| scenario::placed_with_error(marks, 0.5, 0.25, mm, draw);
        let lateral = placed(&lateral, side_pose.mm_per_px, &mut draw);
        let ap = placed(&ap, front_pose.mm_per_px, &mut draw);
        Some(Self {
            drawn,
            lateral: (lateral, side_pose.mm_per_px, side_pose.side),
            ap: (ap, front_pose.mm_per_px, front_pose.source_in_front),
            turn_deg: from_front.turn_deg,
            truth,
        })
    }

    fn read(&self, row: &Row) -> ReadPair {
        let settings = Settings::default();
        let tube = if row.tube {
            let ap = if self.ap.2 { ApTube::Front } else { ApTube::Behind };
            Tube { lateral: Some(self.lateral.2), ap: Some(ap) }
        } else {
            Tube::default()
        };
        let untold = row.contours == Contours::CannotTell;
        let known = Known {
            level: Some(self.drawn.level()),
            tube,
            cannot_tell: (row.contours != Contours::Unanswered)
                .then_some(CannotTell { depth: untold, height: untold }),
        };
        let input = |view, marks, mm| ShotInput {
            known,
            ..input(view, marks, mm, self.drawn.side(), row.stage, &settings)
        };
        read_pair(
            &input(View::Lateral, &self.lateral.0, self.lateral.1),
            &input(View::Ap, &self.ap.0, self.ap.1),
        )
    }
}

fn input<'a>(
    view: View,
    marks: &'a Marks,
    mm_per_px: f64,
    side: Side,
    stage: Stage,
    settings: &'a Settings,
) -> ShotInput<'a> {
    ShotInput {
        view,
        marks,
        side: Some(side),
        stage: Some(stage),
        patient_right: None,
        mm_per_px: Some(mm_per_px),
        mm_per_px_sd: None,
        frame: None,
        settings,
        known: Known::default(),
        mark_errors: None,
        lent: Lent::default(),
        monte_carlo: None,
    }
}

/// Takes back the second contours that a reader would not have seen (the method's 1.4°).
fn leave_out_unseen(marks: &mut Marks, view: View, mm_per_px: f64, side: Side, stage: Stage) {
    let settings = Settings::default();
    let shot = input(view, marks, mm_per_px, side, stage, &settings);
    let apart = match view {
        View::Lateral => stillmark::measure::lateral::read_lateral(&shot).apart_mm,
        _ => stillmark::measure::ap::read_ap(&shot).apart_mm,
    };
    let plate = if view == View::Lateral { 20.0 } else { 15.0 };
    let shows = |a: f64| 2.0 * a * 1.4_f64.to_radians().sin();
    for (apart, a, kind) in [
        (apart[0], plate, MarkKind::SuperiorEndPlateSecond),
        (apart[1], plate, MarkKind::InferiorEndPlateSecond),
        (apart[2].filter(|_| view == View::Lateral), 12.0, MarkKind::PosteriorWallSecond),
    ] {
        if apart.is_some_and(|apart| apart <= shows(a)) {
            marks.set(kind, Vec::new());
        }
    }
}

fn trial(row: &Row, seed: u64) -> Option<Trial> {
    let shots = Shots::new(row, seed)?;
    let read = shots.read(row);
    let t = &shots.truth;
    let tip = read.lateral.tip.as_ref()?;
    let by = &read.ap.midline_by;
    read.ap.tip.as_ref()?;
    let pair = &read.pair;
    let direct = [
        outcome(Some(&tip.along), t[0]),
        outcome(pair.height.as_ref(), t[1]),
        outcome(pair.across.as_ref(), t[2]),
        outcome(read.ap.height.as_ref(), t[3]),
        outcome(by.pedicles.as_ref(), t[4]),
        outcome(by.spinous_process.as_ref(), t[5]),
        outcome(by.body.as_ref(), t[6]),
        outcome(read.ap.medial_border.as_ref(), t[7]),
    ];
    let view = &pair.true_view;
    let by = &view.midline_by;
    let of_ap = read.ap.true_view.as_ref();
    let corrected = [
        outcome(view.depth.as_ref(), t[0]),
        outcome(view.height.as_ref(), t[1]),
        outcome(view.across.as_ref(), t[2]),
        outcome(of_ap.and_then(|view| view.height.as_ref()), t[3]),
        outcome(by.pedicles.as_ref(), t[4]),
        outcome(by.spinous_process.as_ref(), t[5]),
        outcome(by.body.as_ref(), t[6]),
        outcome(view.medial_border.as_ref(), t[7]),
    ];
    let turn = of_ap.and_then(|view| view.turn).map(|turn| [turn.deg, turn.sd_deg, shots.turn_deg]);
    let goes_by = [(t[0], corrected[DEPTH]), (t[1], corrected[HEIGHT]), (t[4], corrected[PEDICLES])];
    let verdicts = pair.verdicts.iter().zip(goes_by);
    let verdicts = verdicts.filter_map(|(verdict, (truth, by))| judged(verdict, truth, by?.held));
    Some(Trial { direct, view: corrected, turn, verdicts: verdicts.collect() })
}

/// How a band's verdict came out.
fn judged(verdict: &Verdict, truth: f64, held: bool) -> Option<Judged> {
    let band = verdict.band?;
    let inside = band.low <= truth && truth <= band.high;
    let decided = matches!(verdict.state, State::Inside | State::Outside);
    Some(Judged { decided, wrong: decided && (verdict.state == State::Inside) != inside, held })
}

/// `n` pairs of a row, on two threads.
pub(super) fn trials(row: &Row, n: u64, stream: u64) -> Vec<Trial> {
    let run =
        |from: u64, to: u64| (from..to).filter_map(|i| trial(row, (stream << 32) | i)).collect::<Vec<_>>();
    std::thread::scope(|scope| {
        let second = scope.spawn(|| run(n / 2, n));
        let mut all = run(0, n / 2);
        all.extend(second.join().unwrap_or_default());
        all
    })
}

/// Root mean square, stated standard uncertainty, and share held of one quantity.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Summary {
    rms: f64,
    sd: f64,
    held: f64,
    n: f64,
}

pub(super) fn summary<'a>(outcomes: impl Iterator<Item = &'a Option<Outcome>>) -> Summary {
    let mut sum = Summary::default();
    for outcome in outcomes.flatten() {
        sum.n += 1.0;
        sum.rms += outcome.error.powi(2);
        sum.sd += outcome.sd.powi(2);
        sum.held += f64::from(u8::from(outcome.held));
    }
    let n = sum.n.max(1.0);
    Summary { rms: (sum.rms / n).sqrt(), sd: (sum.sd / n).sqrt(), held: sum.held / n, n: sum.n }
}

const DEPTH: usize = 0;
const HEIGHT: usize = 1;
const ACROSS: usize = 2;
const AP_HEIGHT: usize = 3;
const PEDICLES: usize = 4;
const PROCESS: usize = 5;
const BODY: usize = 6;
const MEDIAL: usize = 7;

fn off(turn: f64, tilt: f64) -> Off {
    Off { turn: Some(turn), tilt: Some(tilt) }
}

const WITHIN: Off = Off { turn: None, tilt: None };

/// The method's acceptance (section 9): family, stage, angles and contours with the most rms and the least held of each
/// quantity. Held shares are compared less two standard errors of the pairs simulated.
fn acceptance(n: u64) -> Vec<String> {
    let mut amiss = Vec::new();
    let mut check = |row: Row, stream: u64, limits: &[(usize, f64, f64)]| {
        let all = trials(&row, n, stream);
        for &(quantity, rms, held) in limits {
            let found = summary(all.iter().map(|t| &t.view[quantity]));
            let slack = 2.0 * (held * (1.0 - held) / found.n.max(1.0)).sqrt();
            // A root mean square of n values is known to 1 part in √(2n).
            let room = 1.0 + 2.0 / (2.0 * found.n.max(1.0)).sqrt();
            if found.rms > rms * room || found.held < held - slack {
                amiss.push(format!(
                    "{row:?}, {}: rms {:.4} (≤ {rms}), held {:.1} % (≥ {:.0} %)",
                    subject::QUANTITIES[quantity],
                    found.rms,
                    100.0 * found.held,
                    100.0 * held
                ));
            }
        }
    };
    for (k, family) in [Family::Phantom, Family::Other].into_iter().enumerate() {
        let stream = 100 + 20 * k as u64;
        let row = |stage, off, contours| Row { family, stage, off, contours, tube: false };
        let five = [
            (DEPTH, 0.018, 0.90),
            (HEIGHT, 0.0145, 0.90),
            (PEDICLES, 0.023, 0.93),
            (PROCESS, 0.05, 0.93),
            (MEDIAL, 0.030, 0.92),
        ];
        check(row(Stage::Final, off(5.0, 5.0), Contours::Both), stream, &five);
        let eight = [(PEDICLES, 0.028, 0.90), (DEPTH, 0.021, 0.88)];
        check(row(Stage::Final, off(8.0, 8.0), Contours::Both), stream + 1, &eight);
        for (i, stage) in [Stage::Pedicle, Stage::PosteriorWall].into_iter().enumerate() {
            check(row(stage, off(5.0, 5.0), Contours::Both), stream + 2 + i as u64, &[(ACROSS, 0.032, 0.90)]);
        }
    }
    amiss
}

#[test]
fn turned_and_tilted_views_meet_the_methods_acceptance() {
    let amiss = acceptance(240);
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

/// Within ± 1.4° what a true view would show is no more than 5 % worse than the direct reading (the spinous process 10 %),
/// and everything is held in at least 93 %, less two standard errors.
#[test]
fn true_views_are_not_made_worse() {
    let n = 300;
    let mut amiss = Vec::new();
    let row = Row {
        family: Family::Phantom,
        stage: Stage::Final,
        off: WITHIN,
        contours: Contours::Seen,
        tube: false,
    };
    let all = trials(&row, n, 200);
    for (quantity, name) in subject::QUANTITIES.into_iter().enumerate() {
        let direct = summary(all.iter().map(|t| &t.direct[quantity]));
        let view = summary(all.iter().map(|t| &t.view[quantity]));
        let most = if quantity == PROCESS { 1.10 } else { 1.05 };
        if view.rms > direct.rms * most || view.held < 0.93 - 2.0 * (0.93 * 0.07 / view.n).sqrt() {
            amiss.push(format!(
                "{name}: rms {:.4} for {:.4}, held {:.1} %",
                view.rms,
                direct.rms,
                100.0 * view.held
            ));
        }
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

/// Wherever a verdict is given its interval holds the truth in 93 % or more, less two standard errors of the pairs simulated: both
/// contours marked, or said that it cannot be told, up to 8°. What the intervals have beyond the method's standard uncertainty was
/// chosen on other pairs of the first family, with the second in view: no blind check.
#[test]
fn intervals_of_verdicts_hold_up_to_eight_degrees() {
    let n = 400;
    let mut amiss = Vec::new();
    for (k, family) in [Family::Phantom, Family::Other].into_iter().enumerate() {
        let last: &[usize] = &[DEPTH, HEIGHT, AP_HEIGHT, PEDICLES, BODY];
        for (i, (stage, off, contours, quantities)) in [
            (Stage::Final, off(5.0, 5.0), Contours::Both, last),
            (Stage::Final, off(8.0, 8.0), Contours::Both, last),
            (Stage::Final, Off { turn: Some(8.0), tilt: None }, Contours::Both, last),
            (Stage::Final, Off { turn: None, tilt: Some(8.0) }, Contours::Both, last),
            (Stage::Final, off(8.0, 8.0), Contours::CannotTell, &[DEPTH, HEIGHT, AP_HEIGHT]),
            (Stage::PosteriorWall, off(8.0, 8.0), Contours::Both, &[DEPTH]),
            (Stage::PosteriorWall, off(8.0, 8.0), Contours::CannotTell, &[DEPTH]),
        ]
        .into_iter()
        .enumerate()
        {
            let row = Row { family, stage, off, contours, tube: false };
            let all = trials(&row, n, 400 + 20 * k as u64 + i as u64);
            for &quantity in quantities {
                let found = summary(all.iter().map(|t| &t.view[quantity]));
                if found.held < 0.93 - 2.0 * (0.93 * 0.07 / found.n.max(1.0)).sqrt() {
                    amiss.push(format!(
                        "{row:?}, {}: held {:.1} %",
                        subject::QUANTITIES[quantity],
                        100.0 * found.held
                    ));
                }
            }
        }
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}
