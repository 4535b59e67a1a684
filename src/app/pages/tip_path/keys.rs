//! What the keys of the image mean on the page with the tip path.

use crate::app::command::marks::MarksCommand;
use crate::app::command::view::ViewCommand;
use crate::app::pages::tip_path::TipPathCommand;
use crate::app::pages::tip_path::memory::Tab;
use crate::app::session::state::State;
use crate::geom::point::Point;

/// The first two numbers choose what is shown.
#[must_use]
pub fn of_marks(command: &MarksCommand) -> Option<TipPathCommand> {
    match command {
        MarksCommand::TakeNumber(1) => Some(TipPathCommand::Tab(Tab::Way)),
        MarksCommand::TakeNumber(2) => Some(TipPathCommand::Tab(Tab::Curve)),
        MarksCommand::TakeNumber(_)
        | MarksCommand::Take(_)
        | MarksCommand::TakeMark(_)
        | MarksCommand::Skip
        | MarksCommand::Back
        | MarksCommand::PutDown
        | MarksCommand::AddPoints
        | MarksCommand::SecondContour
        | MarksCommand::AddPointsTo(_)
        | MarksCommand::Place(_)
        | MarksCommand::PlaceAtCrosshair
        | MarksCommand::Insert(..)
        | MarksCommand::Grab(..)
        | MarksCommand::Drag(_)
        | MarksCommand::Release
        | MarksCommand::Nudge(..)
        | MarksCommand::Remove
        | MarksCommand::ClearMarks
        | MarksCommand::MirrorDiagram
        | MarksCommand::CopyMarks
        | MarksCommand::CopyMarksFrom(_)
        | MarksCommand::ConfirmMarks => None,
    }
}

/// Zoom goes for the image that the projected stylet path is drawn on.
#[must_use]
pub fn of_view(state: &State, command: &ViewCommand) -> Option<TipPathCommand> {
    let page = &state.pages.tip_path;
    if page.tab != Tab::Curve {
        return None;
    }
    let at = Point::new(0.5 * page.curve.canvas.width, 0.5 * page.curve.canvas.height);
    match command {
        ViewCommand::ZoomIn => Some(TipPathCommand::Zoom { at, factor: 1.25 }),
        ViewCommand::ZoomOut => Some(TipPathCommand::Zoom { at, factor: 0.8 }),
        ViewCommand::ZoomToBody => Some(TipPathCommand::About),
        ViewCommand::Fit
        | ViewCommand::ZoomAt(..)
        | ViewCommand::Pan(_)
        | ViewCommand::OneToOne
        | ViewCommand::AutomaticWindow
        | ViewCommand::Invert
        | ViewCommand::DragWindow(..)
        | ViewCommand::NextPreset
        | ViewCommand::LocalContrast
        | ViewCommand::RotateRight
        | ViewCommand::RotateLeft
        | ViewCommand::RotateRightFine
        | ViewCommand::RotateLeftFine
        | ViewCommand::Flip
        | ViewCommand::ResetOrientation => None,
    }
}
