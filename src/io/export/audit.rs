//! The audit over many cases as JSON, values not rounded, and on paper.

use serde_json::{Map, Value, json};

use crate::io::export::audit_body::with_bodies;
use crate::io::export::json::{headed, object};
use crate::io::export::reliability::estimate;
use crate::io::export::{ExportError, PageFormat, page_bytes, pdf};
use crate::io::series::FoundFiles;
use crate::scene::drawing::theme::Theme;
use crate::scene::report::series::{Plot, SeriesReport, pages, plot_page};
use crate::scene::words::audit::{NOT_INDEPENDENT, THREE_WAYS, limits};
use crate::stats::agreement::Estimate;
use crate::stats::cusum::Rates;
use crate::study::audit::{Audit, By, Undecided};
use crate::study::series::Treated;

/// Everything as JSON, ending in a line break. `bodies` are those that the audit is of, in its order.
#[must_use]
pub fn json_text(found: &FoundFiles, bodies: &[&Treated], audit: &Audit, rates: &Rates) -> String {
    let named = |by: By| json!(by.key());
    let shares: Vec<Value> = audit
        .shares
        .iter()
        .map(|share| {
            let mut members = object(json!({
                "by": named(share.by), "group": share.group, "n": share.n,
                "inside": share.inside, "outside": share.outside, "undecided": share.undecided,
            }));
            members.extend(three(&share.share));
            Value::Object(members)
        })
        .collect();
    let differences: Vec<Value> = audit
        .differences
        .iter()
        .map(|one| {
            let mut members =
                object(json!({ "by": named(one.by), "first": one.first, "second": one.second }));
            members.extend(three(&one.difference));
            Value::Object(members)
        })
        .collect();
    let errors: Vec<Value> = audit
        .errors
        .iter()
        .map(|one| {
            json!({
                "group": one.group, "rule": one.rule.key(), "n": one.n, "mean": one.mean,
                "low": one.interval.map(|(low, _)| low), "high": one.interval.map(|(_, high)| high), "sd": one.sd,
            })
        })
        .collect();
    let whole = json!({
        "files": found.files.len(),
        "bodies": [],
        "skipped": found.skipped_sentences(),
        "shares": shares,
        "differences": differences,
        "tip_error": errors,
        "cusum": cusum(audit, rates),
        "notes": [THREE_WAYS, NOT_INDEPENDENT],
    });
    with_bodies(&format!("{:#}\n", headed("series", whole)), bodies)
}

fn three(estimates: &[Estimate; 3]) -> Map<String, Value> {
    Undecided::ALL.iter().zip(estimates).map(|(way, found)| (way.key().to_owned(), estimate(found))).collect()
}

fn cusum(audit: &Audit, rates: &Rates) -> Value {
    let found = rates.limits();
    let mut members = object(json!({
        "acceptable": rates.acceptable,
        "unacceptable": rates.unacceptable,
        "alpha": rates.alpha,
        "beta": rates.beta,
        "s": found.s,
        "lower_limit": -found.h0,
        "upper_limit": found.h1,
        "threshold": rates.threshold(),
        "order": audit.order,
        "text": limits(rates),
    }));
    for sums in &audit.sums {
        members.insert(
            sums.undecided.key().to_owned(),
            json!({ "sum": sums.walk, "deterioration": sums.deterioration, "learning": sums.learning }),
        );
    }
    Value::Object(members)
}

/// The series on paper.
///
/// # Errors
/// A page that cannot be drawn.
pub fn pdf_bytes(told: &SeriesReport<'_>) -> Result<Vec<u8>, ExportError> {
    pdf::document(&pages(told), &Theme::light())
}

/// One plot by itself.
///
/// # Errors
/// A page that cannot be drawn.
pub fn plot_bytes(
    told: &SeriesReport<'_>,
    plot: Plot,
    format: PageFormat,
    theme: &Theme,
) -> Result<Vec<u8>, ExportError> {
    page_bytes(&plot_page(told, plot), theme, format)
}
