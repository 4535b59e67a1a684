//! Saving: where to, and over what.

use std::path::{Path, PathBuf};

use crate::app::files::add_images::slug;
use crate::app::files::questions::{Leave, Purpose};
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::under_way::Activity;
use crate::io::store::save::Over;

/// How the name of a case file ends.
pub const CASE_ENDING: &str = ".case.json";

pub(crate) fn save(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.editor.document else { return };
    match (document.file.clone(), document.seen.clone()) {
        (Some(file), Some(seen)) => write(state, file, Over::Seen(seen), then, effects),
        (Some(file), None) => write(state, file, Over::Nothing, then, effects),
        (None, _) => save_as(state, then, effects),
    }
}

pub(crate) fn save_as(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.editor.document else { return };
    let suggestion = document.file.clone().unwrap_or_else(|| {
        let folder = folder_of(state).unwrap_or_default();
        let of_folder = || folder.file_name().map(|name| name.to_string_lossy().into_owned());
        let stem = document.case().title.clone().or_else(of_folder).unwrap_or_else(|| "unnamed".to_owned());
        folder.join(format!("{}{CASE_ENDING}", slug(&stem)))
    });
    effects.push(Effect::Ask { purpose: Purpose::Save, suggestion: Some(suggestion), leave: then });
}

pub(crate) fn write(state: &mut State, file: PathBuf, over: Over, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.editor.document else { return };
    // Images that can be opened now can be opened in the new file too.
    let folders = document.outside_of(&file);
    if !folders.is_empty() {
        effects.push(Effect::Allow { file: file.clone(), folders });
    }
    let case = Box::new(document.case_for(&file));
    state.leaving = (then != Leave::Stay).then_some(then);
    state.under_way.begin(Activity::Saving, "Saving");
    effects.push(Effect::Save { case, file, over });
}

/// The folder in which the user is at work: that of the case, else that of its first picture.
pub(crate) fn folder_of(state: &State) -> Option<PathBuf> {
    let document = state.editor.document.as_ref()?;
    let near = match &document.file {
        Some(file) => file.clone(),
        None => document.case().shots.first().and_then(|shot| document.image_path(shot).ok())?,
    };
    near.parent().map(Path::to_path_buf)
}

/// Whether a path is named as case files are.
#[must_use]
pub fn is_case_name(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
}

pub(crate) fn with_ending(path: &Path) -> PathBuf {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if is_case_name(path) { path.to_path_buf() } else { path.with_file_name(format!("{name}{CASE_ENDING}")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::Command;
    use crate::app::command::file::FileCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::files::questions::{Answer, WindowQuestion};
    use crate::app::session::outcome::tests::{case_of, marked, saves, seen};
    use crate::app::session::update::{receive, update};
    use crate::app::work::effect::Outcome;
    use crate::geom::point::Point;

    #[test]
    fn work_done_while_saving_stays_unsaved() {
        let mut state = marked();
        let case = case_of(&update(&mut state, Command::File(FileCommand::Save)));
        update(&mut state, Command::Marks(MarksCommand::Place(Point::new(9.0, 1.0))));
        let file = PathBuf::from("/x/a.case.json");
        receive(&mut state, Outcome::Saved { case, file, seen: seen("2"), at: "10:42".to_owned() });
        assert!(state.editor.document.as_ref().unwrap().unsaved());
    }

    #[test]
    fn a_failed_save_does_not_close() {
        let mut state = marked();
        update(&mut state, Command::File(FileCommand::Quit));
        update(&mut state, Command::File(FileCommand::Answer(Answer::Save)));
        let effects = receive(&mut state, Outcome::NotSaved("The disk is full.".to_owned()));
        assert!(!effects.contains(&Effect::Quit));
        assert!(state.editor.document.as_ref().unwrap().unsaved() && state.leaving.is_none());
        assert_eq!(state.notices[0].text, "The disk is full.");
    }

    #[test]
    fn a_changed_file_is_not_written_over_without_asking() {
        let mut state = marked();
        update(&mut state, Command::File(FileCommand::Save));
        let file = PathBuf::from("/x/a.case.json");
        let text = "The file has changed.".to_owned();
        receive(&mut state, Outcome::Changed { file: file.clone(), text });
        assert!(matches!(state.question, Some(WindowQuestion::Changed { .. })));
        let effects = update(&mut state, Command::File(FileCommand::Answer(Answer::Overwrite)));
        assert_eq!(saves(&effects), [(file.as_path(), &Over::Anything)]);
    }

    #[test]
    fn without_a_dialog_a_path_is_typed_and_must_be_free() {
        let mut state = marked();
        let effects = update(&mut state, Command::File(FileCommand::SaveAs));
        let Some(Effect::Ask { purpose, suggestion, leave }) = effects.first().cloned() else {
            panic!("{effects:?}")
        };
        receive(&mut state, Outcome::NoDialog { purpose, suggestion, leave });
        assert!(matches!(state.question, Some(WindowQuestion::Path { .. })));
        let effects =
            update(&mut state, Command::File(FileCommand::Answer(Answer::Path(PathBuf::from("/x/b")))));
        assert_eq!(saves(&effects), [(Path::new("/x/b.case.json"), &Over::Nothing)]);
    }
}
