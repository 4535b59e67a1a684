//! The audit over many cases as tables, one line each with a heading; values are not rounded, an empty cell where there is
//! none.

use crate::case::document::proposed::Origin;
use crate::measure::settings::Rule;
use crate::stats::agreement::Estimate;
use crate::study::audit::{Audit, Undecided};
use crate::study::series::{self, Treated};

/// Which table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum AuditTable {
    /// The bodies.
    Bodies,
    /// Shares in the target.
    Shares,
    /// Differences of shares.
    Differences,
    /// The tip's errors.
    Errors,
    /// Cumulative sums.
    Sums,
}

impl AuditTable {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Bodies, Self::Shares, Self::Differences, Self::Errors, Self::Sums];

    /// The key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Bodies => "bodies",
            Self::Shares => "shares",
            Self::Differences => "differences",
            Self::Errors => "errors",
            Self::Sums => "sums",
        }
    }
}

/// A table. `bodies` are those that the audit is of, in its order; `listed` are the same in the order of the table.
#[must_use]
pub fn csv_text(table: AuditTable, listed: &[&Treated], bodies: &[&Treated], audit: &Audit) -> String {
    text(table, b',', listed, bodies, audit)
}

/// The same with tabs between the cells, as spreadsheets take it from the clipboard.
#[must_use]
pub fn tabbed_text(table: AuditTable, listed: &[&Treated], bodies: &[&Treated], audit: &Audit) -> String {
    text(table, b'\t', listed, bodies, audit)
}

