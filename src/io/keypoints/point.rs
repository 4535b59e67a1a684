//! What a keypoint is, and the names of points.

use crate::case::document::proposed::Origin;
use crate::geom::point::Point;
use crate::measure::mark::{Level, MarkKind, MarkRef, PatientRight, Side, Stage, View};

/// What the key `format` says in the JSON.
pub(super) const FORMAT: &str = "stillmark keypoints";
/// The version of table and JSON.
pub(super) const VERSION: u64 = 1;
/// The most points of a mark that are taken in; more are a fault.
const MAX_INDEX: usize = 1000;

/// One point of a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Keypoint {
    /// Which point of which mark.
    pub at: MarkRef,
    /// Where it is, in image coordinates of corner origin (method, section 1).
    pub to: Point,
    /// Standard deviation of the mark across its border, in millimeters at the plane of the body.
    pub sd_mm: Option<f64>,
    /// The same in pixels.
    pub sd_px: Option<f64>,
    /// Where it comes from.
    pub origin: Origin,
}

/// The points of one shot, with what is needed to read them again.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeypointShot {
    /// What the table calls the case file it comes from; empty in others' tables.
    pub case: String,
    /// The image file, as the case names it.
    pub image: String,
    /// Which frame of it, from 0.
    pub frame: u32,
    /// Columns and rows of the image, where it could be opened.
    pub size: Option<(u32, u32)>,
    /// Id of the shot in its case; empty in others' tables.
    pub shot: String,
    /// The vertebra.
    pub level: Option<Level>,
    /// Entry side.
    pub side: Option<Side>,
    /// The view; none only until a table has been read.
    pub view: Option<View>,
    /// Stage of the procedure.
    pub stage: Option<Stage>,
    /// Which side of the image is the patient's right.
    pub patient_right: Option<PatientRight>,
    /// Scale at the plane of the body.
    pub mm_per_px: Option<f64>,
    /// Its standard uncertainty.
    pub mm_per_px_sd: Option<f64>,
    /// The points, in the order of the marks.
    pub points: Vec<Keypoint>,
}

/// The name of a point: its mark's key and its place in it from 1, such as `superior_end_plate.2`.
#[must_use]
pub(super) fn point_name(at: MarkRef) -> String {
    format!("{}.{}", at.kind.key(), at.index + 1)
}

/// The point of a name; one of a mark with a single point needs no number.
#[must_use]
pub(super) fn point_of_name(name: &str) -> Option<MarkRef> {
    let (key, number) = name.rsplit_once('.').unwrap_or((name, "1"));
    let kind = MarkKind::from_key(key)?;
    let number: usize = number.parse().ok().filter(|n| (1..=MAX_INDEX).contains(n))?;
    let numbered = name.contains('.') || kind.count().1 == 1;
    (numbered && number <= kind.count().1).then_some(MarkRef { kind, index: number - 1 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_points_are_found_again() {
        for kind in MarkKind::ALL {
            let at = MarkRef { kind, index: 0 };
            assert_eq!(point_of_name(&point_name(at)), Some(at));
        }
        assert_eq!(point_of_name("tip"), Some(MarkRef { kind: MarkKind::Tip, index: 0 }));
        for bad in ["tip.2", "tip.0", "pedicle", "pedicle.5", "nose.1", "", ".", "tip.1.1", "cannula.x"] {
            assert_eq!(point_of_name(bad), None, "{bad}");
        }
    }
}
