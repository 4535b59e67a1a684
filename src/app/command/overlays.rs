//! What can be drawn over an image, each part with the key that shows or hides it.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::scene::overlay::Layer;

/// The layers with a key of their own.
pub(crate) const KEYED: [Layer; 9] = [
    Layer::Borders,
    Layer::DepthBand,
    Layer::HeightBand,
    Layer::Thirds,
    Layer::TipRegion,
    Layer::Tip,
    Layer::Ruler,
    Layer::Labels,
    Layer::Teaching,
];

/// How switching a layer on or off presents itself.
pub(crate) fn entry(layer: Layer) -> Entry {
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match layer {
        Layer::Borders => {
            ("Borders", "The body borders as used for the reading.", key_bindings::overlays::BORDERS)
        }
        Layer::DepthBand => (
            "Depth target",
            "The depth limits of the target and the region between them.",
            key_bindings::overlays::DEPTH_BAND,
        ),
        Layer::HeightBand => (
            "Height target",
            "Mid-height and the target region around it.",
            key_bindings::overlays::HEIGHT_BAND,
        ),
        Layer::Thirds => {
            ("Thirds", "Lines at one third and two thirds of the depth.", key_bindings::overlays::THIRDS)
        }
        Layer::TipRegion => ("Tip region", "The 95 % region of the tip.", key_bindings::overlays::TIP_REGION),
        Layer::Tip => ("Tip", "The tip.", key_bindings::overlays::TIP),
        Layer::Ruler => {
            ("10 % ruler", "A ruler with 10 % steps along depth and height.", key_bindings::overlays::RULER)
        }
        Layer::Labels => ("Labels", "Text and numbers on the image.", key_bindings::overlays::LABELS),
        Layer::Teaching => {
            ("Annotations", "Your own text and drawings for teaching.", key_bindings::overlays::TEACHING)
        }
        Layer::Contours => {
            ("Contours as marked", "Contours as marked, where they are not the border used.", &[])
        }
        Layer::MidlineBand => ("Midline target", "The target region around the midline.", &[]),
        Layer::Midlines => (
            "Midlines",
            "The midline by the pedicles, the spinous process and the body; the reference midline is drawn stronger.",
            &[],
        ),
        Layer::Pedicles => ("Pedicles", "Pedicle borders or outline.", &[]),
        Layer::SpinousProcess => ("Spinous process", "The borders of the spinous process.", &[]),
        Layer::Quadrants => ("Quadrants and clock face", "The pedicle quadrants and the clock face.", &[]),
        Layer::DockingTarget => ("Docking target", "The target quadrant for docking.", &[]),
        Layer::Cannula => ("Cannula", "The cannula axis.", &[]),
        Layer::Electrodes => ("Electrodes", "The electrodes.", &[]),
    };
    Entry { label, tip, group: Group::Picture, keys }
}
