//! An AP reading as a true view would show it.

use crate::measure::mark::{Level, Side, Stage};
use crate::measure::quantity::Quantity;
use crate::measure::reading::{ApReading, MidlineOffsets};
use crate::measure::true_view::known::Known;
use crate::measure::true_view::left_open;
use crate::measure::true_view::levers::{
    DEPTH_SD_BY_STAGE, DEPTH_SD_PAIRED, GRAZED_BEHIND, LEVERS, Levers, SOURCE_TO_BODY_MM as R,
    TYPICAL_DEPTH_MM, shows_once,
};
use crate::measure::true_view::normal::Solution;
use crate::measure::true_view::of_lateral::LentByLateral as LateralSide;
use crate::measure::true_view::tilt::{Plates, SignChoice, together};
use crate::measure::true_view::turn::{self, ALPHA, DELTA, KAPPA, PSI, TAU};
use crate::measure::true_view::view::{
    Angle, ApTrueView, LIMIT_DEG, TurnRefusal, corrected, placement_variance,
};
use crate::measure::unknown_view::UNKNOWN_TURN_DEG;
use crate::measure::view_part::typical_depth;

/// What is left of an offset after all, in millimetres.
const REST_MM: f64 = 0.2;
/// Half the distance between the pedicles times their lever, for the cone's part in a medial border, in mm².
const MEDIAL_CONE_MM2: f64 = 12.0 * 20.0;
/// From which difference on arch and spinous process tell different turns, in millimetres.
const APART_MM: f64 = 3.2;
/// What is added to the size of a tilt where it bears on a border with one contour, in radians.
pub(crate) const TILT_REST: f64 = 0.01;
/// Standard deviations of the wedge from the paired lateral, by the level and without either, in radians.
const WEDGE_SD_PAIRED: f64 = 0.025;
const WEDGE_SD_BY_LEVEL: f64 = 0.055;
const WEDGE_SD_UNKNOWN: f64 = 0.08;
/// Wedging of L1 to L5 in degrees, positive where the body is lower in front: means of both sexes (Masharawi Y et al.,
/// *Eur Spine J* 2010;19:768–773).
const WEDGING_DEG: [f64; 5] = [3.35, 1.65, 0.1, -1.9, -6.2];

/// What an AP reading is worked out with.
pub(crate) struct Ap<'a> {
    reading: &'a ApReading,
    known: Known,
    side: Option<Side>,
    paired: bool,
    levers: Levers,
    width: f64,
    height: f64,
    depth: f64,
    /// The tip's depth fraction, and its standard deviation in millimetres.
    u: f64,
    u_sd_mm: f64,
    wedge: (f64, f64),
    unseen: f64,
}

/// A height with what it is made of, for a pair.
pub(crate) struct TiltedHeight {
    /// The height as read.
    pub(crate) read: f64,
    pub(crate) candidates: Vec<SignChoice>,
    /// By how much the height falls for each radian of tilt.
    pub(crate) per_tilt: f64,
    /// Variance of that lever.
    pub(crate) lever_variance: f64,
    /// Mean square of that lever.
    pub(crate) lever_square: f64,
    /// Variance of the height beside the tilt's.
    pub(crate) rest: f64,
    /// What is left open beside all that, as a variance.
    pub(crate) open: f64,
}

impl TiltedHeight {
    /// The height of one candidate, and its variance.
    pub(crate) fn of(&self, candidate: &SignChoice) -> (f64, f64) {
        let value = self.read - candidate.phi * self.per_tilt;
        let variance = candidate.variance * self.lever_square + candidate.phi.powi(2) * self.lever_variance;
        (value, self.rest + variance)
    }

    /// The height with the tilt of all candidates together.
    pub(crate) fn alone(&self) -> (f64, f64) {
        let (phi, variance) = together(&self.candidates);
        self.of(&SignChoice { phi, variance, ln_weight: 0.0 })
    }
}

