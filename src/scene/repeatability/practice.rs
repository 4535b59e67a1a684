//! Marks against known truth, in words, tables and on the picture.

use crate::measure::body::Border;
use crate::measure::mark::{Marks, View};
use crate::scene::drawing::shape::{Glyph, Rect, Role, Scene, Space};
use crate::scene::format;
use crate::scene::repeatability::rereading::{measured, place};
use crate::study::places::{map_of, places};
use crate::study::practice::{Direction, Habit, Habits, PlaceError, Score, Truth};
use crate::study::rereading::Measured;

/// A table: its headings and its rows.
pub type WordTable = (Vec<String>, Vec<Vec<String>>);

/// What the direction of an error is called in a view.
#[must_use]
pub const fn direction(view: View, direction: Direction) -> &'static str {
    match (direction, view) {
        (Direction::Down, _) => "inferiorly",
        (Direction::Along, View::Ap) => "contralaterally",
        (Direction::Along, View::Lateral | View::Pedicle) => "anteriorly",
    }
}

fn heads(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// What was read, guessed and true.
#[must_use]
pub fn readings_table(score: &Score) -> WordTable {
    let percent = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), format::percent);
    let row = |name: String, read: Option<f64>, truth: f64| {
        let off = read.map_or_else(|| "–".to_owned(), |read| format::signed_percent(read - truth));
        vec![name, percent(read), percent(Some(truth)), off]
    };
    let mut rows: Vec<Vec<String>> = score
        .readings
        .iter()
        .map(|reading| row(name(reading.what).to_owned(), reading.read, reading.truth))
        .collect();
    let guessed = score.readings.iter().find(|reading| reading.what == Score::guessed(score.view));
    if let (Some(guess), Some(of)) = (score.guess, guessed) {
        rows.push(row(format!("{}, guessed", name(of.what)), Some(guess), of.truth));
    }
    (heads(&["", "read", "true", "error"]), rows)
}

const fn name(what: Measured) -> &'static str {
    match what {
        Measured::Depth => "Depth",
        Measured::Height => "Height",
        Measured::Across => "Mediolateral",
    }
}

/// How far each place was off.
#[must_use]
pub fn places_table(score: &Score) -> WordTable {
    let mm = |error: Option<f64>| error.map_or_else(|| "–".to_owned(), signed_mm);
    let row = |p: &PlaceError| vec![short_place(p), format::mm(p.distance), mm(p.along), mm(p.down)];
    let along = direction(score.view, Direction::Along);
    let rows = score.places.iter().map(row).collect();
    (heads(&["place", "off by", along, direction(score.view, Direction::Down)]), rows)
}

/// What was read and how far each place was off, by one's own marks and by those that the program proposes for the same
/// shot, beside the truth.
#[must_use]
pub fn beside_proposal_table(own: &Score, proposed: &Score) -> WordTable {
    let dash = || "–".to_owned();
    let percent = |value: Option<f64>| value.map_or_else(dash, format::percent);
    let readings = own.readings.iter().map(|mine| {
        let other = proposed.readings.iter().find(|other| other.what == mine.what);
        vec![
            name(mine.what).to_owned(),
            percent(mine.read),
            percent(other.and_then(|other| other.read)),
            percent(Some(mine.truth)),
        ]
    });
    let places = own.places.iter().map(|mine| {
        let other = proposed.places.iter().find(|other| other.key == mine.key);
        let off = other.map_or_else(dash, |other| format::mm(other.distance));
        vec![format!("{}, off by", short_place(mine)), format::mm(mine.distance), off, format::mm(0.0)]
    });
    let rows = readings.chain(places).collect();
    (heads(&["", "yours", "proposed", "true"]), rows)
}

/// The place without its view, which is the same for all.
fn short_place(error: &PlaceError) -> String {
    let whole = place(error.key);
    whole.split_once(", ").map_or_else(|| whole.clone(), |(_, rest)| rest.to_owned())
}

fn signed_mm(value: f64) -> String {
    let sign = if value > 0.0 { "+" } else { "" };
    format!("{sign}{}", format::mm(value))
}

/// Bias and spread of the marks over the exercises, in millimetres.
#[must_use]
pub fn marks_table(habits: &Habits) -> WordTable {
    let rows = habits
        .places
        .iter()
        .map(|(key, way, habit)| {
            let mut row = vec![place(*key), direction(key.view, *way).to_owned()];
            row.extend(cells(habit, 1.0));
            row
        })
        .collect();
    (heads(&["place", "direction", "n", "bias, mm", "95 % interval", "spread, mm", "95 % interval"]), rows)
}

