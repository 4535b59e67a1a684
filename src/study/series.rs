//! The audit over many cases: every body treated with its final reading, from one case's document.
//!
//! Only the marks count here; pictures are not opened, so what only a picture can tell (that it is missing, that it
//! changed, that a corner lies at its edge) is not among the issues.

use crate::case::document::proposed::origins;
use crate::case::document::{Case, Shot};
use crate::case::plan::pairing::pairs;
use crate::case::plan::standing::together;
use crate::case::readings::{Picture, ShotReading, read_matched, read_with_partner};
use crate::measure::issue::Issue;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::settings::{Band, Rule};
use crate::measure::true_view::choice::Basis;
use crate::measure::verdict::{Nominal, State, Verdict, VerdictRule};

/// A value with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValueSd {
    /// The value, a fraction.
    pub value: f64,
    /// Its standard uncertainty.
    pub sd: f64,
}

/// How a value stands to its band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Against {
    /// What the band is about.
    pub rule: Rule,
    /// The band; its middle is the place aimed at.
    pub band: Band,
    /// By the value alone: inside or not.
    pub nominal_inside: bool,
    /// With 95 % confidence.
    pub state: State,
    /// Probability that the true value lies in the band.
    pub p_inside: f64,
    /// Which of the two values it goes by.
    pub basis: Basis,
}

/// Whether the tip of a body lay in its target, all bands together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodyOutcome {
    /// By the values alone.
    pub nominal_inside: bool,
    /// With confidence: outside if any band is, inside only if all are.
    pub state: State,
    /// Product of the bands' probabilities, their errors taken as independent.
    pub p_inside: f64,
}

/// Why a body has no outcome.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoOutcome {
    /// There is no shot of the final stage.
    NoFinalShot,
    /// The final stage was not saved in both views, or its shots are not paired.
    OneView,
    /// A final shot has no reading.
    NotRead,
    /// The final stage has no target.
    NoTarget,
}

/// A body treated from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Treated {
    /// The case file, relative to where the search began.
    pub file: String,
    /// The case's title.
    pub title: String,
    /// Who operated; empty where not said.
    pub operator: String,
    /// The date; empty where not said.
    pub date: String,
    /// The level.
    pub level: Level,
    /// Entry side.
    pub side: Side,
    /// How long the lesion was made, in seconds, as the user wrote it down.
    pub lesion_s: Option<f64>,
    /// The user's remarks; empty where there are none.
    pub remarks: String,
    /// How many shots it has.
    pub shots: usize,
    /// How many marks of all its shots come from where, in the order of
    /// [`Origin::ALL`](crate::case::document::proposed::Origin::ALL).
    pub origins: [usize; 3],
    /// The tip's final depth.
    pub depth: Option<ValueSd>,
    /// Its height.
    pub height: Option<ValueSd>,
    /// Its offset from the midline.
    pub midline: Option<ValueSd>,
    /// The same three as a true view would show them, in the order of [`Rule::ALL`].
    pub true_view: [Option<ValueSd>; 3],
    /// Against each band.
    pub against: Vec<Against>,
    /// All bands together, or why there is nothing.
    pub outcome: Result<BodyOutcome, NoOutcome>,
    /// Codes of what was found with the final shots, each once.
    pub issues: Vec<String>,
}

impl ValueSd {
    /// Lower end of the 95 % interval.
    #[must_use]
    pub fn low(self) -> f64 {
        self.value - Z95 * self.sd
    }

    /// Upper end of it.
    #[must_use]
    pub fn high(self) -> f64 {
        self.value + Z95 * self.sd
    }
}

impl From<&Quantity> for ValueSd {
    fn from(q: &Quantity) -> Self {
        Self { value: q.value, sd: q.sd() }
    }
}

impl NoOutcome {
    /// All reasons.
    pub const ALL: [Self; 4] = [Self::NoFinalShot, Self::OneView, Self::NotRead, Self::NoTarget];

