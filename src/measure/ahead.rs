//! The curve ahead, for teaching: where a curved stylet of a given shape would run from the cannula's mouth on a lateral
//! shot, drawn as it would project. It is a drawing of a shape, not a forecast: bone bends instruments.

use crate::geom::arc::Arc;
use crate::geom::circle::{Circle, fit};
use crate::geom::point::Point;
use crate::measure::body::BodyPoint;
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::{MarkKind, Marks};
use crate::measure::marked::TYPICAL_HEIGHT_MM;

/// Pieces of a drawn course.
const STEPS: u32 = 48;

/// A stylet's shape and how it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stylet {
    /// Radius of its curve in millimetres.
    pub radius_mm: f64,
    /// How far it bends, in degrees, up to 180.
    pub bend_deg: f64,
    /// Turn about the cannula's axis in degrees: 0 and 180 bend in the picture's plane, 0 toward the inferior end plate.
    pub turn_deg: f64,
    /// How far the cannula leans out of the picture's plane, in degrees.
    pub lean_deg: f64,
}

/// A drawn course.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    /// Its places on the picture, from the mouth to the tip.
    pub course: Vec<Point>,
    /// Where it ends in the body; `None` where that is too far away to be read.
    pub end: Option<BodyPoint>,
    /// The scale that turned millimetres into pixels.
    pub mm_per_px: f64,
    /// Whether that scale is the typical body's.
    pub scale_assumed: bool,
}

impl Stylet {
    /// Why this shape cannot be meant, if it cannot.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if !(1.0..=1000.0).contains(&self.radius_mm) {
            return Some("the radius must lie between 1 and 1000 mm");
        }
        if !(0.0..=180.0).contains(&self.bend_deg) {
            return Some("the bend must lie between 0 and 180°");
        }
        let turns = (-360.0..=360.0).contains(&self.turn_deg) && (-80.0..=80.0).contains(&self.lean_deg);
        (!turns).then_some("the rotation must lie within ± 360° and the lean within ± 80°")
    }
}

/// The course of a stylet from the mouth of the marked cannula.
///
/// # Errors
/// A sentence that says which mark is missing.
pub fn ahead(marks: &Marks, mm_per_px: Option<f64>, stylet: &Stylet) -> Result<Ahead, String> {
    let map = lateral_body_map(marks).map_err(|issue| issue.text)?;
    let cannula = marks.complete(MarkKind::Cannula).filter(|points| points.len() >= 2);
    let Some([.., before, mouth]) = cannula.as_deref() else {
        return Err("Still to be marked: the cannula, from its proximal shaft to its tip.".to_owned());
    };
    let assumed = TYPICAL_HEIGHT_MM / map.mean_height_px();
    let scale = mm_per_px.unwrap_or(assumed);
    let axis = *mouth - *before;
    // Across the axis clockwise on screen is toward the inferior end plate or away from it, as the picture lies.
    let middle = |v: f64| map.to_image(BodyPoint::new(0.5, v));
    let toward_inferior = axis.perpendicular().dot(middle(1.0) - middle(0.0)) > 0.0;
    let arc = Arc {
        radius: stylet.radius_mm / scale,
        bend_rad: stylet.bend_deg.to_radians(),
        turn_rad: (if toward_inferior { stylet.turn_deg } else { 180.0 - stylet.turn_deg }).to_radians(),
        lean_rad: stylet.lean_deg.to_radians(),
    };
    let course = arc
        .course(*mouth, axis, STEPS)
        .ok_or("The last two cannula points coincide; move one of them along the cannula.")?;
    let end = course.last().and_then(|&tip| map.to_body(tip));
    Ok(Ahead { course, end, mm_per_px: scale, scale_assumed: mm_per_px.is_none() })
}

/// The radius in millimetres of the circle nearest to places clicked along a visible curve, with the circle in pixels.
#[must_use]
pub fn seen_radius(points: &[Point], mm_per_px: f64) -> Option<(f64, Circle)> {
    fit(points).map(|circle| (circle.radius * mm_per_px, circle))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A body of 140 × 90 px; the cannula along the middle from behind, its mouth on the posterior wall. By hand: a radius
    /// of 30 mm at 0.3 mm a pixel is 100 px; a quarter bend ends 100 px ahead and 100 px aside, 60° end
    /// 86.6 px ahead and 50 px aside.
    fn marks() -> Marks {
        Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(300.0, 100.0), (440.0, 100.0)])
            .with(MarkKind::InferiorEndPlate, &[(300.0, 190.0), (440.0, 190.0)])
            .with(MarkKind::Cannula, &[(200.0, 130.0), (300.0, 130.0)])
    }

    #[test]
    fn sixty_degrees_by_hand() {
        let stylet = Stylet { radius_mm: 30.0, bend_deg: 60.0, turn_deg: 0.0, lean_deg: 0.0 };
        let found = ahead(&marks(), Some(0.3), &stylet).unwrap();
        let end = found.end.unwrap();
        assert!((end.along - 86.602_54 / 140.0).abs() < 1e-6 && (end.height - 80.0 / 90.0).abs() < 1e-6);
        let other = ahead(&marks(), Some(0.3), &Stylet { turn_deg: 180.0, ..stylet }).unwrap();
        assert!((other.end.unwrap().height - (-20.0 / 90.0)).abs() < 1e-6);
        // The same body seen from the other side: the course is the mirror image.
        let mirrored = marks().map(|p| Point::new(1000.0 - p.x, p.y));
        let end = ahead(&mirrored, Some(0.3), &stylet).unwrap().end.unwrap();
        assert!((end.along - 86.602_54 / 140.0).abs() < 1e-6 && (end.height - 80.0 / 90.0).abs() < 1e-6);
        let (radius, _) = seen_radius(&found.course, 0.3).unwrap();
        assert!((radius - 30.0).abs() < 1e-6);
    }

    #[test]
    fn what_is_missing_is_said() {
        let stylet = Stylet { radius_mm: 30.0, bend_deg: 60.0, turn_deg: 0.0, lean_deg: 0.0 };
        let mut none = marks();
        none.set(MarkKind::Cannula, Vec::new());
        assert!(ahead(&none, None, &stylet).unwrap_err().contains("cannula"));
        assert!(Stylet { radius_mm: 0.0, ..stylet }.fault().is_some());
    }
}
