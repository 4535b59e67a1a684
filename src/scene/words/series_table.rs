//! The table of bodies treated in words: headings, cells, and what a body's standing is called.

use crate::measure::settings::Rule;
use crate::measure::verdict::State;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::study::selection::{Column, Filter, Standing};
use crate::study::series::{Coordinate, NoOutcome, Treated};

/// What is said where a word is missing.
pub const NOT_SAID: &str = "not set";

/// A column's heading.
#[must_use]
pub const fn heading(column: Column) -> &'static str {
    match column {
        Column::Date => "Date",
        Column::Operator => "Operator",
        Column::Level => "Level",
        Column::Side => "Side",
        Column::Outcome => "Target",
        Column::Depth => "Depth",
        Column::Height => "Height",
        Column::Midline => "Midline",
        Column::Issues => "Issues",
        Column::Lesion => "Lesion",
        Column::Shots => "Shots",
        Column::Proposed => "Proposed",
        Column::Case => "Case",
        Column::File => "File",
    }
}

/// What a column holds, in a sentence.
#[must_use]
pub const fn explanation(column: Column) -> &'static str {
    match column {
        Column::Date => "Case date.",
        Column::Operator => "Operator code.",
        Column::Level => "The vertebra.",
        Column::Side => "The patient's side of entry.",
        Column::Outcome => "Whether the final tip is inside the target, all ranges combined.",
        Column::Depth => "Final depth, 0 % at the posterior wall, with its 95 % interval.",
        Column::Height => "Final height, 0 % at the superior endplate, with its 95 % interval.",
        Column::Midline => {
            "Final offset from the midline, negative when short of it, with its 95 % interval."
        }
        Column::Issues => "Cautions on the final shots.",
        Column::Lesion => "Lesion time, where entered.",
        Column::Shots => "Number of shots of the body.",
        Column::Proposed => "How many of its marks were accepted as proposed, of all that are placed.",
        Column::Case => "Case title.",
        Column::File => "Case file, relative to the selected folder.",
    }
}

/// What a standing is called.
#[must_use]
pub const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Inside => "inside the target",
        Standing::Undecided => "too close to call",
        Standing::Outside => "outside the target",
        Standing::Without => "no outcome",
    }
}

/// The sign and role of a standing.
#[must_use]
pub const fn standing_sign(standing: Standing) -> (Role, Glyph) {
    state_sign(match standing {
        Standing::Inside => State::Inside,
        Standing::Undecided => State::Undecided,
        Standing::Outside => State::Outside,
        Standing::Without => State::NotShown,
    })
}

/// Why a body has no outcome.
#[must_use]
pub const fn no_outcome(why: NoOutcome) -> &'static str {
    match why {
        NoOutcome::NoFinalShot => "no final shot",
        NoOutcome::OneView => "one view only",
        NoOutcome::NotRead => "not read",
        NoOutcome::NoTarget => "no target",
    }
}

/// An issue's code in words: `body cut off`.
#[must_use]
pub fn issue(code: &str) -> String {
    code.replace('_', " ")
}

/// What stands in a cell; empty where there is nothing.
#[must_use]
pub fn cell(body: &Treated, column: Column) -> String {
    match column {
        Column::Date => body.date.clone(),
        Column::Operator => body.operator.clone(),
        Column::Level => body.level.name(),
        Column::Side => format::side(body.side).to_owned(),
        Column::Outcome => match &body.outcome {
            Ok(_) => standing(Standing::of(body)).to_owned(),
            Err(why) => no_outcome(*why).to_owned(),
        },
        Column::Depth => body.used(Rule::Depth).map(value).unwrap_or_default(),
        Column::Height => body.used(Rule::Height).map(value).unwrap_or_default(),
        Column::Midline => body.used(Rule::Midline).map(signed).unwrap_or_default(),
        Column::Issues => body.issues.iter().map(|code| issue(code)).collect::<Vec<_>>().join(", "),
        Column::Lesion => body.lesion_s.map(format::seconds).unwrap_or_default(),
        Column::Shots => body.shots.to_string(),
        Column::Proposed => proposed(body),
        Column::Case => body.title.clone(),
        Column::File => body.file.clone(),
    }
}

/// How many marks were accepted as proposed, of all; empty where nothing was ever proposed.
fn proposed(body: &Treated) -> String {
    let [by_hand, proposed, moved] = body.origins;
    if proposed + moved == 0 {
        return String::new();
    }
    format!("{proposed} of {}", by_hand + proposed + moved)
}

/// How a value stands to its band, where it has one.
#[must_use]
pub fn state_of(body: &Treated, rule: Rule) -> Option<State> {
    body.against.iter().find(|against| against.rule == rule).map(|against| against.state)
}

