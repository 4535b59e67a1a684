//! Redaction of burned-in text, annotations for teaching, and the scale.

use crate::app::annotation::label::LabelCommand;
use crate::app::annotation::last_scale;
use crate::app::annotation::redaction;
use crate::app::annotation::scale;
use crate::app::annotation::straighten::StraightenCommand;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::session::editor::Editor;
use crate::app::session::mode::Tool;
use crate::case::document::redaction::Cover;
use crate::case::image::offered_scale::ScaleOffer;
use crate::geom::point::Point;
use crate::scene::overlay::LayerSet;

/// What can be asked for about what is drawn on an image beside its marks.
#[derive(Clone, Debug, PartialEq)]
pub enum AnnotationsCommand {
    /// Begin or end drawing covers over burned-in words.
    Redact,
    /// Add this cover to the shown shot.
    AddRedaction(Cover),
    /// Put this cover of the shown shot elsewhere.
    MoveRedaction(usize, Cover),
    /// Choose a cover, or none.
    SelectRedaction(Option<usize>),
    /// Cover what looks like words.
    RedactSuggested,
    /// Redact what looks like text in every shot.
    RedactEverywhere,
    /// What looks like words is none.
    RefuseSuggested,
    /// Do not ask about burned-in text beside the images of this case any more.
    RedactLater,
    /// What is asked for on labels.
    Label(LabelCommand),
    /// What is asked for on the screen in a photo.
    Straighten(StraightenCommand),
    /// Begin or end working on the scale.
    Scale,
    /// The line along a known length runs between these places.
    MarkLength(Point, Point),
    /// The line is this long.
    SetLength {
        /// In millimetres.
        mm: f64,
        /// Standard uncertainty of that.
        sd_mm: f64,
    },
    /// Use the scale that was entered last for images of this size.
    UseLastScale,
    /// Take the scale that the file offers.
    UseFileScale,
    /// Use the shown shot's scale for every shot that it suits.
    ScaleForAlike,
    /// Take the file's spacing at the detector with a magnification of the user's own.
    UseDetectorScale {
        /// The magnification.
        magnification: f64,
        /// Its standard uncertainty.
        sd: f64,
    },
    /// Ask for millimetres, or for fractions only.
    Millimeters,
    /// Remove the selected redaction.
    RemoveRedaction,
    /// Stop drawing redactions or the scale, and go back to marking.
    Finish,
}

