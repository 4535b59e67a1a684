//! Opening, saving, and every question on the way, so that no work is lost.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::app::adding::{case_of_pictures, found_pictures, slug};
use crate::app::command::Command;
use crate::app::document::Document;
use crate::app::effect::{Effect, Outcome, Over};
use crate::app::guide::capital;
use crate::app::marking;
use crate::app::state::{Answer, Arrival, Leave, Loading, Purpose, Question, State, Weight};
use crate::case::document::Case;
use crate::case::edit::{Description, Edit};
use crate::io::store::autosave::Leftover;
use crate::scene::format;

/// How the name of a case file ends.
pub const CASE_ENDING: &str = ".case.json";

/// Carries a command on files and shots out; gives others back.
pub(crate) fn update(state: &mut State, command: Command, effects: &mut Vec<Effect>) -> Option<Command> {
    match command {
        Command::Open => effects.push(ask(Purpose::Open, None, Leave::Stay)),
        Command::OpenFolder => effects.push(ask(Purpose::Folder, None, Leave::Stay)),
        Command::OpenPaths(paths) => leave(state, Leave::Open(paths), effects),
        Command::OpenDemonstration => leave(state, Leave::Demonstration, effects),
        Command::AddPictures => effects.push(ask(Purpose::Add, folder_of(state), Leave::Stay)),
        Command::Relink => {
            if let Some(shot) = shown(state) {
                effects.push(ask(Purpose::Relink(shot), folder_of(state), Leave::Stay));
            }
        }
        Command::AddPaths(paths) => add(state, paths, effects),
        Command::Drop(paths) => {
            let cases = paths.iter().any(|path| is_case_name(path));
            if state.document.is_none() || cases {
                leave(state, Leave::Open(paths), effects);
            } else {
                add(state, paths, effects);
            }
        }
        Command::Save => save(state, Leave::Stay, effects),
        Command::SaveAs => save_as(state, Leave::Stay, effects),
        Command::CloseCase => leave(state, Leave::Start, effects),
        Command::Quit => leave(state, Leave::Quit, effects),
        Command::Recover(index) => leave(state, Leave::Recover(index), effects),
        Command::Forget(index) => {
            if index < state.leftovers.len() {
                effects.push(Effect::Forget(Box::new(state.leftovers.remove(index))));
            }
        }
        Command::Answer(answer) => self::answer(state, answer, effects),
        Command::RemoveShot => {
            if let Some(shot) = shown(state) {
                apply(state, &[Edit::RemoveShot { shot }]);
            }
        }
        Command::ShotEarlier => move_shot(state, -1),
        Command::ShotLater => move_shot(state, 1),
        Command::Edit(edit) => describe(state, edit),
        other => return Some(other),
    }
    None
}

/// Takes in what came of file work.
pub(crate) fn receive(state: &mut State, outcome: Outcome, effects: &mut Vec<Effect>) {
    match outcome {
        Outcome::Chosen { purpose, paths: Some(paths), leave: then } if !paths.is_empty() => {
            chosen(state, purpose, paths, then, false, effects);
        }
        Outcome::Chosen { .. } => state.leaving = None,
        Outcome::NoDialog { purpose, suggestion, leave } => {
            let suggestion = suggestion.map(|path| path.to_string_lossy().into_owned()).unwrap_or_default();
            state.question = Some(Question::Path { purpose, suggestion, leave });
        }
        Outcome::Opened { case, file, seen, leftover } => {
            state.busy = None;
            let arrival = Arrival::Case { case, file, seen, leftover };
            leave(state, Leave::Arrived(Box::new(arrival)), effects);
        }
        Outcome::Pictures { purpose, found, trouble } => {
            state.busy = None;
            for sentence in trouble {
                state.say(Weight::Trouble, sentence);
            }
            found_pictures(state, purpose, found, effects);
        }
        Outcome::NotOpened(sentence) => {
            state.busy = None;
            state.say(Weight::Trouble, sentence);
        }
        Outcome::Around { recent, leftovers, now } => {
            state.recent = recent;
            state.leftovers = leftovers;
            state.found = Some(now);
        }
        Outcome::Saved { case, file, seen } => {
            state.busy = None;
            if let Some(document) = &mut state.document {
                document.saved_as(*case, file, seen);
            }
            if let Some(then) = state.leaving.take() {
                leave(state, then, effects);
            }
        }
        Outcome::Changed { file, text } => {
            state.busy = None;
            let leave = state.leaving.take().unwrap_or(Leave::Stay);
            state.question = Some(Question::Changed { file, text, leave });
        }
        Outcome::NotSaved(sentence) => {
            state.busy = None;
            state.leaving = None;
            state.say(Weight::Trouble, sentence);
        }
        Outcome::NotKept(sentence) => state.say(Weight::Trouble, sentence),
        Outcome::Told(sentence) => state.say(Weight::Note, sentence),
        Outcome::Picture { .. } => {}
    }
}

