//! How repeatable readings are: from a table of subjects, raters and rounds to bias, limits of agreement, intraclass
//! correlation and standard errors.
//!
//! Raters are compared on single readings, those of the first round, because that is how a case is read. Rounds of one
//! rater are compared with each other. Where raters read in several rounds, their means are compared too, with the spread
//! of single readings restored.

use std::collections::BTreeMap;

use crate::stats::agreement::{Agreement, agreement, corrected_sd};
use crate::stats::anova::{MeanSquares, Table, TableFault};
use crate::stats::icc::{Form, Icc, Undefined, icc};
use crate::stats::repeatability::{Sem, sem_agreement, sem_consistency, within_subject};

/// One reading of a subject.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub subject: String,
    /// Who read it.
    pub rater: String,
    /// In which round.
    pub round: String,
    /// The value; `None` where the cell is empty.
    pub value: Option<f64>,
}

/// What is compared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Compared {
    /// Raters, in this round.
    Raters {
        /// The round; there may be only one.
        round: String,
    },
    /// The rounds of this rater.
    Rounds {
        /// The rater.
        rater: String,
    },
}

/// Two columns of a comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct PairOf {
    /// The first rater or round.
    pub first: String,
    /// The second.
    pub second: String,
    /// First minus second; `None` for fewer than two subjects that both have read.
    pub agreement: Option<Agreement>,
    /// Where the values are means of rounds: the standard deviation of differences of single readings.
    pub corrected_sd: Option<f64>,
}

/// What follows from a complete table.
#[derive(Clone, Debug, PartialEq)]
pub struct Reliability {
    /// Mean squares, with the numbers of subjects and of columns.
    pub mean_squares: MeanSquares,
    /// The six coefficients in the order of [`Form::ALL`].
    pub icc: Vec<(Form, Result<Icc, Undefined>)>,
    /// For raters who are exchanged.
    pub agreement: Sem,
    /// For one rater's own comparisons.
    pub consistency: Sem,
}

/// One comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct RaterComparison {
    /// What is compared.
    pub of: Compared,
    /// The columns, in their order.
    pub columns: Vec<String>,
    /// Subjects with a value in every column.
    pub complete: usize,
    /// Subjects left out, because a value is missing.
    pub left_out: Vec<String>,
    /// From the complete subjects, or why there is nothing.
    pub reliability: Result<Reliability, TableFault>,
    /// Every two columns, each on the subjects that both have.
    pub pairs: Vec<PairOf>,
}

/// Everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Subjects in the order of their first reading.
    pub subjects: Vec<String>,
    /// Raters in that order.
    pub raters: Vec<String>,
    /// Rounds: in the order of their numbers if they all have one, else of their first reading.
    pub rounds: Vec<String>,
    /// The comparisons, the main one first.
    pub comparisons: Vec<RaterComparison>,
    /// Every two raters on the means of their rounds, where there are several rounds.
    pub means: Vec<PairOf>,
    /// Within-subject standard deviation of repeated readings, with its degrees of freedom: of one rater's rounds, or
    /// between raters where there is one round.
    pub within_subject: Option<(f64, f64)>,
}

/// Names in the order of their first appearance.
fn names<'a>(of: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    let mut known = std::collections::BTreeSet::new();
    for name in of {
        if known.insert(name) {
            list.push(name.to_owned());
        }
    }
    list
}

