//! How a shot's picture is shown: its greys, and which way up. None of it is part of the case.

use crate::app::command::Command;
use crate::app::display::viewport::{Showing, Turn};
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::scene::window_level::look::{Base, Look};

/// One step of a fine turn, in degrees.
const FINE_DEG: f64 = 1.0;

/// How a shot's picture is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Appearance {
    /// Its greys.
    pub look: Look,
    /// Which way up.
    pub turn: Turn,
}

/// Carries commands on how the picture is shown out; others are left alone.
pub(crate) fn update(state: &mut State, command: &Command) {
    match command {
        Command::AutomaticGreys => {
            look(state, |look| Look { base: Base::Automatic, inverted: false, ..look });
        }
        Command::InvertGreys => look(state, |look| Look { inverted: !look.inverted, ..look }),
        Command::LocalContrast => look(state, |look| Look { local: !look.local, ..look }),
        Command::NextPreset => {
            let presets = state.shown_frame().map_or(0, |picture| picture.frame.facts.presets.len());
            look(state, |look| look.next_preset(presets));
        }
        Command::DragGreys(level, width) => {
            // A drag over an inverted picture goes the way it looks.
            let Some(window) = state.greys() else { return };
            let base = Base::Window(window.dragged(*level, *width));
            look(state, |look| Look { base, ..look });
        }
        Command::TurnRight => turn(state, |turn| turn.turned(90.0)),
        Command::TurnLeft => turn(state, |turn| turn.turned(-90.0)),
        Command::TiltRight => turn(state, |turn| turn.turned(FINE_DEG)),
        Command::TiltLeft => turn(state, |turn| turn.turned(-FINE_DEG)),
        Command::MirrorPicture => turn(state, Turn::flipped),
        Command::Upright => turn(state, |_| Turn::default()),
        _ => {}
    }
}

fn look(state: &mut State, change: impl FnOnce(Look) -> Look) {
    if let Some(aspect) = state.document.as_mut().and_then(Document::aspect_mut) {
        aspect.look = change(aspect.look);
    }
}

/// What is in the middle of the canvas stays there.
fn turn(state: &mut State, change: impl FnOnce(Turn) -> Turn) {
    let middle = crate::geom::point::Point::new(0.5 * state.canvas.width, 0.5 * state.canvas.height);
    let centre = state.transform().to_image(middle);
    let Some(document) = state.document.as_mut() else { return };
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
    use crate::app::command::{Stride, Way};
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
        State { document: Some(document), ..State::default() }
    }

    #[test]
    fn turning_and_mirroring_change_no_mark_and_no_case() {
        let mut state = state();
        let before = state.document.as_ref().unwrap().case().clone();
        for command in [Command::TurnRight, Command::MirrorPicture, Command::TiltLeft, Command::LocalContrast]
        {
            run(&mut state, command);
        }
        let document = state.document.as_ref().unwrap();
        assert_eq!((document.case(), document.unsaved()), (&before, false));
        assert!((document.aspect().turn.degrees - 269.0).abs() < 1e-9, "{:?}", document.aspect());
        run(&mut state, Command::Upright);
        assert_eq!(state.document.as_ref().unwrap().aspect().turn, Turn::default());
    }

    #[test]
    fn arrows_go_the_way_they_are_seen() {
        let mut state = state();
        let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
        run(&mut state, Command::TurnRight);
        run(&mut state, Command::TakeMark(tip));
        run(&mut state, Command::Nudge(Way::Right, Stride::Ten));
        let at = state.document.as_ref().unwrap().shot().unwrap().marks.point(tip).unwrap();
        let seen = state.transform().turn.seen(at - Point::new(40.0, 30.0));
        assert!((seen - Vec2::new(10.0, 0.0)).length() < 1e-9, "{at:?}");
    }

    #[test]
    fn a_turn_keeps_the_middle_in_the_middle() {
        let mut state = state();
        run(&mut state, Command::ZoomAt(Point::new(100.0, 80.0), 4.0));
        let middle = Point::new(0.5 * state.canvas.width, 0.5 * state.canvas.height);
        let before = state.transform().to_image(middle);
        run(&mut state, Command::TurnLeft);
        assert!(state.transform().to_image(middle).distance(before) < 1e-9);
    }
}
