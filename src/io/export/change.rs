//! Changes between shots and the runs of levels as JSON; values are not rounded.

use serde_json::{Map, Value, json};

use crate::case::document::Case;
use crate::case::plan::runs::LevelRun;
use crate::geom::circle::Circle;
use crate::geom::point::Point;
use crate::io::export::json::{headed, issue, length, object, quantity};
use crate::measure::ahead::Ahead;
use crate::measure::compare::{Change, LengthChange, Position, ShotChange};
use crate::measure::mark::{Level, View};
use crate::measure::quantity::Quantity;
use crate::measure::run::{AtWall, NoLine};
use crate::scene::comparison::Comparison;
use crate::scene::comparison::refined::Refined;
use crate::scene::words::tip_path;

/// The comparison, ending in a line break.
#[must_use]
pub fn text(case: &Case, compared: &Comparison) -> String {
    format!("{:#}\n", headed("comparison", Value::Object(members(case, compared))))
}

/// The comparison with what the pictures say of it, ending in a line break. `accepted` is the comparison in which the
/// change by the refined registration stands in the place of that by the marks, where the user wants that and it is trusted.
#[must_use]
pub fn refined_text(
    case: &Case,
    by_marks: &Comparison,
    refined: &Refined,
    accepted: Option<&Comparison>,
) -> String {
    let found = &refined.refinement;
    let along = by_marks.along_name(case);
    let change_of = |change: &ShotChange| {
        let mut part = Map::new();
        part.insert(format!("{along}_change"), maybe(change.along.as_ref()));
        part.insert("height_change".to_owned(), maybe(change.height.as_ref()));
        part.insert("mm".to_owned(), millimetres(change, along));
        Value::Object(part)
    };
    let mut members = members(case, accepted.unwrap_or(by_marks));
    let refinement = json!({
        "trusted": found.refusal.is_none(),
        "refusal": found.refusal.map(|why| json!({ "code": why.key(), "text": why.text() })),
        "accepted": accepted.is_some(),
        "moved": found.moved.map(|moved| json!({
            "median_px": moved.median_px,
            "farthest_px": moved.farthest_px,
            "median_mm": moved.median_mm,
            "farthest_mm": moved.farthest_mm,
        })),
        "similarity": found.similarity.map(|[by_marks, refined]| json!({ "by_marks": by_marks, "refined": refined })),
        "by_marks": change_of(&by_marks.change),
        "refined": refined.change.as_ref().map(change_of),
    });
    members.insert("refinement".to_owned(), refinement);
    format!("{:#}\n", headed("comparison", Value::Object(members)))
}

fn millimetres(change: &ShotChange, along: &str) -> Value {
    let mm = |mm: &LengthChange| json!({ along: length(&mm.along), "height": length(&mm.height) });
    change.mm.as_ref().map_or(Value::Null, mm)
}

fn members(case: &Case, compared: &Comparison) -> Map<String, Value> {
    let [from, to] = compared.shots.map(|at| &case.shots[at]);
    let found = &compared.change;
    let along = compared.along_name(case);
    let mut members = object(json!({
        "case": case.title,
        "from": from.id,
        "to": to.id,
        "view": from.view.key(),
        "level": from.level.or(to.level).map(Level::name),
        "one_position": compared.position == Position::Shared,
    }));
    members.insert(format!("{along}_change"), maybe(found.along.as_ref()));
    members.insert("height_change".to_owned(), maybe(found.height.as_ref()));
    if from.view == View::Ap {
        members.insert(
            "midline_change".to_owned(),
            midline(found.midline.as_ref().map(|(by, c)| (by.key(), c))),
        );
    }
    members.insert("mm".to_owned(), millimetres(found, along));
    members.insert("pairs".to_owned(), pairs(case, compared));
    let xy = |p: Point| json!([p.x, p.y]);
    let arrow = compared.arrow.map(|[from, to]| json!({ "picture": "to", "from": xy(from), "to": xy(to) }));
    members.insert("arrow".to_owned(), arrow.unwrap_or(Value::Null));
    let [first, second] =
        compared.issues.each_ref().map(|list| list.iter().map(issue).collect::<Vec<Value>>());
    members.insert("issues".to_owned(), json!({ "from": first, "to": second }));
    members.insert("notes".to_owned(), json!(compared.notes));
    members
}