/// Keeps unsaved work beside the case after each change, or lets it go once it is saved.
pub(crate) fn keep(state: &mut State, effects: &mut Vec<Effect>) {
    let Some(document) = &mut state.document else { return };
    // A drag is kept once it has ended.
    if document.grabbed.is_some() {
        return;
    }
    if !document.unsaved() {
        if document.kept.take().is_some() {
            effects.push(Effect::Drop);
        }
        return;
    }
    if document.kept.as_ref() != Some(document.case()) {
        let case = document.case().clone();
        document.kept = Some(case.clone());
        let (file, seen) = (document.file.clone(), document.seen.clone());
        effects.push(Effect::Keep { case: Box::new(case), file, seen });
    }
}

const fn ask(purpose: Purpose, suggestion: Option<PathBuf>, leave: Leave) -> Effect {
    Effect::Ask { purpose, suggestion, leave }
}

/// Goes somewhere else, after asking what is to become of unsaved work.
pub(crate) fn leave(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    if then != Leave::Stay && state.document.as_ref().is_some_and(Document::unsaved) {
        state.question = Some(Question::Unsaved(then));
        return;
    }
    go(state, then, effects);
}

fn go(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    match then {
        Leave::Stay => {}
        Leave::Start => {
            close(state, effects);
            effects.push(Effect::LookAround);
        }
        Leave::Quit => effects.push(Effect::Quit),
        Leave::Open(paths) => {
            state.notices.clear();
            state.busy = Some("Opening".to_owned());
            effects.push(Effect::Open { paths, purpose: Purpose::Open });
        }
        Leave::Demonstration => {
            state.notices.clear();
            state.busy = Some("Opening the demonstration".to_owned());
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
    state.pictures.clear();
    state.known.clear();
    state.kept.clear();
    match arrival {
        Arrival::Case { case, file, seen, leftover } => {
            set_document(state, Document::opened(*case, file, Some(seen)));
            state.question = leftover.map(Question::Recovered);
        }
        Arrival::Pictures(found) => set_document(state, Document::fresh(case_of_pictures(found))),
    }
}

fn close(state: &mut State, effects: &mut Vec<Effect>) {
    if state.document.take().is_some() {
        effects.push(Effect::Drop);
    }
    state.question = None;
    state.notices.clear();
    state.pictures.clear();
    state.known.clear();
    state.kept.clear();
}

fn set_document(state: &mut State, document: Document) {
    state.question = None;
    state.leaving = None;
    // Pictures of the same files stay, those of others go; one that could not be opened is tried again.
    let wanted: Vec<PathBuf> =
        document.case().shots.iter().filter_map(|shot| document.image_path(shot).ok()).collect();
    state
        .pictures
        .retain(|key, loading| wanted.contains(&key.path) && !matches!(loading, Loading::Failed(_)));
    state.known.retain(|key, _| wanted.contains(&key.path));
    state.kept.retain(|key| wanted.contains(&key.path));
    state.document = Some(document);
}

fn take_back(state: &mut State, leftover: Box<Leftover>, effects: &mut Vec<Effect>) {
    let saved = match &state.document {
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
            "The case file has changed since this work began. Saving will ask before it writes over it.",
        );
    }
    set_document(state, document);
    effects.push(Effect::Adopt(leftover));
}

fn answer(state: &mut State, answer: Answer, effects: &mut Vec<Effect>) {
    let Some(question) = state.question.take() else { return };
    match (question, answer) {
        (Question::Unsaved(then), Answer::Save) => save(state, then, effects),
        (Question::Unsaved(then), Answer::Discard) => {
            effects.push(Effect::Drop);
            // What was thrown away must not be kept again on the way out.
            state.document = None;
            go(state, then, effects);
        }
        (Question::Changed { file, leave, .. }, Answer::Overwrite) => {
            write(state, file, Over::Anything, leave, effects);
        }
        (Question::Changed { leave, .. }, Answer::SaveAs) => save_as(state, leave, effects),
        (Question::Recovered(leftover), Answer::TakeBack) => take_back(state, leftover, effects),
        (Question::Recovered(leftover), Answer::ThrowAway) => effects.push(Effect::Forget(leftover)),
        (Question::Path { purpose, leave, .. }, Answer::Path(path)) => {
            chosen(state, purpose, vec![path], leave, true, effects);
        }
        (_, Answer::KeepEditing) => state.leaving = None,
        // An answer that does not belong to the question changes nothing.
        (question, _) => state.question = Some(question),
    }
}

fn chosen(
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
        Purpose::Save => {
            let Some(path) = paths.into_iter().next() else { return };
            let named = with_ending(&path);
            let own = state.document.as_ref().and_then(|document| document.file.clone());
            // The system's dialog has asked about a file that is there, if the name is the one it saw.
            let over = if own.as_ref() == Some(&named) {
                state
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

fn save(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.document else { return };
    match (document.file.clone(), document.seen.clone()) {
        (Some(file), Some(seen)) => write(state, file, Over::Seen(seen), then, effects),
        (Some(file), None) => write(state, file, Over::Nothing, then, effects),
        (None, _) => save_as(state, then, effects),
    }
}

fn save_as(state: &mut State, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.document else { return };
    let suggestion = document.file.clone().unwrap_or_else(|| {
        let stem = document.case().title.clone().unwrap_or_else(|| "new".to_owned());
        let folder = folder_of(state).unwrap_or_default();
        folder.join(format!("{}{CASE_ENDING}", slug(&stem)))
    });
    effects.push(ask(Purpose::Save, Some(suggestion), then));
}

fn write(state: &mut State, file: PathBuf, onto: Over, then: Leave, effects: &mut Vec<Effect>) {
    let Some(document) = &state.document else { return };
    let case = Box::new(document.case_for(&file));
    state.leaving = (then != Leave::Stay).then_some(then);
    state.busy = Some("Saving".to_owned());
    effects.push(Effect::Save { case, file, onto });
}

fn add(state: &mut State, paths: Vec<PathBuf>, effects: &mut Vec<Effect>) {
    state.busy = Some("Looking at the pictures".to_owned());
    let purpose = if state.document.is_some() { Purpose::Add } else { Purpose::Open };
    effects.push(Effect::Open { paths, purpose });
}

/// Edits made together are one step back.
pub(crate) fn apply(state: &mut State, edits: &[Edit]) {
    let Some(document) = &mut state.document else { return };
    // Pictures may arrive in the middle of a drag; what follows is not part of it.
    marking::release(document);
    document.nudged = None;
    document.history.begin_gesture();
    let mut trouble = None;
    for edit in edits {
        if let Err(error) = document.apply(edit) {
            trouble = Some(error);
        }
    }
    document.history.end_gesture();
    if let Some(error) = trouble {
        state.say(Weight::Trouble, capital(&format!("{error}.")));
    }
}

fn describe(state: &mut State, edit: Edit) {
    let renamed = match &edit {
        Edit::Describe { shot, what: Description::Id(id) } if shown(state).as_ref() == Some(shot) => {
            Some(id.clone())
        }
        _ => None,
    };
    let viewed = matches!(&edit, Edit::Describe { what: Description::View(_), .. });
    let Some(document) = &mut state.document else { return };
    let before = document.shown.clone();
    // The shown shot keeps being shown under its new name.
    if let Some(id) = &renamed {
        document.shown = Some(id.clone());
        if let (Some(showing), Some(old)) =
            (before.as_ref().and_then(|old| document.showing.remove(old)), &before)
        {
            document.showing.insert(id.clone(), showing);
            if let Some(greys) = document.greys.remove(old) {
                document.greys.insert(id.clone(), greys);
            }
        }
    }
    if let Err(error) = document.apply(&edit) {
        document.shown = before;
        state.say(Weight::Trouble, capital(&format!("{error}.")));
    } else if viewed {
        document.resume(None);
    }
}

fn move_shot(state: &mut State, by: isize) {
    let Some(document) = &state.document else { return };
    let to = document.index().and_then(|index| index.checked_add_signed(by));
    if let (Some(shot), Some(to)) = (document.shown.clone(), to)
        && to < document.case().shots.len()
    {
        apply(state, &[Edit::MoveShot { shot, to }]);
    }
}

fn shown(state: &State) -> Option<String> {
    state.document.as_ref()?.shown.clone()
}

/// The folder in which the user is at work: that of the case, else that of its first picture.
fn folder_of(state: &State) -> Option<PathBuf> {
    let document = state.document.as_ref()?;
    let near = match &document.file {
        Some(file) => file.clone(),
        None => document.case().shots.first().and_then(|shot| document.image_path(shot).ok())?,
    };
    near.parent().map(Path::to_path_buf)
}

/// What unsaved work is called: by its case, how much there is, and when it was kept.
#[must_use]
pub fn leftover_name(leftover: &Leftover, now: Option<SystemTime>) -> String {
    let titled = leftover.case.title.clone();
    let file = leftover.case_file.as_deref().and_then(Path::file_name);
    let name = titled.or_else(|| file.map(|name| name.to_string_lossy().into_owned()));
    let name = name.unwrap_or_else(|| match leftover.case.shots.first() {
        Some(shot) => format!("A case never saved, with “{}”", shot.id),
        None => "A case never saved".to_owned(),
    });
    let age = now.zip(leftover.written).and_then(|(now, then)| now.duration_since(then).ok());
    let kept = age.map(|age| format!(", kept {}", ago(age.as_secs()))).unwrap_or_default();
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

/// Whether a path is named as case files are.
#[must_use]
pub fn is_case_name(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
}

fn with_ending(path: &Path) -> PathBuf {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if is_case_name(path) { path.to_path_buf() } else { path.with_file_name(format!("{name}{CASE_ENDING}")) }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::app::effect::Found;
    use crate::app::update::{receive, update};
    use crate::case::document::Shot;
    use crate::geom::point::Point;
    use crate::io::store::save::Seen;
    use crate::measure::mark::View;

    fn seen(text: &str) -> Seen {
        Seen::of(text.as_bytes())
    }

    fn opened() -> State {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        let mut state = State::default();
        let file = PathBuf::from("/x/a.case.json");
        let outcome = Outcome::Opened { case: Box::new(case), file, seen: seen("1"), leftover: None };
        receive(&mut state, outcome);
        state
    }

    fn marked() -> State {
        let mut state = opened();
        update(&mut state, Command::Place(Point::new(1.0, 1.0)));
        state
    }

    fn saves(effects: &[Effect]) -> Vec<(&Path, &Over)> {
        effects
            .iter()
            .filter_map(|effect| match effect {
                Effect::Save { file, onto, .. } => Some((file.as_path(), onto)),
                _ => None,
            })
            .collect()
    }

    fn case_of(effects: &[Effect]) -> Box<Case> {
        effects
            .iter()
            .find_map(|effect| match effect {
                Effect::Save { case, .. } => Some(case.clone()),
                _ => None,
            })
            .unwrap()
    }

    #[test]
    fn unsaved_work_is_kept_after_every_change_and_dropped_once_saved() {
        let mut state = opened();
        let effects = update(&mut state, Command::Place(Point::new(1.0, 1.0)));
        assert!(effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })));
        let effects = update(&mut state, Command::ZoomIn);
        assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })), "nothing changed");
        let effects = update(&mut state, Command::Save);
        assert_eq!(saves(&effects), [(Path::new("/x/a.case.json"), &Over::Seen(seen("1")))]);
        let case = case_of(&effects);
        let effects = receive(
            &mut state,
            Outcome::Saved { case, file: PathBuf::from("/x/a.case.json"), seen: seen("2") },
        );
        assert!(effects.contains(&Effect::Drop));
        assert!(!state.document.as_ref().unwrap().unsaved());
    }

    #[test]
    fn work_done_while_saving_stays_unsaved() {
        let mut state = marked();
        let case = case_of(&update(&mut state, Command::Save));
        update(&mut state, Command::Place(Point::new(9.0, 1.0)));
        let file = PathBuf::from("/x/a.case.json");
        receive(&mut state, Outcome::Saved { case, file, seen: seen("2") });
        assert!(state.document.as_ref().unwrap().unsaved());
    }

    #[test]
    fn closing_asks_and_each_answer_does_what_it_says() {
        let mut state = marked();
        assert!(!update(&mut state, Command::Quit).contains(&Effect::Quit));
        assert_eq!(state.question, Some(Question::Unsaved(Leave::Quit)));
        update(&mut state, Command::Answer(Answer::KeepEditing));
        assert!(state.question.is_none() && state.document.is_some());

        update(&mut state, Command::Quit);
        let effects = update(&mut state, Command::Answer(Answer::Save));
        let case = case_of(&effects);
        assert!(!effects.contains(&Effect::Quit), "not before it is saved");
        let file = PathBuf::from("/x/a.case.json");
        let effects = receive(&mut state, Outcome::Saved { case, file, seen: seen("2") });
        assert!(effects.contains(&Effect::Quit));

        for way in [Command::CloseCase, Command::Quit] {
            let mut state = marked();
            update(&mut state, way);
            let effects = update(&mut state, Command::Answer(Answer::Discard));
            assert!(state.document.is_none() && effects.contains(&Effect::Drop));
            assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })));
        }
    }

    #[test]
    fn a_failed_save_does_not_close() {
        let mut state = marked();
        update(&mut state, Command::Quit);
        update(&mut state, Command::Answer(Answer::Save));
        let effects = receive(&mut state, Outcome::NotSaved("The disk is full.".to_owned()));
        assert!(!effects.contains(&Effect::Quit));
        assert!(state.document.as_ref().unwrap().unsaved() && state.leaving.is_none());
        assert_eq!(state.notices[0].text, "The disk is full.");
    }

    #[test]
    fn a_changed_file_is_not_written_over_without_asking() {
        let mut state = marked();
        update(&mut state, Command::Save);
        let file = PathBuf::from("/x/a.case.json");
        let text = "The file has changed.".to_owned();
        receive(&mut state, Outcome::Changed { file: file.clone(), text });
        assert!(matches!(state.question, Some(Question::Changed { .. })));
        let effects = update(&mut state, Command::Answer(Answer::Overwrite));
        assert_eq!(saves(&effects), [(file.as_path(), &Over::Anything)]);
    }

    #[test]
    fn without_a_dialog_a_path_is_typed_and_must_be_free() {
        let mut state = marked();
        let effects = update(&mut state, Command::SaveAs);
        let Some(Effect::Ask { purpose, suggestion, leave }) = effects.first().cloned() else {
            panic!("{effects:?}")
        };
        receive(&mut state, Outcome::NoDialog { purpose, suggestion, leave });
        assert!(matches!(state.question, Some(Question::Path { .. })));
        let effects = update(&mut state, Command::Answer(Answer::Path(PathBuf::from("/x/b"))));
        assert_eq!(saves(&effects), [(Path::new("/x/b.case.json"), &Over::Nothing)]);
    }

    #[test]
    fn pictures_become_a_case_of_their_own_or_join_the_open_one() {
        let found = |name: &str| Found { path: PathBuf::from(name), digest: None, taken: None };
        let mut state = State::default();
        let pictures = vec![found("/p/Shot 1.png"), found("/p/Shot 1.jpg")];
        receive(
            &mut state,
            Outcome::Pictures { purpose: Purpose::Open, found: pictures, trouble: Vec::new() },
        );
        let document = state.document.as_ref().unwrap();
        let ids: Vec<_> = document.case().shots.iter().map(|shot| shot.id.clone()).collect();
        assert_eq!(ids, ["shot-1", "shot-1-2"]);
        assert!(!document.unsaved(), "looking at pictures is no work to be saved");

        let mut state = opened();
        update(&mut state, Command::Drop(vec![PathBuf::from("/x/b.png")]));
        receive(
            &mut state,
            Outcome::Pictures { purpose: Purpose::Add, found: vec![found("/x/b.png")], trouble: Vec::new() },
        );
        let document = state.document.as_ref().unwrap();
        assert_eq!(document.shown.as_deref(), Some("b"));
        assert_eq!(document.case().shots[1].image, "b.png", "named relative to the case");
        update(&mut state, Command::Undo);
        assert_eq!(state.document.as_ref().unwrap().case().shots.len(), 1);
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
            "a.case.json: 1 shot, kept 16 minutes ago"
        );
        let effects = update(&mut state, Command::Forget(1));
        assert!(matches!(effects[0], Effect::Forget(_)));
        let effects = update(&mut state, Command::Recover(0));
        assert!(effects.iter().any(|effect| matches!(effect, Effect::Adopt(_))));
        let document = state.document.as_ref().unwrap();
        assert!(document.unsaved() && document.seen == Some(seen("1")));
        assert!(!effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })), "it is kept already");
    }

    #[test]
    fn a_renamed_shot_stays_shown_and_a_taken_name_is_refused() {
        let mut state = opened();
        let edit = |id: &str| Edit::Describe { shot: "a".to_owned(), what: Description::Id(id.to_owned()) };
        update(&mut state, Command::Edit(edit("l4-final")));
        assert_eq!(state.document.as_ref().unwrap().shown.as_deref(), Some("l4-final"));
        assert!(state.document.as_ref().unwrap().shot().is_some());
        update(&mut state, Command::Edit(edit("again")));
        assert_eq!(state.notices.len(), 1, "there is no shot a any more");
    }

    fn arrives(name: &str) -> Outcome {
        let mut case = Case::default();
        case.shots.push(Shot::new("z", "z.png", View::Lateral));
        let file = PathBuf::from(format!("/x/{name}"));
        Outcome::Opened { case: Box::new(case), file, seen: seen("z"), leftover: None }
    }

    fn file_name(state: &State) -> String {
        let file = state.document.as_ref().unwrap().file.as_ref().unwrap();
        file.file_name().unwrap().to_string_lossy().into_owned()
    }

    #[test]
    fn work_done_while_another_case_is_read_is_asked_about() {
        let under_way = || {
            let mut state = opened();
            update(&mut state, Command::OpenPaths(vec![PathBuf::from("/x/b.case.json")]));
            update(&mut state, Command::Place(Point::new(1.0, 1.0)));
            let effects = receive(&mut state, arrives("b.case.json"));
            assert!(matches!(state.question, Some(Question::Unsaved(Leave::Arrived(_)))));
            assert_eq!(file_name(&state), "a.case.json");
            assert!(!effects.contains(&Effect::Drop), "the kept work stays on disk");
            state
        };
        let mut state = under_way();
        let effects = update(&mut state, Command::Answer(Answer::KeepEditing));
        assert!(state.document.as_ref().unwrap().unsaved() && !effects.contains(&Effect::Drop));
        assert_eq!(file_name(&state), "a.case.json");

        let mut state = under_way();
        let effects = update(&mut state, Command::Answer(Answer::Discard));
        assert_eq!((file_name(&state), effects.contains(&Effect::Drop)), ("b.case.json".to_owned(), true));

        let mut state = under_way();
        let case = case_of(&update(&mut state, Command::Answer(Answer::Save)));
        assert_eq!(case.shots[0].marks.placed().count(), 1);
        let file = PathBuf::from("/x/a.case.json");
        receive(&mut state, Outcome::Saved { case, file, seen: seen("2") });
        assert_eq!(file_name(&state), "b.case.json");
        assert!(state.question.is_none() && state.leaving.is_none());
    }

    #[test]
    fn pictures_for_a_new_case_do_not_push_unsaved_work_away_either() {
        let mut state = marked();
        let found = vec![Found { path: PathBuf::from("/p/1.png"), digest: None, taken: None }];
        receive(&mut state, Outcome::Pictures { purpose: Purpose::Open, found, trouble: Vec::new() });
        assert_eq!(file_name(&state), "a.case.json");
        update(&mut state, Command::Answer(Answer::Discard));
        assert_eq!(state.document.as_ref().unwrap().case().shots[0].id, "1");
    }

    fn relinked(state: &mut State, shot: &str, path: &str) {
        let digest = Some("sha256:new".to_owned());
        let found = vec![Found { path: PathBuf::from(path), digest, taken: None }];
        let purpose = Purpose::Relink(shot.to_owned());
        receive(state, Outcome::Pictures { purpose, found, trouble: Vec::new() });
    }

    #[test]
    fn another_picture_keeps_the_digest_that_the_marks_were_made_on() {
        let digest = |state: &State, at: usize| {
            let shot = &state.document.as_ref().unwrap().case().shots[at];
            (shot.image.clone(), shot.digest.clone())
        };
        let mut state = opened();
        relinked(&mut state, "a", "/x/b.png");
        assert_eq!(digest(&state, 0), ("b.png".to_owned(), Some("sha256:new".to_owned())), "no marks yet");

        let mut state = opened();
        let what = Description::Digest(Some("sha256:old".to_owned()));
        update(&mut state, Command::Edit(Edit::Describe { shot: "a".to_owned(), what }));
        update(&mut state, Command::Place(Point::new(1.0, 1.0)));
        relinked(&mut state, "a", "/x/b.png");
        assert_eq!(digest(&state, 0), ("b.png".to_owned(), Some("sha256:old".to_owned())));
    }

    #[test]
    fn another_picture_goes_to_the_shot_it_was_asked_for() {
        let mut state = opened();
        let effects = update(&mut state, Command::Relink);
        let Some(Effect::Ask { purpose, .. }) = effects.first() else { panic!("{effects:?}") };
        assert_eq!(*purpose, Purpose::Relink("a".to_owned()));
        let shot = Box::new(Shot::new("b", "b.png", View::Lateral));
        update(&mut state, Command::Edit(Edit::AddShot { at: 1, shot }));
        update(&mut state, Command::ShowShot("b".to_owned()));
        relinked(&mut state, "a", "/x/c.png");
        let images: Vec<_> =
            state.document.as_ref().unwrap().case().shots.iter().map(|shot| shot.image.clone()).collect();
        assert_eq!(images, ["c.png", "b.png"]);
        update(&mut state, Command::CloseCase);
        update(&mut state, Command::Answer(Answer::Discard));
        relinked(&mut state, "a", "/x/c.png");
        assert!(state.document.is_none(), "no case comes up of itself");
    }

    #[test]
    fn a_case_that_is_opened_again_looks_at_its_pictures_anew() {
        let mut state = opened();
        let key = state.shown_key().unwrap();
        assert!(matches!(state.pictures.insert(key.clone(), Loading::Aside), Some(Loading::Busy)));
        let case = Box::new(state.document.as_ref().unwrap().case().clone());
        let file = PathBuf::from("/x/a.case.json");
        let effects = receive(&mut state, Outcome::Opened { case, file, seen: seen("1"), leftover: None });
        assert!(effects.contains(&Effect::Decode { key: key.clone(), first: true }));
        assert!(matches!(state.pictures.get(&key), Some(Loading::Busy)));
    }
}
