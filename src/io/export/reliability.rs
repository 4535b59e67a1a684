//! Reliability as JSON. The members of the main comparison stand at the top, all comparisons under `comparisons`.

use serde_json::{Map, Value, json};

use crate::io::export::json::{headed, object};
use crate::scene::repeatability::reliability::{SOURCES, table_fault, undefined, words};
use crate::stats::agreement::{Agreement, Estimate, Limit};
use crate::stats::repeatability::Sem;
use crate::study::repeatability::{Compared, PairOf, RaterComparison, Report};

/// The report, ending in a line break.
#[must_use]
pub fn text(report: &Report) -> String {
    format!("{:#}\n", headed("reliability", Value::Object(members(report))))
}

/// The report's members.
pub(crate) fn members(report: &Report) -> Map<String, Value> {
    let mut members = object(json!({
        "subjects": report.subjects.len(),
        "raters": report.raters,
        "rounds": report.rounds,
    }));
    let comparisons: Vec<Map<String, Value>> = report.comparisons.iter().map(comparison).collect();
    members.extend(comparisons.first().cloned().unwrap_or_default());
    members.insert(
        "repeated".to_owned(),
        report.within_subject.map_or(
            Value::Null,
            |(sd, df)| json!({ "within_subject_sd": sd, "degrees_of_freedom": df, "mdc95": Sem::of(sd).mdc95 }),
        ),
    );
    members.insert("means_of_rounds".to_owned(), report.means.iter().map(pair).collect());
    members.insert("comparisons".to_owned(), comparisons.into_iter().map(Value::Object).collect());
    let sources: Map<String, Value> =
        SOURCES.iter().map(|(what, source)| ((*what).to_owned(), json!(source))).collect();
    members.insert("sources".to_owned(), Value::Object(sources));
    members
}

fn comparison(comparison: &RaterComparison) -> Map<String, Value> {
    let (of, name) = match &comparison.of {
        Compared::Raters { round } => ("raters", round),
        Compared::Rounds { rater } => ("rounds", rater),
    };
    let mut members = object(json!({
        "compared": of,
        "columns": comparison.columns,
        "n": comparison.complete,
        "k": comparison.columns.len(),
        "left_out": comparison.left_out,
    }));
    members.insert(if of == "raters" { "round" } else { "rater" }.to_owned(), json!(name));
    let first = comparison.pairs.first().and_then(|pair| pair.agreement.as_ref());
    members.insert("bias".to_owned(), first.map_or(Value::Null, |found| estimate(&found.bias)));
    members.insert("limits_of_agreement".to_owned(), first.map_or(Value::Null, limits));
    members.insert("pairs".to_owned(), comparison.pairs.iter().map(pair).collect());
    match &comparison.reliability {
        Ok(found) => {
            let icc: Map<String, Value> = found
                .icc
                .iter()
                .map(|(form, found)| {
                    let value = match found {
                        Ok(icc) => json!({
                            "value": icc.value,
                            "low": icc.interval.map(|(low, _)| low),
                            "high": icc.interval.map(|(_, high)| high),
                            "words": words(icc),
                        }),
                        Err(reason) => {
                            json!({ "value": null, "low": null, "high": null, "reason": undefined(*reason) })
                        }
                    };
                    (form.key().to_owned(), value)
                })
                .collect();
            let ms = &found.mean_squares;
            members.extend(object(json!({
                "icc": icc,
                "mean_squares": {
                    "between": ms.between, "within": ms.within, "raters": ms.raters, "error": ms.error,
                },
                "within_subject_sd": ms.within.sqrt(),
                "sem": { "agreement": found.agreement.sem, "consistency": found.consistency.sem },
                "mdc95": { "agreement": found.agreement.mdc95, "consistency": found.consistency.mdc95 },
            })));
        }
        Err(fault) => {
            members.extend(object(json!({
                "icc": null,
                "mean_squares": null,
                "within_subject_sd": null,
                "sem": null,
                "mdc95": null,
                "reason": table_fault(*fault),
            })));
        }
    }
    members
}

fn pair(pair: &PairOf) -> Value {
    let found = pair.agreement.as_ref();
    json!({
        "first": pair.first,
        "second": pair.second,
        "n": found.map(|found| found.n),
        "bias": found.map(|found| estimate(&found.bias)),
        "sd": found.map(|found| found.sd),
        "corrected_sd": pair.corrected_sd,
        "limits_of_agreement": found.map(limits),
    })
}

fn limits(found: &Agreement) -> Value {
    let limit = |limit: &Limit| {
        json!({
            "value": limit.value,
            "low": limit.exact.0,
            "high": limit.exact.1,
            "approximate": { "low": limit.approximate.0, "high": limit.approximate.1 },
        })
    };
    json!({ "lower": limit(&found.lower), "upper": limit(&found.upper) })
}

/// A value with its interval.
pub(crate) fn estimate(estimate: &Estimate) -> Value {
    json!({ "value": estimate.value, "low": estimate.low, "high": estimate.high })
}
