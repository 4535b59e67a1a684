//! The audit over many cases in words: tables of shares and errors, and what the cumulative sums and their limits mean.

use crate::measure::settings::Rule;
use crate::scene::format;
use crate::stats::agreement::Estimate;
use crate::stats::cusum::{Rates, run_length};
use crate::study::audit::{Audit, By, Difference, Share, Sums, TipError, Undecided};

/// What must be said beside every difference of shares.
pub const NOT_INDEPENDENT: &str = "Differences are by Newcombe's interval for independent groups. Bodies of one patient are \
    not independent of each other, so the true intervals are wider than these.";
/// How undecided bodies are counted.
pub const THREE_WAYS: &str = "Undecided bodies are counted three ways: as hits, as misses, and by their probability. The true share lies between the first two. Probabilities for several target ranges are multiplied, as if their errors were independent.";

/// A share with its interval: `72 % (64 to 79 %)`.
#[must_use]
pub fn share(estimate: &Estimate) -> String {
    format!(
        "{} ({} to {})",
        format::percent(estimate.value),
        format::percent(estimate.low),
        format::percent(estimate.high)
    )
}

/// All of it, line by line.
#[must_use]
pub fn lines(audit: &Audit, rates: &Rates) -> Vec<String> {
    let mut lines = Vec::new();
    if audit.shares.is_empty() {
        lines.push(
            "No body has a final reading in both views yet, so there are no proportions to show.".to_owned(),
        );
    } else {
        lines.push(
            "Proportion of bodies with the final tip in the target, with Wilson 95 % interval".to_owned(),
        );
        lines.push(format!(
            "  {:<24} {:>4} {:>4} {:>4} {:>4}  {:<22} {:<22} {}",
            "", "n", "in", "out", "?", "undecided as hits", "as misses", "by probability"
        ));
        lines.extend(audit.shares.iter().map(share_line));
        lines.push(THREE_WAYS.to_owned());
    }
    if !audit.differences.is_empty() {
        lines.push(String::new());
        lines.push("Differences between proportions, undecided by probability".to_owned());
        lines.extend(audit.differences.iter().map(difference_line));
        lines.push(NOT_INDEPENDENT.to_owned());
    }
    if !audit.errors.is_empty() {
        lines.push(String::new());
        lines.push("Distance of the tip from the center of the target range".to_owned());
        lines.extend(audit.errors.iter().map(error_line));
    }
    if !audit.order.is_empty() {
        lines.push(String::new());
        lines.extend(sums_lines(audit, rates));
    }
    lines
}

/// What a group is called: `operator R1`, `from the right`.
#[must_use]
pub fn group(by: By, group: &str) -> String {
    let group = if group.is_empty() { "not set" } else { group };
    match by {
        By::All => "all".to_owned(),
        By::Level => group.to_owned(),
        By::Side => format!("from the {group}"),
        By::Operator => format!("operator {group}"),
        By::HalfYear => group.to_owned(),
    }
}

fn share_line(one: &Share) -> String {
    let [a, b, c] = one.share.each_ref().map(share);
    format!(
        "  {:<24} {:>4} {:>4} {:>4} {:>4}  {a:<22} {b:<22} {c}",
        group(one.by, &one.group),
        one.n,
        one.inside,
        one.outside,
        one.undecided
    )
}

/// A difference in two parts, of what and how much, undecided bodies by their probability: `2026 H2 minus 2026 H1` and
/// `+12 % (−4 % to +27 %)`.
#[must_use]
pub fn difference_cells(one: &Difference) -> [String; 2] {
    let difference = &one.difference[2];
    let second = if one.second == "all others" { one.second.clone() } else { group(one.by, &one.second) };
    [
        format!("{} minus {second}", group(one.by, &one.first)),
        format!(
            "{} ({} to {})",
            format::signed_percent(difference.value),
            format::signed_percent(difference.low),
            format::signed_percent(difference.high)
        ),
    ]
}

fn difference_line(one: &Difference) -> String {
    let [what, much] = difference_cells(one);
    format!("  {what}: {much}")
}

