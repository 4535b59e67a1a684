//! The picture around a place at its full resolution, a little blurred.

use crate::align::plane::{NumberPlane, Window};
use crate::case::image::frame::Frame;
use crate::geom::point::Point;

/// Blur in millimetres.
const BLUR_MM: f64 = 0.2;

/// The picture around a place, finely.
pub(crate) struct Local {
    plane: NumberPlane,
    left: f64,
    top: f64,
}

impl Local {
    /// Around a place of a frame; `sign` makes bone dark.
    pub(crate) fn around(frame: &Frame, at: Point, px_per_mm: f64, sign: f32) -> Option<Self> {
        let half = 8.0 * px_per_mm + 3.0;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the frame")]
        let span = |centre: f64, side: u32| {
            let from = (centre - half).floor().clamp(0.0, f64::from(side)) as usize;
            let to = (centre + half).ceil().clamp(0.0, f64::from(side)) as usize;
            (to > from + 4).then_some((from, to - from))
        };
        let (left, columns) = span(at.x, frame.width)?;
        let (top, rows) = span(at.y, frame.height)?;
        let plane = NumberPlane::of_frame(frame, Window { left, top, columns, rows }).map(|v| v * sign);
        let plane = plane.blurred((BLUR_MM * px_per_mm).max(0.6));
        #[expect(clippy::cast_precision_loss, reason = "a place in a picture")]
        Some(Self { plane, left: left as f64 + 0.5, top: top as f64 + 0.5 })
    }

    /// The grey at a place of the frame.
    pub(crate) fn at(&self, p: Point) -> f64 {
        f64::from(self.plane.between(p.x - self.left, p.y - self.top))
    }
}