/// Bias and spread of readings and guesses, in percent of the body.
#[must_use]
pub fn habits_table(habits: &Habits) -> WordTable {
    let seen = |view: View| format::view(view);
    let readings = habits.readings.iter().map(|(view, what, habit)| {
        let mut row = vec![format!("{}, {}", seen(*view), measured(*what))];
        row.extend(cells(habit, 100.0));
        row
    });
    let guesses = habits.guesses.iter().map(|(view, habit)| {
        let mut row = vec![format!("{}, {} guessed", seen(*view), measured(Score::guessed(*view)))];
        row.extend(cells(habit, 100.0));
        row
    });
    let rows = readings.chain(guesses).collect();
    (heads(&["reading", "n", "bias", "95 % interval", "spread", "95 % interval"]), rows)
}

fn cells(habit: &Habit, times: f64) -> [String; 5] {
    let interval = |low: f64, high: f64| {
        if low.is_finite() && high.is_finite() {
            let (low, high) = (format::measured_briefly(times * low), format::measured_briefly(times * high));
            format!("{low} to {high}")
        } else {
            "–".to_owned()
        }
    };
    [
        habit.n.to_string(),
        format::measured_briefly(times * habit.bias.value),
        interval(habit.bias.low, habit.bias.high),
        habit.spread.map_or_else(|| "–".to_owned(), |s| format::measured_briefly(times * s.sd)),
        habit.spread.map_or_else(|| "–".to_owned(), |s| interval(s.low, s.high)),
    ]
}

/// The true outline and places, to be laid over the user's own marks: dashed lines and crosses, with a line from each
/// mark to where it belongs.
#[must_use]
pub fn truth_scene(view: View, marks: &Marks, truth: &Truth) -> Scene {
    let all = truth.marks.placed().chain(marks.placed()).map(|(_, p)| p);
    let bounds = Rect::around(all).unwrap_or(Rect::new(0.0, 0.0, 1.0, 1.0));
    let mut scene = Scene::new(Space::Image, bounds);
    if let Some(map) = map_of(view, &truth.marks) {
        for border in [Border::Superior, Border::Inferior, Border::Start, Border::End] {
            let line = (0..=24).map(|i| map.border(border, f64::from(i) / 24.0)).collect();
            scene.line(line, Role::MidlineBand);
        }
    }
    let own = places(view, marks);
    for there in places(view, &truth.marks) {
        if let Some(mine) = own.iter().find(|placed| placed.key == there.key) {
            let by = there.axes.of(there.at - mine.at);
            scene.line(vec![mine.at, mine.at + by], Role::Accent);
        }
        scene.marker(there.at, Glyph::Plus, Role::MidlineBand);
    }
    scene
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;
    use crate::study::places::{MarkPart, PlaceKey};
    use crate::study::practice::{ReadingError, habits};

    fn score(along: f64) -> Score {
        let key = PlaceKey { view: View::Lateral, kind: MarkKind::Tip, part: MarkPart::First };
        Score {
            view: View::Lateral,
            guess: Some(0.3),
            readings: vec![ReadingError { what: Measured::Depth, read: Some(0.42), truth: 0.4 }],
            places: vec![PlaceError { key, along: Some(along), down: Some(-0.5), distance: 1.0 }],
        }
    }

    #[test]
    fn errors_have_signs_and_guesses_a_row_of_their_own() {
        let (_, rows) = readings_table(&score(0.8));
        assert_eq!(rows[0], ["Depth", "42 %", "40 %", "+2 %"].map(str::to_owned));
        assert!(rows[1][0].contains("guessed") && rows[1][3].contains("10"));
        let (heads, rows) = places_table(&score(0.8));
        assert_eq!(heads[2], "anteriorly");
        assert_eq!(rows[0], ["tip", "1.0 mm", "+0.8 mm", "−0.5 mm"].map(str::to_owned));
    }

    #[test]
    fn one_exercise_gives_a_bias_without_an_interval() {
        let (_, one) = marks_table(&habits(&[score(0.8)]));
        assert_eq!(one[0][2..], ["1", "0.800", "–", "–", "–"].map(str::to_owned));
        let (_, two) = marks_table(&habits(&[score(0.8), score(1.0)]));
        assert!(two[0][4].contains(" to ") && two[0][6].contains(" to "), "{two:?}");
    }
}
