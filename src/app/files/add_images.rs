//! Pictures become shots: of a new case, or of the one that is open.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::app::files::leaving::{ask_for_view, leave};
use crate::app::files::outside_images;
use crate::app::files::questions::{Arrival, Leave, Purpose};
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::shots::selection::{FreePlace, Scope};
use crate::app::work::effect::{Effect, FoundImage};
use crate::app::work::under_way::Activity;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::case::image::taken;
use crate::io::names::is_device;
use crate::io::store::pictures::picture_name;
use crate::measure::mark::View;
use crate::scene::format;

/// Takes in the pictures that were found.
pub(crate) fn found_pictures(
    state: &mut State,
    purpose: Purpose,
    found: Vec<FoundImage>,
    effects: &mut Vec<Effect>,
) {
    if found.is_empty() {
        return;
    }
    if matches!(purpose, Purpose::Add | Purpose::Relink(_)) {
        outside_images::chosen(state, &found, effects);
    }
    match (purpose, &state.editor.document) {
        (Purpose::Add, Some(_)) => {
            let words = arrived_words(&found);
            let found = by_time(found);
            let (edits, first) = additions(state, found);
            apply(&mut state.editor, &edits);
            if let (Some(document), Some(first)) = (&mut state.editor.document, first) {
                document.show(&first);
                ask_for_view(document);
            }
            if let Some(words) = words {
                state.say(Weight::Note, words);
            }
        }
        (Purpose::Relink(shot), Some(_)) => {
            if let Some(picture) = found.into_iter().next() {
                relink(state, &shot, picture);
            }
        }
        // The case whose shot was to get another picture has been closed.
        (Purpose::Relink(_), None) => {}
        _ => leave(state, Leave::Arrived(Box::new(Arrival::Pictures(found))), effects),
    }
}

/// Pictures in the order of the time they were taken; where no time tells, as they came, which for a folder is by
/// name.
fn by_time(found: Vec<FoundImage>) -> Vec<FoundImage> {
    let times: Vec<Option<&str>> = found.iter().map(|picture| picture.taken.as_deref()).collect();
    let order = taken::order(&times);
    let mut found: Vec<Option<FoundImage>> = found.into_iter().map(Some).collect();
    order.into_iter().filter_map(|i| found[i].take()).collect()
}