/// What a filter lets through, in words; `None` where that is everything.
#[must_use]
pub fn filter_words(filter: &Filter) -> Option<String> {
    let said = |text: &String| if text.is_empty() { NOT_SAID.to_owned() } else { text.clone() };
    let parts: Vec<String> = [
        filter.level.map(|level| format!("level {}", level.name())),
        filter.side.map(|side| format!("entered from the {}", format::side(side))),
        filter.operator.as_ref().map(|operator| format!("operator {}", said(operator))),
        filter.half_year.as_ref().map(|half_year| format!("half-year {}", said(half_year))),
        filter.standing.map(|one| standing(one).to_owned()),
        Some(filter.text.trim()).filter(|text| !text.is_empty()).map(|text| format!("with “{text}”")),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// A body in a few words, for those who hear the table: `L4 right, 2026-02-03, operator R1: in target`.
#[must_use]
pub fn row_words(body: &Treated) -> String {
    let mut words = format!("{} {}", body.level.name(), format::side(body.side));
    for part in [body.date.clone(), operator(&body.operator)] {
        if !part.is_empty() {
            words.push_str(&format!(", {part}"));
        }
    }
    format!("{words}: {}", cell(body, Column::Outcome))
}

fn operator(code: &str) -> String {
    if code.is_empty() { String::new() } else { format!("operator {code}") }
}

/// A value with its interval: `38 % (35 to 41)`.
fn value(value: Coordinate) -> String {
    let number = |x: f64| format::rounded(100.0 * x);
    format!("{} ({} to {})", format::percent(value.value), number(value.low()), number(value.high()))
}

/// The same with signs: `+4 % (−2 to +10)`.
fn signed(value: Coordinate) -> String {
    let number = |x: f64| format::signed_percent(x).trim_end_matches(" %").to_owned();
    format!("{} ({} to {})", format::signed_percent(value.value), number(value.low()), number(value.high()))
}

/// A value with the half-width of its interval, at least 1, for narrow columns: `38 % ± 3`.
#[must_use]
pub fn short(value: Coordinate) -> String {
    format!("{} ± {}", format::percent(value.value), half(value))
}

/// The same with a sign: `+4 % ± 6`.
#[must_use]
pub fn short_signed(value: Coordinate) -> String {
    format!("{} ± {}", format::signed_percent(value.value), half(value))
}

fn half(value: Coordinate) -> String {
    format::rounded((50.0 * (value.high() - value.low())).max(1.0))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};
    use crate::study::series::Outcome;

    pub(crate) fn body() -> Treated {
        Treated {
            lesion_s: Some(900.0),
            remarks: String::new(),
            file: "a/1.case.json".to_owned(),
            title: "One".to_owned(),
            operator: "R1".to_owned(),
            date: "2026-02-03".to_owned(),
            level: Level::L4,
            side: Side::Right,
            shots: 8,
            origins: [2, 12, 1],
            depth: Some(Coordinate { value: 0.38, sd: 0.0153 }),
            height: Some(Coordinate { value: 0.5, sd: 0.02 }),
            midline: Some(Coordinate { value: -0.04, sd: 0.02 }),
            true_view: [None; 3],
            against: Vec::new(),
            outcome: Ok(Outcome { nominal_inside: true, state: State::Inside, p_inside: 0.97 }),
            issues: vec!["body_cut_off".to_owned(), "too_uncertain".to_owned()],
        }
    }

    #[test]
    fn cells_in_words() {
        let said: Vec<String> = Column::ALL.iter().map(|column| cell(&body(), *column)).collect();
        assert_eq!(
            said,
            [
                "2026-02-03",
                "R1",
                "L4",
                "right",
                "inside the target",
                "38 % (35 to 41)",
                "50 % (46 to 54)",
                "−4 % (−8 to 0)",
                "body cut off, too uncertain",
                "900 s",
                "8",
                "12 of 15",
                "One",
                "a/1.case.json"
            ]
        );
        assert_eq!(short(body().depth.unwrap()), "38 % ± 3");
        assert_eq!(short_signed(body().midline.unwrap()), "−4 % ± 4");
        assert_eq!(row_words(&body()), "L4 right, 2026-02-03, operator R1: inside the target");
    }

    #[test]
    fn filters_in_words() {
        let filter = Filter {
            level: Some(Level::L5),
            operator: Some(String::new()),
            standing: Some(Standing::Outside),
            text: " far ".to_owned(),
            ..Filter::default()
        };
        assert_eq!(
            filter_words(&filter).as_deref(),
            Some("level L5, operator not set, outside the target, with “far”")
        );
        assert_eq!(filter_words(&Filter::default()), None);
    }

    #[test]
    fn a_body_without_anything_says_why() {
        let mut bare = body();
        (bare.depth, bare.outcome) = (None, Err(NoOutcome::OneView));
        (bare.date, bare.operator) = (String::new(), String::new());
        assert_eq!(cell(&bare, Column::Depth), "");
        assert_eq!(row_words(&bare), "L4 right: one view only");
    }
}
