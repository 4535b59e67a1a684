//! A lateral reading as a true view would show it.

use crate::measure::mark;
use crate::measure::mark::Stage;
use crate::measure::reading::LateralReading;
use crate::measure::true_view::known::Known;
use crate::measure::true_view::left_open;
use crate::measure::true_view::levers::{
    LEVERS, Levers, OFF_MIDDLE_SD_BY_STAGE_MM, OFF_MIDDLE_SD_PAIRED_MM, SOURCE_TO_BODY_MM as R, shows_once,
};
use crate::measure::true_view::of_ap::{TILT_REST, TiltedHeight, one_contour};
use crate::measure::true_view::tilt::{Plates, together};
use crate::measure::true_view::view::{Angle, LateralTrueView, corrected, placement_variance};
use crate::measure::unknown_view::UNKNOWN_TURN_DEG;
use crate::measure::view_part::typical_off_middle;

/// Standard deviation of a turn from the placement of both contours, in radians.
const SEEN: f64 = 0.02;
/// What is left of a depth after all.
const DEPTH_REST: f64 = 0.003;
/// Standard deviation of the wedge a lateral view sees between the end plates, in degrees: bodies and discs lean.
const WEDGE_SD_DEG: f64 = 3.0;

/// What a lateral lends to the AP of its pair.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LentByLateral {
    /// The tip's depth fraction.
    pub(crate) u: f64,
    /// The body's depth in millimetres.
    pub(crate) depth: f64,
    /// By how much it is higher in front, over its depth.
    pub(crate) wedge: f64,
}

/// What a lateral reading is worked out with.
pub(crate) struct Lateral<'a> {
    reading: &'a LateralReading,
    known: Known,
    levers: Levers,
    depth: f64,
    height: f64,
    /// The tip's distance off the middle plane toward the patient's left in millimetres, and its variance.
    off: (f64, f64),
    half_width_deg: f64,
}

/// What a lateral lends to the AP of its pair, if it is read.
pub(crate) fn lent(reading: &LateralReading) -> Option<LentByLateral> {
    let (tip, body) = (reading.tip.as_ref()?, reading.body.as_ref()?);
    Some(LentByLateral {
        u: tip.along.value,
        depth: body.depth_px * body.mm_per_px,
        wedge: (body.anterior_height_px - body.posterior_height_px) / body.depth_px,
    })
}

impl<'a> Lateral<'a> {
    /// `paired` is what the paired AP says of the tip's distance off the middle plane, with its variance.
    pub(crate) fn new(
        reading: &'a LateralReading,
        known: Known,
        (side, stage, half_width_deg): (Option<mark::Side>, Option<Stage>, f64),
        paired: Option<(f64, f64)>,
    ) -> Option<Self> {
        let body = reading.body.as_ref()?;
        let mm = body.mm_per_px;
        let off = paired.map_or_else(
            || by_stage(side, stage),
            |(t, variance)| (t, variance + OFF_MIDDLE_SD_PAIRED_MM.powi(2)),
        );
        Some(Self {
            reading,
            known,
            levers: LEVERS,
            depth: body.depth_px * mm,
            height: 0.5 * (body.posterior_height_px + body.anterior_height_px) * mm,
            off,
            half_width_deg,
        })
    }

    /// Standard deviation of a direction whose borders show once, in radians.
    fn unseen(&self, untold: bool) -> f64 {
        if untold { UNKNOWN_TURN_DEG.to_radians() } else { shows_once(self.half_width_deg) }
    }

    /// Turn, tilt, depth and height; `None` without a tip.
    pub(crate) fn view(&self) -> Option<LateralTrueView> {
        let tip = self.reading.tip.as_ref()?;
        let height = self.height()?;
        let (phi, phi_variance) = together(&height.candidates);
        let (v, v_variance) = height.alone();
        let (u, u_variance, open) = self.depth(tip.along.value);
        Some(LateralTrueView {
            turn_abs: self.turn(),
            tilt: Angle::from_rad(phi, phi_variance),
            depth: corrected(&tip.along, u, placement_variance(&tip.along) + u_variance).leaving_open(open),
            height: corrected(&tip.height, v, v_variance).leaving_open(height.open),
        })
    }

    /// The turn that the two contours of the posterior wall tell, in radians.
    fn contours(&self) -> Option<f64> {
        let [_, _, posterior, _] = self.reading.apart_mm;
        posterior.map(|apart| apart / (2.0 * self.levers.posterior_wall))
    }

