//! The body map: body coordinates of one vertebral body on one picture.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::measure::coons::Curves;
pub use crate::measure::outline::{BodyError, Border, Outline};

/// A place in body coordinates. Both are fractions: 0–1 inside the body.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BodyPoint {
    /// From the start wall (0) to the end wall (1): depth in lateral, across in AP.
    pub along: f64,
    /// From the superior (0) to the inferior (1) end plate.
    pub height: f64,
}

/// How far outside the body a place can still be read, in both coordinates.
const READABLE: std::ops::RangeInclusive<f64> = -1.0..=2.0;

/// The map from body coordinates to the image: the Coons patch of the four borders (Coons 1967; Gordon and
/// Hall, *Numer Math* 1973;21:109–129), which with straight borders is the bilinear map.
///
/// A value of this type is one to one over the body.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyMap {
    pub(super) curves: Curves,
    orientation: f64,
}

impl BodyPoint {
    /// The place at these fractions.
    #[must_use]
    pub const fn new(along: f64, height: f64) -> Self {
        Self { along, height }
    }

    /// How far it lies outside the unit square, in fractions.
    fn outside(self) -> f64 {
        let over = |x: f64| (x - x.clamp(0.0, 1.0)).abs();
        over(self.along).hypot(over(self.height))
    }
}

impl BodyMap {
    /// The map of an outline.
    ///
    /// # Errors
    /// Points too close together, or a map that is not one to one.
    pub fn new(outline: &Outline) -> Result<Self, BodyError> {
        outline.check_spacing()?;
        let mut first = Vec::with_capacity(4);
        let mut second = Vec::with_capacity(4);
        for border in Border::ALL {
            let b = border.index();
            let curve = |points: &Vec<Point>, second| {
                Curve::through(points).ok_or(BodyError::TooClose(border, second))
            };
            first.push(curve(&outline.first[b], false)?);
            second.push(outline.second[b].as_ref().map(|points| curve(points, true)).transpose()?);
        }
        let (Ok(first), Ok(second)) = (first.try_into(), second.try_into()) else {
            return Err(BodyError::Folded);
        };
        let curves = Curves::new(first, second);
        let orientation = curves.one_sign().ok_or(BodyError::Folded)?;
        Ok(Self { curves, orientation })
    }

    /// +1 where depth to height turns clockwise on the screen, −1 in the mirrored picture.
    #[must_use]
    pub const fn orientation(&self) -> f64 {
        self.orientation
    }

    /// Where a place of the body lies in the image.
    #[must_use]
    pub fn to_image(&self, at: BodyPoint) -> Point {
        self.curves.forward(at).0
    }

    /// Where a place of the body lies in the image, with the derivatives by `along` and by `height` in pixels.
    #[must_use]
    pub fn to_image_with_derivatives(&self, at: BodyPoint) -> (Point, Vec2, Vec2) {
        self.curves.forward(at)
    }

    /// Which place of the body an image point shows, within 1e-10 px; `None` where the search fails or the
    /// place lies outside −1…2 in either coordinate.
    #[must_use]
    pub fn to_body(&self, p: Point) -> Option<BodyPoint> {
        self.searched(p, bilinear_inverse(&self.curves.corners, p), 1e-10)
    }

    /// The same to within so many pixels, where a place near it is known: the search begins there, and only where it leads to
    /// nothing as [`BodyMap::to_body`] does.
    #[must_use]
    pub fn to_body_near(&self, p: Point, near: BodyPoint, within_px: f64) -> Option<BodyPoint> {
        self.searched(p, near, within_px).or_else(|| self.to_body(p))
    }

