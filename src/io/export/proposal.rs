//! A proposed outline as JSON: the marks with their standard deviations, what speaks for them, or why there are none.

use serde_json::{Map, Value, json};

use crate::geom::point::Point;
use crate::io::export::json::headed;
use crate::measure::mark::{MarkKind, Marks};
use crate::propose::Edge;
use crate::propose::further::Further;
use crate::propose::lateral::Proposal;
use crate::propose::trust::{Parts, Refusal};

/// The outcome of two clicks for a shot, ending in a line break.
#[must_use]
pub fn text(shot: &str, outcome: &Result<Proposal, Refusal>) -> String {
    let value = match outcome {
        Ok(proposal) => proposed(shot, proposal),
        Err(refusal) => refused(shot, refusal),
    };
    format!("{:#}\n", headed("proposal", value))
}

/// What a marked shot gives for a further one, ending in a line break.
#[must_use]
pub fn further_text(shot: &str, outcome: &Result<Further, Refusal>) -> String {
    let mut value = match outcome {
        Ok(Further::Outline(proposal, _)) => proposed(shot, proposal),
        Ok(Further::Copied(copied)) => json!({
            "shot": shot,
            "refused": null,
            "score": null,
            "parts": null,
            "marks": marks(&copied.marks),
            "sd_mm": {},
            "tip": null,
            "shows_twice": [],
            "look_again": copied.look_again.iter().map(|kind| kind.key()).collect::<Vec<_>>(),
        }),
        Err(refusal) => refused(shot, refusal),
    };
    if let Ok(found) = outcome {
        let found = found.registered();
        value["registration"] =
            json!({ "peak": found.peak, "similarity": found.similarity, "uncertain": found.uncertain });
    }
    format!("{:#}\n", headed("proposal", value))
}

fn proposed(shot: &str, proposal: &Proposal) -> Value {
    let sds: Map<String, Value> = Edge::ALL
        .into_iter()
        .map(|edge| {
            let sd = proposal.sds[edge.index()];
            let value = json!({ "across": sd.across, "common": sd.common, "along": sd.along });
            (edge.mark_kind().key().to_owned(), value)
        })
        .collect();
    let tip = match &proposal.tip {
        Ok(tip) => json!({ "point": point(tip.point), "sd_mm": tip.sd_mm, "refused": null }),
        Err(why) => json!({ "point": null, "sd_mm": null,
            "refused": { "code": why.key(), "text": why.text() } }),
    };
    let twice: Vec<&str> = proposal.shows_twice.iter().map(|edge| edge.mark_kind().key()).collect();
    json!({
        "shot": shot,
        "refused": null,
        "score": proposal.score,
        "parts": parts(&proposal.parts),
        "marks": marks(&proposal.marks),
        "sd_mm": sds,
        "tip": tip,
        "shows_twice": twice,
    })
}

fn refused(shot: &str, refusal: &Refusal) -> Value {
    json!({
        "shot": shot,
        "refused": {
            "code": refusal.code.key(),
            "text": refusal.text,
            "border": refusal.border.map(|edge| edge.mark_kind().key()),
        },
        "score": refusal.found.map(|(_, score)| score),
        "parts": refusal.found.map(|(found, _)| parts(&found)),
        "marks": null,
        "sd_mm": null,
        "tip": null,
        "shows_twice": [],
    })
}

fn parts(parts: &Parts) -> Value {
    json!({
        "spread_mm": parts.spread_mm,
        "least_response": parts.least_response,
        "shape_z": parts.shape_z,
        "click_misfit": parts.click_misfit,
        "agreeing": parts.agreeing,
    })
}

fn marks(marks: &Marks) -> Map<String, Value> {
    let all = MarkKind::ALL.into_iter();
    all.filter_map(|kind| {
        let points: Vec<Value> = marks.complete(kind)?.into_iter().map(point).collect();
        Some((kind.key().to_owned(), Value::Array(points)))
    })
    .collect()
}

fn point(p: Point) -> Value {
    json!([p.x, p.y])
}
