//! A matched pair as true views would show it: each view with what the other tells, and both heights together.

use crate::measure::mark::Stage;
use crate::measure::quantity::Quantity;
use crate::measure::reading::{ApReading, LateralReading, ShotInput};
use crate::measure::true_view::known::Known;
use crate::measure::true_view::of_ap::{Ap, TiltedHeight};
use crate::measure::true_view::of_lateral::{Lateral, lent};
use crate::measure::true_view::tilt::mixture;
use crate::measure::true_view::view::{ApTrueView, LateralTrueView, PairTrueView, corrected};
use crate::measure::weighted::weighted;

/// By how much the heights of the two views differ though nothing is wrong: their outlines are not the same.
const OUTLINES: f64 = 0.01;

/// A pair's views, and both together.
#[derive(Clone, Debug, Default)]
pub struct Views {
    /// The lateral.
    pub lateral: Option<LateralTrueView>,
    /// The AP.
    pub ap: Option<ApTrueView>,
    /// Both.
    pub pair: PairTrueView,
}

/// A lateral by itself.
#[must_use]
pub fn lateral_alone(reading: &LateralReading, input: &ShotInput<'_>) -> Option<LateralTrueView> {
    Lateral::new(reading, input.known, facts(input), None)?.view()
}

/// An AP by itself.
#[must_use]
pub fn ap_alone(reading: &ApReading, input: &ShotInput<'_>) -> Option<ApTrueView> {
    reading.height.as_ref()?;
    Some(Ap::new(reading, input.known, facts(input), None)?.view())
}

type PairFacts = (Option<crate::measure::mark::Side>, Option<Stage>, f64);

fn facts(input: &ShotInput<'_>) -> PairFacts {
    (input.side, input.stage, input.settings.view_half_width_deg)
}

/// Both views of a matched pair, each with what the other tells.
#[must_use]
pub fn pair(
    (lateral, lateral_input): (&LateralReading, &ShotInput<'_>),
    (ap, ap_input): (&ApReading, &ShotInput<'_>),
) -> Views {
    let side = lent(lateral);
    let of_ap = ap.height.as_ref().and_then(|_| Ap::new(ap, ap_input.known, facts(ap_input), side.as_ref()));
    let off_middle = of_ap.as_ref().and_then(Ap::off_middle);
    let of_lateral = Lateral::new(lateral, lateral_input.known, facts(lateral_input), off_middle);
    let mut views = Views {
        lateral: of_lateral.as_ref().and_then(Lateral::view),
        ap: of_ap.as_ref().map(Ap::view),
        pair: PairTrueView::default(),
    };
    views.pair.depth = views.lateral.as_ref().map(|view| view.depth.clone());
    if let Some(view) = &views.ap {
        views.pair.across.clone_from(&view.across);
        views.pair.midline_by.clone_from(&view.midline_by);
        views.pair.medial_border.clone_from(&view.medial_border);
    }
    let direct = [lateral.tip.as_ref().map(|tip| &tip.height), ap.height.as_ref()];
    if let [Some(a), Some(b)] = direct {
        let mean = weighted(a, b);
        let late = matches!(lateral_input.stage, Some(Stage::Stylet | Stage::Final));
        let tilted = of_lateral
            .as_ref()
            .and_then(Lateral::height)
            .zip(of_ap.as_ref().filter(|ap| ap.paired()).and_then(Ap::height));
        views.pair.height = Some(match tilted.filter(|_| late && ap_is_in_range(ap_input.known)) {
            Some((from_side, from_front)) => both_heights(&mean, &from_side, &from_front),
            None => mean,
        });
    }
    views
}

fn ap_is_in_range(known: Known) -> bool {
    !known.level.is_some_and(super::of_ap::beyond_levers)
}

/// Every combination of tilts, weighed by how well the two heights agree.
fn both_heights(mean: &Quantity, lateral: &TiltedHeight, ap: &TiltedHeight) -> Quantity {
    let mut parts = Vec::with_capacity(lateral.candidates.len() * ap.candidates.len());
    for from_side in &lateral.candidates {
        let (h, v) = lateral.of(from_side);
        for from_front in &ap.candidates {
            let (other, other_variance) = ap.of(from_front);
            let apart = other - h;
            let sum = v + other_variance + OUTLINES * OUTLINES;
            let share = v / sum;
            let ln =
                from_side.ln_weight + from_front.ln_weight - 0.25 * apart * apart / sum - 0.25 * sum.ln();
            parts.push((h + share * apart, v * (1.0 - share), ln));
        }
    }
    let (value, variance) = mixture(parts.into_iter());
    // Each view's share in the mean, by what both are worth.
    let (a, b) = (lateral.alone().1, ap.alone().1);
    let share = a / (a + b);
    let open = (1.0 - share).powi(2) * lateral.open + share * share * ap.open;
    corrected(mean, value, variance).leaving_open(open)
}
