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
}