fn pairs(case: &Case, compared: &Comparison) -> Value {
    let Some((places, change)) = &compared.pairs else { return Value::Null };
    let [from, to] = places.map(|pair| pair_of(case, pair));
    json!({
        "from": from,
        "to": to,
        "depth_change": maybe(change.depth.as_ref()),
        "across_change": maybe(change.across.as_ref()),
        "height_change": maybe(change.height.as_ref()),
        "midline_change": midline(change.midline.as_ref().map(|(by, c)| (by.key(), c))),
    })
}

fn pair_of(case: &Case, (lateral, ap): (usize, usize)) -> Value {
    json!({ "lateral": case.shots[lateral].id, "ap": case.shots[ap].id })
}

fn change(change: &Change) -> Value {
    let mut value = quantity(&change.quantity);
    value["moved"] = change.moved.key().into();
    if change.view_unknown {
        value["view_unknown"] = true.into();
    }
    value
}

fn maybe(found: Option<&Change>) -> Value {
    found.map_or(Value::Null, change)
}

fn midline(found: Option<(&str, &Change)>) -> Value {
    let Some((by, found)) = found else { return Value::Null };
    let mut members: Map<String, Value> = object(json!({ "by": by }));
    members.extend(object(change(found)));
    Value::Object(members)
}

/// The curve ahead, ending in a line break; `circle` is the one that a visible curve gave the radius.
#[must_use]
pub fn curve_text(shot: &str, radius_mm: f64, circle: Option<Circle>, found: &Ahead) -> String {
    let whole = json!({
        "shot": shot,
        "radius_mm": radius_mm,
        "circle": circle.map(|c| json!({ "centre": [c.centre.x, c.centre.y], "radius_px": c.radius })),
        "mm_per_px": found.mm_per_px,
        "scale_assumed": found.scale_assumed,
        "course": found.course.iter().map(|p| json!([p.x, p.y])).collect::<Vec<_>>(),
        "end": found.end.map(|end| json!({ "depth": end.along, "height": end.height })),
    });
    format!("{:#}\n", headed("curve", whole))
}

/// The runs of a case, for its readings.
pub(crate) fn runs(case: &Case, runs: &[LevelRun]) -> Value {
    runs.iter().map(|run| level_run(case, run)).collect()
}

fn level_run(case: &Case, found: &LevelRun) -> Value {
    let steps: Vec<Value> = found
        .run
        .steps
        .iter()
        .zip(found.pairs.windows(2))
        .map(|(step, pair)| {
            json!({
                "from": pair_of(case, pair[0]),
                "to": pair_of(case, pair[1]),
                "toward_front": quantity(&step.toward_front),
                "toward_midline": quantity(&step.toward_midline),
                "ratio": step.ratio.as_ref().map(quantity),
                "text": tip_path::step(step),
            })
        })
        .collect();
    let [wall, midline] = tip_path::line_ahead(&found.run);
    json!({
        "level": found.level.name(),
        "side": found.side.key(),
        "pairs": found.pairs.iter().map(|pair| pair_of(case, *pair)).collect::<Vec<_>>(),
        "steps": steps,
        "posterior_wall": at_wall(&found.run.at_wall, &wall),
        "midline": at_midline(&found.run.at_midline, &midline),
    })
}

fn at_wall(found: &Result<AtWall, NoLine>, text: &str) -> Value {
    let (to_medial_border, side) = match found {
        Ok(wall) => (quantity(&wall.to_medial_border), json!(wall.side.key())),
        Err(_) => (Value::Null, Value::Null),
    };
    json!({ "to_medial_border": to_medial_border, "side": side, "text": text })
}

fn at_midline(found: &Result<Quantity, NoLine>, text: &str) -> Value {
    json!({ "depth": found.as_ref().ok().map(quantity), "text": text })
}