    /// Newton's method, by smaller steps where a whole one leads away.
    fn searched(&self, p: Point, start: BodyPoint, within_px: f64) -> Option<BodyPoint> {
        if !p.is_finite() {
            return None;
        }
        // Places of a picture are far from where squares overflow.
        let size = |d: Vec2| d.dot(d).sqrt();
        let mut at = start;
        let scale = self.curves.corners.iter().fold(p.to_vec().length(), |m, c| m.max(c.to_vec().length()));
        let tolerance = within_px.max(16.0 * f64::EPSILON * scale);
        let (mut q, mut du, mut dv) = self.curves.forward(at);
        let mut miss = p - q;
        for _ in 0..60 {
            if size(miss) <= tolerance {
                // Beyond a crossing of the borders' continuations the map runs mirrored: no place of the body.
                let upright = du.cross(dv) * self.orientation > 0.0;
                let readable = upright && READABLE.contains(&at.along) && READABLE.contains(&at.height);
                return readable.then_some(at);
            }
            let det = du.cross(dv);
            let step = BodyPoint::new(miss.cross(dv) / det, du.cross(miss) / det);
            if !(step.along.is_finite() && step.height.is_finite()) {
                return None;
            }
            let mut damping = 1.0;
            loop {
                let tried =
                    BodyPoint::new(at.along + damping * step.along, at.height + damping * step.height);
                (q, du, dv) = self.curves.forward(tried);
                if size(p - q) < size(miss) {
                    at = tried;
                    miss = p - q;
                    break;
                }
                damping *= 0.5;
                if damping < 1e-9 {
                    return None;
                }
            }
        }
        None
    }

    /// The border the map uses: the mean of its two contours where both are marked, carried to the corners.
    #[must_use]
    pub fn border(&self, border: Border, t: f64) -> Point {
        self.curves.border(border, t).0
    }

    /// The first contour as marked.
    #[must_use]
    pub const fn first_contour(&self, border: Border) -> &Curve {
        &self.curves.first[border.index()]
    }

    /// The second contour as marked, if it is.
    #[must_use]
    pub const fn second_contour(&self, border: Border) -> Option<&Curve> {
        self.curves.second[border.index()].as_ref()
    }

    /// How far the second contour of a border lies off the first, across it, in pixels: the size of the mean of the
    /// part of their difference at right angles to the first contour's chord, at t = 0, ¼, ½, ¾, 1; `None` with one
    /// contour. Contours that cross count by what is left over, since a turned body shows them side by side.
    #[must_use]
    pub fn separation(&self, border: Border) -> Option<f64> {
        let first = self.first_contour(border);
        let second = self.second_contour(border)?;
        let chord = (first.at(1.0) - first.at(0.0)).normalized()?;
        let across = |t: f64| chord.cross(second.at(t) - first.at(t));
        Some([0.0, 0.25, 0.5, 0.75, 1.0].into_iter().map(across).sum::<f64>().abs() / 5.0)
    }

    /// Depth (lateral) or width (AP) at mid height, in pixels.
    #[must_use]
    pub fn depth_px(&self) -> f64 {
        self.border(Border::Start, 0.5).distance(self.border(Border::End, 0.5))
    }

    /// Height between the end plates at the fraction `u` of each, in pixels.
    #[must_use]
    pub fn height_px(&self, u: f64) -> f64 {
        self.border(Border::Superior, u).distance(self.border(Border::Inferior, u))
    }

    /// Mean of the heights at the two ends, in pixels.
    #[must_use]
    pub fn mean_height_px(&self) -> f64 {
        0.5 * (self.height_px(0.0) + self.height_px(1.0))
    }

    /// Angle between the end plates' chords in degrees, positive when they open toward their end.
    #[must_use]
    pub fn end_plate_angle_deg(&self) -> f64 {
        let chord = |border| self.border(border, 1.0) - self.border(border, 0.0);
        let (s, i) = (chord(Border::Superior), chord(Border::Inferior));
        (self.orientation * s.cross(i)).atan2(s.dot(i)).to_degrees()
    }
}

