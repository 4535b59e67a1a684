//! What a true view would show, as JSON.

use serde_json::{Value, json};

use crate::io::export::json::{maybe, midline_by};
use crate::measure::true_view::view::{Angle, ApTrueView, LateralTrueView, PairTrueView};

/// An AP shot's.
pub(super) fn ap(view: &ApTrueView) -> Value {
    json!({
        "turn_deg": view.turn.map(angle),
        "tilt_deg": view.tilt.map(angle),
        "across": maybe(view.across.as_ref()),
        "height": maybe(view.height.as_ref()),
        "midline_by": midline_by(&view.midline_by),
        "medial_border": maybe(view.medial_border.as_ref()),
        "refused": view.refused.map(|refusal| refusal.sentence()),
    })
}

/// A lateral's.
pub(super) fn lateral(view: &LateralTrueView) -> Value {
    json!({
        "turn_abs_deg": angle(view.turn_abs),
        "tilt_deg": angle(view.tilt),
        "depth": maybe(Some(&view.depth)),
        "height": maybe(Some(&view.height)),
    })
}

/// A matched pair's.
pub(super) fn pair(view: &PairTrueView) -> Value {
    json!({
        "depth": maybe(view.depth.as_ref()),
        "across": maybe(view.across.as_ref()),
        "height": maybe(view.height.as_ref()),
        "midline_by": midline_by(&view.midline_by),
        "medial_border": maybe(view.medial_border.as_ref()),
    })
}

fn angle(angle: Angle) -> Value {
    json!({ "value": angle.deg, "sd": angle.sd_deg, "low": angle.low(), "high": angle.high() })
}
