//! What follows from a shot's marks.

use std::sync::Arc;

use crate::geom::point::Point;
use crate::measure::body::BodyMap;
use crate::measure::issue::Issue;
use crate::measure::length::{BodyLengths, Length};
use crate::measure::mark::{MarkRef, Marks, PatientRight, Side, Stage, View};
use crate::measure::mark_error::MarkErrors;
use crate::measure::placement::Placing;
use crate::measure::quantity::Quantity;
use crate::measure::settings::Settings;
use crate::measure::true_view::known::Known;
use crate::measure::true_view::view::{ApTrueView, LateralTrueView, PairTrueView};
use crate::measure::unknown_view::UnknownView;
use crate::measure::verdict::{Nominal, State, Verdict};

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
    /// Standard uncertainty of that scale; none counts as exact.
    pub mm_per_px_sd: Option<f64>,
    /// The frame, if it can be found.
    pub frame: Option<FrameExtent>,
    /// The case's settings.
    pub settings: &'a Settings,
    /// What was said of the shot beside its marks.
    pub known: Known,
    /// Placement errors of single marks, where they are not the settings': softness, proposals.
    pub mark_errors: Option<&'a MarkErrors>,
    /// What the other view of the pair lends.
    pub lent: Lent,
    /// A Monte Carlo run to make beside the first-order propagation.
    pub monte_carlo: Option<MonteCarlo>,
}

impl<'a> ShotInput<'a> {
    /// The placement errors of its marks.
    pub(crate) const fn placing(&self) -> Placing<'a> {
        Placing { settings: self.settings, errors: self.mark_errors, marks: self.marks }
    }
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
    pub to_posterior_wall_mm: Option<Length>,
}

/// Reading of a lateral shot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LateralReading {
    /// The body map, which needs no tip; for whoever draws. Left out of simulated draws.
    pub map: Option<Arc<BodyMap>>,
    /// The tip: depth and height.
    pub tip: Option<Place>,
    /// The body's sizes.
    pub body: Option<BodySizes>,
    /// The same lengths in millimetres; only where the shot is calibrated.
    pub lengths: Option<BodyLengths>,
    /// The electrodes, if marked.
    pub electrodes: Option<Electrodes>,
    /// The cannula's mouth, if marked.
    pub cannula_mouth: Option<Place>,
    /// The view's part if nothing were known of its turn and tilt.
    pub unknown_view: UnknownView,
    /// Direction of travel in body coordinates (change of depth, change of height), length one.
    pub travel: Option<(f64, f64)>,
    /// How far the two contours of each border lie apart, in millimetres, where both are marked: superior and inferior end
    /// plate, posterior and anterior wall.
    pub apart_mm: [Option<f64>; 4],
    /// Standard deviation of each placed mark in millimetres, across its border.
    pub mark_sds: Vec<(MarkRef, f64)>,
    /// Whether somebody has said whether borders show twice.
    pub said: bool,
    /// The same tip as a true view would show it.
    pub true_view: Option<LateralTrueView>,
    /// Against the target of the stage.
    pub verdicts: Vec<Verdict>,
    /// What was found.
    pub issues: Vec<Issue>,
}

/// By what a midline was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MidlineBy {
    /// Midpoint of the pedicles' medial borders.
    Pedicles,
    /// Middle of the spinous process.
    SpinousProcess,
    /// Middle of the body.
    Body,
}

/// The tip's offset from each midline as a fraction of the body's width: negative short of it, positive past.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MidlineOffsets {
    /// From the pedicles' midpoint, where both are marked.
    pub pedicles: Option<Quantity>,
    /// From the middle of the spinous process, where it is marked.
    pub spinous_process: Option<Quantity>,
    /// From the middle of the body.
    pub body: Option<Quantity>,
}

/// Whether the tip projects over the spinous process.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverSpinousProcess {
    /// By the value alone.
    pub nominal: Nominal,
    /// With confidence.
    pub state: State,
    /// Probability that it does.
    pub p_inside: f64,
}