/// The closed-form inverse of the bilinear map of four corners: of the two roots the one nearer the unit
/// square; where there is no real root, the place where the two would meet.
fn bilinear_inverse(corners: &[Point; 4], p: Point) -> BodyPoint {
    let [c00, c10, c01, c11] = *corners;
    let (b, c, h) = (c10 - c00, c01 - c00, p - c00);
    let d = (c11 - c01) - b;
    let (qa, qb, qc) = (-c.cross(d), h.cross(d) - c.cross(b), h.cross(b));
    let root = (qb * qb - 4.0 * qa * qc).max(0.0).sqrt();
    let q = -0.5 * (qb + root.copysign(qb));
    let place = |height: f64| {
        let along_axis = b + d * height;
        let along = (h - c * height).dot(along_axis) / along_axis.dot(along_axis);
        BodyPoint::new(along, height)
    };
    [q / qa, qc / q]
        .into_iter()
        .map(place)
        .filter(|at| at.along.is_finite() && at.height.is_finite())
        .min_by(|x, y| x.outside().total_cmp(&y.outside()))
        .unwrap_or(BodyPoint::new(0.5, 0.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::coons::coons;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// Quad B of tests/reference, `q4_and_transfinite.json` (recomputed with scikit-fem and a closed form).
    fn quad_b() -> Outline {
        Outline::new(
            points(&[(412.0, 305.0), (268.0, 318.0)]),
            points(&[(405.0, 398.0), (262.0, 421.0)]),
            &[],
            &[],
        )
    }

    #[test]
    fn straight_borders_give_the_bilinear_map() {
        let map = BodyMap::new(&quad_b()).unwrap();
        for (u, v, x, y) in
            [(0.3, 0.5, 365.45, 356.90), (0.5, 0.5, 336.75, 360.50), (0.25, 0.4, 373.30, 346.45)]
        {
            assert!(map.to_image(BodyPoint::new(u, v)).distance(Point::new(x, y)) < 1e-9);
            let at = map.to_body(Point::new(x, y)).unwrap();
            assert!((at.along - u).abs() < 1e-9 && (at.height - v).abs() < 1e-9, "{at:?}");
        }
    }

    /// A transfinite patch of analytic borders, recomputed in closed form (tests/reference,
    /// `q4_and_transfinite.json`): C0 = (35s, 6s(1−s)), C1 = (35s, 27 − 8s(1−s)), D0 = (4t(1−t), 27t),
    /// D1 = (35 − 6t(1−t), 27t).
    #[test]
    fn the_patch_of_analytic_borders() {
        let corners = [(0.0, 0.0), (35.0, 0.0), (0.0, 27.0), (35.0, 27.0)].map(|(x, y)| Point::new(x, y));
        let bow = |t: f64| t * (1.0 - t);
        let jet = |x: f64, y: f64, dx: f64, dy: f64| (Point::new(x, y), Vec2::new(dx, dy));
        for (u, v, x, y) in [
            (0.5, 0.5, 17.25, 13.25),
            (0.3, 0.5, 10.75, 13.29),
            (0.25, 0.4, 9.11, 10.875),
            (0.1, 0.9, 3.77, 23.706),
            (0.0, 0.5, 1.0, 13.5),
            (0.5, 0.0, 17.5, 1.5),
        ] {
            let patch = |u: f64, v: f64| {
                let (su, sv) = (1.0 - 2.0 * u, 1.0 - 2.0 * v);
                let jets = [
                    jet(35.0 * u, 6.0 * bow(u), 35.0, 6.0 * su),
                    jet(35.0 * u, 27.0 - 8.0 * bow(u), 35.0, -8.0 * su),
                    jet(4.0 * bow(v), 27.0 * v, 4.0 * sv, 27.0),
                    jet(35.0 - 6.0 * bow(v), 27.0 * v, -6.0 * sv, 27.0),
                ];
                coons(BodyPoint::new(u, v), &jets, &corners)
            };
            let (at, du, dv) = patch(u, v);
            assert!(at.distance(Point::new(x, y)) < 1e-9, "{at:?}");
            // The patch is quadratic in each coordinate, so that central differences are its derivatives.
            let across = (patch(u + 0.1, v).0 - patch(u - 0.1, v).0) / 0.2;
            let down = (patch(u, v + 0.1).0 - patch(u, v - 0.1).0) / 0.2;
            assert!((across - du).length() < 1e-9 && (down - dv).length() < 1e-9);
        }
    }

    #[test]
    fn a_parallelogram_has_an_inverse_too() {
        let outline =
            Outline::new(points(&[(0.0, 0.0), (4.0, 1.0)]), points(&[(1.0, 3.0), (5.0, 4.0)]), &[], &[]);
        let map = BodyMap::new(&outline).unwrap();
        let at = map.to_body(map.to_image(BodyPoint::new(-0.4, 1.3))).unwrap();
        assert!((at.along + 0.4).abs() < 1e-9 && (at.height - 1.3).abs() < 1e-9);
    }

    /// A rectangle of 40 × 30 whose second wall lies 10 across it and 3 along it: only what lies across counts.
    #[test]
    fn a_second_contour_moves_its_border_half_way_across() {
        let mut outline =
            Outline::new(points(&[(0.0, 0.0), (40.0, 0.0)]), points(&[(0.0, 30.0), (40.0, 30.0)]), &[], &[]);
        outline.second[2] = Some(outline.first[2].iter().map(|&p| p + Vec2::new(10.0, 3.0)).collect());
        let map = BodyMap::new(&outline).unwrap();
        assert!(map.border(Border::Start, 0.5).distance(Point::new(5.0, 15.0)) < 1e-9);
        assert!(map.border(Border::Superior, 0.0).distance(Point::new(5.0, 0.0)) < 1e-9);
        assert!((map.separation(Border::Start).unwrap() - 10.0).abs() < 1e-9);
        assert_eq!(map.separation(Border::End), None);
    }

    #[test]
    fn crossed_plates_are_folded_and_repeated_points_too_close() {
        let crossed =
            Outline::new(points(&[(0.0, 0.0), (10.0, 0.0)]), points(&[(10.0, 8.0), (0.0, 8.0)]), &[], &[]);
        assert_eq!(BodyMap::new(&crossed).unwrap_err(), BodyError::Folded);
        let repeated = Outline::new(
            points(&[(0.0, 0.0), (0.1, 0.0), (10.0, 0.0)]),
            points(&[(0.0, 8.0), (10.0, 8.0)]),
            &[],
            &[],
        );
        assert_eq!(BodyMap::new(&repeated).unwrap_err(), BodyError::TooClose(Border::Superior, false));
    }

    #[test]
    fn places_far_outside_are_not_read() {
        let map = BodyMap::new(&quad_b()).unwrap();
        assert_eq!(map.to_body(Point::new(4000.0, 300.0)), None);
        assert_eq!(map.to_body(Point::new(f64::NAN, 300.0)), None);
    }

    /// The plates' lines meet at x = 225; beyond it superior would lie below inferior.
    #[test]
    fn beyond_a_crossing_of_the_plates_nothing_is_read() {
        let outline = Outline::new(
            points(&[(100.0, 100.0), (200.0, 140.0)]),
            points(&[(100.0, 200.0), (200.0, 160.0)]),
            &[],
            &[],
        );
        let map = BodyMap::new(&outline).unwrap();
        assert!(map.to_body(Point::new(190.0, 150.0)).is_some());
        assert_eq!(map.to_body(Point::new(260.0, 150.0)), None);
    }

    #[test]
    fn the_plates_of_the_example_open_to_the_front() {
        let map = BodyMap::new(&quad_b()).unwrap();
        assert!(map.end_plate_angle_deg() > 3.0 && map.end_plate_angle_deg() < 5.0);
    }
}
