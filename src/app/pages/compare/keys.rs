//! What the keys of the image mean on the page of compared shots.

use crate::app::command::marks::MarksCommand;
use crate::app::command::stride::{Stride, Way};
use crate::app::command::view::ViewCommand;
use crate::app::pages::compare::{Compare, CompareCommand, Mode, ZOOM_STEP};
use crate::app::session::state::State;
use crate::geom::point::Point;

/// One step of the arrow keys along the share or the line.
const STEP: f64 = 0.05;

/// A number chooses how the shots are shown; arrows to either side move the share or the line.
#[must_use]
pub fn of_marks(state: &State, command: &MarksCommand) -> Option<CompareCommand> {
    let page = &state.pages.compare;
    if let MarksCommand::TakeNumber(n) = command {
        return Some(CompareCommand::As(*Mode::ALL.get(usize::from(*n).checked_sub(1)?)?));
    }
    match command {
        MarksCommand::Nudge(Way::Left, stride) => step(page, *stride, -1.0),
        MarksCommand::Nudge(Way::Right, stride) => step(page, *stride, 1.0),
        MarksCommand::Nudge(Way::Up | Way::Down, _)
        | MarksCommand::TakeNumber(_)
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
        | MarksCommand::Remove
        | MarksCommand::ClearMarks
        | MarksCommand::MirrorDiagram
        | MarksCommand::CopyMarks
        | MarksCommand::CopyMarksFrom(_)
        | MarksCommand::ConfirmMarks => None,
    }
}

/// Zoom goes for both images together.
#[must_use]
pub fn of_view(state: &State, command: &ViewCommand) -> Option<CompareCommand> {
    let page = &state.pages.compare;
    let at = Point::new(0.5 * page.canvas.width, 0.5 * page.canvas.height);
    match command {
        ViewCommand::ZoomIn => Some(CompareCommand::Zoom { at, factor: ZOOM_STEP }),
        ViewCommand::ZoomOut => Some(CompareCommand::Zoom { at, factor: 1.0 / ZOOM_STEP }),
        ViewCommand::Fit => Some(CompareCommand::Whole),
        ViewCommand::ZoomToBody => Some(CompareCommand::Body),
        ViewCommand::ZoomAt(..)
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

/// What an arrow key to either side means: less or more of the later one, the line to the left or the right, the other
/// picture.
fn step(page: &Compare, stride: Stride, way: f64) -> Option<CompareCommand> {
    let by = way * if stride == Stride::One { STEP } else { 0.2 * STEP };
    match page.mode {
        Mode::Blend => Some(CompareCommand::Share(page.share + by)),
        Mode::Divider => Some(CompareCommand::Line(page.line + by)),
        Mode::Alternate => Some(CompareCommand::Change),
        Mode::SideBySide | Mode::Difference => None,
    }
}
