//! The table of bodies treated in words: headings, cells, and what a body's standing is called.

use crate::measure::settings::Rule;
use crate::measure::verdict::State;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::state_sign;
use crate::scene::format;
use crate::study::selection::{BodyStanding, Filter, SeriesColumn};
use crate::study::series::{NoOutcome, Treated, ValueSd};

/// What is said where a word is missing.
pub const NOT_SAID: &str = "not set";

/// A column's heading.
#[must_use]
pub const fn heading(column: SeriesColumn) -> &'static str {
    match column {
        SeriesColumn::Date => "Date",
        SeriesColumn::Operator => "Operator",
        SeriesColumn::Level => "Level",
        SeriesColumn::Side => "Side",
        SeriesColumn::Outcome => "Target",
        SeriesColumn::Depth => "Depth",
        SeriesColumn::Height => "Height",
        SeriesColumn::Midline => "Midline",
        SeriesColumn::Issues => "Issues",
        SeriesColumn::Lesion => "Lesion",
        SeriesColumn::Shots => "Shots",
        SeriesColumn::Proposed => "Proposed",
        SeriesColumn::Case => "Case",
        SeriesColumn::File => "File",
    }
}

/// What a column holds, in a sentence.
#[must_use]
pub const fn explanation(column: SeriesColumn) -> &'static str {
    match column {
        SeriesColumn::Date => "Case date.",
        SeriesColumn::Operator => "Operator code.",
        SeriesColumn::Level => "The vertebra.",
        SeriesColumn::Side => "The patient's side of entry.",
        SeriesColumn::Outcome => "Whether the final tip is inside the target, all ranges combined.",
        SeriesColumn::Depth => "Final depth, 0 % at the posterior wall, with its 95 % interval.",
        SeriesColumn::Height => "Final height, 0 % at the superior endplate, with its 95 % interval.",
        SeriesColumn::Midline => {
            "Final offset from the midline, short of it on the entry side or past it, with its 95 % interval."
        }
        SeriesColumn::Issues => "Cautions on the final shots.",
        SeriesColumn::Lesion => "Lesion time, where entered.",
        SeriesColumn::Shots => "Number of shots of the body.",
        SeriesColumn::Proposed => "How many of its marks were accepted as proposed, of all that are placed.",
        SeriesColumn::Case => "Case title.",
        SeriesColumn::File => "Case file, relative to the selected folder.",
    }
}

/// What a standing is called.
#[must_use]
pub const fn standing(standing: BodyStanding) -> &'static str {
    match standing {
        BodyStanding::Inside => "inside the target",
        BodyStanding::Undecided => "too close to call",
        BodyStanding::Outside => "outside the target",
        BodyStanding::Without => "no outcome",
    }
}

