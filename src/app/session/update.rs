//! The one way from a command to changes of the state and to file work.

use std::sync::Arc;

use crate::app::command::Command;
use crate::app::command::editing::EditorCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::window::{WindowCommand, dismiss};
use crate::app::files::autosave;
use crate::app::marking::proposal::{change, follow};
use crate::app::pages;
use crate::app::session::document::Document;
use crate::app::session::editing;
use crate::app::session::notice::Weight;
use crate::app::session::outcome;
use crate::app::session::route::{Route, route};
use crate::app::session::state::State;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::pictures;
use crate::app::work::under_way::Activity;
use crate::scene::format;

/// Carries a command out. What it cannot do at present is left undone, and [`State::refused`] says why.
pub fn update(state: &mut State, command: Command) -> Vec<Effect> {
    let mut effects = Vec::new();
    state.refused = None;
    match route(state, command) {
        Route::Nowhere(why) => state.refused = Some(why.into_owned()),
        Route::Editor(command) => on_page(state, command),
        Route::Here(command) => {
            editing::take_up_proposal(&mut state.editor, &command);
            let refusal = command.refusal(state);
            editing::end_changes(&mut state.editor, &command);
            match refusal {
                Some(why) => state.refused = Some(why.into_owned()),
                None => apply(state, command, &mut effects),
            }
        }
    }
    follow(state, &mut effects);
    effects
}

/// Carries a command out on the image that is marked on the shown page, apart from the open case: nothing is kept or saved
/// from there but what the page takes in.
fn on_page(state: &mut State, command: EditorCommand) {
    let Some(editor) = pages::editor_mut(&mut state.pages) else { return };
    let refusal = command.refusal(editor);
    editing::end_changes(editor, &command.clone().into());
    match refusal {
        Some(why) => state.refused = Some(why.into_owned()),
        None => {
            let layers = editor.drawn(&state.display);
            editing::carry_out(editor, command, layers);
        }
    }
    pages::marked(state);
}

/// Hands a command to its subject.
fn apply(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    match command {
        Command::File(command) => command.apply(state, effects),
        Command::Shots(command) => edit(state, EditorCommand::Shots(command)),
        Command::Marks(command) => {
            // What lies on top is closed by the key that puts a mark down.
            if command == MarksCommand::PutDown {
                dismiss(&mut state.display, &mut state.notices);
            }
            // What was good to know has been read when marks are placed, and lies over the image.
            if let MarksCommand::Place(_) = command {
                state.notices.retain(|notice| notice.weight == Weight::Trouble);
            }
            edit(state, EditorCommand::Marks(command));
        }
        Command::Case(command) => edit(state, EditorCommand::Case(command)),
        Command::View(command) => edit(state, EditorCommand::View(command)),
        Command::Annotations(command) => edit(state, EditorCommand::Annotations(command)),
        Command::Page(command) => pages::apply(state, command, effects),
        Command::Window(command) => {
            let switched = command == WindowCommand::ProposeMarks;
            command.apply(&mut state.display, &mut state.notices);
            if let (true, Some(document)) = (switched && !state.display.proposes, &mut state.editor.document)
            {
                change::ask_no_more(document);
            }
        }
    }
}

fn edit(state: &mut State, command: EditorCommand) {
    let layers = state.editor.drawn(&state.display);
    editing::carry_out(&mut state.editor, command, layers);
}

/// Takes in what came of an effect.
pub fn receive(state: &mut State, outcome: Outcome) -> Vec<Effect> {
    receive_all(state, vec![outcome])
}

/// Takes in what came of several effects. Many pictures arriving together are followed by one reading of the case,
/// not by one each.
pub fn receive_all(state: &mut State, outcomes: Vec<Outcome>) -> Vec<Effect> {
    let mut effects = Vec::new();
    let mut followed = true;
    for outcome in outcomes {
        match outcome {
            Outcome::Picture { key, result } => {
                pictures::receive(&mut state.editor, key, result);
                if let Some(document) =
                    pages::editor_mut(&mut state.pages).and_then(|editor| editor.document.as_mut())
                {
                    document.stale = true;
                }
                followed = false;
            }
            other => {
                outcome::receive(state, other, &mut effects);
                follow(state, &mut effects);
                followed = true;
            }
        }
    }
    if !followed {
        follow(state, &mut effects);
    }
    effects
}

