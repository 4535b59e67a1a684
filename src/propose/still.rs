//! A frame made ready once for all that is looked for in it.

use crate::align::plane::NumberPlane;
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::propose::field::recorded;
use crate::propose::metal::{Instrument, Polarity, SmallImage, instrument};
use crate::propose::patch::{Cutting, Patch};
use crate::propose::raster::widened;

/// A main piece this long that comes in from the edge, this much better than in the other polarity, tells the polarity.
const SURE_MM: f64 = 15.0;
const SURE_RATIO: f64 = 1.25;
/// Metal is left out with this margin.
const METAL_MARGIN_MM: f64 = 0.9;

/// A frame with its field and its instrument.
#[derive(Clone, Debug)]
pub(crate) struct Still<'a> {
    pub(crate) frame: &'a Frame,
    pub(crate) scene: SmallImage,
    pub(crate) instrument: Instrument,
    /// Samples of the scene that count neither as bone nor as what lies about it: metal and a margin of it.
    pub(crate) metal: Vec<bool>,
}

impl<'a> Still<'a> {
    /// The frame at `mm_per_px`, redacted boxes left out.
    pub(crate) fn new(frame: &'a Frame, covers: &[Cover], mm_per_px: f64) -> Self {
        let recorded = recorded(frame, covers);
        let scene = SmallImage::new(&NumberPlane::of_whole(frame), &recorded, mm_per_px);
        let instrument = instrument(&scene);
        let metal = widened(&instrument.mask, scene.grey.columns, METAL_MARGIN_MM / scene.mm);
        Self { frame, scene, instrument, metal }
    }

    /// The polarities that bone may have.
    pub(crate) fn polarities(&self) -> Vec<Polarity> {
        let i = &self.instrument;
        if i.from_edge && i.length_mm > SURE_MM && i.score > SURE_RATIO * i.other_score {
            vec![i.polarity]
        } else {
            vec![Polarity::BoneDark, Polarity::BoneBright]
        }
    }

    /// The patch that a map carries onto the frame.
    pub(crate) fn patch(&self, to_image: Affine, polarity: Polarity) -> Option<Patch> {
        let Self { frame, scene, metal, .. } = self;
        Patch::cut(Cutting { frame, scene, metal, polarity }, to_image)
    }
}
