//! What a true view would show, in words: the direct readings beside its values, and how the C-arm stood.

use crate::case::readings::ShotReading;
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::reading::{ApReading, LateralReading, MidlineBy, MidlineOffsets, PairReading};
use crate::measure::settings::Rule;
use crate::measure::true_view::view::Angle;
use crate::scene::words::reading::midline_by;

/// What stands above or below the values.
pub const HEADING: &str = "Corrected for rotation and tilt of the view";

/// One direct reading beside which there is a value that a true view would show.
#[derive(Clone, Debug, PartialEq)]
pub struct Row<'a> {
    /// What it is; `None` for the mediolateral position.
    pub rule: Option<Rule>,
    /// The direct reading.
    pub quantity: &'a Quantity,
    /// What else is to be said; may be empty.
    pub words: &'static str,
}

impl<'a> Row<'a> {
    fn of(rule: Option<Rule>, direct: Option<&'a Quantity>, corrected: Option<&Quantity>) -> Option<Self> {
        let (quantity, _) = direct.zip(corrected)?;
        Some(Self { rule, quantity, words: "" })
    }

    fn midline(direct: Option<(MidlineBy, &'a Quantity)>, view: &MidlineOffsets) -> Option<Self> {
        let (by, quantity) = direct?;
        view.by(by)?;
        Some(Self { rule: Some(Rule::Midline), quantity, words: midline_by(by) })
    }
}

/// The direct readings of a shot beside which a true view would show others; none where nothing is known of that.
#[must_use]
pub fn direct(reading: &ShotReading) -> Vec<Row<'_>> {
    match reading {
        ShotReading::Lateral(reading) => {
            let (Some(view), Some(tip)) = (&reading.true_view, &reading.tip) else { return Vec::new() };
            let depth = Row::of(Some(Rule::Depth), Some(&tip.along), Some(&view.depth));
            let height = Row::of(Some(Rule::Height), Some(&tip.height), Some(&view.height));
            depth.into_iter().chain(height).collect()
        }
        ShotReading::Ap(reading) => {
            let Some(view) = &reading.true_view else { return Vec::new() };
            [
                Row::of(None, reading.tip.as_ref().map(|tip| &tip.along), view.across.as_ref()),
                Row::midline(reading.midline_by.best(), &view.midline_by),
                Row::of(Some(Rule::Height), reading.height.as_ref(), view.height.as_ref()),
            ]
            .into_iter()
            .flatten()
            .collect()
        }
        ShotReading::Pedicle(_) => Vec::new(),
    }
}

/// The same of a matched pair.
#[must_use]
pub fn direct_of_pair(reading: &PairReading) -> Vec<Row<'_>> {
    let view = &reading.true_view;
    [
        Row::of(Some(Rule::Depth), reading.depth.as_ref(), view.depth.as_ref()),
        Row::of(None, reading.across.as_ref(), view.across.as_ref()),
        Row::of(Some(Rule::Height), reading.height.as_ref(), view.height.as_ref()),
        Row::midline(reading.midline.as_ref().map(|(by, q)| (*by, q)), &view.midline_by),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// How the C-arm stood against a true view, and what is not known of that; one sentence each.
#[must_use]
pub fn sentences(reading: &ShotReading) -> Vec<String> {
    match reading {
        ShotReading::Lateral(reading) => of_lateral(reading),
        ShotReading::Ap(reading) => of_ap(reading),
        ShotReading::Pedicle(_) => Vec::new(),
    }
}

fn of_lateral(reading: &LateralReading) -> Vec<String> {
    let Some(view) = &reading.true_view else { return Vec::new() };
    let [superior, inferior, posterior, _] = reading.apart_mm;
    let turn = if posterior.is_some() {
        format!("rotation {} to either side", angle(view.turn_abs))
    } else {
        format!("rotation within {:.0}°", Z95 * view.turn_abs.sd_deg)
    };
    let mut said = vec![format!("C-arm against a true lateral: {turn}, tilt {}.", angle(view.tilt))];
    said.extend(unsaid(posterior.is_some() || superior.or(inferior).is_some(), reading.said));
    said
}

fn of_ap(reading: &ApReading) -> Vec<String> {
    let Some(view) = &reading.true_view else { return Vec::new() };
    let parts: Vec<String> = [("rotation", view.turn), ("tilt", view.tilt)]
        .into_iter()
        .filter_map(|(name, found)| Some(format!("{name} {}", angle(found?))))
        .collect();
    let mut said = Vec::new();
    if !parts.is_empty() {
        said.push(format!("C-arm against a true AP: {}.", parts.join(", ")));
    }
    said.extend(view.refused.map(|refusal| refusal.sentence()));
    let [superior, inferior, ..] = reading.apart_mm;
    said.extend(unsaid(superior.or(inferior).is_some(), reading.said));
    said
}

/// One contour of every border, and nobody said that none shows twice.
fn unsaid(marked: bool, said: bool) -> Option<String> {
    (!marked && !said).then(|| {
        "Nobody has said whether a border shows twice; it is read as if each showed once.".to_owned()
    })
}

/// An angle with the half-width of its 95 % interval.
#[must_use]
pub fn angle(angle: Angle) -> String {
    let half = (Z95 * angle.sd_deg).round();
    let deg = angle.deg.round();
    let sign = if deg < 0.0 { "−" } else { "" };
    format!("{sign}{:.0}° ± {half:.0}°", deg.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_have_the_half_width_of_their_interval() {
        assert_eq!(angle(Angle { deg: -5.2, sd_deg: 2.0 }), "−5° ± 4°");
        assert_eq!(angle(Angle { deg: -0.2, sd_deg: 0.9 }), "0° ± 2°");
    }
}
