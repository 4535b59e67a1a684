//! What a case file holds beyond what this version knows, kept word for word so that no save loses it.

use std::collections::BTreeMap;

/// What a case file holds that this version does not know, kept word for word: JSON text by key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Extra(pub BTreeMap<String, String>);

/// Unknown keys of the objects inside the settings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SettingsExtra {
    /// Beside the known settings.
    pub settings: Extra,
    /// Inside `placement_sd_mm`.
    pub placement_sd_mm: Extra,
    /// Inside `targets`: stages this version does not know.
    pub targets: Extra,
    /// Inside each stage's target, by the stage's key.
    pub stages: BTreeMap<String, Extra>,
}
