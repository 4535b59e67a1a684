//! Marks against known truth: how far each place and each reading was off, and over many exercises the bias and spread of
//! one user's marks.

use std::collections::BTreeMap;

use crate::case::document::{Case, Shot};
use crate::geom::point::Vec2;
use crate::measure::body::BodyPoint;
use crate::measure::mark::{Marks, Material, Side, View};
use crate::stats::agreement::{Estimate, mean_estimate};
use crate::stats::repeatability::sd_interval;
use crate::stats::summary::{mean, sd};
use crate::study::mark_spread::SpreadEstimate;
use crate::study::own_error::OwnError;
use crate::study::places::{Axes, MarkPart, PlaceKey, map_of, places};
use crate::study::rereading::{Measured, values};

/// What is known of a simulated shot.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// The marks of a reader without error: of a border that shows twice, its middle.
    pub marks: Marks,
    /// The tip's true depth, height and across, from the model in space and not from the picture, as far as the view
    /// gives them.
    pub values: [Option<f64>; 3],
    /// Millimetres to a pixel at the plane of the body.
    pub mm_per_px: f64,
}

/// How far one place was off, in millimetres at the plane of the body; `None` in a direction that does not count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaceError {
    /// The place.
    pub key: PlaceKey,
    /// Forward in a lateral view, away from the entry side in an AP.
    pub along: Option<f64>,
    /// Downward, toward the feet.
    pub down: Option<f64>,
    /// The distance, as far as it counts.
    pub distance: f64,
}

/// How far one reading was off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingError {
    /// Which reading.
    pub what: Measured,
    /// What was read, a fraction; `None` where nothing was.
    pub read: Option<f64>,
    /// The truth.
    pub truth: f64,
}

/// One exercise.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    /// Its view.
    pub view: View,
    /// What was guessed before anything was marked: the depth of a lateral, across of an AP; a fraction.
    pub guess: Option<f64>,
    /// Each reading.
    pub readings: Vec<ReadingError>,
    /// Each place that was marked and has a truth.
    pub places: Vec<PlaceError>,
}

/// Bias and spread of one thing over many exercises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// How many exercises.
    pub n: usize,
    /// Mean of the errors, with its t interval where there are two.
    pub bias: Estimate,
    /// Standard deviation of the errors, with its interval; `None` for fewer than two.
    pub spread: Option<SpreadEstimate>,
}

/// A direction of an error in the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    /// Forward, or away from the entry side.
    Along,
    /// Toward the feet.
    Down,
}

/// What one user's exercises say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Habits {
    /// Each place and direction, in millimetres.
    pub places: Vec<(PlaceKey, Direction, Habit)>,
    /// Each reading, as fractions.
    pub readings: Vec<(View, Measured, Habit)>,
    /// The guesses, as fractions.
    pub guesses: Vec<(View, Habit)>,
}

impl ReadingError {
    /// Read minus true.
    #[must_use]
    pub fn error(&self) -> Option<f64> {
        self.read.map(|read| read - self.truth)
    }
}

impl Score {
    /// The quantity that is guessed in a view.
    #[must_use]
    pub const fn guessed(view: View) -> Measured {
        match view {
            View::Lateral | View::Pedicle => Measured::Depth,
            View::Ap => Measured::Across,
        }
    }

    /// The guess minus the truth.
    #[must_use]
    pub fn guess_error(&self) -> Option<f64> {
        let of = self.readings.iter().find(|reading| reading.what == Self::guessed(self.view))?;
        Some(self.guess? - of.truth)
    }
}

/// The score of marks on a shot whose truth is known. `shot` says view, side and scale; its own marks do not matter.
#[must_use]
pub fn score(case: &Case, shot: &Shot, marks: &Marks, truth: &Truth, guess: Option<f64>) -> Score {
    let view = shot.view;
    let read = values(case, shot, marks).0;
    let readings = Measured::ALL
        .into_iter()
        .enumerate()
        .filter_map(|(i, what)| Some(ReadingError { what, read: read[i], truth: truth.values[i]? }))
        .collect();
    let true_places: BTreeMap<PlaceKey, _> =
        places(view, &truth.marks).into_iter().map(|placed| (placed.key, placed)).collect();
    let directions = directions(view, shot.side, &truth.marks);
    let found = places(view, marks).into_iter().filter_map(|placed| {
        let there = true_places.get(&placed.key)?;
        let by = there.axes.of(placed.at - there.at) * truth.mm_per_px;
        let (along, down) = directions?;
        let (along, down) = match there.axes {
            Axes::Both => (Some(by.dot(along)), Some(by.dot(down))),
            Axes::Along(axis) if axis.dot(along).abs() >= axis.dot(down).abs() => (Some(by.dot(along)), None),
            Axes::Along(_) => (None, Some(by.dot(down))),
        };
        Some(PlaceError { key: placed.key, along, down, distance: by.length() })
    });
    Score { view, guess, readings, places: found.collect() }
}

