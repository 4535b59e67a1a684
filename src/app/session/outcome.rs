//! What came of file work: the open case, its pictures, its saving; paths that were chosen, and answers to questions.

use std::path::PathBuf;
use std::sync::Arc;

use crate::app::files::add_images::{add, found_pictures};
use crate::app::files::export::export;
use crate::app::files::export_form::ExportForm;
use crate::app::files::keypoints;
use crate::app::files::leaving::{go, leave, take_back};
use crate::app::files::outside_images;
use crate::app::files::questions::{Answer, Arrival, Leave, Purpose, WindowQuestion};
use crate::app::files::received;
use crate::app::files::saving::{folder_of, save, save_as, with_ending, write};
use crate::app::marking::proposal::follow;
use crate::app::pages;
use crate::app::session::document::Document;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::shots::frames;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::under_way::Activity;
use crate::io::store::save::Over;
use crate::scene::format;

/// How many signs of a file's name stand in the confirmation that it was saved.
const SAVED_NAME: usize = 32;

/// Takes in what came of file work.
pub(crate) fn receive(state: &mut State, outcome: Outcome, effects: &mut Vec<Effect>) {
    if matches!(outcome, Outcome::Chosen { .. } | Outcome::NoDialog { .. }) {
        state.choosing = false;
    }
    match outcome {
        Outcome::Chosen { purpose, paths: Some(paths), leave: then } if !paths.is_empty() => {
            chosen(state, purpose, paths, then, false, effects);
        }
        Outcome::Chosen { .. } => state.leaving = None,
        Outcome::NoDialog { purpose, suggestion, leave } => {
            let suggestion = suggestion.map(|path| path.to_string_lossy().into_owned()).unwrap_or_default();
            state.question = Some(WindowQuestion::Path { purpose, suggestion, leave });
        }
        Outcome::Opened { case, file, seen, leftover } => {
            state.under_way.end(Activity::Opening);
            let arrival = Arrival::Case { case, file, seen, leftover };
            leave(state, Leave::Arrived(Box::new(arrival)), effects);
        }
        Outcome::Pictures { purpose, found, trouble } => {
            state.under_way.end(Activity::Opening);
            for sentence in trouble {
                state.say(Weight::Trouble, sentence);
            }
            found_pictures(state, purpose, found, effects);
        }
        Outcome::Progress { done, of } => {
            let words = format!("Reading image {} of {of}", done + 1);
            state.under_way.goes_on(Activity::Opening, words);
        }
        Outcome::NotOpened(sentence) => {
            state.under_way.end(Activity::Opening);
            state.say(Weight::Trouble, sentence);
        }
        Outcome::Around { recent, leftovers, now } => {
            state.recent = recent;
            state.leftovers = leftovers;
            state.found = Some(now);
        }
        Outcome::Saved { case, file, seen, at } => {
            state.under_way.end(Activity::Saving);
            let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            state.saved = Some(format!("Saved to {} at {at}", format::shortened(&name, SAVED_NAME)));
            if let Some(document) = &mut state.editor.document {
                document.saved_as(*case, file, seen);
            }
            if let Some(then) = state.leaving.take() {
                leave(state, then, effects);
            }
        }
        Outcome::Changed { file, text } => {
            state.under_way.end(Activity::Saving);
            let leave = state.leaving.take().unwrap_or(Leave::Stay);
            state.question = Some(WindowQuestion::Changed { file, text, leave });
        }
        Outcome::NotSaved(sentence) => {
            state.under_way.end(Activity::Saving);
            state.leaving = None;
            state.say(Weight::Trouble, sentence);
        }
        Outcome::Exporting { done, of } => {
            state.under_way.goes_on(Activity::Exporting, format!("Writing DICOM, step {} of {of}", done + 1));
        }
        Outcome::NotExported(sentence) => {
            state.under_way.end(Activity::Exporting);
            state.say(Weight::Trouble, sentence);
        }
        Outcome::Exported(folder) => {
            state.under_way.end(Activity::Exporting);
            state.say(Weight::Note, format!("The case was exported to “{}”.", folder.display()));
        }
        Outcome::InDoubt { folder, form, sentences } => {
            state.under_way.end(Activity::Exporting);
            state.question = Some(WindowQuestion::InDoubt { folder, form, sentences });
        }
        Outcome::Received(kept) => received::receive(state, kept, effects),
        Outcome::Keypoints(found) => keypoints::receive(state, found),
        Outcome::Allowed => {
            if let Some(document) = &mut state.editor.document {
                document.stale = true;
            }
        }
        Outcome::NotKept(sentence) | Outcome::Failed(sentence) => state.say(Weight::Trouble, sentence),
        Outcome::HeldOpen(bytes) => Arc::make_mut(&mut state.editor.pictures).held_open = bytes,
        Outcome::Told(sentence) => state.say(Weight::Note, sentence),
        Outcome::Proposed(done) => follow::receive(state, *done),
        Outcome::Readings(made) => {
            if let Some(document) = &mut state.editor.document {
                document.take_in_readings(*made);
            }
            // Others may have been asked for since.
            if !state.editor.document.as_ref().is_some_and(Document::awaits_readings) {
                state.under_way.end(Activity::Reading);
            }
        }
        Outcome::Page(done) => pages::receive(state, done),
        Outcome::Picture { .. } => {}
    }
}

