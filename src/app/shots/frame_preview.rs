//! A frame of the shown shot's file that is looked at without being the shot's own.

use crate::case::document::Shot;

/// A frame that is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FramePreview {
    /// The shot whose file it is of.
    pub shot: String,
    /// The frame, from 0.
    pub frame: u32,
    /// Whether one frame after the other is shown.
    pub playing: bool,
}

impl FramePreview {
    /// The frame of a shot that is shown: the one that is looked at, else the shot's own.
    #[must_use]
    pub fn shown(preview: Option<&Self>, shot: &Shot) -> u32 {
        preview.filter(|preview| preview.shot == shot.id).map_or(shot.frame, |preview| preview.frame)
    }
}
