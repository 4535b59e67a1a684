//! Lines and areas of a body, carried through its map: what the overlay on a picture and the small drawing share.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint, Border};
use crate::measure::reading::Place;

/// Points along a curved line; enough that a chord stays within a hundredth of the body's size of the curve.
const STEPS: u32 = 32;
/// Points around the 95 % region.
const AROUND: u32 = 64;

/// Fractions from 0 to 1 in equal steps.
fn fractions() -> impl Iterator<Item = f64> {
    (0..=STEPS).map(|i| f64::from(i) / f64::from(STEPS))
}

/// The line of one depth (lateral) or across (AP) fraction, from the superior to the inferior end plate.
#[must_use]
pub fn upright(map: &BodyMap, along: f64) -> Vec<Point> {
    fractions().map(|height| map.to_image(BodyPoint::new(along, height))).collect()
}

/// The line of one height fraction, from the start wall to the end wall.
#[must_use]
pub fn level(map: &BodyMap, height: f64) -> Vec<Point> {
    fractions().map(|along| map.to_image(BodyPoint::new(along, height))).collect()
}

/// The border the map uses.
#[must_use]
pub fn border(map: &BodyMap, border: Border) -> Vec<Point> {
    fractions().map(|t| map.border(border, t)).collect()
}

/// The first contour as marked.
#[must_use]
pub fn first_contour(map: &BodyMap, border: Border) -> Vec<Point> {
    let curve = map.first_contour(border);
    fractions().map(|t| curve.at(t)).collect()
}

/// The second contour as marked, if it is.
#[must_use]
pub fn second_contour(map: &BodyMap, border: Border) -> Option<Vec<Point>> {
    let curve = map.second_contour(border)?;
    Some(fractions().map(|t| curve.at(t)).collect())
}

/// Half the height of a pedicle as a fraction of the body's: 15 of 27 mm.
const PEDICLE_HALF_HEIGHT: f64 = 0.27;

/// A place on the outline of a pedicle seen through the body, an ellipse between its lateral and its medial border
/// (as fractions across) of typical height about `height`; at angle 0 on the lateral border, at π on the medial one.
#[must_use]
pub fn pedicle_at(map: &BodyMap, (lateral, medial): (f64, f64), height: f64, angle: f64) -> Point {
    let along = 0.5 * (lateral + medial) + 0.5 * (lateral - medial) * angle.cos();
    map.to_image(BodyPoint::new(along, height - PEDICLE_HALF_HEIGHT * angle.sin()))
}

/// The outline of the 95 % region of a place, in body coordinates.
#[must_use]
pub fn region(place: &Place) -> Vec<BodyPoint> {
    let at = BodyPoint::new(place.along.value, place.height.value);
    ellipse(at, (place.along.sd(), place.height.sd()), place.covariance)
}

/// The outline of the 95 % region about a place with these standard uncertainties: with Σ the covariance of the
/// two fractions, the ellipse `(x − m)ᵀ Σ⁻¹ (x − m) = χ²₀.₉₅(2) = −2 ln 0.05`, drawn by the Cholesky factor of Σ.
#[must_use]
pub fn ellipse(at: BodyPoint, (s, t): (f64, f64), covariance: f64) -> Vec<BodyPoint> {
    // The covariance comes from the marks alone and so never exceeds the product; rounding could.
    let covariance = covariance.clamp(-s * t, s * t);
    let (l11, l21) = if s > 0.0 { (s, covariance / s) } else { (0.0, 0.0) };
    let l22 = (t * t - l21 * l21).max(0.0).sqrt();
    let radius = (-2.0 * 0.05_f64.ln()).sqrt();
    (0..AROUND)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(AROUND)).sin_cos();
            BodyPoint::new(at.along + radius * l11 * cos, at.height + radius * (l21 * cos + l22 * sin))
        })
        .collect()
}

/// A closed outline as the two edges of a strip: the first half, and the second half run backwards.
#[must_use]
pub fn halves(outline: &[Point]) -> (Vec<Point>, Vec<Point>) {
    let Some(&first) = outline.first() else { return (Vec::new(), Vec::new()) };
    let half = outline.len() / 2;
    let there = outline[..=half.min(outline.len() - 1)].to_vec();
    let mut back = vec![first];
    back.extend(outline[half..].iter().rev());
    back.truncate(there.len());
    (there, back)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::body::Outline;
    use crate::measure::quantity::{Budget, Quantity};

    fn square() -> BodyMap {
        let p = Point::new;
        let outline =
            Outline::new(vec![p(0.0, 0.0), p(100.0, 0.0)], vec![p(0.0, 80.0), p(100.0, 80.0)], &[], &[]);
        BodyMap::new(&outline).unwrap()
    }

    fn place(along: f64, height: f64, sd: (f64, f64), covariance: f64) -> Place {
        let quantity = |value, sd| Quantity {
            value,
            budget: Budget { bone: sd, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        };
        Place { along: quantity(along, sd.0), height: quantity(height, sd.1), covariance }
    }

    #[test]
    fn lines_of_one_fraction_stay_on_it() {
        let map = square();
        assert!(upright(&map, 0.3).iter().all(|p| (p.x - 30.0).abs() < 1e-9));
        assert!(level(&map, 0.5).iter().all(|p| (p.y - 40.0).abs() < 1e-9));
    }

    /// The quantile of χ² with two degrees of freedom is 5.991 at 95 % (any table); uncorrelated, the region's
    /// half-axes are √5.991 = 2.4477 standard uncertainties.
    #[test]
    fn the_region_has_the_half_axes_of_its_quantile() {
        let region = region(&place(0.4, 0.5, (0.02, 0.03), 0.0));
        let reach = |f: fn(&BodyPoint) -> f64| region.iter().map(f).fold(f64::MIN, f64::max);
        assert!((reach(|p| p.along) - (0.4 + 2.4477 * 0.02)).abs() < 1e-4);
        assert!((reach(|p| p.height) - (0.5 + 2.4477 * 0.03)).abs() < 1e-4);
    }

    /// Every point of the outline has the same Mahalanobis distance, worked out from the inverse of Σ.
    #[test]
    fn a_correlated_region_lies_on_one_contour() {
        let (s, t, c) = (0.02, 0.03, 0.0004);
        let det = s * s * t * t - c * c;
        for p in region(&place(0.4, 0.5, (s, t), c)) {
            let (x, y) = (p.along - 0.4, p.height - 0.5);
            let distance = (t * t * x * x - 2.0 * c * x * y + s * s * y * y) / det;
            assert!((distance - 5.991_464_547).abs() < 1e-6);
        }
    }

    #[test]
    fn halves_of_an_outline_join_again() {
        let outline: Vec<_> = region(&place(0.4, 0.5, (0.1, 0.1), 0.0))
            .into_iter()
            .map(|p| Point::new(p.along, p.height))
            .collect();
        let (a, b) = halves(&outline);
        assert_eq!(a.len(), b.len());
        assert_eq!((a[0], a[a.len() - 1]), (b[0], b[b.len() - 1]));
    }
}
