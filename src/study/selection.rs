//! Which bodies of a series are looked at, and in which order: filters and sorting of the table.

use std::cmp::Ordering;

use crate::measure::mark::{Level, Side};
use crate::measure::settings::Rule;
use crate::measure::verdict::State;
use crate::study::series::Treated;

/// How a body stands as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BodyStanding {
    /// In the target with confidence.
    Inside,
    /// Too close to call.
    Undecided,
    /// Out of the target with confidence.
    Outside,
    /// Without an outcome: no final reading in both views, or no target.
    Without,
}

/// A column of the table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SeriesColumn {
    /// The date.
    #[default]
    Date,
    /// The operator.
    Operator,
    /// The level.
    Level,
    /// Entry side.
    Side,
    /// All bands together.
    Outcome,
    /// Final depth.
    Depth,
    /// Final height.
    Height,
    /// Final offset from the midline.
    Midline,
    /// How many kinds of issue were found.
    Issues,
    /// Lesion time.
    Lesion,
    /// How many shots the body has.
    Shots,
    /// Which share of its marks is as the program proposed it.
    Proposed,
    /// The case's title.
    Case,
    /// The case's file.
    File,
}

/// Which bodies are looked at; nothing said lets all through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Filter {
    /// Only this level.
    pub level: Option<Level>,
    /// Only entered from this side.
    pub side: Option<Side>,
    /// Only this operator; an empty text for those who are not said.
    pub operator: Option<String>,
    /// Only this half-year; an empty text for bodies without a date that can be read.
    pub half_year: Option<String>,
    /// Only bodies that stand so.
    pub standing: Option<BodyStanding>,
    /// Only bodies of which every one of these words occurs in what the table says in words, capitals or not.
    pub text: String,
}

/// By which column the table is sorted, and which way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sorting {
    /// The column.
    pub by: SeriesColumn,
    /// From the largest or last.
    pub falling: bool,
}

impl BodyStanding {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Inside, Self::Undecided, Self::Outside, Self::Without];

    /// How this body stands.
    #[must_use]
    pub const fn of(body: &Treated) -> Self {
        match &body.outcome {
            Ok(outcome) => match outcome.state {
                State::Inside => Self::Inside,
                State::Outside => Self::Outside,
                State::Undecided | State::NotShown => Self::Undecided,
            },
            Err(_) => Self::Without,
        }
    }

    /// The key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Undecided => "undecided",
            Self::Outside => "outside",
            Self::Without => "without",
        }
    }
}

/// The share of a body's marks that is as proposed.
fn share(body: &Treated) -> f64 {
    let [_, proposed, _] = body.origins;
    let all: usize = body.origins.iter().sum();
    #[expect(clippy::cast_precision_loss, reason = "counts of marks")]
    let share = proposed as f64 / all.max(1) as f64;
    share
}

impl SeriesColumn {
    /// All columns, in the order of the table.
    pub const ALL: [Self; 14] = [
        Self::Date,
        Self::Operator,
        Self::Level,
        Self::Side,
        Self::Outcome,
        Self::Depth,
        Self::Height,
        Self::Midline,
        Self::Issues,
        Self::Lesion,
        Self::Shots,
        Self::Proposed,
        Self::Case,
        Self::File,
    ];