/// What is said when pictures arrive: of several how many, in which order, and what to do next; and which are films.
pub(crate) fn arrived_words(found: &[FoundImage]) -> Option<String> {
    let words: Vec<String> = [several_words(found), films_words(found)].into_iter().flatten().collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// Of a file with several frames the first is shown; how the others come in.
pub(super) fn films_words(found: &[FoundImage]) -> Option<String> {
    let films: Vec<&FoundImage> = found.iter().filter(|picture| picture.frames > 1).collect();
    let first = films.first()?;
    let how = "Add frames below the image makes shots of all, of a range, or of every nth";
    Some(match films.len() {
        1 => {
            let name = first.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            format!("“{name}” has {} frames; the first is shown. {how}.", first.frames)
        }
        films => format!("{films} of the files have several frames; the first of each is shown. {how}."),
    })
}

fn several_words(found: &[FoundImage]) -> Option<String> {
    if found.len() < 2 {
        return None;
    }
    let times: Vec<Option<&str>> = found.iter().map(|picture| picture.taken.as_deref()).collect();
    let labeling = "Label them with one key each, many at once; Esc ends labeling, S starts it again.";
    if taken::tell_nothing(&times) {
        return Some(format!(
            "{} images were added in the order of their names, since nothing tells when they were taken: the last is not always the final one. {labeling}",
            found.len()
        ));
    }
    let words = times_words(&times);
    let behind = if words.is_empty() { String::new() } else { format!(" {words}") };
    Some(format!("{} images were added in chronological order. {labeling}{behind}", found.len()))
}

/// What should be known of the times that an order follows: that some are only those of files, or are not there.
pub(crate) fn times_words(times: &[Option<&str>]) -> String {
    let of_files = times.iter().flatten().filter(|words| taken::is_file_time(words)).count();
    let none = times.iter().filter(|words| words.and_then(taken::when).is_none()).count();
    let mut sentences = Vec::new();
    if of_files > 0 {
        let who =
            if of_files == times.len() { "The images have".to_owned() } else { format!("{of_files} have") };
        sentences.push(format!(
            "{who} no acquisition time, so the file time is used. Check the order, because copying can change file times."
        ));
    }
    if none > 0 {
        let who = format::count(none, "shot has", "shots have");
        sentences.push(format!("{who} no time and are placed last."));
    }
    sentences.join(" ")
}

/// A new case with a shot for each picture.
pub(crate) fn case_of_pictures(found: Vec<FoundImage>) -> Case {
    let mut case = Case::default();
    for picture in by_time(found) {
        let shot = shot_of(&case, None, None, picture);
        case.shots.push(shot);
    }
    case
}

/// Gives a shot another picture. Marks keep the digest of the picture they were made on, so that the reading says
/// that it changed until the user has confirmed that they fit the new one.
fn relink(state: &mut State, id: &str, picture: FoundImage) {
    let Some(document) = &state.editor.document else { return };
    let shot = document.case().shot(id);
    let seen = shot
        .and_then(|shot| state.editor.pictures.known.get(&state.editor.key_of(shot)?))
        .map(|known| known.digest.clone());
    let marked_on = shot
        .filter(|shot| !shot.marks.is_empty())
        .map(|shot| shot.digest.clone().or(seen))
        .unwrap_or(picture.digest);
    let image = picture_name(document.file.as_deref(), &picture.path);
    let what = |what| Edit::Describe { shot: id.to_owned(), what };
    let edits = [what(Description::Image(image)), what(Description::Digest(marked_on))];
    apply(&mut state.editor, &edits);
    // The same file may have been chosen again because it changed.
    let path = state
        .editor
        .document
        .as_ref()
        .and_then(|document| document.image_path(document.case().shot(id)?).ok());
    Arc::make_mut(&mut state.editor.pictures).retain(|key, _| Some(&key.path) != path.as_ref());
}

/// The edits that put pictures behind the shown shot; level and side are taken over from it, for pictures that are
/// added together with a shot mostly show the same body; the view is asked, for the C-arm has mostly turned. Where the
/// rows of another body are listed, they land there; a free place of the plan that was chosen says everything.
fn additions(state: &State, found: Vec<FoundImage>) -> (Vec<Edit>, Option<String>) {
    let Some(document) = &state.editor.document else { return (Vec::new(), None) };
    let mut case = document.case().clone();
    let place = document.choice.place;
    let behind = match place {
        Some(place) => place.position(&case.shots),
        None => document.index().map_or(case.shots.len(), |i| i + 1),
    };
    let mut like = document.shot().cloned();
    if let (Some(shot), Scope::Body(level, side)) = (&mut like, document.scope()) {
        (shot.level, shot.side) = (Some(level), Some(side));
    }
    let mut edits = Vec::new();
    let mut first = None;
    for (at, picture) in (behind..).zip(found) {
        let mut shot = shot_of(&case, document.file.as_deref(), like.as_ref(), picture);
        if let Some(FreePlace { level, side, view, stage }) = place {
            (shot.level, shot.side, shot.stage) = (Some(level), Some(side), Some(stage));
            (shot.view, shot.view_set) = (view, true);
        }
        first = first.or_else(|| Some(shot.id.clone()));
        let edit = Edit::AddShot { at, shot: Box::new(shot) };
        // The copy only keeps the ids apart.
        let _ = case.apply(&edit);
        edits.push(edit);
    }
    (edits, first)
}

/// The shot of an image that was found, for a case in this file: its name in the case, and level and side as in another shot.
/// Nobody has set its view yet.
pub(crate) fn shot_of(case: &Case, file: Option<&Path>, like: Option<&Shot>, found: FoundImage) -> Shot {
    let stem = found.path.file_stem().map(|stem| slug(&stem.to_string_lossy())).unwrap_or_default();
    let base = if stem.is_empty() { "shot".to_owned() } else { stem };
    let id = case.free_id(&base);
    let mut shot = Shot::new(id, picture_name(file, &found.path), View::Lateral).with_view_open();
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
    let text = text.trim_matches(|c| c == '-' || c == '.').to_lowercase();
    // Windows keeps some names for devices, whatever ending follows.
    let stem = text.find('.').unwrap_or(text.len());
    if is_device(&text) { format!("{}_{}", &text[..stem], &text[stem..]) } else { text }
}

/// Looks at images that are to be added to the case, or opened where there is none.
pub(crate) fn add(state: &mut State, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    state.under_way.begin(Activity::Opening, "Looking at the images");
    let purpose = if state.editor.document.is_some() { Purpose::Add } else { Purpose::Open };
    effects.push(Effect::Open { paths, purpose });
}

/// Remembers for which place of the plan pictures are asked for.
pub(crate) fn for_place(state: &mut State, place: Option<FreePlace>) {
    if let Some(document) = &mut state.editor.document {
        document.choice.place = place;
    }
}

#[cfg(test)]
mod tests {
    use super::slug;

    #[test]
    fn words_become_names_that_every_system_takes() {
        for (words, name) in [
            (" L4 right/final ", "l4-right-final"),
            ("...", ""),
            ("CON", "con_"),
            ("nul.1", "nul_.1"),
            ("contour", "contour"),
            ("a:b?", "a-b"),
        ] {
            assert_eq!(slug(words), name, "{words}");
        }
    }
}
