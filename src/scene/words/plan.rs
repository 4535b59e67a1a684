//! The plan of a case in words: for the ladder in the window and for the command line.

use crate::case::plan::standing::together;
use crate::case::plan::{EXPECTED, Plan, SidePlan};
use crate::measure::mark::{Level, Side};
use crate::measure::verdict::State;
use crate::scene::format;

/// What the case still needs, in a sentence.
#[must_use]
pub fn summary(plan: &Plan) -> String {
    if plan.discs.is_empty() {
        return "No affected disc is set yet; both bodies adjacent to an affected disc are planned."
            .to_owned();
    }
    if plan.is_complete() {
        return "Complete: every stage of every planned body has been saved and read.".to_owned();
    }
    let wanted = || plan.bodies.iter().filter(|body| body.wanted);
    let untouched: Vec<String> =
        wanted().filter(|body| body.sides.is_empty()).map(|body| body.level.name()).collect();
    // Of a body with shots from both sides, the side that needs less.
    let nearest = wanted().filter_map(|body| {
        body.sides.iter().map(SidePlan::count).min_by_key(|count| count.missing + count.unread)
    });
    let (missing, unread) = nearest.fold((0, 0), |(m, u), count| (m + count.missing, u + count.unread));
    let mut parts = Vec::new();
    if !untouched.is_empty() {
        parts.push(format!("{} without shots", untouched.join(", ")));
    }
    if missing > 0 {
        parts.push(format::count(missing, "view missing", "views missing"));
    }
    if unread > 0 {
        parts.push(format::count(unread, "view not read yet", "views not read yet"));
    }
    format!("Still needed: {}.", parts.join(", "))
}

/// A body's side in one line: `L4, patient's right: 7 of 9 views read, 1 outside, final verdict inside`.
#[must_use]
pub fn side(level: Level, side: Side, plan: Option<&SidePlan>) -> String {
    let name = format::body(level, side);
    let Some(plan) = plan else { return format!("{name}: no shots") };
    let count = plan.count();
    let read = count.expected - count.missing - count.unread;
    let outside = if count.outside > 0 { format!(", {} outside", count.outside) } else { String::new() };
    let verdict = plan.verdict.map_or_else(
        || "no final verdict".to_owned(),
        |state| format!("final verdict {}", format::state(state)),
    );
    let passage = match plan.passage() {
        Some(state @ (State::Outside | State::Undecided)) => {
            format!(", medial breach check {}", format::state(state))
        }
        _ => String::new(),
    };
    format!("{name}: {read} of {} views read{outside}{passage}, {verdict}", count.expected)
}

/// Stage by stage, what is there and how far it has come: `final: AP inside, lateral missing`.
#[must_use]
pub fn stages(plan: &SidePlan) -> Vec<String> {
    EXPECTED
        .iter()
        .map(|(stage, _)| {
            let of = plan.expected.iter().filter(|expected| expected.stage == *stage);
            let parts: Vec<String> = of
                .map(|expected| {
                    let words = expected.standing.map_or("missing", format::standing);
                    format!("{} {words}", format::view(expected.view))
                })
                .collect();
            let passages = plan.passages.iter().filter(|passage| passage.stage == Some(*stage));
            let passage = match together(passages.map(|passage| passage.state)) {
                Some(state) => format!("; medial breach check {}", format::state(state)),
                None => String::new(),
            };
            format!("{}: {}{passage}", format::stage(*stage), parts.join(", "))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::case::plan::plan;
    use crate::case::readings::{Picture, read_case};
    use crate::measure::mark::{Stage, View};

    #[test]
    fn what_is_open_is_said_from_the_first_disc_on() {
        let of = |case: &Case| plan(case, &read_case(case, |_| Picture::NotLookedAt, None));
        let mut case = Case::default();
        assert!(summary(&of(&case)).starts_with("No affected disc"));
        case.discs = vec!["L4-L5".to_owned()];
        assert_eq!(summary(&of(&case)), "Still needed: L4, L5 without shots.");
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        (shot.level, shot.side, shot.stage) = (Some(Level::L4), Some(Side::Right), Some(Stage::Final));
        case.shots.push(shot);
        let plan = of(&case);
        let words = "Still needed: L5 without shots, 8 views missing, 1 view not read yet.";
        assert_eq!(summary(&plan), words);
        let right = plan.body(Level::L4).unwrap().side(Side::Right);
        let words = "L4, patient's right: 0 of 9 views read, no final verdict";
        assert_eq!(side(Level::L4, Side::Right, right), words);
        assert_eq!(side(Level::L4, Side::Left, None), "L4, patient's left: no shots");
        assert_eq!(stages(right.unwrap())[4], "final: AP missing, lateral not marked");
    }
}
