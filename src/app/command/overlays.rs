//! What can be drawn over an image, each part with the key that shows or hides it.

use crate::app::command::entry::{Entry, Group, letter};
use crate::app::command::key::Shortcut;
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
        Layer::Borders => (
            "Borders",
            "The borders of the body as they are used.",
            const { &[Shortcut::shift(letter('B'))] },
        ),
        Layer::DepthBand => (
            "Depth band",
            "The lines of the target's depth and the band between them.",
            const { &[Shortcut::shift(letter('D'))] },
        ),
        Layer::HeightBand => (
            "Height band",
            "Mid height and the allowed band about it.",
            const { &[Shortcut::shift(letter('H'))] },
        ),
        Layer::Thirds => (
            "Thirds",
            "The lines at one third and two thirds of the depth.",
            const { &[Shortcut::shift(letter('T'))] },
        ),
        Layer::TipRegion => (
            "Tip region",
            "The region that holds the tip with 95 % probability.",
            const { &[Shortcut::shift(letter('G'))] },
        ),
        Layer::Tip => ("Tip", "The tip.", const { &[Shortcut::shift(letter('P'))] }),
        Layer::Ruler => (
            "10 % ruler",
            "A ruler in steps of 10 % along depth and height.",
            const { &[Shortcut::shift(letter('R'))] },
        ),
        Layer::Labels => {
            ("Labels", "The words and numbers on the picture.", const { &[Shortcut::shift(letter('L'))] })
        }
        Layer::Teaching => (
            "Labels of your own",
            "What you have written and drawn on the shots for teaching.",
            const { &[Shortcut::shift(letter('E'))] },
        ),
        Layer::Contours => ("Contours as marked", "Contours that are not the border used.", &[]),
        Layer::MidlineBand => ("Midline band", "The target band about the midline.", &[]),
        Layer::Midlines => (
            "Midlines",
            "The midline by the pedicles, the spinous process and the body; the one the verdict uses is the stronger.",
            &[],
        ),
        Layer::Pedicles => ("Pedicles", "The borders of the pedicles, or a pedicle's outline.", &[]),
        Layer::SpinousProcess => ("Spinous process", "The borders of the spinous process.", &[]),
        Layer::Quadrants => {
            ("Quarters and clock", "The quarters of the pedicle and the clock about it.", &[])
        }
        Layer::DockingTarget => ("Docking target", "The quarter of the pedicle where docking aims.", &[]),
        Layer::Cannula => ("Cannula", "The cannula's line.", &[]),
        Layer::Electrodes => ("Electrodes", "The electrodes.", &[]),
    };
    Entry { label, tip, group: Group::Picture, keys }
}
