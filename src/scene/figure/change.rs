//! What changed from one shot of a figure to a later one.

use crate::case::document::Case;
use crate::case::readings::ShotReading;
use crate::measure::compare::{self, Change, Moved, Position};
use crate::scene::figure::asked::FigureShot;
use crate::scene::words::tip_path::{MovedAlong, change as in_words};

/// What changed from one shot to a later one of the same body and view, a sentence each.
pub(super) fn change_between(case: &Case, before: &FigureShot<'_>, after: &FigureShot<'_>) -> Vec<String> {
    let said: Vec<String> = changes(case, before, after)
        .iter()
        .map(|(along, change)| format!("{} {}", along.name(), in_words(*along, change)))
        .collect();
    if said.is_empty() { said } else { vec![format!("From the first to the second: {}.", said.join("; "))] }
}

/// The same as briefly as can be; none where the two cannot be compared.
pub(super) fn change_in_brief(
    case: &Case,
    before: &FigureShot<'_>,
    after: &FigureShot<'_>,
) -> Option<String> {
    let brief = |(along, change): &(MovedAlong, Change)| match change.moved {
        Moved::Undecided => format!("{} undecided", along.name()),
        Moved::Yes | Moved::No => format!("{} {}", along.name(), in_words(*along, change)),
    };
    let said: Vec<String> = changes(case, before, after).iter().map(brief).collect();
    (!said.is_empty()).then(|| said.join(" · "))
}

fn changes(case: &Case, before: &FigureShot<'_>, after: &FigureShot<'_>) -> Vec<(MovedAlong, Change)> {
    let same_body = before.shot.level.is_some() && before.shot.level == after.shot.level;
    if !same_body || before.shot.side != after.shot.side {
        return Vec::new();
    }
    let matters = case.settings.change_that_matters;
    let (along, change) = match (before.reading, after.reading) {
        (ShotReading::Lateral(a), ShotReading::Lateral(b)) => {
            (MovedAlong::Depth, compare::lateral(a, b, Position::Own, matters))
        }
        (ShotReading::Ap(a), ShotReading::Ap(b)) => {
            (MovedAlong::Across, compare::ap(a, b, Position::Own, matters))
        }
        _ => return Vec::new(),
    };
    let midline = change.midline.map(|(_, change)| change);
    let all = [(along, change.along), (MovedAlong::Height, change.height), (MovedAlong::Midline, midline)];
    all.into_iter().filter_map(|(along, change)| Some((along, change?))).collect()
}
