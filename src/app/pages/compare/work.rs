//! What is done away from the drawing thread for compared shots, and what came of it.

use crate::align::registration::Registration;
use crate::app::pages::compare::memory::{FoundFrom, MadeOf};
use crate::case::document::Case;
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::case::readings::ShotReading;
use crate::scene::comparison::Comparison;
use crate::scene::comparison::layers::Layers;
use crate::scene::comparison::refined::Refined;
use std::sync::Arc;

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum CompareWork {
    /// Draw the earlier picture in the later one's frame.
    Lay(Box<RegisterOrder>),
    /// Refine by the pictures how it lies.
    Refine(Box<RefineOrder>),
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum CompareDone {
    /// The earlier picture is drawn, or why it cannot be.
    Laid(Box<MadeOf>, Result<Arc<Layers>, String>),
    /// The pictures were asked how it lies.
    Refined(Box<FoundFrom>, Result<Arc<Refined>, String>),
}

/// A refinement to be found.
#[derive(Clone, Debug)]
pub struct RefineOrder {
    pub(super) from: FoundFrom,
    pub(super) case: Case,
    pub(super) compared: Comparison,
    pub(super) second: ShotReading,
    pub(super) frames: [Arc<Frame>; 2],
}

impl RefineOrder {
    /// What it is found from.
    pub(super) const fn from(&self) -> &FoundFrom {
        &self.from
    }
}

impl PartialEq for RefineOrder {
    fn eq(&self, other: &Self) -> bool {
        self.from == other.from
    }
}

/// Layers to be made.
#[derive(Clone, Debug)]
pub struct RegisterOrder {
    /// What of.
    pub of: MadeOf,
    pub(super) registration: Registration,
    pub(super) frames: [Arc<Frame>; 2],
    pub(super) covers: [Vec<Cover>; 2],
}

impl PartialEq for RegisterOrder {
    fn eq(&self, other: &Self) -> bool {
        self.of == other.of
    }
}
