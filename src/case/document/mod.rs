//! A case: settings and shots, as the case file holds them.

pub mod copied_marks;
pub mod duplicate;
pub mod edit;
pub mod extra;
pub mod figure_spec;
pub mod frame_shots;
pub mod history;
pub mod proposed;
pub mod record;
pub mod redaction;
pub mod rereading;
pub mod shot;
pub mod shot_list;

use crate::case::document::extra::{Extra, SettingsExtra};
use crate::case::document::figure_spec::FigureSpec;
use crate::case::document::record::BodyRecord;
use crate::case::document::rereading::Rereading;
pub use crate::case::document::shot::Shot;
use crate::case::document::shot_list::ShotList;
use crate::measure::mark::PatientRight;
use crate::measure::settings::Settings;
use crate::measure::true_view::known::Tube;

/// A case.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Case {
    /// The user's own name for it.
    pub title: Option<String>,
    /// Who operated, as a code of the user's own.
    pub operator: Option<String>,
    /// Date, `YYYY-MM-DD`.
    pub date: Option<String>,
    /// The user's own reference, for reports.
    pub reference: Option<String>,
    /// The degenerated discs, `L4-L5` and so on.
    pub discs: Vec<String>,
    /// Which side of the pictures is the patient's right.
    pub patient_right: Option<PatientRight>,
    /// Where the X-ray tube stood, as far as it is known.
    pub tube: Tube,
    /// Keys of that which this version does not know.
    pub tube_extra: Extra,
    /// Settings.
    pub settings: Settings,
    /// What the user wrote down of treated bodies, each body and side once, down the spine.
    pub bodies: Vec<BodyRecord>,
    /// Templates of figures, each by a name of its own.
    pub figures: Vec<FigureSpec>,
    /// The shots in their order.
    pub shots: ShotList,
    /// What was read again blind, beside the first marks.
    pub rereadings: Vec<Rereading>,
    /// Keys of the case that this version does not know.
    pub extra: Extra,
    /// Keys inside the settings that this version does not know.
    pub settings_extra: SettingsExtra,
}

impl Case {
    /// The shot with this id.
    #[must_use]
    pub fn shot(&self, id: &str) -> Option<&Shot> {
        self.shots.iter().find(|shot| shot.id == id)
    }

    /// An id of this base that no shot has yet.
    #[must_use]
    pub fn free_id(&self, base: &str) -> String {
        if self.shot(base).is_none() {
            return base.to_owned();
        }
        (2..)
            .map(|n| format!("{base}-{n}"))
            .find(|id| self.shot(id).is_none())
            .unwrap_or_else(|| base.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;

    #[test]
    fn free_ids_count_on() {
        let mut case = Case::default();
        assert_eq!(case.free_id("a"), "a");
        case.shots.push(Shot::new("a", "a.png", View::Lateral));
        assert_eq!(case.free_id("a"), "a-2");
    }
}