impl<'a> Ap<'a> {
    /// `lateral` is the paired lateral, if there is one that is read.
    pub(crate) fn new(
        reading: &'a ApReading,
        known: Known,
        (side, stage, half_width_deg): (Option<Side>, Option<Stage>, f64),
        lateral: Option<&LateralSide>,
    ) -> Option<Self> {
        let body = reading.body.as_ref()?;
        let mm = body.mm_per_px;
        let depth = lateral.map_or(TYPICAL_DEPTH_MM, |lateral| lateral.depth);
        let wedge = match (lateral, known.level) {
            (Some(lateral), _) => (lateral.wedge, WEDGE_SD_PAIRED),
            (None, Some(level)) => (typical_wedge(level), WEDGE_SD_BY_LEVEL),
            (None, None) => (0.0, WEDGE_SD_UNKNOWN),
        };
        let u_sd = if lateral.is_some() { DEPTH_SD_PAIRED } else { DEPTH_SD_BY_STAGE };
        Some(Self {
            reading,
            known,
            side,
            paired: lateral.is_some(),
            levers: LEVERS,
            width: body.depth_px * mm,
            height: 0.5 * (body.posterior_height_px + body.anterior_height_px) * mm,
            depth,
            u: lateral.map_or_else(|| typical_depth(stage), |lateral| lateral.u),
            u_sd_mm: u_sd * depth,
            wedge,
            unseen: if known.height_untold() {
                UNKNOWN_TURN_DEG.to_radians()
            } else {
                shows_once(half_width_deg)
            },
        })
    }

    /// +1 where fractions across run from the patient's right to the left.
    fn sign(&self) -> Option<f64> {
        self.side.map(|side| if side == Side::Right { 1.0 } else { -1.0 })
    }

    /// The tip's distance in front of the plane in which the walls are grazed, in millimetres.
    fn tip_lever(&self) -> f64 {
        (self.u - 0.5 + GRAZED_BEHIND) * self.depth
    }

    /// The factor that takes a place `x` mm in front of the walls' plane back from the cone's magnification.
    fn cone(&self, x: f64) -> f64 {
        1.0 - self.known.tube.ap_sign().map_or(0.0, |n| n * x / R)
    }

    /// The part that the unknown side of the tube leaves in a place `y` mm from the middle and `x` mm off the plane.
    fn unknown_cone(&self, y: f64, x: f64) -> f64 {
        if self.known.tube.ap.is_some() { 0.0 } else { (y * x / R).powi(2) }
    }

    /// Turn, tilt and what follows from them.
    pub(crate) fn view(&self) -> ApTrueView {
        let mut view = ApTrueView::default();
        if self.known.level.is_some_and(beyond_levers) {
            view.refused = Some(TurnRefusal::Level);
            return view;
        }
        if let (Some(height), Some(direct)) = (self.height(), self.reading.height.as_ref()) {
            let (phi, variance) = together(&height.candidates);
            view.tilt = Some(Angle::from_rad(phi, variance));
            let (value, variance) = height.alone();
            view.height = Some(corrected(direct, value, variance).leaving_open(height.open));
        }
        match self.turned() {
            Ok(turned) => self.fill(&mut view, &turned),
            Err(refusal) => view.refused = Some(refusal),
        }
        view
    }

    fn fill(&self, view: &mut ApTrueView, turned: &Turned) {
        let s = &turned.solution;
        let turn = Angle::from_rad(s.x[PSI], s.c[PSI][PSI]);
        view.turn = Some(turn);
        view.arch_differs = turned.arch_differs;
        if turn.deg.abs() > LIMIT_DEG {
            view.refused = Some(TurnRefusal::TooFar(turn.deg));
            return;
        }
        let direct = &self.reading.midline_by;
        let open = left_open::of_across(s.x[PSI]);
        let place =
            |direct: &Quantity, value, variance| corrected(direct, value, variance).leaving_open(open);
        let offset = |of: Option<&Quantity>, landmark: usize| {
            let (value, variance) = self.offset(turned, landmark);
            of.map(|direct| place(direct, value, variance))
        };
        let from_middle = self.of_tip(turned);
        view.across =
            self.reading.tip.as_ref().map(|tip| place(&tip.along, 0.5 + from_middle.0, from_middle.1));
        view.midline_by = MidlineOffsets {
            pedicles: offset(direct.pedicles.as_ref(), ALPHA),
            spinous_process: offset(direct.spinous_process.as_ref(), DELTA),
            body: direct.body.as_ref().map(|body| place(body, from_middle.0, from_middle.1)),
        };
        view.medial_border = self.reading.medial_border.as_ref().map(|direct| {
            let (value, variance) = self.medial_border(turned, direct);
            corrected(direct, value, variance).leaving_open(left_open::of_border(s.x[PSI]))
        });
    }

