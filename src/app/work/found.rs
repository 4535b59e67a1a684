//! Images that were found in files, and what follows from decoding one.

use crate::case::document::redaction::Cover;
use crate::case::image::burned_in::proposed_covers;
use crate::case::image::facts::Facts;
use crate::case::image::frame::Frame;
use crate::measure::reading::FrameExtent;
use crate::scene::window_level::GreyTile;
use crate::scene::window_level::Region;
use crate::scene::window_level::WindowLevel;
use crate::scene::window_level::render;
use std::path::PathBuf;
use std::sync::Arc;

/// Longer side of the small picture of a shot, in pixels.
const SMALL_SIDE: u32 = 192;

/// Pictures that were found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoundImage {
    /// A picture's file.
    pub path: PathBuf,
    /// Digest of its bytes.
    pub digest: Option<String>,
    /// Time taken as the file says it.
    pub taken: Option<String>,
    /// How many frames the file has.
    pub frames: u32,
}

/// A decoded picture with what follows from it.
#[derive(Clone, Debug)]
pub struct Decoded {
    /// The samples, where they are wanted.
    pub frame: Option<Arc<Frame>>,
    /// Digest of its file.
    pub digest: String,
    /// What the user should know of the file.
    pub warnings: Vec<String>,
    /// What the file says beside the samples.
    pub facts: Facts,
    /// Its size and field.
    pub extent: FrameExtent,
    /// A small picture of it.
    pub small: Arc<GreyTile>,
    /// The grey levels that suit it.
    pub greys: WindowLevel,
    /// Places that look like burned-in words, as covers to propose.
    pub proposed: Vec<Cover>,
}

/// A frame with what follows from it; without `samples` these are let go.
pub(crate) fn decoded(frame: Frame, samples: bool) -> Decoded {
    let extent = frame.extent();
    let greys = WindowLevel::automatic(&frame, extent.field);
    let step = frame.width.max(frame.height).div_ceil(SMALL_SIDE).max(1);
    let small = Arc::new(render(&frame, greys, Region::whole(&frame), step));
    let proposed = proposed_covers(&frame, extent.field);
    let (digest, warnings) = (frame.digest.to_string(), frame.warnings.clone());
    let facts = frame.facts.clone();
    // Samples that nobody looks at yet are let go at once.
    let frame = samples.then(|| Arc::new(frame));
    Decoded { frame, digest, warnings, facts, extent, small, greys, proposed }
}
