//! Zoom, window and level, and orientation of the shown image; nothing of the case changes.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::display::adjust;
use crate::app::display::viewport::{Showing, Turn};
use crate::app::display::zoom;
use crate::app::session::editor::Editor;
use crate::geom::point::{Point, Vec2};

/// What can be asked for about how the shown image is seen.
#[derive(Clone, Debug, PartialEq)]
pub enum ViewCommand {
    /// Zoom in at the middle of the picture or at the crosshair.
    ZoomIn,
    /// Zoom out.
    ZoomOut,
    /// Zoom by a factor at an image place.
    ZoomAt(Point, f64),
    /// Move the picture by canvas points.
    Pan(Vec2),
    /// Show the whole picture.
    Fit,
    /// One pixel of the picture to one of the screen.
    OneToOne,
    /// Show the marked body as large as possible.
    ZoomToBody,
    /// Choose the grey levels by themselves.
    AutomaticWindow,
    /// Change black and white.
    Invert,
    /// Change the grey levels by a drag: level and width, as shares.
    DragWindow(f64, f64),
    /// Take the next display that the file carries.
    NextPreset,
    /// Spread greys anew within each part of the picture, or stop that.
    LocalContrast,
    /// Turn the picture by a quarter, clockwise.
    RotateRight,
    /// Turn it by a quarter the other way.
    RotateLeft,
    /// Turn it by one degree, clockwise.
    RotateRightFine,
    /// Turn it by one degree the other way.
    RotateLeftFine,
    /// Change left and right of the picture.
    Flip,
    /// Show the picture as it is stored.
    ResetOrientation,
}

impl ViewCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![
            Self::ZoomIn,
            Self::ZoomOut,
            Self::Fit,
            Self::OneToOne,
            Self::ZoomToBody,
            Self::AutomaticWindow,
            Self::Invert,
            Self::NextPreset,
            Self::LocalContrast,
            Self::RotateRight,
            Self::RotateLeft,
            Self::RotateRightFine,
            Self::RotateLeftFine,
            Self::Flip,
            Self::ResetOrientation,
        ]
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::ZoomIn => ("Zoom in", "Zoom in.", key_bindings::view::ZOOM_IN),
            Self::ZoomOut => ("Zoom out", "Zoom out.", key_bindings::view::ZOOM_OUT),
            Self::Fit => ("Fit", "Fit the whole image in the window.", key_bindings::view::FIT),
            Self::OneToOne => {
                ("1:1", "Show one image pixel as one screen pixel.", key_bindings::view::ONE_TO_ONE)
            }
            Self::ZoomToBody => (
                "Zoom to body",
                "Zoom to the marked body, or to where it is expected.",
                key_bindings::view::ZOOM_TO_BODY,
            ),
            Self::AutomaticWindow => (
                "Auto window/level",
                "Set window/level automatically. Drag with the right button to adjust it.",
                key_bindings::view::AUTOMATIC_WINDOW,
            ),
            Self::Invert => ("Invert", "Invert black and white on screen only.", key_bindings::view::INVERT),
            Self::NextPreset => (
                "Next preset",
                "Use the next window/level preset of the file, then automatic again.",
                key_bindings::view::NEXT_PRESET,
            ),
            Self::LocalContrast => (
                "Local contrast",
                "Enhance contrast locally so that faint endplates show.",
                key_bindings::view::LOCAL_CONTRAST,
            ),
            Self::RotateRight => (
                "Rotate 90° clockwise",
                "Rotate the image 90° clockwise; marks stay on the bone.",
                key_bindings::view::ROTATE_RIGHT,
            ),
            Self::RotateLeft => (
                "Rotate 90° counterclockwise",
                "Rotate the image 90° counterclockwise.",
                key_bindings::view::ROTATE_LEFT,
            ),
            Self::RotateRightFine => (
                "Rotate 1° clockwise",
                "Rotate the image 1° clockwise.",
                key_bindings::view::ROTATE_RIGHT_FINE,
            ),
            Self::RotateLeftFine => (
                "Rotate 1° counterclockwise",
                "Rotate the image 1° counterclockwise.",
                key_bindings::view::ROTATE_LEFT_FINE,
            ),
            Self::Flip => (
                "Flip horizontally",
                "Flip the image left to right on screen only.",
                key_bindings::view::FLIP,
            ),
            Self::ResetOrientation => (
                "Reset orientation",
                "Show the image as stored, neither rotated nor flipped.",
                key_bindings::view::RESET_ORIENTATION,
            ),
            Self::ZoomAt(..) | Self::Pan(..) | Self::DragWindow(..) => return None,
        };
        Some(Entry { label, tip, group: Group::Picture, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        let Some((document, shot)) = editor.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
            return unless(false, NO_SHOT);
        };
        let picture = editor.shown_frame();
        match self {
            Self::ZoomIn
            | Self::ZoomOut
            | Self::ZoomAt(..)
            | Self::Pan(_)
            | Self::LocalContrast
            | Self::RotateRight
            | Self::RotateLeft
            | Self::RotateRightFine
            | Self::RotateLeftFine
            | Self::Flip => None,
            Self::Fit => unless(editor.showing() != Showing::Whole, "The whole image is shown already."),
            Self::OneToOne | Self::AutomaticWindow | Self::Invert | Self::DragWindow(..) => {
                unless(picture.is_some(), "The image is not shown yet.")
            }
            Self::ZoomToBody => unless(shot.marks.placed().count() > 1, "Mark at least two points first."),
            Self::NextPreset => unless(
                picture.is_some_and(|picture| !picture.frame.facts.presets.is_empty()),
                "This image's file has no window presets.",
            ),
            Self::ResetOrientation => {
                unless(document.aspect().turn != Turn::default(), "The image is shown as it is stored.")
            }
        }
    }

    /// Carries it out: changes how the shown shot is seen, and nothing else.
    pub(crate) fn apply(self, editor: &mut Editor) {
        match self {
            Self::ZoomIn => zoom::by_key(editor, true),
            Self::ZoomOut => zoom::by_key(editor, false),
            Self::ZoomAt(at, factor) => zoom::at(editor, at, factor),
            Self::Pan(by) => zoom::pan(editor, by),
            Self::Fit => zoom::fit(editor),
            Self::OneToOne => zoom::one_to_one(editor),
            Self::ZoomToBody => zoom::to_body(editor),
            Self::AutomaticWindow => adjust::automatic(editor),
            Self::Invert => adjust::invert(editor),
            Self::DragWindow(level, width) => adjust::drag(editor, level, width),
            Self::NextPreset => adjust::next_preset(editor),
            Self::LocalContrast => adjust::local_contrast(editor),
            Self::RotateRight => adjust::turn(editor, |turn| turn.turned(90.0)),
            Self::RotateLeft => adjust::turn(editor, |turn| turn.turned(-90.0)),
            Self::RotateRightFine => adjust::turn(editor, |turn| turn.turned(adjust::FINE_DEG)),
            Self::RotateLeftFine => adjust::turn(editor, |turn| turn.turned(-adjust::FINE_DEG)),
            Self::Flip => adjust::turn(editor, Turn::flipped),
            Self::ResetOrientation => adjust::turn(editor, |_| Turn::default()),
        }
    }
}
