//! The run of a level: what a row of matched pairs shows of a tip's way (method, section 7).
//!
//! It says what the saved frames show, never what to do next.

use crate::measure::quantity::{Budget, Quantity, Z95};
use crate::measure::reading::{ApReading, LateralReading, MidlineBy, PairReading};
use crate::measure::verdict::CONFIDENCE;
use crate::stats::normal::p_below;

/// A matched pair as a place on the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Depth fraction.
    pub depth: Quantity,
    /// Across fraction.
    pub across: Quantity,
    /// Offset from the midline, with what it was found by.
    pub midline: Option<(MidlineBy, Quantity)>,
    /// Across distance still to go to the entry-side medial border.
    pub to_medial_border: Option<Quantity>,
    /// The body's depth in body heights.
    pub depth_in_heights: f64,
    /// The body's width in body heights.
    pub width_in_heights: f64,
}

/// From one pair to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct RunStep {
    /// Advance toward the front, in body heights.
    pub toward_front: Quantity,
    /// Advance from the entry side across, in body heights: toward the midline while short of it.
    pub toward_midline: Quantity,
    /// The second over the first; `None` where the tip did not clearly move forward or back.
    pub ratio: Option<Quantity>,
    /// Whether the step begins past the midline, so that going on leads away from it; `None` where the midline is not
    /// marked alike in both pairs.
    pub begins_past: Option<bool>,
}

/// On which side of the medial border something lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BorderSide {
    /// Lateral to it, with 95 % confidence.
    Lateral,
    /// Medial to it.
    Medial,
    /// Too close to call.
    Undecided,
}

/// Where the straight line through the last two pairs meets the posterior wall.
#[derive(Clone, Debug, PartialEq)]
pub struct AtWall {
    /// Across distance from there to the entry-side medial border, as a fraction of the body's width: positive lateral
    /// to it.
    pub to_medial_border: Quantity,
    /// On which side.
    pub side: BorderSide,
}

/// Why a straight line says nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NoLine {
    /// The tip did not clearly move forward or back between the last two pairs.
    NotForward,
    /// The tip did not clearly move across between the last two pairs.
    NotAcross,
    /// The entry-side pedicle is not marked in both.
    NoMedialBorder,
    /// The midline was not found by the same structure in both.
    NoMidline,
}

/// What a row of pairs shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// One step from each pair to the next.
    pub steps: Vec<RunStep>,
    /// Where the line through the last two meets the posterior wall.
    pub at_wall: Result<AtWall, NoLine>,
    /// The depth fraction at which that line reaches the midline.
    pub at_midline: Result<Quantity, NoLine>,
}

impl Station {
    /// A matched pair as a station; `None` where it does not give depth and across.
    #[must_use]
    pub fn of(lateral: &LateralReading, ap: &ApReading, pair: &PairReading) -> Option<Self> {
        let (side, front) = (lateral.body.as_ref()?, ap.body.as_ref()?);
        Some(Self {
            depth: pair.depth.clone()?,
            across: pair.across.clone()?,
            midline: pair.midline.clone(),
            to_medial_border: ap.medial_border.clone(),
            depth_in_heights: side.depth_px / (0.5 * (side.posterior_height_px + side.anterior_height_px)),
            width_in_heights: front.depth_px / (0.5 * (front.posterior_height_px + front.anterior_height_px)),
        })
    }
}

/// What a row of stations shows; `None` for fewer than two.
#[must_use]
pub fn run(stations: &[Station]) -> Option<Run> {
    let [.., before, last] = stations else { return None };
    let steps = stations.windows(2).map(|pair| step(&pair[0], &pair[1])).collect();
    Some(Run { steps, at_wall: at_wall(before, last), at_midline: at_midline(before, last) })
}

fn step(from: &Station, to: &Station) -> RunStep {
    let same = from.midline.as_ref().zip(to.midline.as_ref()).filter(|(a, b)| a.0 == b.0);
    let across = match same {
        Some((a, b)) => difference(&a.1, &b.1),
        None => difference(&from.across, &to.across),
    };
    let toward_front =
        difference(&from.depth, &to.depth).scaled(0.5 * (from.depth_in_heights + to.depth_in_heights));
    let toward_midline = across.scaled(0.5 * (from.width_in_heights + to.width_in_heights));
    let ratio = is_clear(&toward_front).then(|| {
        let (a, b) = (&toward_midline, &toward_front);
        let value = a.value / b.value;
        // First order: d(a/b) = da/b − (a/b)·db/b.
        let part = |pa: f64, pb: f64| (pa / b.value).hypot(value * pb / b.value);
        combined(value, a.budget, b.budget, part)
    });
    RunStep { toward_front, toward_midline, ratio, begins_past: same.map(|(a, _)| a.1.value > 0.0) }
}

fn at_wall(before: &Station, last: &Station) -> Result<AtWall, NoLine> {
    let (a, b) =
        before.to_medial_border.as_ref().zip(last.to_medial_border.as_ref()).ok_or(NoLine::NoMedialBorder)?;
    if !is_clear(&difference(&before.depth, &last.depth)) {
        return Err(NoLine::NotForward);
    }
    let to_medial_border = at_zero([&before.depth, &last.depth], [a, b]);
    let p_medial = p_below(0.0, to_medial_border.value, to_medial_border.sd());
    let side = if p_medial <= 1.0 - CONFIDENCE {
        BorderSide::Lateral
    } else if p_medial >= CONFIDENCE {
        BorderSide::Medial
    } else {
        BorderSide::Undecided
    };
    Ok(AtWall { to_medial_border, side })
}

