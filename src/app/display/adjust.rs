//! Changing how the shown image is seen: window and level, local contrast, orientation.

use crate::app::display::viewport::{Showing, Turn};
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::scene::window_level::look::{Base, Look};

/// One step of a fine turn, in degrees.
pub(crate) const FINE_DEG: f64 = 1.0;

/// Chooses window and level from the image.
pub(crate) fn automatic(editor: &mut Editor) {
    look(editor, |look| Look { base: Base::Automatic, inverted: false, ..look });
}

/// Changes black and white.
pub(crate) fn invert(editor: &mut Editor) {
    look(editor, |look| Look { inverted: !look.inverted, ..look });
}

/// Spreads gray levels anew within each part of the image, or stops that.
pub(crate) fn local_contrast(editor: &mut Editor) {
    look(editor, |look| Look { local: !look.local, ..look });
}

/// Takes the next window that the file carries.
pub(crate) fn next_preset(editor: &mut Editor) {
    let presets = editor.shown_frame().map_or(0, |picture| picture.frame.facts.presets.len());
    look(editor, |look| look.next_preset(presets));
}

/// Changes level and width by shares. A drag over an inverted picture goes the way it looks.
pub(crate) fn drag(editor: &mut Editor, level: f64, width: f64) {
    let Some(window) = editor.greys() else { return };
    let base = Base::Window(window.dragged(level, width));
    look(editor, |look| Look { base, ..look });
}

fn look(editor: &mut Editor, change: impl FnOnce(Look) -> Look) {
    if let Some(aspect) = editor.document.as_mut().and_then(Document::aspect_mut) {
        aspect.look = change(aspect.look);
    }
}

/// What is in the middle of the canvas stays there.
pub(crate) fn turn(editor: &mut Editor, change: impl FnOnce(Turn) -> Turn) {
    let middle = crate::geom::point::Point::new(0.5 * editor.canvas.width, 0.5 * editor.canvas.height);
    let centre = editor.transform().to_image(middle);
    let Some(document) = editor.document.as_mut() else { return };
    let Some(aspect) = document.aspect_mut() else { return };
    aspect.turn = change(aspect.turn);
    if let Some(id) = document.shown.clone()
        && let Some(Showing::Free { centre: shown, .. }) = document.showing.get_mut(&id)
    {
        *shown = centre;
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::stride::{Stride, Way};
    use crate::app::command::view::ViewCommand;
    use crate::app::session::state::State;
    use crate::app::session::update::update as run;
    use crate::case::document::{Case, Shot};
    use crate::geom::point::{Point, Vec2};
    use crate::measure::mark::{MarkKind, MarkRef, Marks, View};

    fn state() -> State {
        let mut case = Case::default();
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = Marks::new().with(MarkKind::Tip, &[(40.0, 30.0)]);
        case.shots.push(shot);
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State::of(document)
    }

    #[test]
    fn turning_and_mirroring_change_no_mark_and_no_case() {
        let mut state = state();
        let before = state.editor.document.as_ref().unwrap().case().clone();
        for command in [
            Command::View(ViewCommand::RotateRight),
            Command::View(ViewCommand::Flip),
            Command::View(ViewCommand::RotateLeftFine),
            Command::View(ViewCommand::LocalContrast),
        ] {
            run(&mut state, command);
        }
        let document = state.editor.document.as_ref().unwrap();
        assert_eq!((document.case(), document.unsaved()), (&before, false));
        assert!((document.aspect().turn.degrees - 269.0).abs() < 1e-9, "{:?}", document.aspect());
        run(&mut state, Command::View(ViewCommand::ResetOrientation));
        assert_eq!(state.editor.document.as_ref().unwrap().aspect().turn, Turn::default());
    }

    #[test]
    fn arrows_go_the_way_they_are_seen() {
        let mut state = state();
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        run(&mut state, Command::View(ViewCommand::RotateRight));
        run(&mut state, Command::Marks(MarksCommand::TakeMark(tip)));
        run(&mut state, Command::Marks(MarksCommand::Nudge(Way::Right, Stride::Ten)));
        let at = state.editor.document.as_ref().unwrap().shot().unwrap().marks.point(tip).unwrap();
        let seen = state.editor.transform().turn.seen(at - Point::new(40.0, 30.0));
        assert!((seen - Vec2::new(10.0, 0.0)).length() < 1e-9, "{at:?}");
    }

    #[test]
    fn a_turn_keeps_the_middle_in_the_middle() {
        let mut state = state();
        run(&mut state, Command::View(ViewCommand::ZoomAt(Point::new(100.0, 80.0), 4.0)));
        let middle = Point::new(0.5 * state.editor.canvas.width, 0.5 * state.editor.canvas.height);
        let before = state.editor.transform().to_image(middle);
        run(&mut state, Command::View(ViewCommand::RotateLeft));
        assert!(state.editor.transform().to_image(middle).distance(before) < 1e-9);
    }
}
