//! Leaving a case: what becomes of unsaved work is asked before anything else takes its place.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use crate::app::display::first_shot::first_shot;
use crate::app::files::add_images::{arrived_words, case_of_pictures, films_words};
use crate::app::files::outside_images;
use crate::app::files::questions::{Arrival, Leave, Purpose, WindowQuestion};
use crate::app::pages::overview::memory::FROM;
use crate::app::pages::page::Page;
use crate::app::session::document::Document;
use crate::app::session::mode::Mode;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::Loading;
use crate::app::work::under_way::Activity;
use crate::case::document::Case;
use crate::io::store::autosave::Leftover;
use crate::scene::format;

/// Goes somewhere else, after asking what is to become of unsaved work.
pub(crate) fn leave(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    if then != Leave::Stay && state.editor.document.as_ref().is_some_and(Document::unsaved) {
        state.question = Some(WindowQuestion::Unsaved(then));
        return;
    }
    go(state, then, effects);
}

pub(crate) fn go(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    match then {
        Leave::Stay => {}
        Leave::Start => {
            close(state, effects);
            effects.push(Effect::LookAround);
        }
        Leave::Quit => effects.push(Effect::Quit),
        Leave::Open(paths) => {
            state.notices.clear();
            state.under_way.begin(Activity::Opening, "Opening");
            effects.push(Effect::Open { paths, purpose: Purpose::Open });
        }
        Leave::Demonstration => {
            state.notices.clear();
            state.under_way.begin(Activity::Opening, "Opening the demonstration");
            effects.push(Effect::OpenDemonstration);
        }
        Leave::Recover(index) => {
            if index < state.leftovers.len() {
                let leftover = Box::new(state.leftovers.remove(index));
                take_back(state, leftover, effects);
            }
        }
        Leave::Arrived(arrival) => arrive(state, *arrival),
    }
}

/// Shows what was read. The files may have changed since they were last looked at, so nothing that is known of
/// their pictures stays.
fn arrive(state: &mut State, arrival: Arrival) {
    Arc::make_mut(&mut state.editor.pictures).clear();
    match arrival {
        Arrival::Case { case, file, seen, leftover } => {
            let left = state.left.get(&file).cloned();
            let first = left.or_else(|| first_shot(&case));
            let mut document = Document::opened(*case, file, Some(seen));
            if let Some(first) = first {
                document.show(&first);
                document.came_from = None;
            }
            ask_for_view(&mut document);
            set_document(state, document);
            state.question = leftover.map(WindowQuestion::Recovered);
            outside_images::ask(state);
        }
        Arrival::Pictures(found) => {
            let many = found.len() >= FROM;
            // There the order and what it goes by stand above the images.
            let words = if many { films_words(&found) } else { arrived_words(&found) };
            let mut document = Document::fresh(case_of_pictures(found));
            ask_for_view(&mut document);
            set_document(state, document);
            // Which of many is the final one is seen where all of them are large.
            if many {
                state.pages.shown = Page::Overview;
            }
            if let Some(words) = words {
                state.say(Weight::Note, words);
            }
        }
    }
}

/// Where nobody has said what the shown shot shows, that is asked before any mark.
pub(super) fn ask_for_view(document: &mut Document) {
    if document.asks_for_view() {
        document.enter(Mode::Labeling);
    }
}

fn close(state: &mut State, effects: &mut Vec<Effect>) {
    if state.editor.document.take().is_some() {
        effects.push(Effect::Drop);
    }
    state.question = None;
    state.notices.clear();
    Arc::make_mut(&mut state.editor.pictures).clear();
}

fn set_document(state: &mut State, document: Document) {
    state.question = None;
    state.leaving = None;
    state.saved = None;
    // Pictures of the same files stay, those of others go; one that could not be opened is tried again.
    let wanted: Vec<PathBuf> =
        document.case().shots.iter().filter_map(|shot| document.image_path(shot).ok()).collect();
    let store = Arc::make_mut(&mut state.editor.pictures);
    store.retain(|key, loading| wanted.contains(&key.path) && !matches!(loading, Some(Loading::Failed(_))));
    store.glanced.clear();
    state.editor.document = Some(document);
    state.pages.forget_case();
}