/// Reading of an AP shot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ApReading {
    /// The body map, which needs no tip; for whoever draws. From the entry side where that is known, else from left to
    /// right in the picture. Left out of simulated draws.
    pub map: Option<Arc<BodyMap>>,
    /// The tip's height fraction, which needs no side.
    pub height: Option<Quantity>,
    /// The tip: across and height; only where the entry side is known in the picture.
    pub tip: Option<Place>,
    /// Which side of the picture is the patient's right, as worked out or set.
    pub patient_right: Option<PatientRight>,
    /// Offsets from the midline, three ways.
    pub midline_by: MidlineOffsets,
    /// The view's part if nothing were known of its turn and tilt.
    pub unknown_view: UnknownView,
    /// Over the spinous process or not, where it is marked.
    pub over_spinous_process: Option<OverSpinousProcess>,
    /// Across distance still to go to the entry-side medial border, positive while lateral to it.
    pub medial_border: Option<Quantity>,
    /// Fraction across the entry-side pedicle: 0 lateral border, 1 medial border.
    pub across_pedicle: Option<Quantity>,
    /// The body's sizes: `depth_px` is its width at mid height.
    pub body: Option<BodySizes>,
    /// The same lengths in millimetres; only where the shot is calibrated.
    pub lengths: Option<BodyLengths>,
    /// The electrodes, if marked.
    pub electrodes: Option<Electrodes>,
    /// The cannula's mouth, if marked.
    pub cannula_mouth: Option<Place>,
    /// How far the two contours of each border lie apart, in millimetres, where both are marked: superior and inferior end
    /// plate, wall of the entry side and the opposite one.
    pub apart_mm: [Option<f64>; 4],
    /// Standard deviation of each placed mark in millimetres, across its border.
    pub mark_sds: Vec<(MarkRef, f64)>,
    /// Whether somebody has said whether borders show twice.
    pub said: bool,
    /// The same tip as a true view would show it.
    pub true_view: Option<ApTrueView>,
    /// Against the target of the stage.
    pub verdicts: Vec<Verdict>,
    /// What was found.
    pub issues: Vec<Issue>,
}

/// A quarter of the pedicle's outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quadrant {
    /// Superior and lateral: where docking aims.
    SuperiorLateral,
    /// Superior and medial.
    SuperiorMedial,
    /// Inferior and lateral.
    InferiorLateral,
    /// Inferior and medial.
    InferiorMedial,
}

/// Reading of a shot down the pedicle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PedicleReading {
    /// +1 on the lateral border, −1 on the medial border.
    pub lateral_offset: Option<Quantity>,
    /// +1 on the superior border, −1 on the inferior border.
    pub superior_offset: Option<Quantity>,
    /// Covariance of the two offsets from the placement of marks, for drawing the 95 % region.
    pub covariance: f64,
    /// Distance from the centre: 1 on the outline.
    pub radius: Option<Quantity>,
    /// Clock hour as seen in the picture, over 0 up to 12, with 12 at the superior border.
    pub clock_hour: Option<f64>,
    /// The quarter it lies in.
    pub quadrant: Option<Quadrant>,
    /// Standard deviation of each placed mark in millimetres.
    pub mark_sds: Vec<(MarkRef, f64)>,
    /// Scale used for placement errors, millimetres to a pixel, and whether it was assumed.
    pub scale: Option<(f64, bool)>,
    /// The docking verdict.
    pub verdicts: Vec<Verdict>,
    /// What was found.
    pub issues: Vec<Issue>,
}

/// A lateral and an AP shot that belong together: the tip in three body coordinates.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairReading {
    /// The view's part if nothing were known of the turn and tilt of the lateral: of depth and height.
    pub unknown_lateral: UnknownView,
    /// The same of the AP view: of across and the midline; its height is with the lateral's.
    pub unknown_ap: UnknownView,
    /// Depth fraction, from the lateral.
    pub depth: Option<Quantity>,
    /// Across fraction, from the AP.
    pub across: Option<Quantity>,
    /// Height fraction, the mean of both weighted by inverse variance.
    pub height: Option<Quantity>,
    /// Covariance of depth and height from the placement of marks, for drawing the 95 % region.
    pub depth_height: f64,
    /// The same of across and height.
    pub across_height: f64,
    /// Offset from the midline with what it was found by, from the AP.
    pub midline: Option<(MidlineBy, Quantity)>,
    /// The same as true views would show it.
    pub true_view: PairTrueView,
    /// Bands of the target, and safe passage.
    pub verdicts: Vec<Verdict>,
    /// What was found.
    pub issues: Vec<Issue>,
}

impl MidlineBy {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Pedicles => "pedicles",
            Self::SpinousProcess => "spinous_process",
            Self::Body => "body",
        }
    }
}

impl MidlineOffsets {
    /// The offset found by one of the three.
    #[must_use]
    pub const fn by(&self, by: MidlineBy) -> Option<&Quantity> {
        match by {
            MidlineBy::Pedicles => self.pedicles.as_ref(),
            MidlineBy::SpinousProcess => self.spinous_process.as_ref(),
            MidlineBy::Body => self.body.as_ref(),
        }
    }

    /// The offset a verdict uses: by the pedicles, else the spinous process, else the body.
    #[must_use]
    pub fn best(&self) -> Option<(MidlineBy, &Quantity)> {
        [
            (MidlineBy::Pedicles, &self.pedicles),
            (MidlineBy::SpinousProcess, &self.spinous_process),
            (MidlineBy::Body, &self.body),
        ]
        .into_iter()
        .find_map(|(by, offset)| Some((by, offset.as_ref()?)))
    }
}

impl Quadrant {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::SuperiorLateral => "superior_lateral",
            Self::SuperiorMedial => "superior_medial",
            Self::InferiorLateral => "inferior_lateral",
            Self::InferiorMedial => "inferior_medial",
        }
    }
}