pub(crate) fn chosen(
    state: &mut State,
    purpose: Purpose,
    paths: Vec<PathBuf>,
    then: Leave,
    typed: bool,
    effects: &mut Vec<Effect>,
) {
    match purpose {
        Purpose::Open | Purpose::Folder => leave(state, Leave::Open(paths), effects),
        Purpose::Add => add(state, paths, effects),
        Purpose::Relink(_) => effects.push(Effect::Open { paths, purpose }),
        Purpose::Page(wish) => pages::chosen(state, wish, paths, effects),
        Purpose::Received(image) => {
            if let Some(path) = paths.into_iter().next() {
                received::keep(state, image, path, false, effects);
            }
        }
        Purpose::Keypoints => {
            if let Some(table) = paths.into_iter().next() {
                keypoints::read(state, table, effects);
            }
        }
        Purpose::Export(form) => {
            if let Some(folder) = paths.into_iter().next() {
                export(state, folder, form, false, effects);
            }
        }
        Purpose::Save => {
            let Some(path) = paths.into_iter().next() else { return };
            let named = with_ending(&path);
            let own = state.editor.document.as_ref().and_then(|document| document.file.clone());
            // The system's dialog has asked about a file that is there, if the name is the one it saw.
            let over = if own.as_ref() == Some(&named) {
                state
                    .editor
                    .document
                    .as_ref()
                    .and_then(|document| document.seen.clone())
                    .map_or(Over::Nothing, Over::Seen)
            } else if typed || named != path {
                Over::Nothing
            } else {
                Over::Anything
            };
            write(state, named, over, then, effects);
        }
    }
}

