//! What follows from a shot's marks.

use crate::geom::point::Point;
use crate::measure::issue::Issue;
use crate::measure::mark::{Marks, PatientRight, Side, Stage, View};
use crate::measure::quantity::Quantity;
use crate::measure::settings::Settings;
use crate::measure::verdict::Verdict;

/// The part of a frame in which there is a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    /// The whole frame.
    Whole,
    /// A round field.
    Round {
        /// Its centre, in image coordinates.
        centre: Point,
        /// Its radius in pixels.
        radius: f64,
    },
}

/// What a reading knows of the frame: its size in pixels and its field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrameExtent {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// The field.
    pub field: Field,
}

/// A seeded Monte Carlo run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MonteCarlo {
    /// Number of draws.
    pub draws: usize,
    /// Seed; the same seed gives the same numbers.
    pub seed: u64,
}

/// What the other view of a matched pair lends to a reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lent {
    /// From the paired AP: `|w − ½|·W`, the tip's distance from the middle of the body, in millimetres.
    pub off_middle_mm: Option<f64>,
    /// From the paired lateral: the tip's depth fraction.
    pub depth: Option<f64>,
}

/// Everything a reading is made from.
#[derive(Clone, Copy, Debug)]
pub struct ShotInput<'a> {
    /// From where the shot looks.
    pub view: View,
    /// Its marks.
    pub marks: &'a Marks,
    /// Entry side.
    pub side: Option<Side>,
    /// Stage of the procedure.
    pub stage: Option<Stage>,
    /// Which side of the picture is the patient's right, as set for the shot or the case.
    pub patient_right: Option<PatientRight>,
    /// Millimetres to a pixel at the plane of the body, if calibrated.
    pub mm_per_px: Option<f64>,
    /// The frame, if it can be found.
    pub frame: Option<FrameExtent>,
    /// The case's settings.
    pub settings: &'a Settings,
    /// What the other view of the pair lends.
    pub lent: Lent,
    /// A Monte Carlo run to make beside the first-order propagation.
    pub monte_carlo: Option<MonteCarlo>,
}

/// Sizes of the body as seen, in pixels and degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodySizes {
    /// Depth (lateral) or width (AP) at mid height.
    pub depth_px: f64,
    /// Height at the start of the end plates: posterior (lateral), entry side (AP).
    pub posterior_height_px: f64,
    /// Height at their middle.
    pub middle_height_px: f64,
    /// Height at their end: anterior (lateral), far side (AP).
    pub anterior_height_px: f64,
    /// Angle between the end plates' chords, positive when they open toward their end.
    pub end_plate_angle_deg: f64,
    /// Scale used for placement errors.
    pub mm_per_px: f64,
    /// Whether the scale is the typical body's and not a calibration.
    pub scale_assumed: bool,
}

/// A place in body coordinates with its uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Depth fraction (lateral) or across fraction (AP).
    pub along: Quantity,
    /// Height fraction.
    pub height: Quantity,
    /// Covariance of the two from the placement of marks, for drawing the 95 % region; the view parts are
    /// taken as independent.
    pub covariance: f64,
}

/// The electrodes of a probe.
#[derive(Clone, Debug, PartialEq)]
pub struct Electrodes {
    /// The proximal electrode.
    pub proximal: Place,
    /// The distal electrode.
    pub distal: Place,
    /// Their midpoint.
    pub centre: Place,
    /// Lateral view: the proximal electrode's distance in front of the posterior wall, as a fraction of the
    /// body's depth.
    pub to_posterior_wall: Option<Quantity>,
    /// The same in millimetres, where calibrated.
    pub to_posterior_wall_mm: Option<Quantity>,
}

/// Reading of a lateral shot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LateralReading {
    /// The tip: depth and height.
    pub tip: Option<Place>,
    /// The body's sizes.
    pub body: Option<BodySizes>,
    /// The electrodes, if marked.
    pub electrodes: Option<Electrodes>,
    /// The cannula's mouth, if marked.
    pub cannula_mouth: Option<Place>,
    /// Direction of travel in body coordinates (change of depth, change of height), length one.
    pub travel: Option<(f64, f64)>,
    /// Against the target of the stage.
    pub verdicts: Vec<Verdict>,
    /// What was found.
    pub issues: Vec<Issue>,
}
