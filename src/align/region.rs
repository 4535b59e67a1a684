//! The part of a picture over which another one is registered to it.

use crate::geom::point::Point;

/// Places over a body, and how far anything lies outside it.
pub(crate) struct BodyRegion<'a> {
    /// Places over the body, borders included, in pixels.
    pub(crate) places: Vec<Point>,
    /// How far a place lies outside the body, in fractions of it.
    pub(crate) outside: &'a (dyn Fn(Point) -> f64 + Sync),
}