/// Does what the answer to the open question says.
pub(crate) fn answer(state: &mut State, answer: Answer, effects: &mut Vec<Effect>) {
    let Some(question) = state.question.take() else { return };
    match (question, answer) {
        (WindowQuestion::Unsaved(then), Answer::Save) => save(state, then, effects),
        (WindowQuestion::Unsaved(then), Answer::Discard) => {
            effects.push(Effect::Drop);
            // What was thrown away must not be kept again on the way out.
            state.editor.document = None;
            go(state, then, effects);
        }
        (WindowQuestion::Changed { file, leave, .. }, Answer::Overwrite) => {
            write(state, file, Over::Anything, leave, effects);
        }
        (WindowQuestion::Changed { leave, .. }, Answer::SaveAs) => save_as(state, leave, effects),
        (WindowQuestion::InDoubt { folder, form, .. }, Answer::AsIs) => {
            export(state, folder, form, true, effects);
        }
        (WindowQuestion::Dicom, Answer::Dicom(choice)) => match choice.fault() {
            Some(why) => {
                state.say(Weight::Trouble, format!("Nothing was written: {why}."));
                state.question = Some(WindowQuestion::Dicom);
            }
            None => {
                let folder = folder_of(state).unwrap_or_default().join("dicom");
                let purpose = Purpose::Export(ExportForm::Dicom(choice));
                effects.push(Effect::Ask { purpose, suggestion: Some(folder), leave: Leave::Stay });
            }
        },
        (WindowQuestion::Frames { frames }, Answer::Frames(choice)) => {
            if let Err(why) = frames::add_chosen(&mut state.editor, choice) {
                state.say(Weight::Trouble, format!("No frame was added: {why}."));
                state.question = Some(WindowQuestion::Frames { frames });
            }
        }
        (WindowQuestion::Recovered(leftover), Answer::TakeBack) => take_back(state, leftover, effects),
        (WindowQuestion::Recovered(leftover), Answer::ThrowAway) => {
            effects.push(Effect::Forget(leftover));
            outside_images::ask(state);
        }
        (WindowQuestion::Recovered(_), Answer::KeepEditing) => {
            state.leaving = None;
            outside_images::ask(state);
        }
        (WindowQuestion::Outside { file, folders }, Answer::OpenOutside) => {
            effects.push(Effect::Allow { file, folders });
        }
        (WindowQuestion::Path { purpose, leave, .. }, Answer::Path(path)) => {
            chosen(state, purpose, vec![path], leave, true, effects);
        }
        (_, Answer::KeepEditing) => state.leaving = None,
        // An answer that does not belong to the question changes nothing.
        (question, _) => state.question = Some(question),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use std::path::Path;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::file::FileCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::session::update::{receive, update};
    use crate::app::work::effect::FoundImage;
    use crate::case::document::edit::{Description, Edit};
    use crate::case::document::{Case, Shot};
    use crate::geom::point::Point;
    use crate::io::store::save::Seen;
    use crate::measure::mark::{Stage, View};

    pub(crate) fn seen(text: &str) -> Seen {
        Seen::of(text.as_bytes())
    }

    pub(crate) fn opened() -> State {
        let mut case = Case::default();
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.stage = Some(Stage::Stylet);
        case.shots.push(shot);
        let mut state = State::default();
        let file = PathBuf::from("/x/a.case.json");
        let outcome = Outcome::Opened { case: Box::new(case), file, seen: seen("1"), leftover: None };
        receive(&mut state, outcome);
        state
    }

    pub(crate) fn marked() -> State {
        let mut state = opened();
        update(&mut state, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
        state
    }

    pub(crate) fn saves(effects: &[Effect]) -> Vec<(&Path, &Over)> {
        effects
            .iter()
            .filter_map(|effect| match effect {
                Effect::Save { file, over, .. } => Some((file.as_path(), over)),
                _ => None,
            })
            .collect()
    }

    pub(crate) fn case_of(effects: &[Effect]) -> Box<Case> {
        effects
            .iter()
            .find_map(|effect| match effect {
                Effect::Save { case, .. } => Some(case.clone()),
                _ => None,
            })
            .unwrap()
    }

    #[test]
    fn pictures_become_a_case_of_their_own_or_join_the_open_one() {
        let found =
            |name: &str| FoundImage { path: PathBuf::from(name), digest: None, taken: None, frames: 1 };
        let mut state = State::default();
        let pictures = vec![found("/p/Shot 1.png"), found("/p/Shot 1.jpg")];
        receive(
            &mut state,
            Outcome::Pictures { purpose: Purpose::Open, found: pictures, trouble: Vec::new() },
        );
        let document = state.editor.document.as_ref().unwrap();
        let ids: Vec<_> = document.case().shots.iter().map(|shot| shot.id.clone()).collect();
        assert_eq!(ids, ["shot-1", "shot-1-2"]);
        assert!(!document.unsaved(), "looking at pictures is no work to be saved");

        let mut state = opened();
        update(&mut state, Command::File(FileCommand::Drop(vec![PathBuf::from("/x/b.png")])));
        receive(
            &mut state,
            Outcome::Pictures { purpose: Purpose::Add, found: vec![found("/x/b.png")], trouble: Vec::new() },
        );
        let document = state.editor.document.as_ref().unwrap();
        assert_eq!(document.shown.as_deref(), Some("b"));
        assert_eq!(document.case().shots[1].image, "b.png", "named relative to the case");
        update(&mut state, Command::Case(CaseCommand::Undo));
        assert_eq!(state.editor.document.as_ref().unwrap().case().shots.len(), 1);
    }

    #[test]
    fn a_renamed_shot_stays_shown_and_a_taken_name_is_refused() {
        let mut state = opened();
        let edit = |id: &str| Edit::Describe { shot: "a".to_owned(), what: Description::Id(id.to_owned()) };
        update(&mut state, Command::Case(CaseCommand::Edit(edit("l4-final"))));
        assert_eq!(state.editor.document.as_ref().unwrap().shown.as_deref(), Some("l4-final"));
        assert!(state.editor.document.as_ref().unwrap().shot().is_some());
        update(&mut state, Command::Case(CaseCommand::Edit(edit("again"))));
        assert_eq!(state.notices.len(), 1, "there is no shot a any more");
    }

    fn relinked(state: &mut State, shot: &str, path: &str) {
        let digest = Some("sha256:new".to_owned());
        let found = vec![FoundImage { path: PathBuf::from(path), digest, taken: None, frames: 1 }];
        let purpose = Purpose::Relink(shot.to_owned());
        receive(state, Outcome::Pictures { purpose, found, trouble: Vec::new() });
    }

    #[test]
    fn another_picture_keeps_the_digest_that_the_marks_were_made_on() {
        let digest = |state: &State, at: usize| {
            let shot = &state.editor.document.as_ref().unwrap().case().shots[at];
            (shot.image.clone(), shot.digest.clone())
        };
        let mut state = opened();
        relinked(&mut state, "a", "/x/b.png");
        assert_eq!(digest(&state, 0), ("b.png".to_owned(), Some("sha256:new".to_owned())), "no marks yet");

        let mut state = opened();
        let what = Description::Digest(Some("sha256:old".to_owned()));
        update(&mut state, Command::Case(CaseCommand::Edit(Edit::Describe { shot: "a".to_owned(), what })));
        update(&mut state, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
        relinked(&mut state, "a", "/x/b.png");
        assert_eq!(digest(&state, 0), ("b.png".to_owned(), Some("sha256:old".to_owned())));
    }

    #[test]
    fn another_picture_goes_to_the_shot_it_was_asked_for() {
        let mut state = opened();
        let effects = update(&mut state, Command::File(FileCommand::Relink));
        let Some(Effect::Ask { purpose, .. }) = effects.first() else { panic!("{effects:?}") };
        assert_eq!(*purpose, Purpose::Relink("a".to_owned()));
        let shot = Box::new(Shot::new("b", "b.png", View::Lateral));
        update(&mut state, Command::Case(CaseCommand::Edit(Edit::AddShot { at: 1, shot })));
        update(&mut state, Command::Shots(ShotsCommand::Show("b".to_owned())));
        relinked(&mut state, "a", "/x/c.png");
        let images: Vec<_> = state
            .editor
            .document
            .as_ref()
            .unwrap()
            .case()
            .shots
            .iter()
            .map(|shot| shot.image.clone())
            .collect();
        assert_eq!(images, ["c.png", "b.png"]);
        update(&mut state, Command::File(FileCommand::Close));
        update(&mut state, Command::File(FileCommand::Answer(Answer::Discard)));
        relinked(&mut state, "a", "/x/c.png");
        assert!(state.editor.document.is_none(), "no case comes up of itself");
    }
}