    /// The tip's place from the middle of the body as a fraction of its width, and its variance.
    fn of_tip(&self, turned: &Turned) -> (f64, f64) {
        let s = &turned.solution;
        let variance = s.c[TAU][TAU] + turned.tip_variance + REST_MM * REST_MM;
        (turned.sign * s.x[TAU] / self.width, variance / self.width.powi(2))
    }

    /// The tip's offset from a landmark, and its variance.
    fn offset(&self, turned: &Turned, landmark: usize) -> (f64, f64) {
        let s = &turned.solution;
        let lever = if landmark == ALPHA { self.levers.pedicles } else { self.levers.spinous_process };
        let mut g = [0.0; 5];
        (g[TAU], g[landmark], g[KAPPA]) = (1.0, -1.0, lever.mm);
        let (value, variance) = s.combine(g);
        let of_lever = 0.25 * (s.x[PSI] * lever.sd).powi(2);
        let variance = variance + turned.tip_variance + of_lever + REST_MM * REST_MM;
        (turned.sign * value / self.width, variance / self.width.powi(2))
    }

    fn medial_border(&self, turned: &Turned, direct: &Quantity) -> (f64, f64) {
        let s = &turned.solution;
        let (pedicle, tip) = (self.levers.pedicles, self.tip_lever());
        let place = turned.sign * self.width * (turned.across + direct.value - 0.5) * self.cone(pedicle.mm);
        let psi = s.x[PSI];
        let value = turned.sign * (place + pedicle.mm * psi - s.x[TAU]) / self.width;
        let cone = if self.known.tube.ap.is_some() { 0.0 } else { MEDIAL_CONE_MM2 / R };
        let variance = s.c[PSI][PSI] * (tip - pedicle.mm).powi(2)
            + (psi * pedicle.sd).powi(2)
            + turned.tip_variance
            + cone * cone;
        (value, placement_variance(direct) + variance / self.width.powi(2))
    }

    /// The turn, or why there is none.
    pub(crate) fn turned(&self) -> Result<Turned, TurnRefusal> {
        if self.known.level.is_some_and(beyond_levers) {
            return Err(TurnRefusal::Level);
        }
        let (tip, sign) = self.reading.tip.as_ref().zip(self.sign()).ok_or(TurnRefusal::NotRead)?;
        let by = &self.reading.midline_by;
        let across = tip.along.value;
        let x = self.tip_lever();
        let mm = |fraction: f64, x: f64| sign * self.width * (fraction - 0.5) * self.cone(x);
        let levers = [self.levers.pedicles.mm, self.levers.spinous_process.mm];
        let pedicles = mm(across - by.pedicles.as_ref().ok_or(TurnRefusal::OnePedicle)?.value, levers[0]);
        let spinous_process = by.spinous_process.as_ref().map(|offset| mm(across - offset.value, levers[1]));
        let seen = turn::SeenPlaces {
            tip: mm(across, x),
            tip_sd: placement_variance(&tip.along).sqrt() * self.width,
            tip_lever: x,
            pedicles,
            spinous_process,
        };
        let solution = turn::solve(&seen, &self.levers).ok_or(TurnRefusal::NotRead)?;
        let tip_variance = (solution.x[PSI] * self.u_sd_mm).powi(2) + self.unknown_cone(solution.x[TAU], x);
        let arch_differs = spinous_process
            .is_some_and(|process| (pedicles - levers[0] / levers[1] * process).abs() > APART_MM);
        Ok(Turned { solution, sign, across, tip_variance, arch_differs })
    }

