//! The true position: body coordinates of the tip against the outline that a parallel, perfectly true view
//! along the body's own axis would show (method, section 2). It comes from the model, never from a picture.

use glam::DVec3;

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::measure::mark::Side;
use crate::phantom::beam::sign;
use crate::phantom::body::{Body, Plate};

/// Points of each border of the true outline: as many as a body map takes, neighbours at least 5 % apart.
const POINTS: u32 = 12;

/// Body coordinates of one place, by two outlines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruePlace {
    /// Against the curved borders: what a reading should find.
    pub curved: BodyPoint,
    /// Against the four corners alone, for comparison.
    pub by_corners: BodyPoint,
}

/// The true position of a tip in both views; `None` where it lies too far outside to be read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TruePosition {
    /// Depth and height.
    pub lateral: Option<TruePlace>,
    /// Across from the entry side, and height.
    pub ap: Option<TruePlace>,
    /// Distance off the middle plane in millimetres, positive on the patient's left.
    pub off_middle_mm: f64,
}

/// The outline of a true, parallel lateral view, in millimetres: forward to the right, down.
#[must_use]
pub fn lateral_outline(body: &Body) -> Outline {
    let flat = |p: DVec3| Point::new(p.x, -p.z);
    let plate = |plate| line(|u| flat(body.on_plate(plate, u, 0.0)));
    let wall = |u: f64| line(|v| flat(body.at(u, 0.0, v)));
    Outline {
        first: [plate(Plate::Superior), plate(Plate::Inferior), wall(0.0), wall(1.0)],
        second: [None, None, None, None],
    }
}

/// The outline of a true, parallel AP view, in millimetres: from the entry side across, down. An end plate's
/// line is the mean of those of its front and back.
#[must_use]
pub fn ap_outline(body: &Body, entry: Side) -> Outline {
    let from_entry = -sign(entry);
    let flat = |p: DVec3| Point::new(from_entry * p.y, -p.z);
    let plate = |plate, v: f64| {
        line(|w| {
            let eta = from_entry * (2.0 * w - 1.0);
            flat(body.at(0.5, eta, v) + body.floor_across(plate, eta))
        })
    };
    let wall = |eta: f64| line(|v| flat(body.at(0.5, from_entry * eta, v)));
    Outline {
        first: [plate(Plate::Superior, 0.0), plate(Plate::Inferior, 1.0), wall(-1.0), wall(1.0)],
        second: [None, None, None, None],
    }
}

/// Where a place of the body's own space truly lies.
#[must_use]
pub fn position(body: &Body, entry: Side, place: DVec3) -> TruePosition {
    let lateral = read(&lateral_outline(body), Point::new(place.x, -place.z));
    let ap = read(&ap_outline(body, entry), Point::new(-sign(entry) * place.y, -place.z));
    TruePosition { lateral, ap, off_middle_mm: place.y }
}

fn read(outline: &Outline, p: Point) -> Option<TruePlace> {
    let ends = |points: &Vec<Point>| vec![points[0], points[points.len() - 1]];
    let corners = Outline { first: outline.first.each_ref().map(ends), second: [None, None, None, None] };
    let place = |outline: &Outline| BodyMap::new(outline).ok()?.to_body(p);
    Some(TruePlace { curved: place(outline)?, by_corners: place(&corners)? })
}

fn line(at: impl Fn(f64) -> Point) -> Vec<Point> {
    (0..=POINTS).map(|i| at(f64::from(i) / f64::from(POINTS))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;
    use crate::phantom::size::{LUMBAR, Sample, Size};

    /// A place given by the model's own fractions is read close to them: the model's sections are straight
    /// between its walls, as the map's are nearly.
    #[test]
    fn the_truth_is_near_the_fractions_a_tip_was_placed_with() {
        for level in LUMBAR {
            let body = Body::new(Size::typical(level, Sample::All));
            for (u, v) in [(0.4, 0.5), (0.05, 0.4), (0.8, 0.6)] {
                let truth = position(&body, Side::Right, body.at(u, 0.0, v)).lateral.unwrap().curved;
                assert!(
                    (truth.along - u).abs() < 0.01 && (truth.height - v).abs() < 0.05,
                    "{level:?} {truth:?}"
                );
            }
        }
    }

    #[test]
    fn corners_have_their_coordinates_and_the_middle_is_across_half() {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        for (u, v) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
            let truth = position(&body, Side::Right, body.at(u, 0.0, v)).lateral.unwrap();
            assert!((truth.curved.along - u).abs() < 1e-9 && (truth.curved.height - v).abs() < 1e-9);
            assert!((truth.by_corners.along - u).abs() < 1e-9);
        }
        let across = position(&body, Side::Right, DVec3::ZERO).ap.unwrap().curved.along;
        assert!((across - 0.5).abs() < 1e-9);
        let right = position(&body, Side::Right, DVec3::new(0.0, -10.0, 0.0)).ap.unwrap().curved.along;
        let left = position(&body, Side::Left, DVec3::new(0.0, -10.0, 0.0)).ap.unwrap().curved.along;
        assert!(right < 0.5 && (right + left - 1.0).abs() < 1e-9);
    }

    /// Ignoring the plates' concavity costs some hundredths of height (computed for 1–2 mm with a transfinite map).
    #[test]
    fn straight_plates_would_read_the_height_differently() {
        let body = Body::new(Size::typical(Level::L2, Sample::All));
        let truth = position(&body, Side::Right, body.at(0.45, 0.0, 0.9)).lateral.unwrap();
        let difference = (truth.curved.height - truth.by_corners.height).abs();
        assert!(difference > 0.02 && difference < 0.06, "{difference}");
    }
}