fn text(table: AuditTable, between: u8, listed: &[&Treated], bodies: &[&Treated], audit: &Audit) -> String {
    let lines = match table {
        AuditTable::Bodies => of_bodies(listed),
        AuditTable::Shares => of_shares(audit),
        AuditTable::Differences => of_differences(audit),
        AuditTable::Errors => of_errors(audit),
        AuditTable::Sums => of_sums(bodies, audit),
    };
    let mut writer = csv::WriterBuilder::new().delimiter(between).from_writer(Vec::new());
    for line in lines {
        // Writing to memory does not fail, and every line has the same columns.
        let _ = writer.write_record(&line);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn number(x: Option<f64>) -> String {
    x.map_or_else(String::new, |x| x.to_string())
}

fn words(all: &[&str]) -> Vec<String> {
    all.iter().map(|&word| word.to_owned()).collect()
}

fn of_bodies(bodies: &[&Treated]) -> Vec<Vec<String>> {
    let mut heading = words(&["file", "case", "operator", "date", "half_year", "level", "side", "shots"]);
    for rule in Rule::ALL {
        for end in ["", "_sd", "_low", "_high", "_state", "_p_inside", "_band_low", "_band_high"] {
            heading.push(format!("{}{end}", rule.key()));
        }
    }
    heading.extend(words(&[
        "outcome_nominal",
        "outcome_state",
        "outcome_p_inside",
        "no_outcome",
        "issues",
        "lesion_s",
        "remarks",
    ]));
    for rule in Rule::ALL {
        for end in ["", "_sd", "_low", "_high"] {
            heading.push(format!("true_view_{}{end}", rule.key()));
        }
        heading.push(format!("{}_basis", rule.key()));
    }
    heading.extend(Origin::ALL.map(|origin| format!("marks_{}", origin.key())));
    std::iter::once(heading).chain(bodies.iter().map(|body| of_body(body))).collect()
}

fn of_body(body: &Treated) -> Vec<String> {
    let mut line = vec![
        body.file.clone(),
        body.title.clone(),
        body.operator.clone(),
        body.date.clone(),
        body.half_year().unwrap_or_default(),
        body.level.name(),
        body.side.key().to_owned(),
        body.shots.to_string(),
    ];
    for rule in Rule::ALL {
        let value = body.value(rule);
        let against = body.against.iter().find(|against| against.rule == rule);
        line.push(number(value.map(|v| v.value)));
        line.push(number(value.map(|v| v.sd)));
        line.push(number(value.map(series::ValueSd::low)));
        line.push(number(value.map(series::ValueSd::high)));
        line.push(against.map_or_else(String::new, |a| a.state.key().to_owned()));
        line.push(number(against.map(|a| a.p_inside)));
        line.push(number(against.map(|a| a.band.low)));
        line.push(number(against.map(|a| a.band.high)));
    }
    let outcome = body.outcome.as_ref().ok();
    let nominal = outcome.map(|o| if o.nominal_inside { "inside" } else { "outside" });
    line.push(nominal.unwrap_or_default().to_owned());
    line.push(outcome.map_or_else(String::new, |o| o.state.key().to_owned()));
    line.push(number(outcome.map(|o| o.p_inside)));
    line.push(body.outcome.err().map_or_else(String::new, |why| why.key().to_owned()));
    line.push(body.issues.join(" "));
    line.push(number(body.lesion_s));
    line.push(body.remarks.clone());
    for (rule, view) in Rule::ALL.into_iter().zip(body.true_view) {
        line.push(number(view.map(|v| v.value)));
        line.push(number(view.map(|v| v.sd)));
        line.push(number(view.map(series::ValueSd::low)));
        line.push(number(view.map(series::ValueSd::high)));
        let against = body.against.iter().find(|against| against.rule == rule);
        line.push(against.map_or_else(String::new, |a| a.basis.key().to_owned()));
    }
    line.extend(body.origins.map(|count| count.to_string()));
    line
}

/// Headings of the three ways with value and ends, behind these.
fn three_ways(before: &[&str]) -> Vec<String> {
    let ways = Undecided::ALL.iter().flat_map(|way| {
        ["", "_low", "_high"].map(|end| format!("{}{end}", way.key().trim_start_matches("undecided_")))
    });
    words(before).into_iter().chain(ways).collect()
}

fn estimates(three: &[Estimate; 3]) -> impl Iterator<Item = String> + '_ {
    three.iter().flat_map(|e| [e.value, e.low, e.high].map(|x| x.to_string()))
}

fn of_shares(audit: &Audit) -> Vec<Vec<String>> {
    let heading = three_ways(&["by", "group", "n", "inside", "outside", "undecided"]);
    let lines = audit.shares.iter().map(|one| {
        let counts = [one.n, one.inside, one.outside, one.undecided].map(|n| n.to_string());
        let own = [one.by.key().to_owned(), one.group.clone()].into_iter().chain(counts);
        own.chain(estimates(&one.share)).collect()
    });
    std::iter::once(heading).chain(lines).collect()
}

fn of_differences(audit: &Audit) -> Vec<Vec<String>> {
    let heading = three_ways(&["by", "first", "second"]);
    let lines = audit.differences.iter().map(|one| {
        let own = [one.by.key().to_owned(), one.first.clone(), one.second.clone()].into_iter();
        own.chain(estimates(&one.difference)).collect()
    });
    std::iter::once(heading).chain(lines).collect()
}

fn of_errors(audit: &Audit) -> Vec<Vec<String>> {
    let heading = words(&["group", "rule", "n", "mean", "low", "high", "sd"]);
    let lines = audit.errors.iter().map(|one| {
        vec![
            one.group.clone(),
            one.rule.key().to_owned(),
            one.n.to_string(),
            one.mean.to_string(),
            number(one.interval.map(|(low, _)| low)),
            number(one.interval.map(|(_, high)| high)),
            number(one.sd),
        ]
    });
    std::iter::once(heading).chain(lines).collect()
}

/// A line for each body with an outcome, in the order of time: its failure and where each sum stands after it.
fn of_sums(bodies: &[&Treated], audit: &Audit) -> Vec<Vec<String>> {
    let mut heading = words(&["n", "file", "date", "level", "side", "outcome_state", "p_inside"]);
    for way in Undecided::ALL {
        let way = way.key().trim_start_matches("undecided_");
        heading.extend(["sum", "deterioration", "learning"].map(|what| format!("{way}_{what}")));
    }
    let lines = audit.order.iter().enumerate().filter_map(|(i, &place)| {
        let body = bodies.get(place)?;
        let outcome = body.outcome.as_ref().ok()?;
        let mut line = vec![
            (i + 1).to_string(),
            body.file.clone(),
            body.date.clone(),
            body.level.name(),
            body.side.key().to_owned(),
            outcome.state.key().to_owned(),
            outcome.p_inside.to_string(),
        ];
        for sums in &audit.sums {
            line.extend(
                [&sums.walk, &sums.deterioration, &sums.learning].map(|of| number(of.get(i).copied())),
            );
        }
        Some(line)
    });
    std::iter::once(heading).chain(lines).collect()
}
