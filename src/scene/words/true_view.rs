//! What a true view would show, in words: the values beside the direct ones, and how the C-arm stood.

use crate::case::readings::ShotReading;
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::reading::{ApReading, LateralReading, MidlineOffsets, PairReading};
use crate::measure::true_view::choice::Basis;
use crate::measure::true_view::view::Angle;
use crate::measure::verdict::Verdict;
use crate::scene::format;
use crate::scene::words::reading::midline_by;

/// What stands above the values.
pub const HEADING: &str = "As a true view would show it";
/// What is said of a verdict that goes by them.
pub const USED: &str = "the verdict goes by this value";

/// One value that a true view would show.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is: `depth`.
    pub name: &'static str,
    /// The number with its uncertainty.
    pub number: String,
    /// The interval.
    pub interval: String,
    /// What else is to be said; may be empty.
    pub words: String,
}

impl Row {
    fn of(name: &'static str, q: Option<&Quantity>) -> Option<Self> {
        let q = q?;
        let (number, words) = (format::percent_of(q), String::new());
        Some(Self { name, number, interval: format::interval(q), words })
    }

    fn midline(direct: &MidlineOffsets, view: &MidlineOffsets) -> Option<Self> {
        let (by, _) = direct.best()?;
        let q = view.by(by)?;
        let words = midline_by(by).to_owned();
        Some(Self {
            name: "midline",
            number: format::signed_percent_of(q),
            interval: format::interval(q),
            words,
        })
    }
}

/// The values of a shot; none where there are none.
#[must_use]
pub fn of_shot(reading: &ShotReading) -> Vec<Row> {
    match reading {
        ShotReading::Lateral(reading) => reading.true_view.as_ref().map_or_else(Vec::new, |view| {
            [Row::of("depth", Some(&view.depth)), Row::of("height", Some(&view.height))]
                .into_iter()
                .flatten()
                .collect()
        }),
        ShotReading::Ap(reading) => reading.true_view.as_ref().map_or_else(Vec::new, |view| {
            [
                Row::of("across", view.across.as_ref()),
                Row::midline(&reading.midline_by, &view.midline_by),
                Row::of("height", view.height.as_ref()),
            ]
            .into_iter()
            .flatten()
            .collect()
        }),
        ShotReading::Pedicle(_) => Vec::new(),
    }
}

/// The values of a matched pair.
#[must_use]
pub fn of_pair(reading: &PairReading) -> Vec<Row> {
    let view = &reading.true_view;
    let midline = reading.midline.as_ref().and_then(|(by, _)| {
        let q = view.midline_by.by(*by)?;
        let words = midline_by(*by).to_owned();
        Some(Row {
            name: "midline",
            number: format::signed_percent_of(q),
            interval: format::interval(q),
            words,
        })
    });
    [
        Row::of("depth", view.depth.as_ref()),
        Row::of("across", view.across.as_ref()),
        Row::of("height", view.height.as_ref()),
        midline,
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

/// Whether the values are worth a place where there is little: the view is seen to be turned or tilted, a verdict goes by
/// them, or the turn was refused.
#[must_use]
pub fn matters(reading: &ShotReading) -> bool {
    let shows = match reading {
        ShotReading::Lateral(reading) => {
            reading.true_view.as_ref().is_some_and(|view| view.turn_abs.shows() || view.tilt.shows())
        }
        ShotReading::Ap(reading) => reading
            .true_view
            .as_ref()
            .is_some_and(|view| [view.turn, view.tilt].into_iter().flatten().any(Angle::shows)),
        ShotReading::Pedicle(_) => false,
    };
    shows || by_true_view(reading.verdicts())
}

/// Whether any of the verdicts goes by what a true view would show.
#[must_use]
pub fn by_true_view(verdicts: &[Verdict]) -> bool {
    verdicts.iter().any(|verdict| verdict.basis == Basis::TrueView)
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
