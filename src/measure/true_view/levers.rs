//! How far from the body's middle the structures lie by which a view tells its turn and its tilt, in millimetres, and what
//! is taken of them beforehand. All of these are this project's own; no source.

/// A distance with its standard deviation over bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lever {
    pub(crate) mm: f64,
    pub(crate) sd: f64,
}

impl Lever {
    const fn new(mm: f64, sd: f64) -> Self {
        Self { mm, sd }
    }

    /// The relative spread.
    pub(crate) fn relative(self) -> f64 {
        self.sd / self.mm
    }
}

/// Distance from source to body taken where none is known, in millimetres.
pub(crate) const SOURCE_TO_BODY_MM: f64 = 700.0;

/// The levers of a body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Levers {
    /// Pedicles' medial borders behind the plane in which the walls of an AP view are grazed.
    pub(crate) pedicles: Lever,
    /// Tip of the spinous process behind it.
    pub(crate) spinous_process: Lever,
    /// End plates' rims to the side, in a lateral view.
    pub(crate) lateral_plate: Lever,
    /// End plates' rims to front and back, in an AP view.
    pub(crate) ap_plate: Lever,
    /// Margins of the posterior wall, in a lateral view.
    pub(crate) posterior_wall: f64,
    /// Anterior wall, which is rounded.
    pub(crate) anterior_wall: f64,
}

/// The method's levers, the same for every body.
pub(crate) const LEVERS: Levers = Levers {
    pedicles: Lever::new(-20.0, 2.5),
    spinous_process: Lever::new(-60.0, 5.0),
    lateral_plate: Lever::new(20.0, 4.0),
    ap_plate: Lever::new(15.0, 3.0),
    posterior_wall: 12.0,
    anterior_wall: 4.0,
};

/// How far the plane in which an AP view's walls are grazed lies behind the middle of the body's depth, as a fraction of it.
pub(crate) const GRAZED_BEHIND: f64 = 0.05;
/// Depth of a body whose lateral is not at hand, in millimetres.
pub(crate) const TYPICAL_DEPTH_MM: f64 = 35.0;
/// Standard deviation of a tip's depth fraction: where the paired lateral gives it, and where the stage does.
pub(crate) const DEPTH_SD_PAIRED: f64 = 0.02;
pub(crate) const DEPTH_SD_BY_STAGE: f64 = 0.1;
/// Standard deviation of a tip's distance off the middle plane beside what its AP says, and where the stage gives it.
pub(crate) const OFF_MIDDLE_SD_PAIRED_MM: f64 = 0.7;
pub(crate) const OFF_MIDDLE_SD_BY_STAGE_MM: f64 = 3.0;
/// Standard deviation of a direction whose borders show once, in degrees, at the usual half-width of the view.
const SHOWS_ONCE_DEG: f64 = 0.9;
const USUAL_HALF_WIDTH_DEG: f64 = 1.4;

/// Standard deviation, in radians, of the direction of a view whose borders show once.
pub(crate) fn shows_once(half_width_deg: f64) -> f64 {
    (SHOWS_ONCE_DEG * half_width_deg / USUAL_HALF_WIDTH_DEG).to_radians()
}
