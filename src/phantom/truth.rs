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
    /// Where it lies beside the landmarks of an AP view.
    pub beside: Option<TrueOffsets>,
    /// Distance off the middle plane in millimetres, positive on the patient's left.
    pub off_middle_mm: f64,
}

/// The tip beside the landmarks of a true, parallel AP view, as fractions of the body's width across it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueOffsets {
    /// From the midpoint of the pedicles' medial borders: negative short of it, positive past it.
    pub pedicles: f64,
    /// From the middle of the spinous process.
    pub spinous_process: f64,
    /// Still to go to the medial border of the entry side's pedicle, positive while lateral to it.
    pub medial_border: f64,
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
    let lateral = TrueMap::new(&lateral_outline(body));
    let ap = TrueMap::new(&ap_outline(body, entry));
    let from_the_side = Point::new(place.x, -place.z);
    let from_the_front = |p: DVec3| Point::new(-sign(entry) * p.y, -p.z);
    TruePosition {
        lateral: lateral.and_then(|map| map.place(from_the_side)),
        ap: ap.as_ref().and_then(|map| map.place(from_the_front(place))),
        beside: ap.and_then(|map| {
            let across = |p: DVec3| Some(map.curved.to_body(from_the_front(p))?.along);
            let medial = |side: Side| {
                let pedicle = body.pedicle(sign(side));
                across(pedicle.centre - pedicle.lateral)
            };
            let (tip, near) = (across(place)?, medial(entry)?);
            Some(TrueOffsets {
                pedicles: tip - 0.5 * (near + medial(entry.other())?),
                spinous_process: tip - across(body.spinous().tip)?,
                medial_border: near - tip,
            })
        }),
        off_middle_mm: place.y,
    }
}

/// An outline's map, and that of its corners alone.
struct TrueMap {
    curved: BodyMap,
    by_corners: BodyMap,
}

impl TrueMap {
    fn new(outline: &Outline) -> Option<Self> {
        let ends = |points: &Vec<Point>| vec![points[0], points[points.len() - 1]];
        let corners = Outline { first: outline.first.each_ref().map(ends), second: [None, None, None, None] };
        Some(Self { curved: BodyMap::new(outline).ok()?, by_corners: BodyMap::new(&corners).ok()? })
    }

    fn place(&self, p: Point) -> Option<TruePlace> {
        Some(TruePlace { curved: self.curved.to_body(p)?, by_corners: self.by_corners.to_body(p)? })
    }
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

    /// By symmetry the pedicles' midpoint is the body's middle; a process that deviates by 3 mm to the left lies 9 mm
    /// from a tip 6 mm to the right. Each distance is a fraction of the width at its own height.
    #[test]
    fn landmarks_lie_where_the_model_has_them() {
        let mut size = Size::typical(Level::L3, Sample::All);
        size.spinous_deviation = 3.0;
        let body = Body::new(size);
        let tip = body.at(0.4, 0.0, 0.5) + DVec3::new(0.0, -6.0, 0.0);
        let width = |v: f64| 2.0 * body.half_width(v);
        for (entry, way) in [(Side::Right, -1.0), (Side::Left, 1.0)] {
            let truth = position(&body, entry, tip);
            let (across, beside) = (truth.ap.unwrap().curved.along, truth.beside.unwrap());
            assert!((beside.pedicles - (across - 0.5)).abs() < 1e-6);
            assert!(
                beside.pedicles * way > 0.0,
                "short of the midline from the right, past it from the left"
            );
            let apart = way * (6.0 / width(0.5) + 3.0 / width(0.95));
            assert!((beside.spinous_process - apart).abs() < 0.005, "{beside:?} for {apart}");
            // The medial border lies half the canal off the middle, and a little more, since the pedicle is oblique.
            let to_go = -0.5 * body.size.canal_width / width(0.28) - way * 6.0 / width(0.5);
            assert!((beside.medial_border - to_go).abs() < 0.01, "{beside:?} for {to_go}");
        }
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
