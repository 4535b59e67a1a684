//! The parts of an overlay, each of which can be switched off by itself.

use crate::measure::mark::View;

/// A part of the overlay that can be switched off by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The target band of the depth: its two lines and the area between them.
    DepthBand,
    /// Mid height and the allowed band about it.
    HeightBand,
    /// The target band about the midline.
    MidlineBand,
    /// The midlines, each by what it is found.
    Midlines,
    /// The lines at one third and two thirds of the depth.
    Thirds,
    /// The pedicles: their borders in an AP view, the outline down the pedicle.
    Pedicles,
    /// The spinous process.
    SpinousProcess,
    /// The quarters of a pedicle's outline and the clock about it.
    Quadrants,
    /// Where docking aims in a pedicle's outline.
    DockingTarget,
    /// The borders used.
    Borders,
    /// The contours as marked, where they are not the border used.
    Contours,
    /// The 10 % ruler along both axes.
    Ruler,
    /// The cannula.
    Cannula,
    /// The electrodes.
    Electrodes,
    /// The region that holds the tip with 95 % probability.
    TipRegion,
    /// The tip.
    Tip,
    /// The words.
    Labels,
    /// The shot's own labels, for teaching; they are drawn over the overlay, not in it.
    Teaching,
}

/// Which layers are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LayerSet(u32);

impl Layer {
    /// All layers in drawing order.
    pub const ALL: [Self; 18] = [
        Self::DepthBand,
        Self::HeightBand,
        Self::MidlineBand,
        Self::DockingTarget,
        Self::Thirds,
        Self::Quadrants,
        Self::SpinousProcess,
        Self::Midlines,
        Self::Borders,
        Self::Contours,
        Self::Pedicles,
        Self::Ruler,
        Self::Cannula,
        Self::Electrodes,
        Self::TipRegion,
        Self::Tip,
        Self::Labels,
        Self::Teaching,
    ];

    /// Its key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::DepthBand => "depth-band",
            Self::HeightBand => "height-band",
            Self::MidlineBand => "midline-band",
            Self::DockingTarget => "docking-target",
            Self::Thirds => "thirds",
            Self::Quadrants => "quadrants",
            Self::SpinousProcess => "spinous-process",
            Self::Midlines => "midlines",
            Self::Borders => "borders",
            Self::Contours => "contours",
            Self::Pedicles => "pedicles",
            Self::Ruler => "ruler",
            Self::Cannula => "cannula",
            Self::Electrodes => "electrodes",
            Self::TipRegion => "tip-region",
            Self::Tip => "tip",
            Self::Labels => "labels",
            Self::Teaching => "teaching",
        }
    }

    /// Whether there can be something of it in a view.
    #[must_use]
    pub const fn belongs_to(self, view: View) -> bool {
        match self {
            Self::DepthBand | Self::Thirds => matches!(view, View::Lateral),
            Self::MidlineBand | Self::SpinousProcess | Self::Midlines => matches!(view, View::Ap),
            Self::DockingTarget | Self::Quadrants => matches!(view, View::Pedicle),
            Self::Pedicles => matches!(view, View::Ap | View::Pedicle),
            Self::HeightBand
            | Self::Borders
            | Self::Contours
            | Self::Ruler
            | Self::Cannula
            | Self::Electrodes => matches!(view, View::Lateral | View::Ap),
            Self::TipRegion | Self::Tip | Self::Labels | Self::Teaching => true,
        }
    }

    const fn bit(self) -> u32 {
        1 << self as u16
    }
}

impl LayerSet {
    /// No layer.
    pub const NONE: Self = Self(0);

    /// Every layer.
    #[must_use]
    pub fn all() -> Self {
        Layer::ALL.into_iter().collect()
    }

    /// Whether a layer is shown.
    #[must_use]
    pub const fn has(self, layer: Layer) -> bool {
        self.0 & layer.bit() != 0
    }

    /// The same set with a layer shown.
    #[must_use]
    pub const fn with(self, layer: Layer) -> Self {
        Self(self.0 | layer.bit())
    }

    /// The same set with a layer hidden.
    #[must_use]
    pub const fn without(self, layer: Layer) -> Self {
        Self(self.0 & !layer.bit())
    }

    /// The same set with a layer changed from shown to hidden or back.
    #[must_use]
    pub const fn toggled(self, layer: Layer) -> Self {
        Self(self.0 ^ layer.bit())
    }

    /// The set of a list of keys with commas between.
    ///
    /// # Errors
    /// The first key that names no layer.
    pub fn from_keys(keys: &str) -> Result<Self, String> {
        keys.split(',')
            .map(str::trim)
            .filter(|key| !key.is_empty())
            .map(|key| Layer::ALL.into_iter().find(|l| l.key() == key).ok_or_else(|| key.to_owned()))
            .collect()
    }
}

impl FromIterator<Layer> for LayerSet {
    fn from_iter<I: IntoIterator<Item = Layer>>(layers: I) -> Self {
        layers.into_iter().fold(Self::NONE, Self::with)
    }
}

impl Default for LayerSet {
    /// All but the thirds, which matter only beyond the band.
    fn default() -> Self {
        Self::all().without(Layer::Thirds)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_are_chosen_by_key() {
        let set = LayerSet::from_keys("borders, tip").unwrap();
        assert!(set.has(Layer::Borders) && set.has(Layer::Tip) && !set.has(Layer::Ruler));
        assert_eq!(LayerSet::from_keys("borders,nose"), Err("nose".to_owned()));
        for layer in Layer::ALL {
            assert_eq!(LayerSet::from_keys(layer.key()), Ok(LayerSet::NONE.with(layer)));
        }
    }
}
