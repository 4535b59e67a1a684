//! The user's exercises with known truth, kept in the application's own folder: errors only, no pictures.

use std::path::PathBuf;

use serde_json::{Value, json};

use crate::io::error::{Error, ErrorKind};
use crate::io::export::json::headed;
use crate::io::files;
use crate::io::store::home::{PRACTICE, data_dir, write_own};
use crate::measure::mark::{MarkKind, View};
use crate::study::places::{MarkPart, PlaceKey};
use crate::study::practice::{PlaceError, ReadingError, Score};
use crate::study::rereading::Measured;

/// What the file says it is.
const FORMAT: &str = "stillmark practice";
/// The largest file that is opened, in bytes.
const MAX_BYTES: u64 = 64_000_000;

fn file() -> Option<PathBuf> {
    Some(data_dir()?.join(PRACTICE))
}

/// The exercises so far, the first one first. Without a file there are none.
///
/// # Errors
/// A sentence, if the file is there and cannot be understood.
pub fn exercises() -> Result<Vec<Score>, Error> {
    let Some(path) = file().filter(|path| path.exists()) else { return Ok(Vec::new()) };
    let bytes = files::read(&path, MAX_BYTES)?;
    let damaged = || {
        let text = "the exercises in it cannot be read; delete the file to start over";
        Error::new(ErrorKind::Damaged, &path, text)
    };
    let whole: Value = serde_json::from_slice(&bytes).map_err(|_no_json| damaged())?;
    if whole["format"] != FORMAT || whole["version"] != 1 {
        return Err(damaged());
    }
    let list = whole["exercises"].as_array().ok_or_else(damaged)?;
    list.iter().map(|one| score(one).ok_or_else(damaged)).collect()
}

/// Adds an exercise and returns all.
///
/// # Errors
/// A sentence; what was kept before is then as it was.
pub fn add(new: &Score) -> Result<Vec<Score>, Error> {
    let mut all = exercises()?;
    // As it will be read again.
    all.extend(score(&value(new)));
    if let Some(path) = file() {
        let list: Vec<Value> = all.iter().map(value).collect();
        let whole = json!({ "format": FORMAT, "version": 1, "exercises": list });
        write_own(&path, format!("{whole:#}\n").as_bytes())?;
    }
    Ok(all)
}

/// Deletes all exercises.
///
/// # Errors
/// A sentence, if the file cannot be deleted.
pub fn clear() -> Result<(), Error> {
    let Some(path) = file() else { return Ok(()) };
    match std::fs::remove_file(&path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Error::writing(&path, &e)),
        _ => Ok(()),
    }
}

/// To nine decimals: more than any use needs, and few enough digits to come back exactly.
fn short(x: f64) -> f64 {
    (x * 1e9).round() / 1e9
}

/// Scores of shots, each with the shot's id, as JSON ending in a line break.
#[must_use]
pub fn scores_text(scores: &[(String, Score)]) -> String {
    let named = |(id, score): &(String, Score)| {
        let mut one = value(score);
        one["shot"] = json!(id);
        headed("score", one)
    };
    let list: Vec<Value> = scores.iter().map(named).collect();
    format!("{:#}\n", Value::Array(list))
}

/// One exercise as JSON.
fn value(score: &Score) -> Value {
    let short_of = |x: Option<f64>| x.map(short);
    let readings: Vec<Value> = score
        .readings
        .iter()
        .map(|r| json!({ "what": r.what.key(), "read": short_of(r.read), "truth": short(r.truth) }))
        .collect();
    let places: Vec<Value> = score
        .places
        .iter()
        .map(|p| {
            let (part, index) = part_key(p.key.part);
            json!({
                "mark": p.key.kind.key(), "part": part, "index": index,
                "along_mm": short_of(p.along), "down_mm": short_of(p.down), "distance_mm": short(p.distance),
            })
        })
        .collect();
    json!({ "view": score.view.key(), "guess": short_of(score.guess), "readings": readings, "places": places })
}

const fn part_key(part: MarkPart) -> (&'static str, Option<usize>) {
    match part {
        MarkPart::First => ("first", None),
        MarkPart::Last => ("last", None),
        MarkPart::Middle => ("middle", None),
        MarkPart::Nth(index) => ("nth", Some(index)),
    }
}

fn score(value: &Value) -> Option<Score> {
    let view = View::ALL.into_iter().find(|view| value["view"] == view.key())?;
    let reading = |value: &Value| {
        let what = Measured::ALL.into_iter().find(|what| value["what"] == what.key())?;
        Some(ReadingError { what, read: value["read"].as_f64(), truth: value["truth"].as_f64()? })
    };
    let place = |value: &Value| {
        let part = match value["part"].as_str()? {
            "first" => MarkPart::First,
            "last" => MarkPart::Last,
            "middle" => MarkPart::Middle,
            "nth" => MarkPart::Nth(usize::try_from(value["index"].as_u64()?).ok()?),
            _ => return None,
        };
        Some(PlaceError {
            key: PlaceKey { view, kind: MarkKind::from_key(value["mark"].as_str()?)?, part },
            along: value["along_mm"].as_f64(),
            down: value["down_mm"].as_f64(),
            distance: value["distance_mm"].as_f64()?,
        })
    };
    Some(Score {
        view,
        guess: value["guess"].as_f64(),
        readings: value["readings"].as_array()?.iter().map(reading).collect::<Option<_>>()?,
        places: value["places"].as_array()?.iter().map(place).collect::<Option<_>>()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exercise_comes_back_as_it_was() {
        let key = |part| PlaceKey { view: View::Ap, kind: MarkKind::SuperiorEndPlate, part };
        let one = Score {
            view: View::Ap,
            guess: Some(0.45),
            readings: vec![
                ReadingError { what: Measured::Across, read: None, truth: 0.5 },
                ReadingError { what: Measured::Height, read: Some(0.312_345_678), truth: 0.31 },
            ],
            places: vec![
                PlaceError { key: key(MarkPart::Middle), along: None, down: Some(-0.25), distance: 0.25 },
                PlaceError { key: key(MarkPart::Nth(3)), along: Some(1.0), down: Some(0.0), distance: 1.0 },
            ],
        };
        assert_eq!(score(&value(&one)), Some(one));
        assert_eq!(score(&json!({ "view": "sideways" })), None);
    }
}
