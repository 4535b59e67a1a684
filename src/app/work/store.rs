//! What is known of images by their files, and how far each has come.

use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::case::image::offered_scale::Offer;
use crate::measure::reading::FrameExtent;
use crate::scene::window_level::GreyTile;
use crate::scene::window_level::WindowLevel;
use std::path::PathBuf;
use std::sync::Arc;

/// What a picture is known by: its file and the frame within.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PictureKey {
    /// The file.
    pub path: PathBuf,
    /// The frame in it, from 0.
    pub frame: u32,
}

/// A picture that has been decoded.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The stored samples.
    pub frame: Arc<Frame>,
    /// The grey levels that suit it.
    pub greys: WindowLevel,
}

/// How far a picture has come.
#[derive(Clone, Debug)]
pub enum Loading {
    /// It is being decoded.
    Busy,
    /// It is there.
    Ready(Picture),
    /// It is known, but its samples were put aside to spare memory.
    Aside,
    /// It cannot be shown: one sentence.
    Failed(String),
}

/// What is known of a picture for good, however often its samples come and go.
#[derive(Clone, Debug)]
pub struct Known {
    /// Its size and field.
    pub extent: FrameExtent,
    /// Its digest.
    pub digest: String,
    /// A small picture of it.
    pub small: Arc<GreyTile>,
    /// What the user should know of the file.
    pub warnings: Vec<String>,
    /// Frames in its file.
    pub frames: u32,
    /// Time from frame to frame in milliseconds, if the file says it.
    pub frame_time_ms: Option<f64>,
    /// Places that look like burned-in words, as covers to propose.
    pub proposed: Vec<Cover>,
    /// What the file says of the scale.
    pub offer: Offer,
    /// Whether the file says that words are burned into the picture.
    pub burned_in: bool,
}