    /// The key in results.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::NoFinalShot => "no_final_shot",
            Self::OneView => "one_view",
            Self::NotRead => "not_read",
            Self::NoTarget => "no_target",
        }
    }
}

impl Treated {
    /// The half-year of its date, `2026 H1`; `None` where the date does not say.
    #[must_use]
    pub fn half_year(&self) -> Option<String> {
        let mut parts = self.date.split('-');
        let (year, month) = (parts.next()?, parts.next()?.parse::<u8>().ok()?);
        let is_year = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
        (is_year && (1..=12).contains(&month)).then(|| format!("{year} H{}", if month <= 6 { 1 } else { 2 }))
    }

    /// Its date as years, `2026.5` for the beginning of July; a date without a day counts from the month's first. `None`
    /// where the date does not say.
    #[must_use]
    pub fn time(&self) -> Option<f64> {
        let mut parts = self.date.split('-');
        let year: u16 = parts.next().filter(|year| year.len() == 4)?.parse().ok()?;
        let month: usize = parts.next()?.parse().ok()?;
        let day: u16 = parts.next().map_or(Ok(1), str::parse).ok()?;
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let before = *DAYS_BEFORE.get(month.checked_sub(1)?)? + u16::from(leap && month > 2);
        let days = before + day.clamp(1, 31) - 1;
        Some(f64::from(year) + f64::from(days) / if leap { 366.0 } else { 365.0 })
    }

    /// How far the tip lies from the middle of its band.
    #[must_use]
    pub fn error(&self, rule: Rule) -> Option<f64> {
        let against = self.against.iter().find(|against| against.rule == rule)?;
        Some(self.used(rule)?.value - against.band.middle())
    }

    /// The value that is shown and that the verdict goes by: what a true view would show where that is known, else the direct
    /// one.
    #[must_use]
    pub fn used(&self, rule: Rule) -> Option<ValueSd> {
        let [depth, height, midline] = self.true_view;
        let corrected = match rule {
            Rule::Depth => depth,
            Rule::Height => height,
            Rule::Midline => midline,
        };
        corrected.or_else(|| self.value(rule))
    }

    /// The direct value a rule is about.
    #[must_use]
    pub const fn value(&self, rule: Rule) -> Option<ValueSd> {
        match rule {
            Rule::Depth => self.depth,
            Rule::Height => self.height,
            Rule::Midline => self.midline,
        }
    }
}

/// Days of a common year before each month.
const DAYS_BEFORE: [u16; 12] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

/// The middle of a half-year as years: `2026.25` of `2026 H1`.
#[must_use]
pub fn half_year_middle(name: &str) -> Option<f64> {
    let (year, half) = name.split_once(" H")?;
    let year: u16 = year.parse().ok()?;
    match half {
        "1" => Some(f64::from(year) + 0.25),
        "2" => Some(f64::from(year) + 0.75),
        _ => None,
    }
}

/// Every body of a case that has a level and a side, in the order in which they first appear. `file` names the case in
/// the table.
#[must_use]
pub fn treated(case: &Case, file: &str) -> Vec<Treated> {
    let mut bodies: Vec<(Level, Side)> = Vec::new();
    for shot in &case.shots {
        if let Some(body) = shot.level.zip(shot.side)
            && !bodies.contains(&body)
        {
            bodies.push(body);
        }
    }
    let paired = pairs(case);
    bodies.into_iter().map(|body| body_of(case, file, body, &paired)).collect()
}

