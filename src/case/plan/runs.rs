//! The run of each level and side: its matched pairs in order, and what they show together.

use crate::case::document::Case;
use crate::case::readings::{CaseReadings, ShotReading};
use crate::measure::mark::{Level, Side};
use crate::measure::run::{Run, Station, run};

/// The run of one body and entry side.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelRun {
    /// The level.
    pub level: Level,
    /// Entry side.
    pub side: Side,
    /// Its matched pairs that give a place, lateral and AP as places in the case, in the order of the lateral shots.
    pub pairs: Vec<(usize, usize)>,
    /// What they show.
    pub run: Run,
}

/// The runs of a case: levels and sides with at least two matched pairs that give a place, in the order in which they
/// first appear.
#[must_use]
pub fn runs(case: &Case, readings: &CaseReadings) -> Vec<LevelRun> {
    type RunRow = (Level, Side, Vec<(usize, usize)>, Vec<Station>);
    let mut rows: Vec<RunRow> = Vec::new();
    for pair in &readings.pairs {
        let shot = &case.shots[pair.lateral];
        let (Some(level), Some(side)) = (shot.level, shot.side) else { continue };
        let (ShotReading::Lateral(lateral), ShotReading::Ap(ap)) =
            (&readings.shots[pair.lateral], &readings.shots[pair.ap])
        else {
            continue;
        };
        let Some(station) = Station::of(lateral, ap, &pair.reading) else { continue };
        let row = match rows.iter().position(|row| (row.0, row.1) == (level, side)) {
            Some(at) => &mut rows[at],
            None => {
                rows.push((level, side, Vec::new(), Vec::new()));
                let last = rows.len() - 1;
                &mut rows[last]
            }
        };
        row.2.push((pair.lateral, pair.ap));
        row.3.push(station);
    }
    rows.into_iter()
        .filter_map(|(level, side, pairs, stations)| {
            Some(LevelRun { level, side, pairs, run: run(&stations)? })
        })
        .collect()
}
