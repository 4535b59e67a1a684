//! The run of a body: all its shots in order, as a way through the body and as lines over the shots. It shows what the
//! saved frames show, never what to do next.
//!
//! Reading order: [`chart`], [`page`], [`curve`].

use crate::case::document::Case;
use crate::case::plan::runs::{LevelRun, runs};
use crate::case::readings::CaseReadings;
use crate::measure::mark::{Level, Side, View};
use crate::measure::quantity::Quantity;
use crate::measure::settings::Rule;
use crate::scene::body_map::Stop;
use crate::scene::format;
use crate::scene::words::tip_path;

pub mod chart;
pub mod curve;
pub mod page;

/// One moment of the run: a matched pair, or a shot that has no partner.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Place of the lateral shot in the case.
    pub lateral: Option<usize>,
    /// Place of the AP shot.
    pub ap: Option<usize>,
    /// Where the tip is.
    pub stop: Stop,
}

/// The run of one body and entry side.
#[derive(Clone, Debug, PartialEq)]
pub struct TipRun {
    /// The level.
    pub level: Level,
    /// Entry side.
    pub side: Side,
    /// Its moments in the case's order.
    pub moments: Vec<Moment>,
    /// What its matched pairs show together, where there are at least two.
    pub run: Option<LevelRun>,
}

/// The bodies of a case of which there is a lateral or an AP shot with level and side, in the order in which they appear.
#[must_use]
pub fn bodies(case: &Case) -> Vec<(Level, Side)> {
    let mut found = Vec::new();
    for shot in case.shots.iter().filter(|shot| shot.view_set && shot.view != View::Pedicle) {
        if let (Some(level), Some(side)) = (shot.level, shot.side)
            && !found.contains(&(level, side))
        {
            found.push((level, side));
        }
    }
    found
}

impl TipRun {
    /// The run of a body.
    #[must_use]
    pub fn of(case: &Case, readings: &CaseReadings, (level, side): (Level, Side)) -> Self {
        let mut moments: Vec<Moment> = Vec::new();
        for (index, (shot, reading)) in case.shots.iter().zip(&readings.shots).enumerate() {
            let told = moments.iter().any(|m| m.lateral == Some(index) || m.ap == Some(index));
            if (shot.level, shot.side) != (Some(level), Some(side)) || told {
                continue;
            }
            let pair = readings.pairs.iter().find(|pair| pair.lateral == index || pair.ap == index);
            let Some(stop) = Stop::of(moments.len() + 1, reading, pair.map(|pair| &pair.reading)) else {
                continue;
            };
            let place = stop.position;
            if place.depth.is_none() && place.across.is_none() && place.height.is_none() {
                continue;
            }
            let (lateral, ap) = match pair {
                Some(pair) => (Some(pair.lateral), Some(pair.ap)),
                None if shot.view == View::Lateral => (Some(index), None),
                None => (None, Some(index)),
            };
            moments.push(Moment { lateral, ap, stop });
        }
        let run = runs(case, readings).into_iter().find(|run| (run.level, run.side) == (level, side));
        Self { level, side, moments, run }
    }

    /// What it is called: `L4 right`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{} {}", self.level.name(), format::side(self.side))
    }

    /// The moments in words: their shots and stage, and where the tip is.
    #[must_use]
    pub fn moment_lines(&self, case: &Case) -> Vec<String> {
        self.moments.iter().map(|moment| moment.words(case)).collect()
    }

    /// The same without the names of the shots, a short line each.
    #[must_use]
    pub fn places(&self, case: &Case) -> Vec<String> {
        self.moments.iter().map(|moment| moment.place(case).0).collect()
    }

    /// From pair to pair in words; none where fewer than two pairs tell three coordinates.
    #[must_use]
    pub fn step_lines(&self) -> Vec<String> {
        let Some(run) = &self.run else { return Vec::new() };
        let number = |pair: &(usize, usize)| {
            let moment = self.moments.iter().find(|m| m.lateral == Some(pair.0) && m.ap == Some(pair.1));
            moment.map_or_else(|| "?".to_owned(), |moment| moment.stop.number.to_string())
        };
        let steps = run.run.steps.iter().zip(run.pairs.windows(2));
        steps
            .map(|(step, pair)| {
                format!("{} to {}: {}", number(&pair[0]), number(&pair[1]), tip_path::step(step))
            })
            .collect()
    }

    /// Where a straight line through the last two pairs leads, in words.
    #[must_use]
    pub fn line_ahead(&self) -> Vec<String> {
        self.run.as_ref().map_or_else(Vec::new, |run| tip_path::line_ahead(&run.run).to_vec())
    }

    /// Why there are no steps, where there are none.
    #[must_use]
    pub fn without_steps(&self) -> Option<&'static str> {
        self.run.is_none().then_some(
            "Two matched pairs with depth and mediolateral position are needed for the tip path; mark a lateral and an AP at each position.",
        )
    }
}

impl Moment {
    fn words(&self, case: &Case) -> String {
        let (place, names) = self.place(case);
        format!("{place} ({})", names.join(", "))
    }

    /// Stage and place of the tip, and the names of the shots.
    fn place<'a>(&self, case: &'a Case) -> (String, Vec<&'a str>) {
        let shots: Vec<_> =
            [self.lateral, self.ap].into_iter().flatten().filter_map(|at| case.shots.get(at)).collect();
        let stage = shots.first().and_then(|shot| shot.stage).map_or("stage not set", format::stage);
        let names: Vec<&str> = shots.iter().map(|shot| shot.id.as_str()).collect();
        let place = self.stop.position;
        let coordinates: Vec<String> = [
            ("depth", place.depth, Some(Rule::Depth)),
            ("height", place.height, Some(Rule::Height)),
            ("mediolateral", place.across, None),
        ]
        .into_iter()
        .filter_map(|(name, c, rule)| Some(format!("{name} {}", of(c?, rule))))
        .collect();
        let offset = place.midline.map(|(_, offset)| {
            format!(", {}", format::beside_midline_of(offset, shots.iter().find_map(|shot| shot.side)))
        });
        let said = coordinates.join(", ");
        (format!("{}: {stage}: {said}{}", self.stop.number, offset.unwrap_or_default()), names)
    }
}

/// A coordinate with its interval, by the rule that counts it: `38 % ± 3`.
fn of(c: crate::scene::body_map::Coordinate, rule: Option<Rule>) -> String {
    let budget =
        crate::measure::quantity::Budget { bone: c.sd, ..crate::measure::quantity::Budget::default() };
    let quantity = Quantity { value: c.value, budget, influences: Vec::new(), monte_carlo: None };
    rule.map_or_else(|| format::percent_of(&quantity), |rule| format::coordinate(rule, &quantity))
}
