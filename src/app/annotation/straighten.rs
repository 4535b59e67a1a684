//! Straightening a photo of a screen: corners or the edge of the round field are clicked, moved and taken back; what comes
//! of it is a new image beside the original.

use std::borrow::Cow;

use crate::app::annotation::screen_clicks::{ScreenClicks, ScreenPart, ScreenPoint};
use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::command::stride::{Stride, Way};
use crate::app::display::zoom;
use crate::app::files::received_image::StraightenedPhoto;
use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{Mode, Tool};
use crate::geom::point::Point;

/// What can be asked for while a photo is straightened.
#[derive(Clone, Debug, PartialEq)]
pub enum StraightenCommand {
    /// Begin or end clicking on the screen.
    Begin,
    /// Straighten by this part of the screen.
    By(ScreenPart),
    /// A point of the screen is here.
    At(Point),
    /// A point that was clicked is here.
    Put(ScreenPoint, Point),
    /// The next click is the center of the round field, or it is not.
    CentreNext,
    /// Take the last point back.
    Back,
    /// Move the crosshair, or bring it up.
    Nudge(Way, Stride),
    /// A point of the screen is at the crosshair.
    PlaceAtCrosshair,
}

/// Without it nothing is clicked.
const NOT_ON: &str = "Begin with Image › Straighten screen photo.";

impl StraightenCommand {
    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Begin => (
                "Straighten screen photo",
                "Make a new image of a photo of a screen in which the screen is seen from the front; the photo is kept.",
            ),
            Self::By(ScreenPart::Corners) => {
                ("Four corners", "Straighten by the four corners of the screen, or of a frame on it.")
            }
            Self::By(ScreenPart::Field) => {
                ("Round field", "Straighten by the round field of the image: make it round again.")
            }
            Self::CentreNext => (
                "Mark center",
                "Mark the center of the round field with the next click, if it can be seen; it shows the perspective.",
            ),
            Self::Back => ("Remove last point", "Remove the point that was clicked last."),
            Self::At(_) | Self::Put(..) | Self::Nudge(..) | Self::PlaceAtCrosshair => return None,
        };
        Some(Entry { label, tip, group: Group::Picture, keys: &[] })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, document: &Document) -> Option<Refusal> {
        if *self == Self::Begin {
            return None;
        }
        let Some(clicks) = document.straightening() else { return unless(false, NOT_ON) };
        match self {
            Self::Begin | Self::Nudge(..) => None,
            Self::By(part) => unless(clicks.by != *part, "That is selected already."),
            Self::At(_) => unless(!clicks.is_full(), FULL),
            Self::Put(ScreenPoint::Edge(index), at) => {
                let there = clicks.edge.get(*index);
                unless(there.is_some_and(|place| place != at), "The point is there already.")
            }
            Self::Put(ScreenPoint::Centre, at) => {
                unless(clicks.centre.is_some_and(|place| place != *at), "The point is there already.")
            }
            Self::CentreNext => {
                unless(clicks.by == ScreenPart::Field, "Only a round field has a center to mark.")
            }
            Self::Back => unless(
                !clicks.is_empty(),
                "No point has been placed. Press Esc to end straightening before undoing earlier steps.",
            ),
            Self::PlaceAtCrosshair if document.crosshair.is_none() => {
                unless(false, "Show the crosshair with the arrow keys first.")
            }
            Self::PlaceAtCrosshair => unless(!clicks.is_full(), FULL),
        }
    }

    /// Carries it out on the shown shot.
    pub(crate) fn apply(self, editor: &mut Editor) {
        let middle = zoom::middle(editor);
        let Some(document) = &mut editor.document else { return };
        match self {
            Self::Begin if document.tool() == Tool::Straighten => {
                document.crosshair = None;
                document.back_to_marking();
            }
            Self::Begin => document.enter(Mode::Straightening(ScreenClicks::default())),
            Self::By(by) => {
                change(document, |clicks| *clicks = ScreenClicks { by, ..ScreenClicks::default() })
            }
            Self::At(at) => change(document, |clicks| clicks.click(at)),
            Self::Put(point, at) => change(document, |clicks| clicks.put(point, at)),
            Self::CentreNext => change(document, |clicks| clicks.centre_next = !clicks.centre_next),
            Self::Back => change(document, ScreenClicks::back),
            Self::Nudge(way, stride) => {
                let by = document.aspect().turn.unseen(way.unit()) * stride.px();
                document.crosshair = Some(document.crosshair.map_or(middle, |at| at + by));
            }
            Self::PlaceAtCrosshair => {
                if let Some(at) = document.crosshair {
                    change(document, |clicks| clicks.click(at));
                }
            }
        }
    }
}

/// With all corners.
const FULL: &str = "All four corners are marked. Drag one to move it, or remove the last one.";

fn change(document: &mut Document, how: impl FnOnce(&mut ScreenClicks)) {
    if let Some(mut clicks) = document.straightening().cloned() {
        how(&mut clicks);
        document.enter(Mode::Straightening(clicks));
    }
}

/// What the next click does, in a sentence.
#[must_use]
pub fn sentence(document: &Document) -> String {
    let Some(clicks) = document.straightening() else { return String::new() };
    let words = match clicks.by {
        _ if clicks.centre_next => "Click the center of the round field.",
        ScreenPart::Corners if clicks.is_full() => {
            "Check the outline and drag its corners, then save the image."
        }
        ScreenPart::Corners => "Click the four corners of the screen, or of a frame on it.",
        ScreenPart::Field if clicks.known(None).is_ok() => {
            "Check the outline; click more points on the edge where it is off, then save the image."
        }
        ScreenPart::Field => "Click at least five points on the edge of the round field, all around it.",
    };
    words.to_owned()
}

/// The image that comes of what has been clicked, once it is drawn; `aspect` is the screen's width over its height, if it
/// is known.
///
/// # Errors
/// What is missing or wrong, in a sentence.
pub fn straightened_photo(editor: &Editor, aspect: Option<f64>) -> Result<StraightenedPhoto, Refusal> {
    let clicks = editor.document.as_ref().and_then(Document::straightening);
    let clicks = clicks.ok_or(Cow::Borrowed(NOT_ON))?;
    let outline = clicks.known(aspect).map_err(|why| Cow::Owned(format!("{}.", capital(&why))))?;
    let key = editor.shown_key().ok_or(Cow::Borrowed("The image of this shot cannot be found."))?;
    let stem = key.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let name = format!("{stem}-straightened.png");
    Ok(StraightenedPhoto { photo: key.path, frame: key.frame, outline, name })
}