/// Forward (or away from the entry side) and downward in the picture, as directions of length one.
#[must_use]
pub fn directions(view: View, side: Option<Side>, marks: &Marks) -> Option<(Vec2, Vec2)> {
    let map = match view {
        View::Ap => crate::measure::ap::ap_body_map(marks, side, None).ok()?,
        View::Lateral | View::Pedicle => map_of(view, marks)?,
    };
    let (_, along, down) = map.to_image_with_derivatives(BodyPoint::new(0.5, 0.5));
    let unit = |v: Vec2| (v.length() > 0.0).then(|| v / v.length());
    Some((unit(along)?, unit(down)?))
}

/// From how many exercises on one's own marking error is offered.
pub const ENOUGH: usize = 10;

/// What exercises say: the root mean square of the errors against the truth, so that a constant offset counts, over all places
/// but the middles of borders (a line through several points is off by less than a point is). Each direction of each
/// place is one degree of freedom.
#[must_use]
pub fn own_error(scores: &[Score]) -> OwnError {
    let of = |material: Material| {
        let places = scores.iter().flat_map(|score| &score.places);
        let own = places
            .filter(|place| place.key.kind.material() == material && place.key.part != MarkPart::Middle);
        let errors: Vec<f64> = own.flat_map(|place| [place.along, place.down]).flatten().collect();
        pooled(&errors)
    };
    OwnError { bone: of(Material::Bone), metal: of(Material::Metal) }
}

fn pooled(errors: &[f64]) -> Option<SpreadEstimate> {
    if errors.is_empty() {
        return None;
    }
    #[expect(clippy::cast_precision_loss, reason = "a count of marks")]
    let df = errors.len() as f64;
    let sd = (errors.iter().map(|error| error * error).sum::<f64>() / df).sqrt();
    let (low, high) = sd_interval(sd, df);
    Some(SpreadEstimate { sd, df, low, high })
}

/// Bias and spread over exercises.
#[must_use]
pub fn habits(scores: &[Score]) -> Habits {
    let mut by_place: BTreeMap<(PlaceKey, Direction), Vec<f64>> = BTreeMap::new();
    let mut by_reading: BTreeMap<(View, Measured), Vec<f64>> = BTreeMap::new();
    let mut by_guess: BTreeMap<View, Vec<f64>> = BTreeMap::new();
    for score in scores {
        for place in &score.places {
            for (direction, error) in [(Direction::Along, place.along), (Direction::Down, place.down)] {
                by_place.entry((place.key, direction)).or_default().extend(error);
            }
        }
        for reading in &score.readings {
            by_reading.entry((score.view, reading.what)).or_default().extend(reading.error());
        }
        by_guess.entry(score.view).or_default().extend(score.guess_error());
    }
    Habits {
        places: by_place
            .into_iter()
            .filter_map(|((key, direction), errors)| Some((key, direction, habit(&errors)?)))
            .collect(),
        readings: by_reading
            .into_iter()
            .filter_map(|((view, what), errors)| Some((view, what, habit(&errors)?)))
            .collect(),
        guesses: by_guess.into_iter().filter_map(|(view, errors)| Some((view, habit(&errors)?))).collect(),
    }
}