fn body_of(case: &Case, file: &str, (level, side): (Level, Side), paired: &[(usize, usize)]) -> Treated {
    let own = |shot: &Shot| shot.level == Some(level) && shot.side == Some(side);
    let is_final = |index: usize| own(&case.shots[index]) && case.shots[index].stage == Some(Stage::Final);
    let words = |text: &Option<String>| text.clone().unwrap_or_default();
    let mut body = Treated {
        file: file.to_owned(),
        title: words(&case.title),
        operator: words(&case.operator),
        date: words(&case.date),
        level,
        side,
        lesion_s: case.record(level, side).and_then(|record| record.lesion_s),
        remarks: case.record(level, side).and_then(|r| r.remarks.clone()).unwrap_or_default(),
        shots: case.shots.iter().filter(|shot| own(shot)).count(),
        origins: case.shots.iter().filter(|shot| own(shot)).fold([0; 3], |sum, shot| {
            let own = origins(&shot.marks, &shot.proposed);
            std::array::from_fn(|i| sum[i] + own[i])
        }),
        depth: None,
        height: None,
        midline: None,
        true_view: [None; 3],
        against: Vec::new(),
        outcome: Err(NoOutcome::NoFinalShot),
        issues: Vec::new(),
    };
    if let Some(&pair) = paired.iter().rev().find(|&&(lateral, ap)| is_final(lateral) && is_final(ap)) {
        let (lateral, ap, read) = read_matched(case, pair, |_| Picture::NotLookedAt);
        body.note(lateral.issues());
        body.note(ap.issues());
        body.note(&read.reading.issues);
        body.depth = read.reading.depth.as_ref().map(ValueSd::from);
        body.height = read.reading.height.as_ref().map(ValueSd::from);
        body.midline = read.reading.midline.as_ref().map(|(_, q)| ValueSd::from(q));
        let (view, by) = (&read.reading.true_view, read.reading.midline.as_ref().map(|(by, _)| *by));
        let midline = by.and_then(|by| view.midline_by.by(by));
        body.true_view = [view.depth.as_ref(), view.height.as_ref(), midline].map(|q| q.map(ValueSd::from));
        body.judge(&read.reading.verdicts, lateral.is_read() && ap.is_read());
        return body;
    }
    // Single views still give their own coordinates, but no outcome.
    let last = |view| (0..case.shots.len()).rev().find(|&i| is_final(i) && case.shots[i].shows(view));
    for index in [View::Lateral, View::Ap].into_iter().filter_map(last) {
        body.outcome = Err(NoOutcome::OneView);
        let reading = read_with_partner(case, index, |_| Picture::NotLookedAt).0;
        body.note(reading.issues());
        match &reading {
            ShotReading::Lateral(reading) => {
                body.depth = reading.tip.as_ref().map(|tip| ValueSd::from(&tip.along));
                body.height = reading.tip.as_ref().map(|tip| ValueSd::from(&tip.height));
                if let Some(view) = &reading.true_view {
                    body.true_view[0] = Some(ValueSd::from(&view.depth));
                    body.true_view[1] = Some(ValueSd::from(&view.height));
                }
            }
            ShotReading::Ap(reading) => {
                body.height = body.height.or_else(|| reading.height.as_ref().map(ValueSd::from));
                let best = reading.midline_by.best();
                body.midline = best.map(|(_, q)| ValueSd::from(q));
                if let Some(view) = &reading.true_view {
                    let own = view.height.as_ref().map(ValueSd::from);
                    body.true_view[1] = body.true_view[1].or(own);
                    let midline = best.and_then(|(by, _)| view.midline_by.by(by));
                    body.true_view[2] = midline.map(ValueSd::from);
                }
            }
            ShotReading::Pedicle(_) => {}
        }
    }
    body
}

impl Treated {
    fn note(&mut self, issues: &[Issue]) {
        for issue in issues {
            let key = issue.code.key();
            if !self.issues.iter().any(|known| known == key) {
                self.issues.push(key.to_owned());
            }
        }
    }

