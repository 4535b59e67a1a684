//! A cone beam: where it stands, and where a place in space falls in the picture.

use glam::{DMat3, DVec2, DVec3};

use crate::geom::point::Point;
use crate::measure::mark::{Side, View};

/// How a shot is taken of a body whose middle is the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// From where the shot looks.
    pub view: View,
    /// The side of the patient that is nearer the source in a lateral view, or whose pedicle a pedicle view
    /// looks down.
    pub side: Side,
    /// In an AP view: whether the source is in front of the patient (a prone patient with the tube below) or
    /// behind.
    pub source_in_front: bool,
    /// Source to the plane of the body along the beam's axis, in millimetres.
    pub source_to_body: f64,
    /// Source to detector, in millimetres.
    pub source_to_detector: f64,
    /// Turn of the ray through the body's middle about the patient's long axis, in degrees.
    pub turn_deg: f64,
    /// Tilt of that ray out of the horizontal plane, in degrees.
    pub tilt_deg: f64,
    /// Turn of the picture, in degrees.
    pub roll_deg: f64,
    /// Where the body's middle lies off the beam's axis, in millimetres in the plane of the body.
    pub off_axis: DVec2,
    /// Whether the picture is mirrored.
    pub mirrored: bool,
    /// Size of a pixel in the plane of the body, in millimetres.
    pub mm_per_px: f64,
    /// Where the beam's axis meets the picture, in image coordinates.
    pub centre: Point,
}

/// A beam ready to project.
#[derive(Clone, Debug)]
pub struct Beam {
    source: DVec3,
    /// Columns: right and down on the detector (before roll and mirror), and from source to detector.
    axes: DMat3,
    right: DVec2,
    down: DVec2,
    px_per_mm: f64,
    source_to_detector: f64,
    centre: Point,
    mm_per_px: f64,
}

impl Pose {
    /// A true view of the body from 700 mm, in the middle of a picture of this many pixels a side.
    ///
    /// Source to body 700 mm is the method's; source to detector 1000 mm is common practice, no source.
    #[must_use]
    pub fn true_view(view: View, mm_per_px: f64, side_px: f64) -> Self {
        Self {
            view,
            side: Side::Right,
            source_in_front: true,
            source_to_body: 700.0,
            source_to_detector: 1000.0,
            turn_deg: 0.0,
            tilt_deg: 0.0,
            roll_deg: 0.0,
            off_axis: DVec2::ZERO,
            mirrored: false,
            mm_per_px,
            centre: Point::new(0.5 * side_px, 0.5 * side_px),
        }
    }

    /// The beam of this pose. `pedicle_axis` is the direction a pedicle view looks along, from behind into the
    /// body; other views do not use it.
    #[must_use]
    pub fn beam(&self, pedicle_axis: DVec3) -> Beam {
        let straight = match self.view {
            View::Lateral => DVec3::new(0.0, -sign(self.side), 0.0),
            View::Ap => DVec3::new(if self.source_in_front { -1.0 } else { 1.0 }, 0.0, 0.0),
            View::Pedicle => pedicle_axis.normalize(),
        };
        let ray = DMat3::from_cols(
            DVec3::new(cos(self.turn_deg), sin(self.turn_deg), 0.0),
            DVec3::new(-sin(self.turn_deg), cos(self.turn_deg), 0.0),
            DVec3::Z,
        ) * straight;
        let ray = ray * cos(self.tilt_deg) + DVec3::Z * sin(self.tilt_deg);
        // In a lateral the picture's right is the patient's back, in AP and pedicle views the patient's right.
        let right = match self.view {
            View::Lateral => DVec3::NEG_X,
            View::Ap | View::Pedicle => DVec3::NEG_Y,
        };
        let right = (right - ray * right.dot(ray)).normalize();
        let down = ray.cross(right);
        let down = if down.z > 0.0 { -down } else { down };
        let about_ray = DMat3::from_cols(right, down, ray);
        // Turns the beam so that the body's middle falls `off_axis` beside the axis without turning the ray.
        let to_middle = DVec3::new(self.off_axis.x, self.off_axis.y, self.source_to_body);
        let distance = to_middle.length();
        let axes = about_ray * turning_onto_z(to_middle / distance);
        let mirror = if self.mirrored { -1.0 } else { 1.0 };
        let (s, c) = (sin(self.roll_deg), cos(self.roll_deg));
        Beam {
            source: -ray * distance,
            axes,
            right: DVec2::new(mirror * c, s),
            down: DVec2::new(-mirror * s, c),
            px_per_mm: self.source_to_body / (self.source_to_detector * self.mm_per_px),
            source_to_detector: self.source_to_detector,
            centre: self.centre,
            mm_per_px: self.mm_per_px,
        }
    }
}