/// What a table of readings says.
#[must_use]
pub fn report(readings: &[Reading]) -> Report {
    let subjects = names(readings.iter().map(|r| r.subject.as_str()));
    let raters = names(readings.iter().map(|r| r.rater.as_str()));
    let mut rounds = names(readings.iter().map(|r| r.round.as_str()));
    if rounds.iter().all(|round| round.parse::<f64>().is_ok_and(f64::is_finite)) {
        rounds.sort_by(|a, b| a.parse::<f64>().unwrap_or(0.0).total_cmp(&b.parse().unwrap_or(0.0)));
    }
    let values: BTreeMap<(&str, &str, &str), f64> = readings
        .iter()
        .filter_map(|r| Some(((r.subject.as_str(), r.rater.as_str(), r.round.as_str()), r.value?)))
        .collect();
    let value = |subject: &str, rater: &str, round: &str| values.get(&(subject, rater, round)).copied();

    let mut comparisons = Vec::new();
    if raters.len() >= 2
        && let Some(first) = rounds.first()
    {
        let rows = rows(&subjects, &raters, |subject, rater| value(subject, rater, first));
        comparisons.push(compare(Compared::Raters { round: first.clone() }, &raters, &subjects, &rows));
    }
    for rater in raters.iter().filter(|_| rounds.len() >= 2 || raters.len() < 2) {
        let of_rater: Vec<String> = rounds
            .iter()
            .filter(|round| subjects.iter().any(|s| value(s, rater, round).is_some()))
            .cloned()
            .collect();
        if of_rater.len() >= 2 || raters.len() < 2 {
            let rows = rows(&subjects, &of_rater, |subject, round| value(subject, rater, round));
            comparisons.push(compare(Compared::Rounds { rater: rater.clone() }, &of_rater, &subjects, &rows));
        }
    }

    // Repeated readings of a subject: by one rater where there are rounds, else by all raters.
    let all_of = |subject: &str, rater: &str| -> Vec<f64> {
        rounds.iter().filter_map(|round| value(subject, rater, round)).collect()
    };
    let groups = |rater: &str| -> Vec<Vec<f64>> { subjects.iter().map(|s| all_of(s, rater)).collect() };
    let within_subject_sd = if rounds.len() >= 2 {
        within_subject(&raters.iter().flat_map(|rater| groups(rater)).collect::<Vec<_>>())
    } else {
        let of = |s: &String| raters.iter().flat_map(|rater| all_of(s, rater)).collect();
        within_subject(&subjects.iter().map(of).collect::<Vec<_>>())
    };

    let mut means = Vec::new();
    if rounds.len() >= 2 && raters.len() >= 2 {
        // Only subjects whom a rater read in every round of that rater's own, so that every mean of one rater is of as
        // many readings; raters may have different numbers of rounds.
        let own_rounds = |rater: &str| {
            rounds.iter().filter(|round| subjects.iter().any(|s| value(s, rater, round).is_some())).count()
        };
        let counts: BTreeMap<&str, usize> =
            raters.iter().map(|rater| (rater.as_str(), own_rounds(rater))).collect();
        #[expect(clippy::cast_precision_loss, reason = "a handful of rounds")]
        let m = |rater: &str| counts.get(rater).copied().unwrap_or(0) as f64;
        let mean_of = |subject: &str, rater: &str| {
            let all = all_of(subject, rater);
            let whole = !all.is_empty() && Some(&all.len()) == counts.get(rater);
            whole.then(|| all.iter().sum::<f64>() / m(rater))
        };
        let rows = rows(&subjects, &raters, mean_of);
        means = pairs(&raters, &rows);
        for pair in &mut means {
            let own = |rater: &str| within_subject(&groups(rater)).map(|(sw, _)| (sw, m(rater)));
            pair.corrected_sd = pair
                .agreement
                .zip(own(&pair.first).zip(own(&pair.second)))
                .map(|(agreement, (first, second))| corrected_sd(agreement.sd, first, second));
        }
    }
    Report { subjects, raters, rounds, comparisons, means, within_subject: within_subject_sd }
}

/// The values of two columns of a comparison, of every subject that has both, in the order of the subjects' first
/// readings.
#[must_use]
pub fn paired(readings: &[Reading], of: &Compared, first: &str, second: &str) -> Vec<(f64, f64)> {
    let value = |subject: &str, column: &str| {
        let (rater, round) = match of {
            Compared::Raters { round } => (column, round.as_str()),
            Compared::Rounds { rater } => (rater.as_str(), column),
        };
        let is_it = |r: &&Reading| r.subject == subject && r.rater == rater && r.round == round;
        readings.iter().find(is_it)?.value
    };
    let subjects = names(readings.iter().map(|r| r.subject.as_str()));
    subjects.iter().filter_map(|subject| Some((value(subject, first)?, value(subject, second)?))).collect()
}

type SubjectRow = Vec<Option<f64>>;

fn rows(
    subjects: &[String],
    columns: &[String],
    value: impl Fn(&str, &str) -> Option<f64>,
) -> Vec<SubjectRow> {
    subjects.iter().map(|subject| columns.iter().map(|column| value(subject, column)).collect()).collect()
}

