//! A series' treated bodies as JSON. There may be a hundred thousand, so that each is written as it goes, on all cores, and
//! never stands in memory as a tree of values.

use rayon::prelude::*;
use serde::Serialize;

use crate::study::series::{Against, NoOutcome, Treated, ValueSd};

/// Bodies that are written by one core at a time.
const PIECE: usize = 256;

#[derive(Serialize)]
struct BodyMembers<'a> {
    file: &'a str,
    case: &'a str,
    operator: &'a str,
    date: &'a str,
    level: String,
    side: &'static str,
    shots: usize,
    depth: Option<ValueMembers>,
    height: Option<ValueMembers>,
    midline: Option<ValueMembers>,
    true_view: ViewMembers,
    verdicts: Vec<VerdictMembers>,
    outcome: Option<OutcomeMembers>,
    no_outcome: Option<&'static str>,
    issues: &'a [String],
    lesion_s: Option<f64>,
    remarks: &'a str,
}

#[derive(Serialize)]
struct ViewMembers {
    depth: Option<ValueMembers>,
    height: Option<ValueMembers>,
    midline: Option<ValueMembers>,
}

#[derive(Serialize)]
struct ValueMembers {
    value: f64,
    sd: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct VerdictMembers {
    rule: &'static str,
    band: [f64; 2],
    aim: f64,
    nominal_inside: bool,
    state: &'static str,
    p_inside: f64,
    basis: &'static str,
}

#[derive(Serialize)]
struct OutcomeMembers {
    nominal_inside: bool,
    state: &'static str,
    p_inside: f64,
}

impl ValueMembers {
    fn of(value: Option<ValueSd>) -> Option<Self> {
        value.map(|v| Self { value: v.value, sd: v.sd, low: v.low(), high: v.high() })
    }
}

impl VerdictMembers {
    fn of(one: &Against) -> Self {
        Self {
            rule: one.rule.key(),
            band: [one.band.low, one.band.high],
            aim: one.band.middle(),
            nominal_inside: one.nominal_inside,
            state: one.state.key(),
            p_inside: one.p_inside,
            basis: one.basis.key(),
        }
    }
}

impl<'a> BodyMembers<'a> {
    fn of(body: &'a Treated) -> Self {
        let [depth, height, midline] = body.true_view.map(ValueMembers::of);
        Self {
            file: &body.file,
            case: &body.title,
            operator: &body.operator,
            date: &body.date,
            level: body.level.name(),
            side: body.side.key(),
            shots: body.shots,
            depth: ValueMembers::of(body.depth),
            height: ValueMembers::of(body.height),
            midline: ValueMembers::of(body.midline),
            true_view: ViewMembers { depth, height, midline },
            verdicts: body.against.iter().map(VerdictMembers::of).collect(),
            outcome: body.outcome.ok().map(|o| OutcomeMembers {
                nominal_inside: o.nominal_inside,
                state: o.state.key(),
                p_inside: o.p_inside,
            }),
            no_outcome: body.outcome.err().map(NoOutcome::key),
            issues: &body.issues,
            lesion_s: body.lesion_s,
            remarks: &body.remarks,
        }
    }
}

/// How a list that is a member of the outermost object begins and ends, where it has something in it.
const BEGINS: &str = "{\n  \"bodies\": [\n";
const ENDS: &str = "\n  ]\n}";

/// Puts the bodies into the whole, which has an empty list of them; both are indented as one.
pub(super) fn with_bodies(whole: &str, bodies: &[&Treated]) -> String {
    let piece = |some: &[&Treated]| {
        let members: Vec<BodyMembers<'_>> = some.iter().map(|body| BodyMembers::of(body)).collect();
        // Numbers and text cannot fail to be written.
        let text = serde_json::to_string_pretty(&std::collections::BTreeMap::from([("bodies", members)]))
            .unwrap_or_default();
        text.strip_prefix(BEGINS).and_then(|text| text.strip_suffix(ENDS)).unwrap_or_default().to_owned()
    };
    let pieces: Vec<String> = bodies.par_chunks(PIECE).map(piece).collect();
    let Some((before, after)) = whole.split_once("\n  \"bodies\": []").filter(|_| !pieces.is_empty()) else {
        return whole.to_owned();
    };
    let size = whole.len() + pieces.iter().map(|piece| piece.len() + 2).sum::<usize>() + 32;
    let mut text = String::with_capacity(size);
    text.push_str(before);
    text.push_str("\n  \"bodies\": [\n");
    for (i, piece) in pieces.iter().enumerate() {
        if i > 0 {
            text.push_str(",\n");
        }
        text.push_str(piece);
    }
    text.push_str("\n  ]");
    text.push_str(after);
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};

    fn body(i: usize) -> Treated {
        Treated {
            file: format!("{i}.case.json"),
            title: "A “title”\n  \"bodies\": []".to_owned(),
            operator: "R1".to_owned(),
            date: "2026-01-11".to_owned(),
            level: Level::L4,
            side: Side::Left,
            lesion_s: None,
            remarks: String::new(),
            shots: i,
            origins: [0; 3],
            depth: Some(ValueSd { value: 0.1 + 0.2, sd: 1e-9 }),
            height: None,
            midline: Some(ValueSd { value: f64::NAN, sd: 3.0 }),
            true_view: [None; 3],
            against: Vec::new(),
            outcome: Err(NoOutcome::ALL[0]),
            issues: vec!["tip_outside".to_owned()],
        }
    }

    /// The same text as a tree of values gives, however many pieces it is written in.
    #[test]
    fn it_is_the_text_of_the_tree() {
        for count in [0, 1, 2, PIECE, 2 * PIECE + 7] {
            let all: Vec<Treated> = (0..count).map(body).collect();
            let bodies: Vec<&Treated> = all.iter().collect();
            let tree: Vec<serde_json::Value> =
                all.iter().map(|one| serde_json::to_value(BodyMembers::of(one)).unwrap()).collect();
            let with = |list: &[serde_json::Value]| {
                format!(
                    "{:#}\n",
                    serde_json::json!({ "files": 3, "bodies": list, "skipped": ["\n  \"bodies\": []"] })
                )
            };
            assert_eq!(with_bodies(&with(&[]), &bodies), with(&tree), "{count}");
        }
    }
}
