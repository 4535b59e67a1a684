//! How working on labels presents itself: entries of its commands, and what the next click does.

use crate::app::annotation::label::{LabelCommand, LabelDraft};
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::session::document::Document;
use crate::case::annotation::list::{PointedLine, number};
use crate::case::annotation::{Label, LabelKind};
use crate::case::document::Shot;
use crate::scene::format;

/// How many characters of a label's words stand in the list.
const SHORT: usize = 24;

impl LabelCommand {
    /// Those with a key.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![Self::Begin, Self::NextGrip]
    }

    /// Word, explanation and key; `None` for what only the pointer can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Begin => (
                "Annotations",
                "Annotate the image for teaching: text, arrows, lines, angles, lengths, outlines, numbers, insets.",
                key_bindings::annotations::BEGIN,
            ),
            Self::NextGrip => (
                "Next part",
                "While annotating: move the next part of the selected annotation with the arrow keys.",
                key_bindings::annotations::NEXT_GRIP,
            ),
            Self::Finish => ("Finish", "Finish the annotation; Enter does the same.", &[]),
            Self::Round => ("Round", "Make outlines and regions round instead of angular.", &[]),
            Self::FreeWords => ("Auto place", "Place the text where there is room.", &[]),
            Self::Earlier => ("Earlier", "Draw it before the others; numbers count in this order.", &[]),
            Self::Later => ("Later", "Draw it after the others; numbers count in this order.", &[]),
            Self::Align(PointedLine::Left) => {
                ("Align left", "Align the left edges of the selected texts.", &[])
            }
            Self::Align(PointedLine::Right) => {
                ("Align right", "Align the right edges of the selected texts.", &[])
            }
            Self::Align(PointedLine::Top) => ("Tops", "Align the tops of the selected texts.", &[]),
            Self::Align(PointedLine::Middle) => {
                ("Middles", "Align the vertical centers of the selected texts.", &[])
            }
            Self::Remove => {
                ("Delete annotation", "Delete the selected annotations; Undo restores them.", &[])
            }
            Self::CarryTo(_) => (
                "Copy to another shot",
                "Copy the selected annotations to another shot, each at the same position in the body.",
                &[],
            ),
            Self::Kind(_)
            | Self::At(_)
            | Self::Choose(_)
            | Self::ChooseToo(_)
            | Self::Next
            | Self::Grab(..)
            | Self::Drag(..)
            | Self::Done
            | Self::Say(..)
            | Self::Corner(_)
            | Self::Times(_)
            | Self::Nudge(..)
            | Self::PlaceAtCrosshair
            | Self::Back
            | Self::SelectAll
            | Self::PutDown => return None,
        };
        Some(Entry { label, tip, group: Group::Picture, keys })
    }
}

/// What the next click does.
#[must_use]
pub fn sentence(document: &Document) -> String {
    let labelling = &document.labelling;
    if let Some(index) = labelling.primary()
        && labelling.placed.is_empty()
        && let Some(label) = document.shot().and_then(|shot| shot.labels.get(index))
    {
        if label.kind().is_none() {
            return "An annotation from a newer version; it is kept unchanged.".to_owned();
        }
        return format!(
            "Selected; the arrow keys move {}. Click elsewhere to add another.",
            labelling.grip.name()
        );
    }
    next_point(labelling)
}

fn next_point(labelling: &LabelDraft) -> String {
    let placed = labelling.placed.len();
    let round = labelling.round && labelling.kind.can_be_round();
    let what = match (labelling.kind, placed) {
        (LabelKind::Text, _) => "the point the text refers to",
        (LabelKind::Number, _) => "the point to number",
        (LabelKind::Arrow, 0) => "where the arrow begins",
        (LabelKind::Arrow, _) => "where its head points",
        (LabelKind::Line | LabelKind::Length, 0) => "one end",
        (LabelKind::Line | LabelKind::Length, _) => "the other end",
        (LabelKind::Curve, 0) => "where the curve begins",
        (LabelKind::Curve, 1) => "a point on the curve",
        (LabelKind::Curve, 2) => "the next point",
        (LabelKind::Curve, _) => "the next point, or press Enter",
        (LabelKind::Angle, 0) => "a point on one side of the angle",
        (LabelKind::Angle, 1) => "its corner",
        (LabelKind::Angle, _) => "a point on the other side",
        (LabelKind::Outline | LabelKind::Dim, 0) if round => "one end of the round shape",
        (LabelKind::Outline | LabelKind::Dim, 1) if round => "its other end",
        (LabelKind::Outline | LabelKind::Dim, _) if round => "a point on its side",
        (LabelKind::Outline | LabelKind::Dim, 0) => "the first corner",
        (LabelKind::Outline | LabelKind::Dim, 1 | 2) => "the next corner",
        (LabelKind::Outline | LabelKind::Dim, _) => "the next corner, or press Enter",
        (LabelKind::Inset, 0) => "one corner of the region to magnify",
        (LabelKind::Inset, _) => "its opposite corner",
    };
    format!("Click {what}.")
}

/// How a label is called in the list: its number or kind, and the beginning of its words.
#[must_use]
pub fn name(shot: &Shot, index: usize) -> String {
    let Some(label) = shot.labels.get(index) else { return String::new() };
    let kind = match (number(&shot.labels, index), label.kind()) {
        (Some(number), _) => format!("No. {number}"),
        (None, Some(kind)) => kind.name().to_owned(),
        (None, None) => "From a newer version".to_owned(),
    };
    let words = label.words();
    if words.is_empty() { kind } else { format!("{kind}: {}", format::shortened(&words, SHORT)) }
}

/// The field that a label's words are typed into is called this.
#[must_use]
pub fn field_name(label: &Label) -> &'static str {
    match label.kind() {
        Some(LabelKind::Number) => "What the number stands for",
        _ => "Annotation text",
    }
}