impl Beam {
    /// Size of a pixel in the plane of the body, in millimetres.
    #[must_use]
    pub const fn mm_per_px(&self) -> f64 {
        self.mm_per_px
    }

    /// Where a place falls in the picture.
    #[must_use]
    pub fn project(&self, place: DVec3) -> Point {
        let p = self.axes.transpose() * (place - self.source);
        let on_detector = DVec2::new(p.x, p.y) * (self.source_to_detector / p.z);
        let q = (self.right * on_detector.x + self.down * on_detector.y) * self.px_per_mm;
        Point::new(self.centre.x + q.x, self.centre.y + q.y)
    }

    /// Where a place falls in the picture, and its depth: its distance from the source along the beam's axis.
    #[must_use]
    pub fn seen(&self, place: DVec3) -> (Point, f64) {
        let depth = self.axes.z_axis.dot(place - self.source);
        (self.project(place), depth)
    }

    /// By how much a way along the ray to an image point is longer than its part along the beam's axis.
    #[must_use]
    pub fn stretch(&self, p: Point) -> f64 {
        let q =
            DVec2::new(p.x - self.centre.x, p.y - self.centre.y) / (self.px_per_mm * self.source_to_detector);
        (1.0 + q.length_squared()).sqrt()
    }

    /// Size of a pixel on the detector, in millimetres.
    #[must_use]
    pub fn detector_pixel_mm(&self) -> f64 {
        1.0 / self.px_per_mm
    }

    /// How much larger a thing in the plane of the body shows on the detector.
    #[must_use]
    pub fn magnification(&self) -> f64 {
        self.source_to_detector / self.seen(DVec3::ZERO).1
    }

    /// +1 where the picture shows things as they are seen from the source, −1 where it shows them mirrored.
    #[must_use]
    pub fn handed(&self) -> f64 {
        if self.axes.determinant() * self.right.perp_dot(self.down) > 0.0 { 1.0 } else { -1.0 }
    }

    /// Where the source stands.
    #[must_use]
    pub const fn source(&self) -> DVec3 {
        self.source
    }

    /// The direction from the source to an image point, length one.
    #[must_use]
    pub fn ray_to(&self, p: Point) -> DVec3 {
        let q = DVec2::new(p.x - self.centre.x, p.y - self.centre.y) / self.px_per_mm;
        // `right` and `down` are orthogonal and have length one, so the way back is the transpose.
        let d = DVec3::new(self.right.dot(q), self.down.dot(q), self.source_to_detector);
        (self.axes * d).normalize()
    }

    /// Whether a point of the patient's left half is nearer the source.
    #[must_use]
    pub fn left_is_near(&self) -> bool {
        self.source.y > 0.0
    }

    /// Whether a point in front of the body's middle is nearer the source.
    #[must_use]
    pub fn front_is_near(&self) -> bool {
        self.source.x > 0.0
    }
}

/// +1 for the patient's left, −1 for the right: the sign of y there.
#[must_use]
pub const fn sign(side: Side) -> f64 {
    match side {
        Side::Left => 1.0,
        Side::Right => -1.0,
    }
}

fn sin(deg: f64) -> f64 {
    libm::sin(deg.to_radians())
}

fn cos(deg: f64) -> f64 {
    libm::cos(deg.to_radians())
}

