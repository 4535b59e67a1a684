//! What is said where millimeters are asked for and a shot has no scale.

use crate::case::document::Shot;
use crate::case::readings::ShotReading;
use crate::measure::issue::{Issue, IssueCode};

impl ShotReading {
    /// Says that there are no millimetres, where the shot has no scale.
    pub fn ask_for_mm(&mut self, shot: &Shot) {
        if shot.mm_per_px.is_none() {
            self.issues_mut().push(Issue::new(
                IssueCode::NoScale,
                "This shot is not calibrated, so only fractions are read. For millimeters, use the scale from the file, mark a known width, or type the scale.",
            ));
        }
    }
}
