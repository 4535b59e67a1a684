//! One's own marking error as it was measured, in place of the settings' own.

use crate::measure::settings::Settings;
use crate::study::mark_spread::SpreadEstimate;

/// Marking errors in millimetres, in each direction.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OwnError {
    /// Of marks on bone.
    pub bone: Option<SpreadEstimate>,
    /// Of marks on metal.
    pub metal: Option<SpreadEstimate>,
}

impl OwnError {
    /// Settings with these marking errors, to a thousandth of a millimetre; `None` where nothing was measured, or every
    /// mark fell on its place, which no hand does.
    #[must_use]
    pub fn adopted(&self, settings: &Settings) -> Option<Settings> {
        let measured = |spread: Option<SpreadEstimate>| spread.map(|spread| spread.sd).filter(|sd| *sd > 0.0);
        let (bone, metal) = (measured(self.bone), measured(self.metal));
        let to_micrometres = |sd: f64| (sd * 1000.0).round() / 1000.0;
        (bone.is_some() || metal.is_some()).then(|| Settings {
            bone_sd_mm: bone.map_or(settings.bone_sd_mm, to_micrometres),
            metal_sd_mm: metal.map_or(settings.metal_sd_mm, to_micrometres),
            ..settings.clone()
        })
    }
}
