//! Reliability in words: the lines that stand under a table of repeated readings.

use crate::scene::format;
use crate::stats::agreement::{Agreement, Limit};
use crate::stats::anova::TableFault;
use crate::stats::icc::{Form, Icc, Undefined};
use crate::stats::repeatability::Sem;
use crate::study::repeatability::{Compared, PairOf, RaterComparison, Reliability, Report};

/// Sources of the formulas by name, the key of the result first.
pub const SOURCES: [(&str, &str); 6] = [
    ("bias and limits of agreement", "Bland and Altman 1986 and 1999"),
    ("exact intervals for the limits", "noncentral t distribution, Lenth 1989 (AS 243)"),
    ("ICC", "Shrout and Fleiss 1979; (2,.) by Satterthwaite's degrees of freedom as given there"),
    ("words", "Koo and Li 2016, applied to the interval"),
    ("within-subject SD", "Bland and Altman 1996"),
    ("SEM and MDC95", "Weir 2005: MDC95 = 1.96·√2·SEM"),
];

/// The whole report, line by line, with the formulas' sources.
#[must_use]
pub fn lines(report: &Report) -> Vec<String> {
    let mut lines = report_lines(report);
    lines.push(String::new());
    lines.extend(source_lines());
    lines
}

/// The formulas' sources, line by line.
pub fn source_lines() -> impl Iterator<Item = String> {
    SOURCES.iter().map(|(what, source)| format!("{what}: {source}"))
}

/// The report without the sources.
#[must_use]
pub fn report_lines(report: &Report) -> Vec<String> {
    let mut lines = vec![format!(
        "{}, {} ({}), {}",
        format::count(report.subjects.len(), "subject", "subjects"),
        format::count(report.raters.len(), "rater", "raters"),
        report.raters.join(", "),
        format::count(report.rounds.len(), "round", "rounds"),
    )];
    for comparison in &report.comparisons {
        lines.push(String::new());
        comparison_lines(&mut lines, comparison, report.rounds.len());
    }
    if !report.means.is_empty() {
        lines.push(String::new());
        lines.push("Raters, on the means of their sessions".to_owned());
        for pair in &report.means {
            pair_lines(&mut lines, pair, "were read by both in every one of their rounds");
        }
    }
    lines.push(String::new());
    lines.push(match report.within_subject {
        Some((sd, df)) => format!(
            "Within-subject SD {} ({} degrees of freedom); two readings of one subject differ by less than {} in 95 of 100 cases.",
            format::measured(sd),
            format::measured(df),
            format::measured(Sem::of(sd).mdc95),
        ),
        None => "No subject was read twice, so there is no within-subject SD.".to_owned(),
    });
    lines
}

/// A table: its headings and its rows, the first column in words, the others in numbers.
pub type ReliabilityTable = (Vec<String>, Vec<Vec<String>>);

/// How many readings there are of what, in one sentence, and the spread within a subject.
#[must_use]
pub fn summary(report: &Report) -> Vec<String> {
    let lines = report_lines(report);
    lines.first().into_iter().chain(lines.last()).cloned().collect()
}

/// Everything else in words, for those who want every digit.
#[must_use]
pub fn details(report: &Report) -> Vec<String> {
    let lines = report_lines(report);
    let between = lines.len().saturating_sub(2);
    lines.into_iter().skip(1).take(between).filter(|line| !line.is_empty()).collect()
}

/// The pairs with bias and limits of agreement, then the reliability of each comparison; without a row where there is
/// nothing to tell.
#[must_use]
pub fn tables(report: &Report) -> [ReliabilityTable; 2] {
    let heads = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let several = report.rounds.len() > 1;
    let mut pairs: Vec<Vec<String>> = Vec::new();
    let mut coefficients = Vec::new();
    for comparison in &report.comparisons {
        let of = compared(&comparison.of, several);
        pairs.extend(comparison.pairs.iter().filter_map(|pair| pair_row(&of, pair)));
        if let Ok(reliability) = &comparison.reliability {
            coefficients.extend(icc_rows(&of, reliability));
        }
    }
    pairs.extend(report.means.iter().filter_map(|pair| pair_row("Means of the sessions", pair)));
    let agreement =
        heads(&["compared", "n", "bias (95 %)", "SD of differences", "lower limit", "upper limit"]);
    let reliability = heads(&["compared, form", "coefficient", "95 % interval", "SEM", "MDC95"]);
    [(agreement, pairs), (reliability, coefficients)]
}

