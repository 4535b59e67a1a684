//! The body map of a shot, whichever way it looks.

use crate::case::document::{Case, Shot};
use crate::measure::ap::ap_body_map;
use crate::measure::body::BodyMap;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{Marks, View};

/// The map between the shot's picture and the body, as its marks give it; `None` while they give none, and down the
/// pedicle, where there is no body to map.
#[must_use]
pub fn body_map(case: &Case, shot: &Shot) -> Option<BodyMap> {
    body_map_of(case, shot, &shot.marks)
}

/// The same as other marks on that picture would give it.
#[must_use]
pub fn body_map_of(case: &Case, shot: &Shot, marks: &Marks) -> Option<BodyMap> {
    match shot.view {
        View::Lateral => lateral_body_map(marks).ok(),
        View::Ap => ap_body_map(marks, shot.side, shot.patient_right.or(case.patient_right)).ok(),
        View::Pedicle => None,
    }
}
