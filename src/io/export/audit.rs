//! The audit over many cases as JSON and as a table of bodies; values are not rounded.

use serde_json::{Map, Value, json};

use crate::io::export::json::object;
use crate::io::export::reliability::estimate;
use crate::io::series::Found;
use crate::measure::settings::Rule;
use crate::scene::audit_lines::{NOT_INDEPENDENT, THREE_WAYS, limits};
use crate::stats::agreement::Estimate;
use crate::stats::cusum::Rates;
use crate::study::audit::{Audit, By, Undecided};
use crate::study::series::{self, Treated};

/// Everything as JSON, ending in a line break.
#[must_use]
pub fn json_text(found: &Found, audit: &Audit, rates: &Rates) -> String {
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
        "bodies": found.bodies.iter().map(body).collect::<Vec<_>>(),
        "skipped": found.skipped,
        "shares": shares,
        "differences": differences,
        "tip_error": errors,
        "cusum": cusum(audit, rates),
        "notes": [THREE_WAYS, NOT_INDEPENDENT],
    });
    format!("{whole:#}\n")
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

fn body(body: &Treated) -> Value {
    let value = |value: Option<series::Value>| {
        value.map(|v| json!({ "value": v.value, "sd": v.sd, "low": v.low(), "high": v.high() }))
    };
    let against: Vec<Value> = body
        .against
        .iter()
        .map(|a| {
            json!({
                "rule": a.rule.key(), "band": [a.band.low, a.band.high], "aim": a.band.middle(), "nominal_inside": a.nominal_inside,
                "state": a.state.key(), "p_inside": a.p_inside,
            })
        })
        .collect();
    let outcome = match body.outcome {
        Ok(o) => {
            json!({ "nominal_inside": o.nominal_inside, "state": o.state.key(), "p_inside": o.p_inside })
        }
        Err(_) => Value::Null,
    };
    json!({
        "file": body.file,
        "case": body.title,
        "operator": body.operator,
        "date": body.date,
        "level": body.level.name(),
        "side": body.side.key(),
        "shots": body.shots,
        "depth": value(body.depth),
        "height": value(body.height),
        "midline": value(body.midline),
        "verdicts": against,
        "outcome": outcome,
        "no_outcome": body.outcome.err().map(series::NoOutcome::key),
        "issues": body.issues,
        "lesion_s": body.lesion_s,
        "remarks": body.remarks,
    })
}

/// The bodies as a table, one line each, with a heading.
#[must_use]
pub fn csv_text(bodies: &[Treated]) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    let mut heading: Vec<String> =
        ["file", "case", "operator", "date", "half_year", "level", "side", "shots"]
            .map(str::to_owned)
            .to_vec();
    for rule in Rule::ALL {
        for end in ["", "_sd", "_low", "_high", "_state", "_p_inside"] {
            heading.push(format!("{}{end}", rule.key()));
        }
    }
    heading.extend(
        ["outcome_nominal", "outcome_state", "outcome_p_inside", "no_outcome", "issues"].map(str::to_owned),
    );
    heading.extend(["lesion_s", "remarks"].map(str::to_owned));
    // Writing to memory does not fail, and every line has the same columns.
    let _ = table.write_record(&heading);
    for body in bodies {
        let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
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
            line.push(number(value.map(series::Value::low)));
            line.push(number(value.map(series::Value::high)));
            line.push(against.map_or_else(String::new, |a| a.state.key().to_owned()));
            line.push(number(against.map(|a| a.p_inside)));
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
        let _ = table.write_record(&line);
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}
