//! The images: what is known of each by its file, how far it has come, and which samples are kept.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;

use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::case::image::offered_scale::ScaleOffer;
use crate::measure::reading::FrameExtent;
use crate::scene::window_level::GreyTile;
use crate::scene::window_level::WindowLevel;

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
pub struct DecodedPicture {
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
    Ready(DecodedPicture),
    /// It is known, but its samples were put aside to spare memory.
    Aside,
    /// It cannot be shown: one sentence.
    Failed(String),
}

/// What is known of a picture for good, however often its samples come and go.
#[derive(Clone, Debug)]
pub struct KnownPicture {
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
    pub offer: ScaleOffer,
    /// Whether the file says that words are burned into the picture.
    pub burned_in: bool,
    /// Whether it is compressed without a checksum.
    pub unchecked: bool,
}

/// All images of the window.
#[derive(Clone, Debug, Default)]
pub struct PictureStore {
    /// How far each has come, by its file.
    pub loading: BTreeMap<PictureKey, Loading>,
    /// What is known of them.
    pub known: BTreeMap<PictureKey, KnownPicture>,
    /// Those whose samples may be put aside, the one used last at the end.
    pub kept: Vec<PictureKey>,
    /// Those of which a small one was asked for.
    pub glanced: BTreeSet<PictureKey>,
    /// How many bytes of images' files are open beside that.
    pub held_open: usize,
    /// How many may be, if the work was told another limit than the usual one.
    pub told_open: Option<usize>,
}

impl PictureStore {
    /// Forgets all images that lie in files; what was simulated lies in none and cannot be read again.
    pub fn clear(&mut self) {
        self.retain(|_, _| false);
    }

    /// Keeps the images of files for which `stays` holds, and those that lie in no file.
    pub fn retain(&mut self, stays: impl Fn(&PictureKey, Option<&Loading>) -> bool) {
        let stays = |key: &PictureKey, loading: Option<&Loading>| key.is_simulated() || stays(key, loading);
        self.loading.retain(|key, loading| stays(key, Some(loading)));
        self.known.retain(|key, _| stays(key, None));
        self.kept.retain(|key| stays(key, None));
        self.glanced.retain(|key| stays(key, None));
    }

    /// Puts an image in that lies in no file. Its samples are never put aside, for they could not be read again.
    pub fn put_simulated(&mut self, key: PictureKey, known: KnownPicture, picture: DecodedPicture) {
        self.known.insert(key.clone(), known);
        self.loading.insert(key, Loading::Ready(picture));
    }

    /// Forgets the images that lie in no file.
    pub fn forget_simulated(&mut self) {
        self.known.retain(|key, _| !key.is_simulated());
        self.loading.retain(|key, _| !key.is_simulated());
    }
}

/// Where images stand that lie in no file.
const SIMULATED: &str = "/simulated";

impl PictureKey {
    /// The key of a simulated image by its number.
    #[must_use]
    pub fn simulated(number: u64) -> Self {
        Self { path: PathBuf::from(format!("{SIMULATED}/{number}.png")), frame: 0 }
    }

    /// Whether the image lies in no file.
    #[must_use]
    pub fn is_simulated(&self) -> bool {
        self.path.starts_with(SIMULATED)
    }
}