    fn turn(&self) -> Angle {
        match self.contours() {
            Some(turn) => Angle::from_rad(turn, SEEN * SEEN),
            None => Angle::from_rad(0.0, self.unseen(self.known.depth_untold()).powi(2)),
        }
    }

    /// The depth with the cone taken back, the view's variance, and what is left open beside it.
    fn depth(&self, u: f64) -> (f64, f64, f64) {
        let (t, variance) = self.off;
        let unseen = self.unseen(self.known.depth_untold());
        let turn = self.contours().map_or(unseen, |turn| turn.hypot(SEEN));
        let [superior, inferior, posterior, anterior] = self.reading.apart_mm;
        let of = |apart: Option<f64>, lever: f64| if apart.is_some() { 0.0 } else { lever };
        let a2 = (of(posterior, self.levers.posterior_wall) * (1.0 - u)).powi(2)
            + (of(anterior, self.levers.anterior_wall) * u).powi(2);
        let (factor, cone) = match self.known.tube.lateral_sign() {
            Some(n) => (1.0 - n * t / R, 0.0),
            None => (1.0, ((u - 0.5) * t / R).powi(2)),
        };
        let view = (turn / self.depth).powi(2) * (t * t + variance)
            + (unseen / self.depth).powi(2) * a2
            + 0.25 * a2 / (R * R)
            + cone
            + DEPTH_REST * DEPTH_REST;
        let excess = if self.known.depth_untold() { left_open::untold_excess() } else { 0.0 };
        let once = self.contours().is_none();
        let of_turn = if once { t * t + variance + a2 } else { a2 };
        let untold_by_wall = once && self.known.level.is_some_and(left_open::wall_shows_once);
        let of_wall = if untold_by_wall { (UNKNOWN_TURN_DEG.to_radians() / self.depth).powi(2) } else { 0.0 };
        let tilt = left_open::seen(&[superior, inferior], self.levers.lateral_plate.mm).unwrap_or(0.0);
        let open = excess * (unseen / self.depth).powi(2) * of_turn
            + of_wall * (t * t + variance)
            + left_open::of_depth(self.contours().unwrap_or(0.0), tilt);
        (0.5 + (u - 0.5) * factor, view, open)
    }

    /// The tip's height with every tilt that the end plates allow.
    pub(crate) fn height(&self) -> Option<TiltedHeight> {
        let direct = &self.reading.tip.as_ref()?.height;
        let [superior, inferior, ..] = self.reading.apart_mm;
        let unseen = self.unseen(self.known.height_untold());
        let plates = Plates {
            apart: [superior, inferior],
            lever: self.levers.lateral_plate,
            wedge: 0.0,
            wedge_sd: WEDGE_SD_DEG.to_radians(),
            cone: self.height / R,
            tube: self.known.tube.lateral_sign(),
            unseen,
        };
        let candidates = plates.candidates();
        let (t, t_variance) = self.off;
        let v = direct.value;
        let tilt = if plates.marked() { together(&candidates).0.abs() + TILT_REST } else { unseen };
        let one = one_contour(plates.apart, self.levers.lateral_plate.mm, v);
        let cone = if plates.tube.is_some() { 0.0 } else { ((v - 0.5) * t / R).powi(2) };
        let rest =
            placement_variance(direct) + (tilt / self.height).powi(2) * one + 0.25 * one / (R * R) + cone;
        let square = self.height * self.height;
        let lever_square = (t * t + t_variance) / square;
        let open = match left_open::seen(&plates.apart, self.levers.lateral_plate.mm) {
            Some(tilt) => left_open::of_height(tilt),
            None if self.known.height_untold() => {
                left_open::untold_excess() * unseen.powi(2) * (lever_square + one / square)
            }
            None => 0.0,
        };
        Some(TiltedHeight {
            read: v,
            candidates,
            per_tilt: t / self.height,
            lever_variance: t_variance / square,
            lever_square,
            rest,
            open,
        })
    }
}

/// Where the tip of an unpaired lateral is taken to lie: in the middle at the last stage, on the entry side before.
fn by_stage(side: Option<mark::Side>, stage: Option<Stage>) -> (f64, f64) {
    let spread = OFF_MIDDLE_SD_BY_STAGE_MM.powi(2);
    let far = typical_off_middle(stage);
    match side {
        _ if stage == Some(Stage::Final) => (0.0, spread),
        Some(mark::Side::Left) => (far, spread),
        Some(mark::Side::Right) => (-far, spread),
        None => (0.0, far * far + spread),
    }
}