/// What follows every change: readings, unsaved work beside the file, pictures that are needed.
fn follow(state: &mut State, effects: &mut Vec<Effect>) {
    editing::follow(&mut state.editor);
    read_elsewhere(state, effects);
    state.note_place();
    pages::tidy(state);
    pages::follow(state, effects);
    follow_on_page(state);
    let said = std::mem::take(&mut state.editor.said);
    state.take_said(said);
    follow::follow(&mut state.editor, state.display.proposes, effects);
    autosave::keep(state, effects);
    pictures::want(state, effects);
    pages::lend_pictures(state);
}

/// What is too much to be read on the drawing thread is read in a lane; until it is there, it is said to be under way.
fn read_elsewhere(state: &mut State, effects: &mut Vec<Effect>) {
    let Some(due) = state.editor.document.as_mut().and_then(Document::readings_due) else { return };
    let shots = format::count(due.shots(), "shot", "shots");
    state.under_way.begin(Activity::Reading, format!("Reading {shots}"));
    effects.push(Effect::Read(Box::new(due)));
}

/// What follows on the image that is marked on the shown page.
fn follow_on_page(state: &mut State) {
    pages::lend_pictures(state);
    let Some(editor) = pages::editor_mut(&mut state.pages) else { return };
    editing::follow(editor);
    // Handed back, so that the store can be changed in place.
    editor.pictures = Arc::default();
    let said = std::mem::take(&mut editor.said);
    state.take_said(said);
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::command::view::ViewCommand;
    use crate::case::document::{Case, Shot};
    use crate::geom::point::Point;
    use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

    fn grabbing() -> State {
        let mut case = Case::default();
        for id in ["a", "b"] {
            let mut shot = Shot::new(id, format!("{id}.png"), View::Lateral);
            shot.marks = Marks::new().with(MarkKind::Tip, &[(4.0, 4.0)]);
            case.shots.push(shot);
        }
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        let mut state = State::of(document);
        update(&mut state, Command::Marks(MarksCommand::Grab(TIP, Point::new(4.0, 4.0))));
        update(&mut state, Command::Marks(MarksCommand::Drag(Point::new(7.0, 4.0))));
        state
    }

    const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

    fn tips(state: &State) -> Vec<Option<Point>> {
        state
            .editor
            .document
            .as_ref()
            .unwrap()
            .case()
            .shots
            .iter()
            .map(|shot| shot.marks.point(TIP))
            .collect()
    }

    #[test]
    fn another_shot_or_step_ends_a_drag_and_nothing_wrong_is_moved() {
        for command in [
            Command::Shots(ShotsCommand::Next),
            Command::Shots(ShotsCommand::Show("b".to_owned())),
            Command::Marks(MarksCommand::Remove),
            Command::Case(CaseCommand::Undo),
        ] {
            let mut state = grabbing();
            update(&mut state, command);
            let before = tips(&state);
            update(&mut state, Command::Marks(MarksCommand::Drag(Point::new(90.0, 90.0))));
            update(&mut state, Command::Marks(MarksCommand::Release));
            assert_eq!(tips(&state), before);
        }
    }

    #[test]
    fn looking_closer_goes_on_with_a_drag() {
        let mut state = grabbing();
        update(&mut state, Command::View(ViewCommand::ZoomIn));
        update(&mut state, Command::Marks(MarksCommand::Drag(Point::new(90.0, 90.0))));
        assert_eq!(tips(&state), [Some(Point::new(90.0, 90.0)), Some(Point::new(4.0, 4.0))]);
    }

    /// A case of so many shots that each has the same five marks.
    fn large(shots: usize) -> Case {
        let mut case = Case::default();
        for i in 0..shots {
            let mut shot = Shot::new(format!("s{i}"), "a.png", View::Lateral);
            shot.marks = Marks::new()
                .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
                .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
                .with(MarkKind::Tip, &[(365.4, 356.9)]);
            case.shots.push(shot);
        }
        case
    }

    fn open(state: &mut State, case: Case) -> Vec<Effect> {
        let file = PathBuf::from("/tmp/x/large.case.json");
        let seen = crate::io::store::save::Seen::of(b"large");
        receive(state, Outcome::Opened { case: Box::new(case), file, seen, leftover: None })
    }

    /// The work on readings among these effects.
    fn due(effects: Vec<Effect>) -> Option<crate::case::readings::due::DueReadings> {
        effects.into_iter().find_map(|effect| match effect {
            Effect::Read(due) => Some(*due),
            _ => None,
        })
    }

    fn read(state: &State) -> usize {
        let document = state.editor.document.as_ref().unwrap();
        document.case().shots.iter().filter(|shot| document.looked(&shot.id).is_some()).count()
    }

    /// Told by the order of what happens: the case is there with its shown shot read, the rest follows, and an edit of all
    /// shots, a step back from it and a case that is opened meanwhile show nothing of before.
    #[test]
    fn many_shots_are_read_in_a_lane_and_nothing_of_before_is_shown_meanwhile() {
        let mut state = State::default();
        let opened = due(open(&mut state, large(60))).unwrap();
        assert_eq!((opened.shots(), read(&state)), (59, 1));
        assert_eq!(state.under_way.line().as_deref(), Some("Reading 59 shots…"));
        let document = |state: &State| state.editor.document.as_ref().unwrap().looked("s59").is_some();
        assert!(!document(&state) && state.editor.document.as_ref().unwrap().readings().is_none());
        receive(&mut state, Outcome::Readings(Box::new(opened.make(|| true))));
        assert_eq!((read(&state), state.under_way.line()), (60, None));

        // Another setting concerns all; so does the step back.
        let mut settings = state.editor.document.as_ref().unwrap().case().settings.clone();
        settings.bone_sd_mm = 0.9;
        let edit = crate::case::document::edit::Edit::SetSettings(Box::new(settings));
        let edited = due(update(&mut state, Command::Case(CaseCommand::Edit(edit)))).unwrap();
        assert_eq!(read(&state), 1, "no reading by the old setting is left");
        let undone = due(update(&mut state, Command::Case(CaseCommand::Undo))).unwrap();
        receive(&mut state, Outcome::Readings(Box::new(edited.make(|| true))));
        assert_eq!(read(&state), 1, "what was read by the setting that was taken back is not shown");
        assert_eq!(state.under_way.line().as_deref(), Some("Reading 59 shots…"));
        receive(&mut state, Outcome::Readings(Box::new(undone.make(|| true))));
        assert_eq!((read(&state), state.under_way.line()), (60, None));

        // A case of few shots is read as it opens; what comes late for the one before is nothing to it.
        assert!(due(open(&mut state, large(3))).is_none());
        assert_eq!(read(&state), 3);
        receive(&mut state, Outcome::Readings(Box::new(undone.make(|| true))));
        assert_eq!((read(&state), state.under_way.line()), (3, None));
    }

    /// Readings that break off are told, nothing stays under way, and the next edit of a shot reads it.
    #[test]
    fn readings_that_break_off_leave_the_window_usable() {
        let mut state = State::default();
        let opened = due(open(&mut state, large(40))).unwrap();
        let broken = crate::app::work::failure::outcomes(&Effect::Read(Box::new(opened)));
        receive_all(&mut state, broken);
        assert!(state.notices.iter().any(|notice| notice.text.starts_with("Reading 39 shots failed")));
        assert_eq!(state.under_way.line(), None);
        update(&mut state, Command::Shots(ShotsCommand::Show("s7".to_owned())));
        update(&mut state, Command::Marks(MarksCommand::TakeMark(MarkRef { kind: MarkKind::Tip, index: 0 })));
        let nudge = MarksCommand::Nudge(
            crate::app::command::stride::Way::Right,
            crate::app::command::stride::Stride::Fine,
        );
        update(&mut state, Command::Marks(nudge));
        assert_eq!(read(&state), 2);
    }
}
