//! Going from shot to shot in the order of the page.

use crate::app::command::stride::Way;
use crate::app::pages::overview::listing::ShownSection;
use crate::app::session::state::State;

/// The shots that are listed, whatever of them is shown.
#[must_use]
pub fn listed(state: &State) -> Vec<String> {
    state.pages.overview.order.iter().flat_map(|section| section.shots.iter().cloned()).collect()
}

/// The shot next to the shown one.
#[must_use]
pub fn next(state: &State, way: Way) -> Option<String> {
    let sections = &state.pages.overview.listing.shown;
    let here = state.editor.document.as_ref()?.shown.as_ref()?;
    let all: Vec<&String> = sections.iter().flat_map(|section| &section.shots).collect();
    let at = all.iter().position(|id| *id == here)?;
    let by = |by: isize| all.get(at.checked_add_signed(by)?).map(|id| (*id).clone());
    match way {
        Way::Left => by(-1),
        Way::Right => by(1),
        Way::Up | Way::Down => {
            beyond(sections, here, state.pages.overview.grid.columns.max(1), way == Way::Down)
        }
    }
}

/// The shot above or below, in the rows of all sections.
fn beyond(sections: &[ShownSection], here: &str, columns: usize, down: bool) -> Option<String> {
    let rows: Vec<&[String]> = sections.iter().flat_map(|section| section.shots.chunks(columns)).collect();
    let (row, column) = rows
        .iter()
        .enumerate()
        .find_map(|(row, shots)| Some((row, shots.iter().position(|id| id == here)?)))?;
    let other = rows.get(row.checked_add_signed(if down { 1 } else { -1 })?)?;
    other.get(column).or_else(|| other.last()).cloned()
}

/// The first or the last shot that is shown, if it is not the one that is selected already.
#[must_use]
pub fn end(state: &State, last: bool) -> Option<String> {
    let sections = &state.pages.overview.listing.shown;
    let mut all = sections.iter().flat_map(|section| &section.shots);
    let id = if last { all.next_back() } else { all.next() }?;
    let here = state.editor.document.as_ref().and_then(|document| document.shown.as_ref());
    (here != Some(id)).then(|| id.clone())
}
