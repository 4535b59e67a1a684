//! The one way from a command to changes of the state and to file work.

use crate::app::annotation::label;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::window::{WindowCommand, dismiss};
use crate::app::display::zoom;
use crate::app::files::saving;
use crate::app::marking::guide;
use crate::app::pages;
use crate::app::session::mode::Mode;
use crate::app::session::outcome;
use crate::app::session::route::{Route, looks_closer, route};
use crate::app::session::state::{Loading, State, Weight};
use crate::app::shots::frames;
use crate::app::work::effect::{Effect, Outcome};
use crate::app::work::pictures;

/// Carries a command out. What it cannot do at present is left undone, and [`State::refused`] says why.
pub fn update(state: &mut State, command: Command) -> Vec<Effect> {
    let mut effects = Vec::new();
    state.refused = None;
    match route(state, command) {
        Route::Nowhere(why) => state.refused = Some(why.into_owned()),
        Route::Editor(command) => on_editor(state, command, &mut effects),
        Route::Here(command) => {
            let refusal = command.refusal(state);
            end_changes(state, &command);
            match refusal {
                Some(why) => state.refused = Some(why.into_owned()),
                None => apply(state, command, &mut effects),
            }
        }
    }
    follow(state, &mut effects);
    effects
}

/// Carries a command out on the image that is marked on the shown page. Of what follows only reading images leaves it:
/// nothing is kept or saved from there.
fn on_editor(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    let Some(editor) = pages::editor_mut(state) else { return };
    let follows = update(&mut editor.state, command);
    effects.extend(follows.into_iter().filter(|effect| matches!(effect, Effect::Decode { .. })));
    let (said, refused) = (std::mem::take(&mut editor.state.notices), editor.state.refused.take());
    state.notices.extend(said);
    state.refused = refused;
    pages::marked(state);
}

/// What follows every change on the image that is marked on the shown page.
fn follow_editor(state: &mut State, effects: &mut Vec<Effect>) {
    let Some(editor) = pages::editor_mut(state) else { return };
    let mut follows = Vec::new();
    follow(&mut editor.state, &mut follows);
    effects.extend(follows.into_iter().filter(|effect| matches!(effect, Effect::Decode { .. })));
}

/// Hands a command to its subject.
fn apply(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    match command {
        Command::File(command) => command.apply(state, effects),
        Command::Shots(command) => command.apply(state),
        Command::Marks(command) => mark(state, command),
        Command::Case(command) => command.apply(state),
        Command::View(command) => command.apply(state),
        Command::Annotations(command) => command.apply(state),
        Command::Page(command) => pages::apply(state, command, effects),
        Command::Window(command) => command.apply(&mut state.display, &mut state.notices),
    }
}

/// A command on marks, and what belongs to it on the screen: the first mark is placed on the frame that is seen, the
/// mark in hand stays in sight, and what lies on top is closed by the key that puts a mark down.
fn mark(state: &mut State, command: MarksCommand) {
    if command.is_about_a_place() && !matches!(command, MarksCommand::Grab(..)) {
        frames::use_frame(state);
    }
    if command == MarksCommand::PutDown {
        dismiss(&mut state.display, &mut state.notices);
    }
    let (middle, in_sight) = (zoom::middle(state), command.moves_or_takes());
    let Some(document) = &mut state.document else { return };
    if let Err(error) = command.apply(document, middle) {
        let text = guide::capital(&format!("{error}."));
        state.say(Weight::Trouble, text);
    }
    if in_sight {
        zoom::keep_in_sight(state);
    }
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
                if let Some(editor) = pages::editor_mut(state)
                    && matches!(editor.state.pictures.get(&key), Some(Loading::Busy))
                {
                    pictures::receive(&mut editor.state, key.clone(), result.clone());
                }
                pictures::receive(state, key, result);
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
    pictures::soften(state);
    let State { document, known, pictures, .. } = state;
    if let Some(document) = document {
        let file = document.file.clone();
        label::tidy(document);
        let soft = std::mem::take(&mut document.soft);
        document.look(|shot| pictures::about(known, pictures, &soft, file.as_deref(), shot));
        document.soft = soft;
    }
    state.note_place();
    frames::tidy(state);
    pages::tidy(state);
    pages::follow(state, effects);
    follow_editor(state, effects);
    saving::keep(state, effects);
    pictures::want(state, effects);
}

/// Ends what goes on over several commands before anything else is done to the case: nudges of one mark in a row are
/// one step back, and so is a change of an annotation; a point that is held by the pointer is let go, so that neither
/// the drag nor the command reaches a shot or a point that it was not meant for. Looking closer is no change.
fn end_changes(state: &mut State, command: &Command) {
    let Some(document) = &mut state.document else { return };
    let goes_on = match document.mode() {
        Mode::Dragging(_) => drag_goes_on(command),
        Mode::Nudging(_) => matches!(command, Command::Marks(MarksCommand::Nudge(..))),
        Mode::Annotating(Some(change)) => match command {
            Command::Annotations(AnnotationsCommand::Label(command)) => label::goes_on(*change, command),
            Command::Annotations(_)
            | Command::File(_)
            | Command::Shots(_)
            | Command::Marks(_)
            | Command::Case(_)
            | Command::View(_)
            | Command::Page(_)
            | Command::Window(_) => false,
        },
        Mode::Marking(_)
        | Mode::Copying(_)
        | Mode::Labeling
        | Mode::Redacting { .. }
        | Mode::Annotating(None)
        | Mode::Scaling { .. } => true,
    };
    if !goes_on {
        document.end_change();
    }
}

fn drag_goes_on(command: &Command) -> bool {
    match command {
        Command::Marks(command) => matches!(command, MarksCommand::Drag(_) | MarksCommand::Release),
        Command::View(command) => looks_closer(command),
        Command::Window(command) => {
            matches!(command, WindowCommand::Toggle(_) | WindowCommand::HideDrawing(_))
        }
        Command::File(_)
        | Command::Shots(_)
        | Command::Case(_)
        | Command::Annotations(_)
        | Command::Page(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::case::CaseCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::command::view::ViewCommand;
    use crate::app::session::document::Document;
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
        let mut state = State { document: Some(document), ..State::default() };
        update(&mut state, Command::Marks(MarksCommand::Grab(TIP, Point::new(4.0, 4.0))));
        update(&mut state, Command::Marks(MarksCommand::Drag(Point::new(7.0, 4.0))));
        state
    }

    const TIP: MarkRef = MarkRef { kind: MarkKind::Tip, index: 0 };

    fn tips(state: &State) -> Vec<Option<Point>> {
        state.document.as_ref().unwrap().case().shots.iter().map(|shot| shot.marks.point(TIP)).collect()
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
}
