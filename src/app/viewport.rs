//! Which part of a frame is seen: zoom and place, and the map between image and canvas.

use crate::geom::point::{Point, Vec2};

/// The closest zoom, in canvas points to a pixel.
const CLOSEST: f64 = 64.0;
/// Share of the canvas left free around a fitted frame, on either side.
const MARGIN: f64 = 0.01;
/// Share of the canvas left free around a fitted body, on either side.
const BODY_MARGIN: f64 = 0.18;

/// How the frame is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Showing {
    /// All of it, however large the canvas is.
    #[default]
    Whole,
    /// This place in the middle, at this zoom in canvas points to a pixel.
    Free {
        /// The image place in the middle of the canvas.
        centre: Point,
        /// Canvas points to a pixel.
        zoom: f64,
    },
}

/// The canvas as the window has it at present.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Canvas {
    /// Width in points.
    pub width: f64,
    /// Height in points.
    pub height: f64,
    /// Physical pixels to a point.
    pub pixels_per_point: f64,
}

/// The map from image coordinates to points of the canvas, from its top-left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transform {
    /// Canvas points to a pixel of the frame.
    pub zoom: f64,
    /// Where the image's origin lies in the canvas.
    pub origin: Vec2,
}

impl Default for Canvas {
    fn default() -> Self {
        Self { width: 800.0, height: 600.0, pixels_per_point: 1.0 }
    }
}

impl Canvas {
    fn centre(self) -> Vec2 {
        Vec2::new(0.5 * self.width, 0.5 * self.height)
    }

    /// The zoom that shows `width` × `height` pixels with this share of the canvas left free on either side.
    fn fitting(self, width: f64, height: f64, margin: f64) -> f64 {
        let free = 1.0 - 2.0 * margin;
        let zoom = (self.width * free / width.max(1.0)).min(self.height * free / height.max(1.0));
        zoom.clamp(1e-4, CLOSEST)
    }
}

impl Transform {
    /// Where an image place lies in the canvas.
    #[must_use]
    pub fn to_canvas(self, p: Point) -> Point {
        (p.to_vec() * self.zoom + self.origin).to_point()
    }

    /// Which image place a point of the canvas shows.
    #[must_use]
    pub fn to_image(self, p: Point) -> Point {
        ((p.to_vec() - self.origin) / self.zoom).to_point()
    }
}

impl Showing {
    /// The map for a frame of this size in pixels.
    #[must_use]
    pub fn transform(self, canvas: Canvas, frame: (f64, f64)) -> Transform {
        let (centre, zoom) = match self {
            Self::Whole => {
                (Point::new(0.5 * frame.0, 0.5 * frame.1), canvas.fitting(frame.0, frame.1, MARGIN))
            }
            Self::Free { centre, zoom } => (centre, zoom),
        };
        Transform { zoom, origin: canvas.centre() - centre.to_vec() * zoom }
    }

    /// Zoomed by a factor so that the image place `at` stays where it is in the canvas.
    #[must_use]
    pub fn zoomed(self, canvas: Canvas, frame: (f64, f64), at: Point, factor: f64) -> Self {
        let before = self.transform(canvas, frame);
        let farthest = 0.5 * canvas.fitting(frame.0, frame.1, MARGIN);
        let zoom = (before.zoom * factor).clamp(farthest, CLOSEST);
        let held = before.to_canvas(at).to_vec();
        let centre = at + (canvas.centre() - held) / zoom;
        Self::Free { centre: kept_near(centre, frame), zoom }
    }

    /// Moved by a displacement in canvas points.
    #[must_use]
    pub fn panned(self, canvas: Canvas, frame: (f64, f64), by: Vec2) -> Self {
        let before = self.transform(canvas, frame);
        let centre = before.to_image(canvas.centre().to_point()) - by / before.zoom;
        Self::Free { centre: kept_near(centre, frame), zoom: before.zoom }
    }

    /// One pixel of the frame to one physical pixel, about the place in the middle.
    #[must_use]
    pub fn one_to_one(self, canvas: Canvas, frame: (f64, f64)) -> Self {
        let centre = self.transform(canvas, frame).to_image(canvas.centre().to_point());
        Self::Free { centre, zoom: 1.0 / canvas.pixels_per_point }
    }

    /// The part of the frame around these points, if there are at least two apart.
    #[must_use]
    pub fn around(canvas: Canvas, points: impl IntoIterator<Item = Point>) -> Option<Self> {
        let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
        for p in points {
            low = Point::new(low.x.min(p.x), low.y.min(p.y));
            high = Point::new(high.x.max(p.x), high.y.max(p.y));
        }
        let size = high - low;
        if !(size.x.max(size.y) > 1.0 && size.length().is_finite()) {
            return None;
        }
        let zoom = canvas.fitting(size.x, size.y, BODY_MARGIN).min(CLOSEST);
        Some(Self::Free { centre: low.midpoint(high), zoom })
    }
}

/// The frame must not be lost from sight: the middle of the canvas stays over it.
fn kept_near(p: Point, frame: (f64, f64)) -> Point {
    Point::new(p.x.clamp(0.0, frame.0.max(1.0)), p.y.clamp(0.0, frame.1.max(1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const CANVAS: Canvas = Canvas { width: 800.0, height: 600.0, pixels_per_point: 2.0 };
    const FRAME: (f64, f64) = (1000.0, 1000.0);

    #[test]
    fn a_fitted_frame_lies_in_the_middle_of_the_canvas() {
        let t = Showing::Whole.transform(CANVAS, FRAME);
        assert!((t.zoom - 0.588).abs() < 1e-12);
        assert!(t.to_canvas(Point::new(500.0, 500.0)).distance(Point::new(400.0, 300.0)) < 1e-9);
        let p = Point::new(123.4, 567.8);
        assert!(t.to_image(t.to_canvas(p)).distance(p) < 1e-9);
    }

    #[test]
    fn zooming_holds_the_place_under_the_pointer() {
        let at = Point::new(700.0, 450.0);
        let mut showing = Showing::Whole;
        let held = showing.transform(CANVAS, FRAME).to_canvas(at);
        for factor in [1.5, 2.0, 0.7] {
            showing = showing.zoomed(CANVAS, FRAME, at, factor);
            assert!(showing.transform(CANVAS, FRAME).to_canvas(at).distance(held) < 1e-9);
        }
    }

    #[test]
    fn one_to_one_counts_physical_pixels() {
        let t = Showing::Whole.one_to_one(CANVAS, FRAME).transform(CANVAS, FRAME);
        assert!((t.zoom - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_body_fills_most_of_the_canvas_and_a_point_is_no_body() {
        let corners = [Point::new(100.0, 100.0), Point::new(200.0, 180.0)];
        let t = Showing::around(CANVAS, corners).unwrap().transform(CANVAS, FRAME);
        let width = t.to_canvas(corners[1]).x - t.to_canvas(corners[0]).x;
        assert!(width > 400.0 && width < 800.0);
        assert_eq!(Showing::around(CANVAS, [Point::new(1.0, 1.0)]), None);
        assert_eq!(Showing::around(CANVAS, []), None);
    }

    #[test]
    fn panning_keeps_the_frame_in_sight() {
        let far = Showing::Whole.panned(CANVAS, FRAME, Vec2::new(1e6, -1e6));
        let Showing::Free { centre, .. } = far else { panic!("still whole") };
        assert_eq!(centre, Point::new(0.0, 1000.0));
    }
}