impl AnnotationsCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all = vec![
            Self::Redact,
            Self::RedactSuggested,
            Self::Scale,
            Self::UseLastScale,
            Self::ScaleForAlike,
            Self::Millimeters,
        ];
        all.extend(LabelCommand::listed().into_iter().map(Self::Label));
        all
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Redact => (
                "Redact text",
                "Draw opaque boxes over burned-in text; every export has them in the pixels.",
                key_bindings::annotations::REDACT,
            ),
            Self::RedactSuggested => (
                "Redact suggested",
                "Redact the regions that look like text.",
                key_bindings::annotations::REDACT_SUGGESTED,
            ),
            Self::RedactEverywhere => (
                "Redact in all shots",
                "Redact the regions that look like text in every shot of the case whose image has been read.",
                &[],
            ),
            Self::RefuseSuggested => ("Not text", "Leave these regions as they are.", &[]),
            Self::RedactLater => (
                "Later",
                "Do not ask again while this case is open. Image › Redact suggested and every export still find the text.",
                &[],
            ),
            Self::Label(command) => return command.entry(),
            Self::Straighten(command) => return command.entry(),
            Self::Scale => (
                "Scale",
                "Set the size of a pixel: from the file, from a known width, or typed.",
                key_bindings::annotations::SCALE,
            ),
            Self::ScaleForAlike => (
                "Use for all alike",
                "Use this scale for all selected shots, or for all shots of the same frame size and source.",
                key_bindings::annotations::SCALE_FOR_ALIKE,
            ),
            Self::UseLastScale => (
                "Use last scale",
                "Use the scale that was entered last for images of this size. Check that the field size and the distances of the C-arm were the same.",
                key_bindings::annotations::USE_LAST_SCALE,
            ),
            Self::UseFileScale => ("Use file scale", "Use the scale given in the file.", &[]),
            Self::Millimeters => (
                "Millimeters",
                "Show lengths in millimeters where the shot is calibrated.",
                key_bindings::annotations::MILLIMETERS,
            ),
            Self::AddRedaction(..)
            | Self::MoveRedaction(..)
            | Self::SelectRedaction(..)
            | Self::MarkLength(..)
            | Self::SetLength { .. }
            | Self::UseDetectorScale { .. }
            | Self::RemoveRedaction
            | Self::Finish => return None,
        };
        Some(Entry { label, tip, group: Group::Picture, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        let Some((document, shot)) = editor.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
            return unless(false, NO_SHOT);
        };
        match self {
            Self::Redact | Self::AddRedaction(_) | Self::Scale | Self::MarkLength(..) => None,
            Self::Millimeters => None,
            Self::SelectRedaction(Some(index)) | Self::MoveRedaction(index, _)
                if *index >= shot.covers.len() =>
            {
                unless(false, "That redaction is no longer there.")
            }
            Self::SelectRedaction(chosen) => {
                unless(document.tool() != (Tool::Redaction { chosen: *chosen }), "It is selected already.")
            }
            Self::MoveRedaction(index, cover) => unless(
                shot.covers[*index] != *cover
                    || document.tool() != (Tool::Redaction { chosen: Some(*index) }),
                "The redaction is there already.",
            ),
            Self::RemoveRedaction => unless(
                matches!(document.tool(), Tool::Redaction { chosen: Some(_) }),
                "No redaction is selected.",
            ),
            Self::Finish => unless(document.tool() != Tool::Marks, "Nothing is being drawn."),
            Self::RedactSuggested | Self::RefuseSuggested => unless(
                !redaction::proposed(editor).is_empty(),
                "No burned-in text is suggested in this image.",
            ),
            Self::RedactEverywhere => unless(
                !redaction::everywhere(editor).is_empty(),
                "No burned-in text is suggested in any shot.",
            ),
            Self::RedactLater => unless(!document.redact_later, "Nothing is asked about burned-in text."),
            Self::Label(command) => command.refusal(document),
            Self::Straighten(command) => command.refusal(document),
            Self::SetLength { .. } => unless(
                matches!(document.tool(), Tool::Scale { ends: Some(_) }),
                "Draw a line along the known length first.",
            ),
            Self::ScaleForAlike if shot.mm_per_px.is_none() => {
                unless(false, "This shot is not calibrated. Set its scale first.")
            }
            Self::ScaleForAlike => {
                unless(!scale::alike(editor).is_empty(), "No other shot has the same frame size and source.")
            }
            Self::UseLastScale => unless(
                last_scale::offered(editor).is_some(),
                "No scale was entered before for images of this size, or this shot is calibrated.",
            ),
            Self::UseFileScale => unless(
                scale::offer(editor).scale().is_some(),
                "This image's file has no scale that can be used.",
            ),
            Self::UseDetectorScale { .. } => unless(
                matches!(scale::offer(editor), ScaleOffer::Detector { .. } | ScaleOffer::Magnified { .. }),
                "This image's file has no spacing at the detector.",
            ),
        }
    }

    /// Carries it out on the shown shot; `layers` are those that are drawn over it.
    pub(crate) fn apply(self, editor: &mut Editor, layers: LayerSet) {
        match self {
            Self::Redact => redaction::begin_or_end(editor),
            Self::AddRedaction(cover) => redaction::add(editor, cover),
            Self::MoveRedaction(index, cover) => redaction::put(editor, index, cover),
            Self::SelectRedaction(chosen) => redaction::select(editor, chosen),
            Self::RemoveRedaction => redaction::remove(editor),
            Self::RedactSuggested => redaction::accept(editor),
            Self::RedactEverywhere => redaction::accept_everywhere(editor),
            Self::RefuseSuggested => redaction::refuse(editor),
            Self::RedactLater => redaction::later(editor),
            Self::Finish => redaction::finish(editor),
            Self::Label(command) => command.apply(editor, layers),
            Self::Straighten(command) => command.apply(editor),
            Self::Scale => scale::begin_or_end(editor),
            Self::MarkLength(a, b) => scale::draw(editor, a, b),
            Self::SetLength { mm, sd_mm } => scale::set_length(editor, mm, sd_mm),
            Self::ScaleForAlike => scale::use_for_alike(editor),
            Self::UseLastScale => last_scale::use_last(editor),
            Self::UseFileScale => scale::use_file(editor),
            Self::UseDetectorScale { magnification, sd } => scale::use_detector(editor, magnification, sd),
            Self::Millimeters => scale::millimeters(editor),
        }
    }
}
