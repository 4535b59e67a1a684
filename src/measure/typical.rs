//! Typical sizes, which stand in for a calibration where there is none.

/// Mean of the two end heights of a typical body, in millimetres; the scale of an uncalibrated shot.
pub const TYPICAL_HEIGHT_MM: f64 = 28.0;

/// From superior to inferior border of a typical pedicle, in millimetres; the scale of an uncalibrated shot.
pub const TYPICAL_PEDICLE_HEIGHT_MM: f64 = 15.0;