#[expect(clippy::cast_precision_loss, reason = "a count of exercises")]
fn habit(errors: &[f64]) -> Option<Habit> {
    if errors.is_empty() {
        return None;
    }
    let value = mean(errors);
    let bias = mean_estimate(errors).unwrap_or(Estimate { value, low: f64::NAN, high: f64::NAN });
    let spread = (errors.len() > 1).then(|| {
        let (sd, df) = (sd(errors), errors.len() as f64 - 1.0);
        let (low, high) = sd_interval(sd, df);
        SpreadEstimate { sd, df, low, high }
    });
    Some(Habit { n: errors.len(), bias, spread })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;
    use crate::measure::settings::Settings;

    fn marks(tip: (f64, f64)) -> Marks {
        // Mirrored: forward is to the left.
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 0.0), (0.0, 0.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 70.0), (0.0, 70.0)])
            .with(MarkKind::PosteriorWall, &[(100.0, 35.0)])
            .with(MarkKind::Tip, &[tip])
    }

    fn scored(tip: (f64, f64), guess: Option<f64>) -> Score {
        let shot = Shot { mm_per_px: Some(0.5), ..Shot::new("1", "x.png", View::Lateral) };
        let truth =
            Truth { marks: marks((60.0, 35.0)), values: [Some(0.4), Some(0.5), None], mm_per_px: 0.5 };
        score(&Case::default(), &shot, &marks(tip), &truth, guess)
    }

    /// By hand: a tip marked 4 px further forward (to the left) and 2 px lower is 2 mm and 1 mm off at 0.5 mm to a pixel, and
    /// the depth 0.04 too large.
    #[test]
    fn errors_are_told_in_the_bodys_directions() {
        let found = scored((56.0, 37.0), Some(0.3));
        let tip = found.places.iter().find(|place| place.key.kind == MarkKind::Tip).unwrap();
        assert!((tip.along.unwrap() - 2.0).abs() < 1e-9 && (tip.down.unwrap() - 1.0).abs() < 1e-9);
        assert!((tip.distance - 5.0_f64.sqrt()).abs() < 1e-9);
        assert!((found.readings[0].error().unwrap() - 0.04).abs() < 1e-9);
        assert!((found.guess_error().unwrap() + 0.1).abs() < 1e-12);
        let wall = found.places.iter().find(|place| place.key.part == MarkPart::Middle).unwrap();
        assert_eq!((wall.along.map(f64::abs), wall.down), (Some(0.0), None));
    }

    #[test]
    fn one_exercise_has_no_spread_and_more_have_the_t_interval() {
        let one = habits(&[scored((56.0, 35.0), None)]);
        let tip = |habits: &Habits| {
            let is_tip = |(key, direction, _): &&(PlaceKey, Direction, Habit)| {
                key.kind == MarkKind::Tip && *direction == Direction::Along
            };
            habits.places.iter().find(is_tip).unwrap().2
        };
        assert_eq!((tip(&one).n, tip(&one).spread), (1, None));
        assert!(one.guesses.is_empty());
        // Errors 2 and 3 mm: mean 2.5, SD √½, t(0.975, 1) = 12.706 (tables): ± 6.353.
        let two = tip(&habits(&[scored((56.0, 35.0), None), scored((54.0, 35.0), None)]));
        assert!((two.bias.value - 2.5).abs() < 1e-9 && (two.bias.high - 2.5 - 6.353).abs() < 1e-3);
        assert!((two.spread.unwrap().sd - 0.5_f64.sqrt()).abs() < 1e-9);
    }

    fn with_places(places: &[(MarkKind, MarkPart, Option<f64>, Option<f64>)]) -> Score {
        let of = |&(kind, part, along, down)| PlaceError {
            key: PlaceKey { view: View::Lateral, kind, part },
            along,
            down,
            distance: 0.0,
        };
        Score {
            view: View::Lateral,
            guess: None,
            readings: Vec::new(),
            places: places.iter().map(of).collect(),
        }
    }

    /// By hand: bone errors 0.3, 0.4, −0.5, 0 give √(0.5/4) = 0.353553; the middle of a wall does not count. Metal: 0.2 and
    /// 0.2, a constant offset, gives 0.2.
    #[test]
    fn errors_are_pooled_against_the_truth() {
        let scores = [
            with_places(&[
                (MarkKind::SuperiorEndPlate, MarkPart::First, Some(0.3), Some(0.4)),
                (MarkKind::PosteriorWall, MarkPart::Middle, Some(9.0), None),
                (MarkKind::Tip, MarkPart::First, Some(0.2), None),
            ]),
            with_places(&[
                (MarkKind::SuperiorEndPlate, MarkPart::First, Some(-0.5), Some(0.0)),
                (MarkKind::Tip, MarkPart::First, Some(0.2), None),
            ]),
        ];
        let own = own_error(&scores);
        let bone = own.bone.unwrap();
        assert!((bone.sd - 0.125_f64.sqrt()).abs() < 1e-12 && (bone.df - 4.0).abs() < 1e-12);
        assert!(bone.low < bone.sd && bone.sd < bone.high);
        let adopted = own.adopted(&Settings::default()).unwrap();
        assert!((adopted.bone_sd_mm - 0.354).abs() < 1e-12 && (adopted.metal_sd_mm - 0.2).abs() < 1e-12);
        assert_eq!(own_error(&[]).adopted(&Settings::default()), None);
        let exact = own_error(&[with_places(&[(MarkKind::Tip, MarkPart::First, Some(0.0), None)])]);
        assert_eq!(exact.adopted(&Settings::default()), None, "no hand is exact");
    }
}
