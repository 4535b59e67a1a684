//! The plan of a case as JSON: our own addition to what `read --json` prints.

use serde_json::{Value, json};

use crate::case::document::Case;
use crate::case::plan::standing::Standing;
use crate::case::plan::{BodyPlan, Expected, Passage, Plan, SidePlan};
use crate::measure::verdict::State;

/// The plan as one object; shots are named by their ids.
pub(crate) fn plan(case: &Case, plan: &Plan) -> Value {
    let discs: Vec<Value> =
        plan.discs.iter().map(|(above, below)| json!([above.name(), below.name()])).collect();
    json!({
        "complete": plan.is_complete(),
        "discs": discs,
        "unreadable_discs": plan.unreadable_discs,
        "bodies": plan.bodies.iter().map(|of| body(case, of)).collect::<Vec<_>>(),
        "to_sort": ids(case, &plan.to_sort),
    })
}

fn body(case: &Case, body: &BodyPlan) -> Value {
    json!({
        "level": body.level.name(),
        "wanted": body.wanted,
        "complete": body.is_complete(),
        "sides": body.sides.iter().map(|of| side(case, of)).collect::<Vec<_>>(),
        "without_side": ids(case, &body.without_side),
    })
}

fn side(case: &Case, side: &SidePlan) -> Value {
    let count = side.count();
    json!({
        "side": side.side.key(),
        "complete": side.is_complete(),
        "missing": count.missing,
        "unread": count.unread,
        "outside": count.outside,
        "safe_passage": side.passages.iter().map(|of| passage(case, of)).collect::<Vec<_>>(),
        "verdict": side.verdict.map(State::key),
        "expected": side.expected.iter().map(|of| expected(case, of)).collect::<Vec<_>>(),
    })
}

fn passage(case: &Case, passage: &Passage) -> Value {
    let id = |index: usize| case.shots.get(index).map(|shot| shot.id.as_str());
    json!({ "lateral": id(passage.lateral), "ap": id(passage.ap), "state": passage.state.key() })
}

fn expected(case: &Case, expected: &Expected) -> Value {
    json!({
        "stage": expected.stage.key(),
        "view": expected.view.key(),
        "shots": ids(case, &expected.shots),
        "standing": expected.standing.map_or("missing", Standing::key),
    })
}

fn ids<'a>(case: &'a Case, places: &[usize]) -> Vec<&'a str> {
    places.iter().filter_map(|&i| case.shots.get(i)).map(|shot| shot.id.as_str()).collect()
}
