//! Which part of a frame is seen, and which way up: zoom, place, turn and mirror, and the map between image and
//! canvas. Nothing of it touches a mark.

use crate::geom::point::{Point, Vec2};

/// One step of the zoom keys, on the image and on every page with images.
pub const ZOOM_STEP: f64 = 1.25;
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

/// Which way up a frame is shown: mirrored first, then turned.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Turn {
    /// Degrees clockwise, from 0 up to 360.
    pub degrees: f64,
    /// Whether left and right change places.
    pub mirrored: bool,
}

/// A frame as it is shown: its size in pixels, and which way up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShownFrame {
    /// Columns and rows.
    pub size: (f64, f64),
    /// Which way up.
    pub turn: Turn,
}

/// The map from image coordinates to points of the canvas, from its top-left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transform {
    /// Canvas points to a pixel of the frame.
    pub zoom: f64,
    /// Where the image's origin lies in the canvas.
    pub origin: Vec2,
    /// Which way up the image is.
    pub turn: Turn,
}

impl Turn {
    /// Turned further by these degrees, clockwise as seen.
    #[must_use]
    pub fn turned(self, degrees: f64) -> Self {
        Self { degrees: (self.degrees + degrees).rem_euclid(360.0), ..self }
    }

    /// Left and right changed as seen.
    #[must_use]
    pub fn flipped(self) -> Self {
        Self { degrees: (-self.degrees).rem_euclid(360.0), mirrored: !self.mirrored }
    }

    /// Sine and cosine, exact for quarter turns so that pixels stay square on the screen.
    fn sin_cos(self) -> (f64, f64) {
        let quarters = self.degrees / 90.0;
        if (quarters - quarters.round()).abs() < 1e-9 {
            return [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][quarter(quarters)];
        }
        self.degrees.to_radians().sin_cos()
    }

    /// A displacement of the image as it is seen.
    #[must_use]
    pub fn seen(self, v: Vec2) -> Vec2 {
        let (sin, cos) = self.sin_cos();
        let x = if self.mirrored { -v.x } else { v.x };
        Vec2::new(cos * x - sin * v.y, sin * x + cos * v.y)
    }

    /// The displacement of the image that is seen as this one.
    #[must_use]
    pub fn unseen(self, v: Vec2) -> Vec2 {
        let (sin, cos) = self.sin_cos();
        let (x, y) = (cos * v.x + sin * v.y, cos * v.y - sin * v.x);
        Vec2::new(if self.mirrored { -x } else { x }, y)
    }

    /// Whether what lies on the left of the stored picture is seen on the right.
    #[must_use]
    pub fn swaps_sides(self) -> bool {
        self.seen(Vec2::new(1.0, 0.0)).x < -1e-9
    }
}

/// Which of the four quarter turns.
fn quarter(quarters: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 3")]
    let quarter = quarters.round().rem_euclid(4.0) as usize;
    quarter.min(3)
}

impl From<(f64, f64)> for ShownFrame {
    /// Upright.
    fn from(size: (f64, f64)) -> Self {
        Self { size, turn: Turn::default() }
    }
}

impl ShownFrame {
    fn middle(self) -> Point {
        Point::new(0.5 * self.size.0, 0.5 * self.size.1)
    }

    /// Width and height of the box that the turned frame fills.
    fn filled(self) -> (f64, f64) {
        let (a, b) =
            (self.turn.seen(Vec2::new(self.size.0, 0.0)), self.turn.seen(Vec2::new(0.0, self.size.1)));
        (a.x.abs() + b.x.abs(), a.y.abs() + b.y.abs())
    }
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
        (self.turn.seen(p.to_vec()) * self.zoom + self.origin).to_point()
    }

    /// Which image place a point of the canvas shows.
    #[must_use]
    pub fn to_image(self, p: Point) -> Point {
        self.turn.unseen((p.to_vec() - self.origin) / self.zoom).to_point()
    }

    /// The map that shows an image place at a point of the canvas.
    #[must_use]
    pub fn about(at: Point, canvas: Vec2, zoom: f64, turn: Turn) -> Self {
        Self { zoom, origin: canvas - turn.seen(at.to_vec()) * zoom, turn }
    }

    /// The part of the image that a canvas of this size shows: its least and greatest coordinates.
    #[must_use]
    pub fn seen(self, width: f64, height: f64) -> (Point, Point) {
        let corners = [(0.0, 0.0), (width, 0.0), (0.0, height), (width, height)]
            .map(|(x, y)| self.to_image(Point::new(x, y)));
        let fold = |start: f64, pick: fn(f64, f64) -> f64, of: fn(&Point) -> f64| {
            corners.iter().map(of).fold(start, pick)
        };
        (
            Point::new(fold(f64::MAX, f64::min, |p| p.x), fold(f64::MAX, f64::min, |p| p.y)),
            Point::new(fold(f64::MIN, f64::max, |p| p.x), fold(f64::MIN, f64::max, |p| p.y)),
        )
    }
}