/// The sign and role of a standing.
#[must_use]
pub const fn standing_sign(standing: BodyStanding) -> (Role, Glyph) {
    state_sign(match standing {
        BodyStanding::Inside => State::Inside,
        BodyStanding::Undecided => State::Undecided,
        BodyStanding::Outside => State::Outside,
        BodyStanding::Without => State::NotShown,
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
pub fn cell(body: &Treated, column: SeriesColumn) -> String {
    match column {
        SeriesColumn::Date => body.date.clone(),
        SeriesColumn::Operator => body.operator.clone(),
        SeriesColumn::Level => body.level.name(),
        SeriesColumn::Side => format::side(body.side).to_owned(),
        SeriesColumn::Outcome => match &body.outcome {
            Ok(_) => standing(BodyStanding::of(body)).to_owned(),
            Err(why) => no_outcome(*why).to_owned(),
        },
        SeriesColumn::Depth => body.used(Rule::Depth).map(value).unwrap_or_default(),
        SeriesColumn::Height => body.used(Rule::Height).map(value).unwrap_or_default(),
        SeriesColumn::Midline => body.used(Rule::Midline).map(aside).unwrap_or_default(),
        SeriesColumn::Issues => body.issues.iter().map(|code| issue(code)).collect::<Vec<_>>().join(", "),
        SeriesColumn::Lesion => body.lesion_s.map(format::seconds).unwrap_or_default(),
        SeriesColumn::Shots => body.shots.to_string(),
        SeriesColumn::Proposed => proposed(body),
        SeriesColumn::Case => body.title.clone(),
        SeriesColumn::File => body.file.clone(),
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
    format!("{words}: {}", cell(body, SeriesColumn::Outcome))
}

fn operator(code: &str) -> String {
    if code.is_empty() { String::new() } else { format!("operator {code}") }
}

/// A value with its interval: `38 % (35 to 41)`.
fn value(value: ValueSd) -> String {
    let number = |x: f64| format::rounded(100.0 * x);
    format!("{} ({} to {})", format::percent(value.value), number(value.low()), number(value.high()))
}

/// The same of an offset from the midline, which lies short of it or past it: `14 % short (10 to 18)`, and where the
/// interval reaches from one side to the other `4 % short (10 short to 2 past)`.
fn aside(value: ValueSd) -> String {
    let size = |x: f64| format::rounded(100.0 * x.abs());
    let end = |x: f64| format!("{}{}", size(x), way(x));
    let (low, high) = (value.low(), value.high());
    let apart = !way(low).is_empty() && !way(high).is_empty() && way(low) != way(high);
    let interval = match (apart, low < 0.0) {
        (true, _) => format!("{} to {}", end(low), end(high)),
        (false, true) => format!("{} to {}", size(high), size(low)),
        (false, false) => format!("{} to {}", size(low), size(high)),
    };
    format!("{}{} ({interval})", format::percent(value.value.abs()), way(value.value))
}

/// On which side of the midline an offset lies, behind its number.
fn way(offset: f64) -> &'static str {
    match format::percent(offset) {
        none if none == format::percent(0.0) => "",
        _ if offset < 0.0 => " short",
        _ => " past",
    }
}

/// A value with the half-width of its interval, at least 1, for narrow columns: `38 % ± 3`.
#[must_use]
pub fn short(value: ValueSd) -> String {
    format!("{} ± {}", format::percent(value.value), half(value))
}

/// The same of an offset from the midline: `4 % ± 6 short`.
#[must_use]
pub fn short_aside(value: ValueSd) -> String {
    format!("{} ± {}{}", format::percent(value.value.abs()), half(value), way(value.value))
}

fn half(value: ValueSd) -> String {
    format::rounded((50.0 * (value.high() - value.low())).max(1.0))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};
    use crate::study::series::BodyOutcome;

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
            depth: Some(ValueSd { value: 0.38, sd: 0.0153 }),
            height: Some(ValueSd { value: 0.5, sd: 0.02 }),
            midline: Some(ValueSd { value: -0.04, sd: 0.02 }),
            true_view: [None; 3],
            against: Vec::new(),
            outcome: Ok(BodyOutcome { nominal_inside: true, state: State::Inside, p_inside: 0.97 }),
            issues: vec!["body_cut_off".to_owned(), "too_uncertain".to_owned()],
        }
    }

    #[test]
    fn cells_in_words() {
        let said: Vec<String> = SeriesColumn::ALL.iter().map(|column| cell(&body(), *column)).collect();
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
                "4 % short (0 to 8)",
                "body cut off, too uncertain",
                "900 s",
                "8",
                "12 of 15",
                "One",
                "a/1.case.json"
            ]
        );
        assert_eq!(short(body().depth.unwrap()), "38 % ± 3");
        assert_eq!(short_aside(body().midline.unwrap()), "4 % ± 4 short");
        assert_eq!(aside(ValueSd { value: 0.01, sd: 0.02 }), "1 % past (3 short to 5 past)");
        assert_eq!(aside(ValueSd { value: 0.14, sd: 0.02 }), "14 % past (10 to 18)");
        assert_eq!(aside(ValueSd { value: 0.001, sd: 0.0001 }), "0 % (0 to 0)");
        assert_eq!(row_words(&body()), "L4 right, 2026-02-03, operator R1: inside the target");
    }

    #[test]
    fn filters_in_words() {
        let filter = Filter {
            level: Some(Level::L5),
            operator: Some(String::new()),
            standing: Some(BodyStanding::Outside),
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
        assert_eq!(cell(&bare, SeriesColumn::Depth), "");
        assert_eq!(row_words(&bare), "L4 right: one view only");
    }
}