fn compare(of: Compared, columns: &[String], subjects: &[String], rows: &[SubjectRow]) -> RaterComparison {
    let full: Vec<Option<Vec<f64>>> = rows.iter().map(|row| row.iter().copied().collect()).collect();
    let left_out = subjects
        .iter()
        .zip(&full)
        .filter(|(_, row)| row.is_none())
        .map(|(subject, _)| subject.clone())
        .collect();
    let complete: Vec<Vec<f64>> = full.into_iter().flatten().collect();
    let count = complete.len();
    let reliability = Table::new(complete).map(|table| {
        let mean_squares = table.mean_squares();
        Reliability {
            mean_squares,
            icc: Form::ALL.map(|form| (form, icc(&mean_squares, form))).to_vec(),
            agreement: sem_agreement(&mean_squares),
            consistency: sem_consistency(&mean_squares),
        }
    });
    RaterComparison {
        of,
        columns: columns.to_vec(),
        complete: count,
        left_out,
        reliability,
        pairs: pairs(columns, rows),
    }
}

fn pairs(columns: &[String], rows: &[SubjectRow]) -> Vec<PairOf> {
    let mut list = Vec::new();
    for i in 0..columns.len() {
        for j in i + 1..columns.len() {
            let differences: Vec<f64> = rows.iter().filter_map(|row| Some(row[i]? - row[j]?)).collect();
            list.push(PairOf {
                first: columns[i].clone(),
                second: columns[j].clone(),
                agreement: agreement(&differences),
                corrected_sd: None,
            });
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(subject: &str, rater: &str, round: &str, value: impl Into<Option<f64>>) -> Reading {
        let [subject, rater, round] = [subject, rater, round].map(str::to_owned);
        Reading { subject, rater, round, value: value.into() }
    }

    #[test]
    fn subjects_with_a_missing_cell_are_named_and_left_out() {
        let mut table = Vec::new();
        for (i, subject) in ["a", "b", "c"].into_iter().enumerate() {
            let x = f64::from(u8::try_from(i).unwrap());
            table.push(reading(subject, "one", "1", x));
            table.push(reading(subject, "two", "1", if subject == "b" { None } else { Some(x + 0.5) }));
        }
        let report = report(&table);
        let main = &report.comparisons[0];
        assert_eq!((main.complete, main.left_out.as_slice()), (2, &["b".to_owned()][..]));
        assert!((main.pairs[0].agreement.unwrap().bias.value + 0.5).abs() < 1e-12);
    }

    /// Raters with three rounds and two are compared on the means of their own rounds: by hand, rater one's means are 1,
    /// 2 and 3, rater two's 1.5, 2.5 and 3.5, half a unit apart.
    #[test]
    fn raters_with_unequal_numbers_of_rounds_are_compared_on_their_own_means() {
        let mut table = Vec::new();
        for (i, subject) in ["a", "b", "c"].into_iter().enumerate() {
            let x = f64::from(u8::try_from(i).unwrap()) + 1.0;
            for (round, off) in [("1", -0.1), ("2", 0.0), ("3", 0.1)] {
                table.push(reading(subject, "one", round, x + off));
            }
            for (round, off) in [("1", -0.2), ("2", 0.2)] {
                table.push(reading(subject, "two", round, x + 0.5 + off));
            }
        }
        let report = report(&table);
        let agreement = report.means[0].agreement.expect("three subjects have both");
        assert_eq!(agreement.n, 3);
        assert!((agreement.bias.value + 0.5).abs() < 1e-12);
        assert!(report.means[0].corrected_sd.is_some());
    }

    #[test]
    fn one_subject_gives_a_reason() {
        let report = report(&[reading("a", "one", "1", 1.0), reading("a", "two", "1", 2.0)]);
        assert_eq!(report.comparisons[0].reliability, Err(TableFault::OneSubject));
        assert_eq!(report.comparisons[0].pairs[0].agreement, None);
        assert!((report.within_subject.unwrap().0 - 0.5_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn one_rater_is_compared_with_himself() {
        let table: Vec<Reading> = [("a", 1.0, 1.2), ("b", 2.0, 1.9), ("c", 3.0, 3.1)]
            .iter()
            .flat_map(|&(s, x, y)| [reading(s, "one", "2", y), reading(s, "one", "1", x)])
            .collect();
        let report = report(&table);
        assert_eq!(report.rounds, ["1", "2"]);
        assert_eq!(report.comparisons.len(), 1);
        assert!(report.comparisons[0].reliability.is_ok());
        assert_eq!(report.comparisons[0].of, Compared::Rounds { rater: "one".to_owned() });
        // A single reading of everything leaves a comparison without columns to compare, which says why.
        let single = super::report(&[reading("a", "one", "1", 1.0), reading("b", "one", "1", 2.0)]);
        assert_eq!(single.comparisons[0].reliability, Err(TableFault::OneRater));
        assert_eq!(single.within_subject, None);
    }
}