    /// The key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Date => "date",
            Self::Operator => "operator",
            Self::Level => "level",
            Self::Side => "side",
            Self::Outcome => "outcome",
            Self::Depth => "depth",
            Self::Height => "height",
            Self::Midline => "midline",
            Self::Issues => "issues",
            Self::Lesion => "lesion",
            Self::Shots => "shots",
            Self::Proposed => "proposed",
            Self::Case => "case",
            Self::File => "file",
        }
    }

    /// The rule whose value stands in the column.
    #[must_use]
    pub const fn rule(self) -> Option<Rule> {
        match self {
            Self::Depth => Some(Rule::Depth),
            Self::Height => Some(Rule::Height),
            Self::Midline => Some(Rule::Midline),
            _ => None,
        }
    }

    /// What is not there comes last, whichever way the column is sorted: whether it is missing, then the order.
    fn compare(self, a: &Treated, b: &Treated, falling: bool) -> Ordering {
        let turned = |order: Ordering| if falling { order.reverse() } else { order };
        let words = |x: &str, y: &str| x.is_empty().cmp(&y.is_empty()).then(turned(x.cmp(y)));
        let numbers = |x: Option<f64>, y: Option<f64>| match (x, y) {
            (Some(x), Some(y)) => turned(x.total_cmp(&y)),
            (x, y) => x.is_none().cmp(&y.is_none()),
        };
        let shown = |rule: Rule| numbers(a.used(rule).map(|v| v.value), b.used(rule).map(|v| v.value));
        match self {
            Self::Date => words(&a.date, &b.date),
            Self::Operator => words(&a.operator, &b.operator),
            Self::Level => turned(a.level.cmp(&b.level)),
            Self::Side => turned(a.side.cmp(&b.side)),
            Self::Outcome => {
                let p = |body: &Treated| body.outcome.as_ref().ok().map(|outcome| outcome.p_inside);
                let without = |body: &Treated| BodyStanding::of(body) == BodyStanding::Without;
                without(a).cmp(&without(b)).then_with(|| {
                    turned(BodyStanding::of(a).cmp(&BodyStanding::of(b))).then_with(|| numbers(p(b), p(a)))
                })
            }
            Self::Depth => shown(Rule::Depth),
            Self::Height => shown(Rule::Height),
            Self::Midline => shown(Rule::Midline),
            Self::Issues => turned(a.issues.len().cmp(&b.issues.len())),
            Self::Lesion => numbers(a.lesion_s, b.lesion_s),
            Self::Shots => turned(a.shots.cmp(&b.shots)),
            Self::Proposed => turned(share(a).total_cmp(&share(b))),
            Self::Case => words(&a.title, &b.title),
            Self::File => words(&a.file, &b.file),
        }
    }
}

impl Filter {
    /// Whether it lets everything through.
    #[must_use]
    pub fn is_open(&self) -> bool {
        let Self { level, side, operator, half_year, standing, text } = self;
        level.is_none()
            && side.is_none()
            && operator.is_none()
            && half_year.is_none()
            && standing.is_none()
            && text.trim().is_empty()
    }

    /// Whether this body is let through.
    #[must_use]
    pub fn takes(&self, body: &Treated) -> bool {
        let said = |wanted: &Option<String>, is: &str| wanted.as_ref().is_none_or(|wanted| wanted == is);
        self.level.is_none_or(|level| level == body.level)
            && self.side.is_none_or(|side| side == body.side)
            && said(&self.operator, &body.operator)
            && (self.half_year.is_none() || said(&self.half_year, &body.half_year().unwrap_or_default()))
            && self.standing.is_none_or(|standing| standing == BodyStanding::of(body))
            && self.finds(body)
    }

    fn finds(&self, body: &Treated) -> bool {
        if self.text.trim().is_empty() {
            return true;
        }
        let said = [
            body.title.as_str(),
            &body.file,
            &body.operator,
            &body.date,
            &body.level.name(),
            body.side.key(),
            &body.issues.join(" "),
            &body.remarks,
        ]
        .join(" ")
        .replace('_', " ")
        .to_lowercase();
        self.text.to_lowercase().split_whitespace().all(|word| said.contains(&word.replace('_', " ")))
    }
}

/// The places of the bodies that the filter lets through, sorted; equal ones stay in the order of the list.
#[must_use]
pub fn selected(bodies: &[Treated], filter: &Filter, sorting: Sorting) -> Vec<usize> {
    let mut places: Vec<usize> = (0..bodies.len()).filter(|&i| filter.takes(&bodies[i])).collect();
    places.sort_by(|&i, &j| sorting.by.compare(&bodies[i], &bodies[j], sorting.falling));
    places
}