impl Showing {
    /// The map for a frame.
    #[must_use]
    pub fn transform(self, canvas: Canvas, sheet: impl Into<ShownFrame>) -> Transform {
        let sheet = sheet.into();
        let (width, height) = sheet.filled();
        let (centre, zoom) = match self {
            Self::Whole => (sheet.middle(), canvas.fitting(width, height, MARGIN)),
            Self::Free { centre, zoom } => (centre, zoom),
        };
        Transform::about(centre, canvas.centre(), zoom, sheet.turn)
    }

    /// Zoomed by a factor so that the image place `at` stays where it is in the canvas.
    #[must_use]
    pub fn zoomed(self, canvas: Canvas, sheet: impl Into<ShownFrame>, at: Point, factor: f64) -> Self {
        let sheet = sheet.into();
        let before = self.transform(canvas, sheet);
        let (width, height) = sheet.filled();
        let farthest = 0.5 * canvas.fitting(width, height, MARGIN);
        let zoom = (before.zoom * factor).clamp(farthest, CLOSEST);
        let held = before.to_canvas(at).to_vec();
        let centre = at + sheet.turn.unseen(canvas.centre() - held) / zoom;
        Self::Free { centre: kept_near(centre, sheet.size), zoom }
    }

    /// Moved by a displacement in canvas points.
    #[must_use]
    pub fn panned(self, canvas: Canvas, sheet: impl Into<ShownFrame>, by: Vec2) -> Self {
        let sheet = sheet.into();
        let before = self.transform(canvas, sheet);
        let centre = before.to_image(canvas.centre().to_point()) - sheet.turn.unseen(by) / before.zoom;
        Self::Free { centre: kept_near(centre, sheet.size), zoom: before.zoom }
    }

    /// One pixel of the frame to one physical pixel, about the place in the middle.
    #[must_use]
    pub fn one_to_one(self, canvas: Canvas, sheet: impl Into<ShownFrame>) -> Self {
        let centre = self.transform(canvas, sheet).to_image(canvas.centre().to_point());
        Self::Free { centre, zoom: 1.0 / canvas.pixels_per_point }
    }

    /// The part of the frame about a body between these two corners: it fills `share` of the canvas's height, less
    /// where its width would not fit.
    #[must_use]
    pub fn about_body(canvas: Canvas, turn: Turn, corners: (Point, Point), share: f64) -> Self {
        let (a, b) = corners;
        let (mut low, mut high) = (Vec2::new(f64::MAX, f64::MAX), Vec2::new(f64::MIN, f64::MIN));
        for p in [a, b, Point::new(a.x, b.y), Point::new(b.x, a.y)] {
            let seen = turn.seen(p.to_vec());
            low = Vec2::new(low.x.min(seen.x), low.y.min(seen.y));
            high = Vec2::new(high.x.max(seen.x), high.y.max(seen.y));
        }
        let size = high - low;
        let tall = share * canvas.height / size.y.max(1.0);
        let wide = (1.0 - 2.0 * BODY_MARGIN * 0.5) * canvas.width / size.x.max(1.0);
        let zoom = tall.min(wide).clamp(1e-4, CLOSEST);
        Self::Free { centre: turn.unseen((low + high) * 0.5).to_point(), zoom }
    }

