//! Carrying commands out on an editor, whichever it is: that of the open case, or that of the one image which is marked on a
//! page; and what follows every change of it.

use crate::app::annotation::label;
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::editing::EditorCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::command::view::ViewCommand;
use crate::app::command::window::WindowCommand;
use crate::app::display::{opening, zoom};
use crate::app::marking::guide::capital;
use crate::app::marking::proposal::change;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{Mode, Tool};
use crate::app::session::notice::Weight;
use crate::app::shots::frames;
use crate::app::work::pictures;
use crate::scene::overlay::LayerSet;

/// Carries out what can be asked for of an editor; `layers` are those that are drawn over its image.
pub(crate) fn carry_out(editor: &mut Editor, command: EditorCommand, layers: LayerSet) {
    match command {
        EditorCommand::Shots(command) => command.apply(editor),
        EditorCommand::Marks(command) => mark(editor, command),
        EditorCommand::Case(command) => command.apply(editor),
        EditorCommand::View(command) => command.apply(editor),
        EditorCommand::Annotations(command) => command.apply(editor, layers),
    }
}

/// A command on marks, and what belongs to it on the screen: the first mark is placed on the frame that is seen, and the
/// mark in hand stays in sight.
fn mark(editor: &mut Editor, command: MarksCommand) {
    if command.is_about_a_place() && !matches!(command, MarksCommand::Grab(..)) {
        frames::use_frame(editor);
    }
    let (middle, in_sight) = (zoom::middle(editor), command.moves_or_takes());
    let Some(document) = &mut editor.document else { return };
    let copying = document.copying().is_some();
    if let Err(error) = command.apply(document, middle) {
        editor.say(Weight::Trouble, capital(&format!("{error}.")));
    }
    if in_sight {
        zoom::keep_in_sight(editor);
    }
    if copying && editor.document.as_ref().is_some_and(|document| document.copying().is_none()) {
        opening::bring_marks_into_sight(editor);
    }
}

/// Marks that are offered become a draft before a command touches them; walls that are pointed at are left by any command
/// that is about other marks.
pub(crate) fn take_up_proposal(editor: &mut Editor, command: &Command) {
    let Command::Marks(command) = command else { return };
    let elsewhere = editor.is_elsewhere();
    let Some(document) = editor.document.as_mut().filter(|document| document.tool() == Tool::Marks) else {
        return;
    };
    if document.is_labeling() {
        return;
    }
    let places = document.hand().places();
    let asks_for_hand = matches!(command, MarksCommand::Place(_) | MarksCommand::TakeNumber(_));
    let done = if document.pointing().is_some() && !command.keeps_pointing() {
        change::by_hand(document)
    } else if command.touches_marks()
        && !elsewhere
        && document.pointing().is_none()
        && (places || !asks_for_hand)
    {
        change::take_up(document)
    } else {
        Ok(())
    };
    if let Err(error) = done {
        editor.say(Weight::Trouble, capital(&format!("{error}.")));
    }
}

/// What follows every change: what changed is read again, and what is selected and looked at is still there.
pub(crate) fn follow(editor: &mut Editor) {
    pictures::soften(editor);
    let Editor { document, pictures, .. } = editor;
    if let Some(document) = document {
        let file = document.file.clone();
        label::tidy(document);
        let soft = std::mem::take(&mut document.soft);
        document.look(|shot| pictures::about(pictures, &soft, file.as_deref(), shot));
        document.soft = soft;
    }
    frames::tidy(editor);
}

/// Ends what goes on over several commands before anything else is done to the case: nudges of one mark in a row are
/// one step back, and so is a change of an annotation; a point that is held by the pointer is let go, so that neither
/// the drag nor the command reaches a shot or a point that it was not meant for. Looking closer is no change.
pub(crate) fn end_changes(editor: &mut Editor, command: &Command) {
    let Some(document) = &mut editor.document else { return };
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
        | Mode::Pointing(_)
        | Mode::Labeling
        | Mode::Redacting { .. }
        | Mode::Annotating(None)
        | Mode::Scaling { .. }
        | Mode::Straightening(_) => true,
    };
    if !goes_on {
        document.end_change();
    }
}

/// Whether a command only looks closer, so that a drag goes on meanwhile.
const fn looks_closer(command: &ViewCommand) -> bool {
    matches!(
        command,
        ViewCommand::Pan(_) | ViewCommand::ZoomAt(..) | ViewCommand::ZoomIn | ViewCommand::ZoomOut
    )
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