/// The smallest rotation that carries the direction `d` (length one, with positive z) onto the z axis.
fn turning_onto_z(d: DVec3) -> DMat3 {
    let k = 1.0 / (1.0 + d.z);
    DMat3::from_cols(
        DVec3::new(1.0 - k * d.x * d.x, -k * d.x * d.y, d.x),
        DVec3::new(-k * d.x * d.y, 1.0 - k * d.y * d.y, d.y),
        DVec3::new(-d.x, -d.y, d.z),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// References, section 9: source to detector 1000, source to body 600 … 800 mm.
    #[test]
    fn magnification_is_exact() {
        for (distance, magnification) in
            [(600.0, 1.0 / 0.6), (650.0, 1.0 / 0.65), (700.0, 1.0 / 0.7), (750.0, 1.0 / 0.75), (800.0, 1.25)]
        {
            let mut pose = Pose::true_view(View::Lateral, 0.3, 1024.0);
            pose.source_to_body = distance;
            let beam = pose.beam(DVec3::NEG_X);
            // A length in the plane of the body shows at `mm_per_px`, one on the detector at M times that.
            let length =
                beam.project(DVec3::new(5.0, 0.0, 0.0)).distance(beam.project(DVec3::new(-5.0, 0.0, 0.0)));
            assert!((length * 0.3 - 10.0).abs() < 1e-9);
            assert!((length / (10.0 * beam.px_per_mm) - magnification).abs() < 1e-9);
            // 10 mm nearer the source the same length is larger by distance / (distance − 10).
            let near = beam
                .project(DVec3::new(5.0, -10.0, 0.0))
                .distance(beam.project(DVec3::new(-5.0, -10.0, 0.0)));
            assert!((near / length - distance / (distance - 10.0)).abs() < 1e-9);
        }
    }

    /// An arc parallel to the detector shows as an arc, M times as large; a slanting one as the conic section
    /// that the central projection of a circle is (worked out by hand: the circle's points solve a quadratic form,
    /// which the rays carry into the picture).
    #[test]
    fn arcs_are_projected_exactly() {
        let mut pose = Pose::true_view(View::Lateral, 0.3, 1024.0);
        pose.off_axis = DVec2::new(0.0, 0.0);
        let beam = pose.beam(DVec3::NEG_X);
        let (radius, middle, back) = (18.0, DVec3::new(4.0, 10.0, -3.0), 710.0);
        let at = |a: f64, tilt: f64| {
            let (s, c) = (a.sin() * radius, a.cos() * radius);
            middle + DVec3::new(c, s * tilt.sin(), s * tilt.cos())
        };
        let depth = beam.seen(middle).1;
        assert!((depth - back).abs() < 1e-9 || (depth - 690.0).abs() < 1e-9);
        for n in 0..40 {
            let p = beam.project(at(f64::from(n) * 0.05, 0.0));
            let from_centre = p.distance(beam.project(middle)) * 0.3;
            assert!((from_centre - radius * 700.0 / depth).abs() < 1e-9);
            // Back along the ray to the slanting plane: there the point must lie on the circle again.
            let tilt = 0.7_f64;
            let q = beam.project(at(f64::from(n) * 0.05, tilt));
            let normal = DVec3::new(0.0, -tilt.cos(), tilt.sin());
            let ray = beam.ray_to(q);
            let t = normal.dot(middle - beam.source()) / normal.dot(ray);
            let there = beam.source() + ray * t;
            assert!((there.distance(middle) - radius).abs() < 1e-9);
        }
    }

    #[test]
    fn decentring_leaves_the_ray_through_the_middle() {
        for view in View::ALL {
            let mut pose = Pose::true_view(view, 0.3, 1024.0);
            (pose.turn_deg, pose.tilt_deg) = (3.0, -2.0);
            let straight = pose.beam(DVec3::new(1.0, 0.2, 0.0));
            pose.off_axis = DVec2::new(40.0, -25.0);
            let beam = pose.beam(DVec3::new(1.0, 0.2, 0.0));
            assert!((beam.source().normalize() - straight.source().normalize()).length() < 1e-12);
            let middle = beam.project(DVec3::ZERO);
            let expected = Point::new(512.0 + 40.0 / 0.3, 512.0 - 25.0 / 0.3);
            assert!(middle.distance(expected) < 1e-9, "{middle:?}");
        }
    }

    #[test]
    fn a_ray_to_a_projection_meets_its_place() {
        let mut pose = Pose::true_view(View::Ap, 0.3, 800.0);
        (pose.turn_deg, pose.tilt_deg, pose.roll_deg, pose.mirrored) = (4.0, 7.0, 15.0, true);
        pose.off_axis = DVec2::new(-12.0, 30.0);
        let beam = pose.beam(DVec3::NEG_X);
        let place = DVec3::new(12.0, -31.0, 22.0);
        let towards = (place - beam.source()).normalize();
        assert!((beam.ray_to(beam.project(place)) - towards).length() < 1e-12);
    }

    /// In a lateral the head is up and the back to the right; mirrored, to the left.
    #[test]
    fn pictures_are_the_right_way_up() {
        let mut pose = Pose::true_view(View::Lateral, 0.3, 800.0);
        for (side, mirrored) in [(Side::Left, false), (Side::Right, false), (Side::Left, true)] {
            (pose.side, pose.mirrored) = (side, mirrored);
            let beam = pose.beam(DVec3::NEG_X);
            assert!(beam.project(DVec3::Z * 10.0).y < 400.0);
            assert_eq!(beam.project(DVec3::NEG_X * 10.0).x > 400.0, !mirrored);
        }
    }
}
