//! Cubic splines through points.