/// Which way an error of the tip is.
#[must_use]
pub fn error_way(rule: Rule, error: f64) -> &'static str {
    match (rule, error < 0.0) {
        (Rule::Depth, false) => "too far anterior",
        (Rule::Depth, true) => "too far posterior",
        (Rule::Height, false) => "too far inferior",
        (Rule::Height, true) => "too far superior",
        (Rule::Midline, false) => "past the midline",
        (Rule::Midline, true) => "short of the midline",
    }
}

/// An error of the tip in parts: when, which coordinate, how many bodies, its mean with interval, which way that is, its
/// standard deviation.
#[must_use]
pub fn error_cells(one: &TipError) -> [String; 6] {
    // A direction is said only where the interval leaves no other.
    let way = match one.interval {
        Some((low, high)) if low > 0.0 || high < 0.0 => error_way(one.rule, one.mean),
        Some(_) => "no clear direction",
        None => "too few to tell",
    };
    let interval = one.interval.map_or(String::new(), |(low, high)| {
        format!(" (95 %: {} to {})", format::signed_percent(low), format::signed_percent(high))
    });
    [
        one.group.clone(),
        one.rule.key().to_owned(),
        one.n.to_string(),
        format!("{}{interval}", format::signed_percent(one.mean)),
        way.to_owned(),
        one.sd.map_or_else(String::new, format::percent),
    ]
}

fn error_line(one: &TipError) -> String {
    let [when, rule, n, mean, way, sd] = error_cells(one);
    let sd = if sd.is_empty() { sd } else { format!(", SD {sd}") };
    format!("  {when:<10} {rule:<8} mean {mean}, {way}{sd}, n = {n}")
}

/// What the limits are, in words.
#[must_use]
pub fn limits(rates: &Rates) -> [String; 2] {
    let limits = rates.limits();
    let threshold = rates.threshold();
    let [good, bad] = [rates.acceptable, rates.unacceptable].map(|rate| run_length(rates, threshold, rate));
    [
        format!(
            "Decision limits: each tip outside the target adds {}, each tip inside subtracts {}. Above {} the miss rate is called too high ({} rather than {}), below {} acceptable; if the other rate is the true one, this happens by chance in {} and {} of series.",
            format::coefficient(1.0 - limits.s),
            format::coefficient(limits.s),
            format::coefficient(limits.h1),
            format::percent(rates.unacceptable),
            format::percent(rates.acceptable),
            format::coefficient(-limits.h0),
            format::percent(rates.alpha),
            format::percent(rates.beta)
        ),
        format!(
            "Likelihood ratio chart: it never falls below zero and signals above {}. At a true miss rate of {} it signals by chance about once in {} bodies; at {} it takes about {} bodies on average.",
            format::coefficient(threshold),
            format::percent(rates.acceptable),
            format::rounded(good),
            format::percent(rates.unacceptable),
            format::rounded(bad)
        ),
    ]
}

fn sums_lines(audit: &Audit, rates: &Rates) -> Vec<String> {
    let mut lines = vec![format!(
        "Cumulative sums over {} in chronological order",
        format::count(audit.order.len(), "body", "bodies")
    )];
    lines.extend(audit.sums.iter().map(|sums| sums_line(sums, rates)));
    lines.extend(limits(rates));
    lines
}

fn sums_line(sums: &Sums, rates: &Rates) -> String {
    let limits = rates.limits();
    let last = |list: &[f64]| list.last().map_or_else(String::new, |x| format::coefficient(*x));
    let first = |found: Option<usize>, words: &str| {
        found.map_or(String::new(), |at| format!("; {words} first at body {}", at + 1))
    };
    let threshold = rates.threshold();
    let what = match sums.undecided {
        Undecided::AsIn => "undecided as hits",
        Undecided::AsOut => "undecided as misses",
        Undecided::ByProbability => "by probability",
    };
    format!(
        "  {what}: sum {}{}{}; chart {}{}; improvement chart {}{}",
        last(&sums.walk),
        first(sums.walk.iter().position(|x| *x >= limits.h1), "above the upper limit"),
        first(sums.walk.iter().position(|x| *x <= -limits.h0), "below the lower limit"),
        last(&sums.deterioration),
        first(sums.deterioration.iter().position(|x| *x > threshold), "signals too many misses"),
        last(&sums.learning),
        first(sums.learning.iter().position(|x| *x > threshold), "signals an acceptable miss rate"),
    )
}
