//! Marks of the open case's images out of a table of keypoints, as one step back.

use std::path::PathBuf;

use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::under_way::Activity;
use crate::io::keypoints::FoundMarks;
use crate::scene::format;

/// How many images without a shot are named.
const NAMED: usize = 3;

/// Reads a table for the open case.
pub(crate) fn read(state: &mut State, table: PathBuf, effects: &mut Vec<Effect>) {
    let Some(document) = &state.editor.document else { return };
    let case = Box::new(document.case().clone());
    state.under_way.begin(Activity::Opening, "Reading keypoints");
    effects.push(Effect::ReadKeypoints { table, case });
}

/// Takes in what was found.
pub(crate) fn receive(state: &mut State, found: Result<Box<FoundMarks>, String>) {
    state.under_way.end(Activity::Opening);
    let found = match found {
        Ok(found) => found,
        Err(sentence) => return state.say(Weight::Trouble, sentence),
    };
    if !apply(&mut state.editor, &found.edits) {
        let words = "The case changed while the table was read, so not all of its keypoints were taken in. Undo, then import the table again.";
        return state.say(Weight::Trouble, words);
    }
    let mut words = format!(
        "{} taken in for {}.",
        format::count(found.points, "point", "points"),
        format::count(found.shots, "shot", "shots")
    );
    if found.same > 0 {
        words.push_str(&format!(" {} had them already.", format::count(found.same, "shot", "shots")));
    }
    if !found.without_shot.is_empty() {
        let names = found.without_shot.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
        let more = if found.without_shot.len() > NAMED { " and others" } else { "" };
        words.push_str(&format!(" No shot of this case shows {names}{more}."));
    }
    state.say(Weight::Note, words);
}
