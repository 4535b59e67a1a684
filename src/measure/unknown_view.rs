//! What a view that may be off by more than shows as a double contour costs a change between two shots (method,
//! section 7).
//!
//! A border marked by one contour says nothing of a turn beyond 1.4° where nobody looked for the second one. Between two
//! shots the C-arm may have moved by far more, so that a change takes a turn of 4° (one standard deviation, method,
//! section 9) in such a direction. A tip that did not move must not be called moved because the C-arm did.

/// Standard deviation of a turn or tilt of which nothing is known, in degrees (method, section 9).
pub const UNKNOWN_TURN_DEG: f64 = 4.0;

/// The sine of that turn.
pub(crate) fn unknown_rho() -> f64 {
    UNKNOWN_TURN_DEG.to_radians().sin()
}

/// The view's part of the tip's fractions, as standard uncertainties, if the view were off by a turn and a tilt of which
/// nothing is known; `None` in a direction of which a second contour tells, and where there is no reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct UnknownView {
    /// Of depth (lateral) or across (AP): the view turned about the body's long axis.
    pub along: Option<f64>,
    /// Of the offset from the midline that a verdict uses (AP): turned likewise.
    pub midline: Option<f64>,
    /// Of height: the view tilted.
    pub height: Option<f64>,
    /// What second contours do not tell of the fraction along, as a standard uncertainty.
    pub along_rest: f64,
    /// The same of height.
    pub height_rest: f64,
    /// What is left of the view's part once the body is laid on another shot's by the pictures, along (lateral only).
    pub along_laid: LaidView,
    /// The same of height.
    pub height_laid: LaidView,
}

/// The view's part of a place in a body that is laid on another shot's by the pictures. Both tips are then read between one
/// shot's borders, so that what a turn does to the borders counts for what the tip moved alone; what it does to a tip off the
/// body's middle plane stays, in each of the shots.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LaidView {
    /// Standard uncertainty from the tip's own distance off the middle plane.
    pub tip: f64,
    /// Standard uncertainty from the borders, for each unit of the fraction that the tip moved.
    pub borders: f64,
}

/// What two contours of a border leave open of a fraction for each unit of the sine of the view's turn or tilt: how far the
/// rims of a body lie from where the method takes them. Between two views it counts, since the C-arm may have moved.
///
/// An interval of 95 % calls one unmoved tip in twenty moved, if it holds exactly; with these, at most three in a hundred
/// of 2,000 simulated pairs whose C-arm moved by up to 8° (docs/change.md). This project's own; no source.
pub(crate) const REST_OF_DEPTH: f64 = 0.08;
/// The same of the height in a lateral view.
pub(crate) const REST_OF_LATERAL_HEIGHT: f64 = 0.25;
/// The same of the height in an AP view.
pub(crate) const REST_OF_AP_HEIGHT: f64 = 0.22;

/// What is known of a view in one direction, for a change between two shots.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct SeenView {
    /// The view's part if nothing were known of its turn or tilt; `None` where a second contour tells.
    pub(crate) unknown: Option<f64>,
    /// What second contours do not tell.
    pub(crate) rest: f64,
    /// What is left once the body is laid on another shot's by the pictures.
    pub(crate) laid: LaidView,
}

impl UnknownView {
    /// Of the fraction along.
    pub(crate) const fn of_along(self) -> SeenView {
        SeenView { unknown: self.along, rest: self.along_rest, laid: self.along_laid }
    }

    /// Of the offset from the midline.
    pub(crate) const fn of_midline(self) -> SeenView {
        SeenView { unknown: self.midline, rest: 0.0, laid: LaidView { tip: 0.0, borders: 0.0 } }
    }

    /// Of height.
    pub(crate) const fn of_height(self) -> SeenView {
        SeenView { unknown: self.height, rest: self.height_rest, laid: self.height_laid }
    }
}