fn compared(of: &Compared, several_rounds: bool) -> String {
    match of {
        Compared::Raters { round } if several_rounds => format!("Raters, session {round}"),
        Compared::Raters { .. } => "Raters".to_owned(),
        Compared::Rounds { rater } => format!("Sessions of {rater}"),
    }
}

fn pair_row(of: &str, pair: &PairOf) -> Option<Vec<String>> {
    let brief = format::measured_briefly;
    let Agreement { n, bias, sd, lower, upper } = pair.agreement.as_ref()?;
    Some(vec![
        format!("{of}: {} − {}", format::shortened(&pair.first, 16), format::shortened(&pair.second, 16)),
        n.to_string(),
        format!("{} ({} to {})", brief(bias.value), brief(bias.low), brief(bias.high)),
        brief(*sd),
        brief(lower.value),
        brief(upper.value),
    ])
}

fn icc_rows(of: &str, reliability: &Reliability) -> Vec<Vec<String>> {
    let row = |(form, found): &(Form, Result<Icc, Undefined>)| {
        let icc = found.as_ref().ok()?;
        let interval = icc.interval.map_or_else(
            || "–".to_owned(),
            |(low, high)| format!("{} to {}", format::coefficient(low), format::coefficient(high)),
        );
        let sem = match form {
            Form::ConsistencySingle | Form::ConsistencyMean => reliability.consistency,
            Form::OneWaySingle | Form::AgreementSingle | Form::OneWayMean | Form::AgreementMean => {
                reliability.agreement
            }
        };
        let (sem, mdc) = (format::measured_briefly(sem.sem), format::measured_briefly(sem.mdc95));
        Some(vec![format!("{of}, {}", form.key()), format::coefficient(icc.value), interval, sem, mdc])
    };
    reliability.icc.iter().filter_map(row).collect()
}

fn comparison_lines(lines: &mut Vec<String>, comparison: &RaterComparison, rounds: usize) {
    lines.push(compared(&comparison.of, rounds > 1));
    if !comparison.left_out.is_empty() {
        lines.push(format!("  excluded because a reading is missing: {}", comparison.left_out.join(", ")));
    }
    for pair in &comparison.pairs {
        pair_lines(lines, pair, "have both");
    }
    match &comparison.reliability {
        Ok(reliability) => reliability_lines(lines, reliability),
        Err(fault) => lines.push(format!("  {}", table_fault(*fault))),
    }
}

/// `both` says what fewer than two subjects have where there is nothing to tell.
fn pair_lines(lines: &mut Vec<String>, pair: &PairOf, both: &str) {
    let what = format!("{} − {}", pair.first, pair.second);
    let Some(agreement) = &pair.agreement else {
        lines.push(format!("  {what}: fewer than two subjects {both}, so there are no limits of agreement."));
        return;
    };
    let Agreement { n, bias, sd, lower, upper } = agreement;
    lines.push(format!(
        "  {what}: bias {} (95 %: {} to {}), SD of differences {}, n = {n}",
        format::measured(bias.value),
        format::measured(bias.low),
        format::measured(bias.high),
        format::measured(*sd),
    ));
    let limit = |limit: &Limit| {
        format!(
            "{} (95 %: exact {} to {}, approximate {} to {})",
            format::measured(limit.value),
            format::measured(limit.exact.0),
            format::measured(limit.exact.1),
            format::measured(limit.approximate.0),
            format::measured(limit.approximate.1),
        )
    };
    lines.push(format!("    lower limit of agreement {}", limit(lower)));
    lines.push(format!("    upper limit of agreement {}", limit(upper)));
    if let Some(corrected) = pair.corrected_sd {
        lines.push(format!("    SD of differences of single readings {}", format::measured(corrected)));
    }
}