    /// The tip's distance off the middle plane toward the patient's left in millimetres, and its variance.
    pub(crate) fn off_middle(&self) -> Option<(f64, f64)> {
        match self.turned() {
            Ok(turned) if Angle::from_rad(turned.solution.x[PSI], 0.0).deg.abs() <= LIMIT_DEG => {
                let s = &turned.solution;
                Some((s.x[TAU], s.c[TAU][TAU] + turned.tip_variance))
            }
            _ => {
                let tip = self.reading.tip.as_ref()?;
                let value = self.sign()? * self.width * (tip.along.value - 0.5);
                Some((value, (tip.along.sd() * self.width).powi(2)))
            }
        }
    }

    /// The tip's height with every tilt that the end plates allow.
    pub(crate) fn height(&self) -> Option<TiltedHeight> {
        let direct = self.reading.height.as_ref()?;
        let [superior, inferior, ..] = self.reading.apart_mm;
        let plates = Plates {
            apart: [superior, inferior],
            lever: self.levers.ap_plate,
            wedge: self.wedge.0,
            wedge_sd: self.wedge.1,
            cone: self.height / R,
            tube: self.known.tube.ap_sign(),
            unseen: self.unseen,
        };
        let candidates = plates.candidates();
        let v = direct.value;
        let off = (self.u - 0.5) * self.depth;
        let tilt = if plates.marked() { together(&candidates).0.abs() + TILT_REST } else { self.unseen };
        let one = one_contour(plates.apart, self.levers.ap_plate.mm, v);
        let rest = placement_variance(direct)
            + (tilt / self.height).powi(2) * one
            + 0.25 * one / (R * R)
            + self.unknown_cone(v - 0.5, off);
        let open = match left_open::seen(&plates.apart, self.levers.ap_plate.mm) {
            Some(tilt) => left_open::of_height(tilt),
            None => self.one_contour_open(one, off),
        };
        Some(TiltedHeight {
            read: v,
            candidates,
            per_tilt: off / self.height,
            lever_variance: (self.u_sd_mm / self.height).powi(2),
            lever_square: (off / self.height).powi(2),
            rest,
            open,
        })
    }

    /// What one contour of each end plate leaves open of the height. The two plates of a wedged body cannot both be seen
    /// edge-on: a wedge parts their contours without a tilt, each by half of it.
    fn one_contour_open(&self, one: f64, off: f64) -> f64 {
        let square = self.height * self.height;
        let wedge = if self.paired { self.wedge.0.powi(2) + (self.height / R).powi(2) } else { 0.0 };
        let untold = if self.known.height_untold() {
            left_open::untold_excess() * self.unseen.powi(2) * (one + off * off)
        } else {
            0.0
        };
        (0.25 * wedge * one + untold) / square
    }

    /// Whether a lateral lends its depth.
    pub(crate) const fn paired(&self) -> bool {
        self.paired
    }
}

/// A solved turn.
pub(crate) struct Turned {
    pub(crate) solution: Solution<5>,
    sign: f64,
    across: f64,
    /// Variance of the tip's place from its own lever and the unknown side of the tube, in mm².
    tip_variance: f64,
    arch_differs: bool,
}

/// The mean square, in mm², of how far the contours of the borders with one contour lie from the middle, at fraction `f`.
pub(crate) fn one_contour(apart: [Option<f64>; 2], lever: f64, f: f64) -> f64 {
    let [zero, one] = apart.map(|apart| if apart.is_some() { 0.0 } else { lever * lever });
    zero * (1.0 - f).powi(2) + one * f * f
}

/// S1, and the bodies above T11.
pub(crate) fn beyond_levers(level: Level) -> bool {
    level < Level::T11 || level > Level::L5
}

/// The wedge of a level's typical body: by how much it is higher in front, over its depth. Other levels take the nearest.
fn typical_wedge(level: Level) -> f64 {
    let index = [Level::L1, Level::L2, Level::L3, Level::L4, Level::L5].iter().position(|l| *l == level);
    -WEDGING_DEG[index.unwrap_or(if level < Level::L1 { 0 } else { 4 })].to_radians().tan()
}
