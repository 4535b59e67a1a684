//! Pictures become shots: of a new case, or of the one that is open.

use std::path::Path;

use crate::app::document::Document;
use crate::app::effect::Found;
use crate::app::filing::{apply, set_document};
use crate::app::state::{Purpose, State, Weight};
use crate::case::document::{Case, Shot};
use crate::case::edit::{Description, Edit};
use crate::io::store::pictures::picture_name;
use crate::measure::mark::View;

/// Takes in the pictures that were found.
pub(crate) fn found_pictures(state: &mut State, purpose: Purpose, found: Vec<Found>) {
    if found.is_empty() {
        return;
    }
    match (purpose, &state.document) {
        (Purpose::Add, Some(_)) => {
            let count = found.len();
            let (edits, first) = additions(state, found);
            apply(state, &edits);
            if let (Some(document), Some(first)) = (&mut state.document, first) {
                document.show(&first);
            }
            if count > 1 {
                state.say(Weight::Note, format!("{count} pictures were added to the case."));
            }
        }
        (Purpose::Relink, Some(document)) => {
            let Some((picture, shot)) = found.into_iter().next().zip(document.shown.clone()) else { return };
            let image = picture_name(document.file.as_deref(), &picture.path);
            let what = |what| Edit::Describe { shot: shot.clone(), what };
            apply(state, &[what(Description::Image(image)), what(Description::Digest(picture.digest))]);
        }
        _ => {
            let mut case = Case::default();
            for picture in found {
                let shot = shot_of(&case, None, None, picture);
                case.shots.push(shot);
            }
            set_document(state, Document::fresh(case));
        }
    }
}

/// The edits that put pictures behind the shown shot; level, side and view are taken over from it, for
/// pictures that are added together with a shot mostly show the same body.
fn additions(state: &State, found: Vec<Found>) -> (Vec<Edit>, Option<String>) {
    let Some(document) = &state.document else { return (Vec::new(), None) };
    let mut case = document.case().clone();
    let behind = document.index().map_or(case.shots.len(), |i| i + 1);
    let like = document.shot().cloned();
    let mut edits = Vec::new();
    let mut first = None;
    for (at, picture) in (behind..).zip(found) {
        let shot = shot_of(&case, document.file.as_deref(), like.as_ref(), picture);
        first = first.or_else(|| Some(shot.id.clone()));
        let edit = Edit::AddShot { at, shot: Box::new(shot) };
        // The copy only keeps the ids apart.
        let _ = case.apply(&edit);
        edits.push(edit);
    }
    (edits, first)
}

fn shot_of(case: &Case, file: Option<&Path>, like: Option<&Shot>, found: Found) -> Shot {
    let stem = found.path.file_stem().map(|stem| slug(&stem.to_string_lossy())).unwrap_or_default();
    let base = if stem.is_empty() { "shot".to_owned() } else { stem };
    let view = like.map_or(View::Lateral, |shot| shot.view);
    let mut shot = Shot::new(case.free_id(&base), picture_name(file, &found.path), view);
    shot.level = like.and_then(|shot| shot.level);
    shot.side = like.and_then(|shot| shot.side);
    shot.digest = found.digest;
    shot.taken = found.taken;
    shot
}

/// Words as they may stand in a file name or an id.
pub(crate) fn slug(words: &str) -> String {
    let kept = words
        .trim()
        .chars()
        .map(|c| if c.is_alphanumeric() || c == '-' || c == '_' || c == '.' { c } else { '-' });
    let text: String = kept.collect();
    text.trim_matches(|c| c == '-' || c == '.').to_lowercase()
}