fn at_midline(before: &Station, last: &Station) -> Result<Quantity, NoLine> {
    let (a, b) = before
        .midline
        .as_ref()
        .zip(last.midline.as_ref())
        .filter(|(a, b)| a.0 == b.0)
        .ok_or(NoLine::NoMidline)?;
    if !is_clear(&difference(&a.1, &b.1)) {
        return Err(NoLine::NotAcross);
    }
    Ok(at_zero([&a.1, &b.1], [&before.depth, &last.depth]))
}

/// Whether a change is larger than its uncertainty.
fn is_clear(change: &Quantity) -> bool {
    change.value.abs() > Z95 * change.sd()
}

fn difference(from: &Quantity, to: &Quantity) -> Quantity {
    combined(to.value - from.value, from.budget, to.budget, f64::hypot)
}

fn combined(value: f64, a: Budget, b: Budget, part: impl Fn(f64, f64) -> f64) -> Quantity {
    Quantity { value, budget: a.with(b, part), influences: Vec::new(), monte_carlo: None }
}

/// The `y` at which the line through `(x₁, y₁)` and `(x₂, y₂)` has `x = 0`, with first-order propagation of all four.
fn at_zero(x: [&Quantity; 2], y: [&Quantity; 2]) -> Quantity {
    let t = -x[0].value / (x[1].value - x[0].value);
    let slope = (y[1].value - y[0].value) / (x[1].value - x[0].value);
    // Moving a point along x moves the line as moving it by −slope along y.
    let point = |i: usize| y[i].budget.with(x[i].budget, |y, x| y.hypot(slope * x));
    let budget = point(0).with(point(1), |a, b| ((1.0 - t) * a).hypot(t * b));
    Quantity {
        value: (1.0 - t) * y[0].value + t * y[1].value,
        budget,
        influences: Vec::new(),
        monte_carlo: None,
    }
}

impl BorderSide {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Lateral => "lateral",
            Self::Medial => "medial",
            Self::Undecided => "undecided",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantity(value: f64, sd: f64) -> Quantity {
        let budget = Budget { bone: sd, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    /// A body 1.25 heights deep and 1.75 wide.
    fn station(depth: f64, offset: f64, to_go: f64, sd: f64) -> Station {
        Station {
            depth: quantity(depth, sd),
            across: quantity(0.5 + offset, sd),
            midline: Some((MidlineBy::Pedicles, quantity(offset, sd))),
            to_medial_border: Some(quantity(to_go, sd)),
            depth_in_heights: 1.25,
            width_in_heights: 1.75,
        }
    }

    /// By hand: from depth 0.10 to 0.30 is 0.25 heights forward; from −0.20 to −0.10 across is 0.175 heights; ratio
    /// 0.7. The line meets depth 0 half a step before the first pair: offset −0.25 there, and the border, 0.05 behind
    /// the first tip and 0.15 behind the second, is met at 0.00. The midline is one step beyond the last: depth 0.50.
    #[test]
    fn a_step_by_hand() {
        let found = run(&[station(0.10, -0.20, -0.05, 0.001), station(0.30, -0.10, -0.15, 0.001)]).unwrap();
        let step = &found.steps[0];
        assert!((step.toward_front.value - 0.25).abs() < 1e-12);
        assert!((step.toward_midline.value - 0.175).abs() < 1e-12);
        assert!((step.ratio.as_ref().unwrap().value - 0.7).abs() < 1e-12);
        assert_eq!(step.begins_past, Some(false));
        let wall = found.at_wall.unwrap();
        assert!(wall.to_medial_border.value.abs() < 1e-12);
        assert_eq!(wall.side, BorderSide::Undecided);
        assert!((found.at_midline.unwrap().value - 0.5).abs() < 1e-12);
    }

    #[test]
    fn the_side_of_the_border_is_called_where_it_is_clear() {
        let side = |to_go: f64| {
            let row = [station(0.10, -0.20, to_go, 0.005), station(0.30, -0.10, to_go - 0.1, 0.005)];
            run(&row).unwrap().at_wall.unwrap().side
        };
        assert_eq!(side(0.05), BorderSide::Lateral);
        assert_eq!(side(-0.15), BorderSide::Medial);
    }

    #[test]
    fn a_tip_that_stays_says_nothing() {
        let found = run(&[station(0.30, -0.10, 0.0, 0.02), station(0.31, -0.10, 0.0, 0.02)]).unwrap();
        assert_eq!(found.at_wall, Err(NoLine::NotForward));
        assert_eq!(found.at_midline, Err(NoLine::NotAcross));
        assert_eq!(found.steps[0].ratio, None);
        assert_eq!(run(&[station(0.3, 0.0, 0.0, 0.02)]), None);
    }

    /// Against differences: the propagated standard uncertainty of where the line meets zero.
    #[test]
    fn the_line_carries_the_uncertainty_of_four_values() {
        let (x, y) = ([0.1, 0.34], [-0.07, -0.12]);
        let at = |d: [f64; 4]| {
            let (x, y) = ([x[0] + d[0], x[1] + d[1]], [y[0] + d[2], y[1] + d[3]]);
            y[0] - x[0] * (y[1] - y[0]) / (x[1] - x[0])
        };
        let sds = [0.02, 0.03, 0.01, 0.015];
        let mut variance = 0.0;
        for i in 0..4 {
            let mut d = [0.0; 4];
            d[i] = 1e-6;
            let up = at(d);
            d[i] = -1e-6;
            variance += ((up - at(d)) / 2e-6 * sds[i]).powi(2);
        }
        let found = at_zero(
            [&quantity(x[0], sds[0]), &quantity(x[1], sds[1])],
            [&quantity(y[0], sds[2]), &quantity(y[1], sds[3])],
        );
        assert!((found.value - at([0.0; 4])).abs() < 1e-12);
        assert!((found.sd() - variance.sqrt()).abs() < 1e-7, "{} {}", found.sd(), variance.sqrt());
    }
}
