//! What would change if one's own measured marking error took the place of the settings': in words, the same for the window,
//! the command line and paper.

use crate::case::document::Case;
use crate::case::readings::{CaseReadings, Picture, ShotReading, read_case};
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::settings::Settings;
use crate::measure::true_view::choice::used;
use crate::scene::format;
use crate::stats::summary::quantile;
use crate::study::practice::{ENOUGH, Score, own_error};

/// What the placement settings would become.
#[derive(Clone, Debug, PartialEq)]
pub struct Adopting {
    /// The settings with the measured figures.
    pub settings: Settings,
    /// What changes, in a sentence, and what that does to the readings of the case.
    pub words: String,
}

/// The measured settings beside those of the case; `None` where nothing would change.
#[must_use]
pub fn adopting(case: &Case, adopted: Option<Settings>) -> Option<Adopting> {
    let before = &case.settings;
    let adopted = adopted.filter(|adopted| adopted != before)?;
    let mut words = format!(
        "Marking error {} mm instead of {} for bone, {} mm instead of {} for metal.",
        format::as_typed(adopted.bone_sd_mm),
        format::as_typed(before.bone_sd_mm),
        format::as_typed(adopted.metal_sd_mm),
        format::as_typed(before.metal_sd_mm),
    );
    if let Some(effect) = effect(case, &adopted) {
        words.push(' ');
        words.push_str(&effect);
    }
    Some(Adopting { settings: adopted, words })
}

/// What ten exercises and more say of the case's settings.
#[must_use]
pub fn of_exercises(case: &Case, scores: &[Score]) -> Option<Adopting> {
    if scores.len() < ENOUGH {
        return None;
    }
    adopting(case, own_error(scores).adopted(&case.settings))
}

/// Half-widths of the case's readings with its settings and with others: the median of each coordinate.
fn effect(case: &Case, settings: &Settings) -> Option<String> {
    let read = |case: &Case| half_widths(&read_case(case, |_| Picture::NotLookedAt, None));
    let before = read(case);
    let after = read(&Case { settings: settings.clone(), ..case.clone() });
    let parts: Vec<String> = ["depth", "height", "offset from the midline"]
        .iter()
        .zip(before.iter().zip(&after))
        .filter_map(|(name, (before, after))| {
            let (before, after) = (middle(before)?, middle(after)?);
            Some(format!("{name} ± {} instead of ± {}", points(after), points(before)))
        })
        .collect();
    (!parts.is_empty())
        .then(|| format!("Typical shot of this case, in percentage points: {}.", parts.join(", ")))
}

fn half_widths(readings: &CaseReadings) -> [Vec<f64>; 3] {
    let mut found: [Vec<f64>; 3] = Default::default();
    let mut put = |i: usize, direct: Option<&Quantity>, corrected: Option<&Quantity>| {
        found[i].extend(direct.map(|direct| Z95 * used(direct, corrected).sd()));
    };
    for reading in &readings.shots {
        match reading {
            ShotReading::Lateral(reading) => {
                let (tip, view) = (reading.tip.as_ref(), reading.true_view.as_ref());
                put(0, tip.map(|tip| &tip.along), view.map(|view| &view.depth));
                put(1, tip.map(|tip| &tip.height), view.map(|view| &view.height));
            }
            ShotReading::Ap(reading) => {
                let view = reading.true_view.as_ref();
                put(1, reading.height.as_ref(), view.and_then(|view| view.height.as_ref()));
                if let Some((by, offset)) = reading.midline_by.best() {
                    put(2, Some(offset), view.and_then(|view| view.midline_by.by(by)));
                }
            }
            ShotReading::Pedicle(_) => {}
        }
    }
    found
}

/// The median.
fn middle(widths: &[f64]) -> Option<f64> {
    let mut ascending = widths.to_vec();
    ascending.sort_unstable_by(f64::total_cmp);
    (!ascending.is_empty()).then(|| quantile(&ascending, 0.5))
}

fn points(half_width: f64) -> String {
    format::one_decimal(100.0 * half_width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Shot;
    use crate::measure::mark::{MarkKind, Marks, Stage, View};

    fn case() -> Case {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        (shot.stage, shot.mm_per_px) = (Some(Stage::Final), Some(0.35));
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (100.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(0.0, 70.0), (100.0, 70.0)])
            .with(MarkKind::Tip, &[(40.0, 35.0)]);
        Case { shots: vec![shot].into(), ..Case::default() }
    }

    #[test]
    fn it_says_what_would_change_and_nothing_where_nothing_would() {
        let case = case();
        let worse = Settings { bone_sd_mm: 1.1, ..case.settings.clone() };
        let offer = adopting(&case, Some(worse.clone())).unwrap();
        assert_eq!(offer.settings, worse);
        assert!(offer.words.starts_with("Marking error 1.1 mm instead of 0.5 for bone"), "{}", offer.words);
        assert!(offer.words.contains("depth ± ") && !offer.words.contains("midline"), "{}", offer.words);
        assert_eq!(adopting(&case, Some(case.settings.clone())), None);
        assert_eq!(adopting(&case, None), None);
        assert_eq!(of_exercises(&case, &[]), None);
    }
}