    /// The part of the frame around these points, if there are at least two apart.
    #[must_use]
    pub fn around(canvas: Canvas, turn: Turn, points: impl IntoIterator<Item = Point>) -> Option<Self> {
        let (mut low, mut high) = (Vec2::new(f64::MAX, f64::MAX), Vec2::new(f64::MIN, f64::MIN));
        for p in points {
            let seen = turn.seen(p.to_vec());
            low = Vec2::new(low.x.min(seen.x), low.y.min(seen.y));
            high = Vec2::new(high.x.max(seen.x), high.y.max(seen.y));
        }
        let size = high - low;
        if !(size.x.max(size.y) > 1.0 && size.length().is_finite()) {
            return None;
        }
        let zoom = canvas.fitting(size.x, size.y, BODY_MARGIN).min(CLOSEST);
        Some(Self::Free { centre: turn.unseen((low + high) * 0.5).to_point(), zoom })
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
        let t = Showing::around(CANVAS, Turn::default(), corners).unwrap().transform(CANVAS, FRAME);
        let width = t.to_canvas(corners[1]).x - t.to_canvas(corners[0]).x;
        assert!(width > 400.0 && width < 800.0);
        assert_eq!(Showing::around(CANVAS, Turn::default(), [Point::new(1.0, 1.0)]), None);
        assert_eq!(Showing::around(CANVAS, Turn::default(), []), None);
    }

    #[test]
    fn turned_and_mirrored_frames_map_there_and_back_and_fit() {
        for degrees in [0.0, 30.0, 90.0, 180.0, 270.0, 359.0] {
            for mirrored in [false, true] {
                let turn = Turn { degrees, mirrored };
                let sheet = ShownFrame { size: (1000.0, 400.0), turn };
                let t = Showing::Whole.transform(CANVAS, sheet);
                let p = Point::new(123.4, 56.7);
                assert!(t.to_image(t.to_canvas(p)).distance(p) < 1e-9, "{turn:?}");
                for (x, y) in [(0.0, 0.0), (1000.0, 0.0), (0.0, 400.0), (1000.0, 400.0)] {
                    let seen = t.to_canvas(Point::new(x, y));
                    assert!((0.0..=800.0).contains(&seen.x) && (0.0..=600.0).contains(&seen.y), "{turn:?}");
                }
                let zoomed = Showing::Whole.zoomed(CANVAS, sheet, p, 2.0).transform(CANVAS, sheet);
                assert!(zoomed.to_canvas(p).distance(t.to_canvas(p)) < 1e-9);
                let held = t.to_image(Point::new(400.0, 300.0));
                let moved =
                    Showing::Whole.panned(CANVAS, sheet, Vec2::new(10.0, 20.0)).transform(CANVAS, sheet);
                assert!(moved.to_canvas(held).distance(Point::new(410.0, 320.0)) < 1e-9, "{turn:?}");
            }
        }
    }

    #[test]
    fn a_quarter_to_the_right_takes_the_top_to_the_right_and_a_mirror_is_seen_as_one() {
        let right = Turn::default().turned(90.0);
        assert_eq!(right.seen(Vec2::new(0.0, -1.0)), Vec2::new(1.0, 0.0));
        // Whatever the turn, a flip changes left and right on the screen.
        for turn in [Turn::default(), right, right.turned(37.0).flipped()] {
            let (before, after) = (turn.seen(Vec2::new(3.0, 2.0)), turn.flipped().seen(Vec2::new(3.0, 2.0)));
            assert!((before.x + after.x).abs() < 1e-9 && (before.y - after.y).abs() < 1e-9, "{turn:?}");
        }
        assert!(Turn::default().flipped().swaps_sides() && !Turn::default().swaps_sides());
        assert_eq!(right.turned(270.0), Turn::default());
    }

    #[test]
    fn panning_keeps_the_frame_in_sight() {
        let far = Showing::Whole.panned(CANVAS, FRAME, Vec2::new(1e6, -1e6));
        let Showing::Free { centre, .. } = far else { panic!("still whole") };
        assert_eq!(centre, Point::new(0.0, 1000.0));
    }
}