pub(crate) fn take_back(state: &mut State, leftover: Box<Leftover>, effects: &mut Vec<Effect>) {
    let saved = match &state.editor.document {
        Some(document) if document.file == leftover.case_file && document.file.is_some() => {
            document.case().clone()
        }
        _ => Case::default(),
    };
    // What the file held when the work began: if it has changed since, saving will ask.
    let mut document =
        Document::recovered(leftover.case.clone(), saved, leftover.case_file.clone(), leftover.seen.clone());
    document.kept = Some(leftover.case.clone());
    if !leftover.case_file_unchanged {
        state.say(
            Weight::Note,
            "The case file has changed since these changes were made. Saving will ask before overwriting it.",
        );
    }
    set_document(state, document);
    outside_images::ask(state);
    effects.push(Effect::Adopt(leftover));
}

/// How many signs of its name stand in the name of unsaved work.
const LEFTOVER_NAME: usize = 40;

/// What unsaved work is called: by its case, how much there is, and when it was kept.
#[must_use]
pub fn leftover_name(leftover: &Leftover, now: Option<SystemTime>) -> String {
    let titled = leftover.case.title.clone();
    let file = leftover.case_file.as_deref().and_then(Path::file_name);
    let name = titled.or_else(|| file.map(|name| name.to_string_lossy().into_owned()));
    let name = name.map(|name| format::shortened(&name, LEFTOVER_NAME)).unwrap_or_else(|| {
        match leftover.case.shots.first() {
            Some(shot) => {
                format!("Unsaved case with “{}”", format::shortened(&shot.id, LEFTOVER_NAME))
            }
            None => "Unsaved case".to_owned(),
        }
    });
    let age = now.zip(leftover.written).and_then(|(now, then)| now.duration_since(then).ok());
    let kept = age.map(|age| format!(", autosaved {}", ago(age.as_secs()))).unwrap_or_default();
    format!("{name}: {}{kept}", format::count(leftover.case.shots.len(), "shot", "shots"))
}