    fn judge(&mut self, verdicts: &[Verdict], read: bool) {
        for verdict in verdicts {
            let (VerdictRule::Band(rule), Some(band)) = (verdict.rule, verdict.band) else { continue };
            self.against.push(Against {
                rule,
                band,
                nominal_inside: verdict.nominal == Nominal::Inside,
                state: verdict.state,
                p_inside: verdict.p_inside,
                basis: verdict.basis,
            });
        }
        self.outcome = if !read {
            Err(NoOutcome::NotRead)
        } else if let Some(state) = together(self.against.iter().map(|against| against.state)) {
            Ok(BodyOutcome {
                nominal_inside: self.against.iter().all(|against| against.nominal_inside),
                state,
                p_inside: self.against.iter().map(|against| against.p_inside).product(),
            })
        } else {
            Err(NoOutcome::NoTarget)
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;

    fn shot(id: &str, view: View, stage: Stage) -> Shot {
        let mut shot = Shot::new(id, "x.png", view);
        (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), Some(stage));
        let marks = std::mem::take(&mut shot.marks)
            .with(MarkKind::SuperiorEndPlate, &[(100.0, 100.0), (244.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(100.0, 190.0), (244.0, 190.0)])
            .with(MarkKind::Tip, &[(160.0, 145.0)]);
        shot.marks = if view == View::Ap {
            marks
                .with(MarkKind::RightPedicle, &[(110.0, 120.0), (130.0, 120.0)])
                .with(MarkKind::LeftPedicle, &[(234.0, 120.0), (214.0, 120.0)])
        } else {
            marks
        };
        shot
    }

    #[test]
    fn the_last_final_pair_decides() {
        let mut case = Case { date: Some("2026-07-01".to_owned()), ..Case::default() };
        case.shots = vec![
            shot("a", View::Lateral, Stage::Final),
            shot("b", View::Ap, Stage::Final),
            shot("c", View::Lateral, Stage::Final),
            shot("d", View::Ap, Stage::Final),
        ]
        .into();
        case.shots[0].marks.set(MarkKind::Tip, vec![Some(crate::geom::point::Point::new(230.0, 145.0))]);
        let bodies = treated(&case, "a.case.json");
        assert_eq!(bodies.len(), 1);
        // By hand: 60 of 144 px.
        assert!((bodies[0].depth.unwrap().value - 60.0 / 144.0).abs() < 1e-9);
        let outcome = bodies[0].outcome.unwrap();
        assert!(outcome.nominal_inside);
        let product: f64 = bodies[0].against.iter().map(|a| a.p_inside).product();
        assert!((outcome.p_inside - product).abs() < 1e-15);
        assert_eq!(bodies[0].half_year().as_deref(), Some("2026 H2"));
        // By hand: 181 days before July in a common year.
        assert!((bodies[0].time().unwrap() - (2026.0 + 181.0 / 365.0)).abs() < 1e-12);
        assert_eq!(half_year_middle("2026 H2"), Some(2026.75));
    }

    #[test]
    fn dates_that_say_nothing_are_none() {
        let mut case = Case { shots: vec![shot("a", View::Lateral, Stage::Final)].into(), ..Case::default() };
        for (date, time) in [
            ("2024-12-31", Some(2024.0 + 365.0 / 366.0)),
            ("2024-03-01", Some(2024.0 + 60.0 / 366.0)),
            ("2026-01", Some(2026.0)),
            ("2026-13-01", None),
            ("2026-00-01", None),
            ("26-01-01", None),
            ("spring", None),
            ("", None),
        ] {
            case.date = Some(date.to_owned());
            assert_eq!(treated(&case, "")[0].time(), time, "{date}");
        }
    }

    #[test]
    fn without_a_pair_there_is_a_reason() {
        let mut case = Case { shots: vec![shot("a", View::Lateral, Stage::Final)].into(), ..Case::default() };
        assert_eq!(treated(&case, "")[0].outcome, Err(NoOutcome::OneView));
        assert!(treated(&case, "")[0].depth.is_some());
        case.shots.push(shot("b", View::Ap, Stage::Final));
        case.shots[1].marks.set(MarkKind::Tip, Vec::new());
        assert_eq!(treated(&case, "")[0].outcome, Err(NoOutcome::NotRead));
        case.shots[0].stage = Some(Stage::Stylet);
        case.shots.pop();
        assert_eq!(treated(&case, "")[0].outcome, Err(NoOutcome::NoFinalShot));
    }
}