fn reliability_lines(lines: &mut Vec<String>, reliability: &Reliability) {
    for (form, found) in &reliability.icc {
        lines.push(match found {
            Ok(icc) => format!("  {}  {}", form.key(), coefficient(icc)),
            Err(reason) => format!("  {}  {}", form.key(), undefined(*reason)),
        });
    }
    let ms = &reliability.mean_squares;
    lines.push(format!(
        "  on {} subjects and {} columns; k is the number of columns",
        format::measured(ms.n),
        format::measured(ms.k)
    ));
    for (what, sem) in
        [("absolute agreement", reliability.agreement), ("consistency", reliability.consistency)]
    {
        lines.push(format!(
            "  {what}: SEM {}, MDC95 {}",
            format::measured(sem.sem),
            format::measured(sem.mdc95)
        ));
    }
}

/// A coefficient with its interval and the words for it.
fn coefficient(icc: &Icc) -> String {
    let Some((low, high)) = icc.interval else {
        return format!(
            "{}; the formula gives no interval for this negative coefficient",
            format::coefficient(icc.value)
        );
    };
    let (value, low, high) =
        (format::coefficient(icc.value), format::coefficient(low), format::coefficient(high));
    let words = words(icc).unwrap_or_default();
    format!("{value} (95 %: {low} to {high})  {words}")
}

/// Koo and Li's words for the interval: `good to excellent`.
#[must_use]
pub fn words(icc: &Icc) -> Option<String> {
    let (low, high) = icc.grades()?;
    Some(if low == high { low.word().to_owned() } else { format!("{} to {}", low.word(), high.word()) })
}

/// Why there is no coefficient.
#[must_use]
pub const fn undefined(reason: Undefined) -> &'static str {
    match reason {
        Undefined::NoVariance => {
            "not defined: all readings are identical, so there is no variance to partition."
        }
        Undefined::NothingToShare => "not defined for these readings.",
    }
}

/// Why there is no table to split.
#[must_use]
pub const fn table_fault(fault: TableFault) -> &'static str {
    match fault {
        TableFault::OneSubject => {
            "Fewer than two subjects have a reading in every column, so reliability is not defined; add more subjects."
        }
        TableFault::OneRater => {
            "Each subject has only one reading, so reliability is not defined; re-read them, or have a second reader."
        }
        TableFault::Ragged => "The readings do not form a table; check that each one is a number.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::repeatability::{Reading, report};

    fn table(cells: &[(&str, &str, f64)]) -> Report {
        let reading = |&(subject, rater, value): &(&str, &str, f64)| Reading {
            subject: subject.to_owned(),
            rater: rater.to_owned(),
            round: "1".to_owned(),
            value: Some(value),
        };
        report(&cells.iter().map(reading).collect::<Vec<_>>())
    }

    /// Every pair has a row of agreement, every defined coefficient one of reliability, and nothing is said twice or lost.
    #[test]
    fn tables_hold_what_the_lines_say() {
        let cells = [
            ("a", "x", 2.0),
            ("a", "y", 2.5),
            ("b", "x", 4.0),
            ("b", "y", 4.1),
            ("c", "x", 7.0),
            ("c", "y", 6.6),
        ];
        let report = table(&cells);
        let [(heads, pairs), (_, coefficients)] = tables(&report);
        assert_eq!((heads.len(), pairs.len(), coefficients.len()), (6, 1, 6));
        assert!(pairs[0][0].contains("x − y") && pairs[0][1] == "3", "{pairs:?}");
        let (all, short) = (report_lines(&report), summary(&report));
        assert_eq!(short.len(), 2);
        let kept = details(&report).len() + short.len();
        assert_eq!(kept, all.iter().filter(|line| !line.is_empty()).count());
    }

    #[test]
    fn no_variance_and_one_subject_are_sentences() {
        let same = lines(&table(&[("a", "x", 2.0), ("a", "y", 2.0), ("b", "x", 2.0), ("b", "y", 2.0)]));
        assert!(same.iter().any(|line| line.contains("no variance to partition")), "{same:?}");
        let one = lines(&table(&[("a", "x", 2.0), ("a", "y", 2.5)]));
        assert!(one.iter().any(|line| line.contains("Fewer than two subjects")), "{one:?}");
        assert!(one.iter().any(|line| line.contains("no limits of agreement")), "{one:?}");
    }
}