/// How long ago, in the largest unit that fits.
fn ago(seconds: u64) -> String {
    let (minutes, hours, days) = (seconds / 60, seconds / 3600, seconds / 86_400);
    let count = |n: u64, one: &str, more: &str| {
        format!("{} ago", format::count(usize::try_from(n).unwrap_or(usize::MAX), one, more))
    };
    match (minutes, hours, days) {
        (0, ..) => "just now".to_owned(),
        (_, 0, _) => count(minutes, "minute", "minutes"),
        (_, _, 0) => count(hours, "hour", "hours"),
        _ => count(days, "day", "days"),
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::file::FileCommand;
    use crate::app::command::marks::MarksCommand;
    use crate::app::files::questions::Answer;
    use crate::app::session::outcome::tests::{case_of, marked, opened, seen};
    use crate::app::session::update::{receive, update};
    use crate::app::work::effect::{FoundImage, Outcome};
    use crate::case::document::Shot;
    use crate::geom::point::Point;
    use crate::measure::mark::{Stage, View};

    fn arrives(name: &str) -> Outcome {
        let mut case = Case::default();
        let mut shot = Shot::new("z", "z.png", View::Lateral);
        shot.stage = Some(Stage::Stylet);
        case.shots.push(shot);
        let file = PathBuf::from(format!("/x/{name}"));
        Outcome::Opened { case: Box::new(case), file, seen: seen("z"), leftover: None }
    }

    fn file_name(state: &State) -> String {
        let file = state.editor.document.as_ref().unwrap().file.as_ref().unwrap();
        file.file_name().unwrap().to_string_lossy().into_owned()
    }

    #[test]
    fn closing_asks_and_each_answer_does_what_it_says() {
        let mut state = marked();
        assert!(!update(&mut state, Command::File(FileCommand::Quit)).contains(&Effect::Quit));
        assert_eq!(state.question, Some(WindowQuestion::Unsaved(Leave::Quit)));
        update(&mut state, Command::File(FileCommand::Answer(Answer::KeepEditing)));
        assert!(state.question.is_none() && state.editor.document.is_some());

        update(&mut state, Command::File(FileCommand::Quit));
        let effects = update(&mut state, Command::File(FileCommand::Answer(Answer::Save)));
        let case = case_of(&effects);
        assert!(!effects.contains(&Effect::Quit), "not before it is saved");
        let file = PathBuf::from("/x/a.case.json");
        let effects =
            receive(&mut state, Outcome::Saved { case, file, seen: seen("2"), at: "10:42".to_owned() });
        assert!(effects.contains(&Effect::Quit));

        for way in [Command::File(FileCommand::Close), Command::File(FileCommand::Quit)] {
            let mut state = marked();
            update(&mut state, way);
            let effects = update(&mut state, Command::File(FileCommand::Answer(Answer::Discard)));
            assert!(state.editor.document.is_none() && effects.contains(&Effect::Drop));
            assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })));
        }
    }

    #[test]
    fn unsaved_work_found_at_the_start_is_taken_back_or_thrown_away() {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        let leftover = Leftover {
            path: PathBuf::from("/x/a.case.autosave-1-1.json"),
            case_file: Some(PathBuf::from("/x/a.case.json")),
            seen: Some(seen("1")),
            case,
            written: Some(SystemTime::UNIX_EPOCH + Duration::from_secs(20)),
            case_file_unchanged: true,
            newer_than_case_file: true,
        };
        let mut state = State::default();
        let leftovers = vec![leftover.clone(), leftover];
        let now = SystemTime::UNIX_EPOCH + Duration::from_secs(1000);
        receive(&mut state, Outcome::Around { recent: Vec::new(), leftovers, now });
        assert_eq!(
            leftover_name(&state.leftovers[0], state.found),
            "a.case.json: 1 shot, autosaved 16 minutes ago"
        );
        let effects = update(&mut state, Command::File(FileCommand::DiscardRecovery(1)));
        assert!(matches!(effects[0], Effect::Forget(_)));
        let effects = update(&mut state, Command::File(FileCommand::Recover(0)));
        assert!(effects.iter().any(|effect| matches!(effect, Effect::Adopt(_))));
        let document = state.editor.document.as_ref().unwrap();
        assert!(document.unsaved() && document.seen == Some(seen("1")));
        assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })), "it is kept already");
    }

    #[test]
    fn work_done_while_another_case_is_read_is_asked_about() {
        let under_way = || {
            let mut state = opened();
            update(&mut state, Command::File(FileCommand::OpenPaths(vec![PathBuf::from("/x/b.case.json")])));
            update(&mut state, Command::Marks(MarksCommand::Place(Point::new(1.0, 1.0))));
            let effects = receive(&mut state, arrives("b.case.json"));
            assert!(matches!(state.question, Some(WindowQuestion::Unsaved(Leave::Arrived(_)))));
            assert_eq!(file_name(&state), "a.case.json");
            assert!(!effects.contains(&Effect::Drop), "the kept work stays on disk");
            state
        };
        let mut state = under_way();
        let effects = update(&mut state, Command::File(FileCommand::Answer(Answer::KeepEditing)));
        assert!(state.editor.document.as_ref().unwrap().unsaved() && !effects.contains(&Effect::Drop));
        assert_eq!(file_name(&state), "a.case.json");

        let mut state = under_way();
        let effects = update(&mut state, Command::File(FileCommand::Answer(Answer::Discard)));
        assert_eq!((file_name(&state), effects.contains(&Effect::Drop)), ("b.case.json".to_owned(), true));

        let mut state = under_way();
        let case = case_of(&update(&mut state, Command::File(FileCommand::Answer(Answer::Save))));
        assert_eq!(case.shots[0].marks.placed().count(), 1);
        let file = PathBuf::from("/x/a.case.json");
        receive(&mut state, Outcome::Saved { case, file, seen: seen("2"), at: "10:42".to_owned() });
        assert_eq!(file_name(&state), "b.case.json");
        assert!(state.question.is_none() && state.leaving.is_none());
    }

    #[test]
    fn pictures_for_a_new_case_do_not_push_unsaved_work_away_either() {
        let mut state = marked();
        let found =
            vec![FoundImage { path: PathBuf::from("/p/1.png"), digest: None, taken: None, frames: 1 }];
        receive(&mut state, Outcome::Pictures { purpose: Purpose::Open, found, trouble: Vec::new() });
        assert_eq!(file_name(&state), "a.case.json");
        update(&mut state, Command::File(FileCommand::Answer(Answer::Discard)));
        assert_eq!(state.editor.document.as_ref().unwrap().case().shots[0].id, "1");
    }

    #[test]
    fn a_case_that_is_opened_again_looks_at_its_pictures_anew() {
        let mut state = opened();
        let key = state.editor.shown_key().unwrap();
        assert!(matches!(
            Arc::make_mut(&mut state.editor.pictures).loading.insert(key.clone(), Loading::Aside),
            Some(Loading::Busy)
        ));
        let case = Box::new(state.editor.document.as_ref().unwrap().case().clone());
        let file = PathBuf::from("/x/a.case.json");
        let effects = receive(&mut state, Outcome::Opened { case, file, seen: seen("1"), leftover: None });
        assert!(effects.contains(&Effect::Decode { key: key.clone(), first: true, samples: true }));
        assert!(matches!(state.editor.pictures.loading.get(&key), Some(Loading::Busy)));
    }
}