/// What there is to choose from: operators and half-years of these bodies, each once and sorted, an empty text first
/// where some say nothing.
#[must_use]
pub fn choices(bodies: &[Treated]) -> (Vec<Level>, Vec<String>, Vec<String>) {
    let mut levels: Vec<Level> = bodies.iter().map(|body| body.level).collect();
    let mut operators: Vec<String> = bodies.iter().map(|body| body.operator.clone()).collect();
    let mut half_years: Vec<String> =
        bodies.iter().map(|body| body.half_year().unwrap_or_default()).collect();
    levels.sort();
    levels.dedup();
    for list in [&mut operators, &mut half_years] {
        list.sort();
        list.dedup();
    }
    (levels, operators, half_years)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::series::{BodyOutcome, NoOutcome, ValueSd};

    fn bodies() -> Vec<Treated> {
        let body =
            |file: &str, operator: &str, date: &str, depth: Option<f64>, state: Option<State>| Treated {
                lesion_s: None,
                remarks: String::new(),
                file: file.to_owned(),
                title: format!("Case {file}"),
                operator: operator.to_owned(),
                date: date.to_owned(),
                level: if depth.is_some() { Level::L4 } else { Level::L5 },
                side: Side::Right,
                shots: 2,
                origins: [0; 3],
                depth: depth.map(|value| ValueSd { value, sd: 0.01 }),
                height: None,
                midline: None,
                true_view: [None; 3],
                against: Vec::new(),
                outcome: state
                    .map(|state| BodyOutcome { nominal_inside: true, state, p_inside: 0.5 })
                    .ok_or(NoOutcome::OneView),
                issues: vec!["body_cut_off".to_owned()],
            };
        vec![
            body("c", "R2", "2026-08-01", Some(0.4), Some(State::Inside)),
            body("a", "R1", "", Some(0.2), Some(State::Outside)),
            body("b", "R1", "2026-02-01", None, None),
            body("d", "", "2025-12-31", Some(0.3), Some(State::Undecided)),
        ]
    }

    fn files(filter: &Filter, by: SeriesColumn, falling: bool) -> String {
        let bodies = bodies();
        selected(&bodies, filter, Sorting { by, falling })
            .into_iter()
            .map(|i| bodies[i].file.as_str())
            .collect()
    }

    #[test]
    fn what_is_missing_comes_last_whichever_way() {
        let all = Filter::default();
        assert_eq!(files(&all, SeriesColumn::Date, false), "dbca");
        assert_eq!(files(&all, SeriesColumn::Date, true), "cbda");
        assert_eq!(files(&all, SeriesColumn::Depth, false), "adcb");
        assert_eq!(files(&all, SeriesColumn::Depth, true), "cdab");
        assert_eq!(files(&all, SeriesColumn::Operator, true), "cabd");
        assert_eq!(files(&all, SeriesColumn::Outcome, false), "cdab");
        assert_eq!(files(&all, SeriesColumn::Outcome, true), "adcb");
        assert_eq!(files(&all, SeriesColumn::File, false), "abcd");
    }

    #[test]
    fn each_filter_keeps_what_it_says() {
        let keeps = |filter: Filter| files(&filter, SeriesColumn::File, false);
        let operator = Some("R1".to_owned());
        assert_eq!(keeps(Filter { operator: operator.clone(), ..Filter::default() }), "ab");
        assert_eq!(keeps(Filter { operator: Some(String::new()), ..Filter::default() }), "d");
        assert_eq!(keeps(Filter { half_year: Some("2026 H1".to_owned()), ..Filter::default() }), "b");
        assert_eq!(keeps(Filter { half_year: Some(String::new()), ..Filter::default() }), "a");
        assert_eq!(keeps(Filter { level: Some(Level::L5), ..Filter::default() }), "b");
        assert_eq!(
            keeps(Filter { standing: Some(BodyStanding::Without), operator, ..Filter::default() }),
            "b"
        );
        assert_eq!(keeps(Filter { text: "CASE r1".to_owned(), ..Filter::default() }), "ab");
        assert_eq!(keeps(Filter { text: "cut off 2025".to_owned(), ..Filter::default() }), "d");
        assert_eq!(keeps(Filter { text: "nothing".to_owned(), ..Filter::default() }), "");
        assert!(Filter { text: " ".to_owned(), ..Filter::default() }.is_open());
    }

    #[test]
    fn there_is_a_choice_of_what_there_is() {
        let (levels, operators, half_years) = choices(&bodies());
        assert_eq!(levels, [Level::L4, Level::L5]);
        assert_eq!(operators, ["", "R1", "R2"]);
        assert_eq!(half_years, ["", "2025 H2", "2026 H1", "2026 H2"]);
    }
}
