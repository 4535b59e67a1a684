//! A column of vertebrae about the one a shot is about, so that a picture shows its neighbours.
//!
//! Discs are 10 mm high in their middle (8 mm at L1–L2, 11 mm at L4–L5) and open to the front by 5° to 14°: no
//! source, plausible only. The neighbours serve to know the picture by; nothing is measured on them.

use glam::{DAffine3, DMat3, DVec3};

use crate::measure::mark::Level;
use crate::phantom::body::Body;
use crate::phantom::size::{LUMBAR, PosteriorWall, Sample, Size};

/// One vertebra in its place.
#[derive(Clone, Debug)]
pub struct PlacedVertebra {
    /// The vertebra.
    pub body: Body,
    /// From its own space to that of the body the shot is about.
    pub place: DAffine3,
    /// What kind of vertebra it is.
    pub kind: Kind,
}

/// What kind of vertebra one is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Above L1.
    Thoracic,
    /// L1 is 0, L5 is 4.
    Lumbar(usize),
    /// A piece of the sacrum: S1 is 0.
    Sacral(usize),
}

/// Vertebrae above and below the one a shot is about.
const ABOVE_IT: usize = 4;
const BELOW_IT: usize = 4;

/// Height of the disc below a lumbar level in millimetres, and the angle by which it opens to the front.
const DISCS: [(f64, f64); 5] = [(8.0, 5.0), (9.0, 6.0), (10.0, 8.0), (11.0, 10.0), (10.0, 14.0)];
/// The same above L1.
const ABOVE: (f64, f64) = (7.0, 3.0);

/// The body, then the vertebrae above it from the nearest, then those below it, of typical sizes.
#[must_use]
pub fn column(level: Level, body: &Body, sample: Sample) -> Vec<PlacedVertebra> {
    let index = LUMBAR.iter().position(|&l| l == level).unwrap_or(4);
    let middle = PlacedVertebra { body: body.clone(), place: DAffine3::IDENTITY, kind: Kind::Lumbar(index) };
    let mut placed = vec![middle.clone()];
    let mut last = middle.clone();
    for step in 1..=ABOVE_IT {
        let above = index.checked_sub(step);
        let upper = Body::new(above.map_or_else(|| thoracic(sample), |n| Size::typical(LUMBAR[n], sample)));
        let (height, angle) = above.map_or(ABOVE, |n| DISCS[n]);
        let place = last.place * plate(&last.body, 0.0) * disc(height, angle) * plate(&upper, 1.0).inverse();
        let kind = above.map_or(Kind::Thoracic, Kind::Lumbar);
        last = PlacedVertebra { body: upper, place, kind };
        placed.push(last.clone());
    }
    last = middle;
    for step in 1..=BELOW_IT {
        let below = index + step;
        let lower = Body::new(match below {
            0..=4 => Size::typical(LUMBAR[below], sample),
            _ => sacral(sample),
        });
        let (height, angle) = DISCS.get(below - 1).copied().unwrap_or((2.0, 0.0));
        let to_lower = disc(height, angle).inverse() * plate(&lower, 0.0).inverse();
        let kind =
            if below < LUMBAR.len() { Kind::Lumbar(below) } else { Kind::Sacral(below - LUMBAR.len()) };
        last = PlacedVertebra { place: last.place * plate(&last.body, 1.0) * to_lower, body: lower, kind };
        placed.push(last.clone());
    }
    placed
}

/// From the space of an end plate (its middle, its slope) to that of its body.
fn plate(body: &Body, v: f64) -> DAffine3 {
    let forward = (body.at(1.0, 0.0, v) - body.at(0.0, 0.0, v)).normalize();
    let up = DVec3::new(-forward.z, 0.0, forward.x);
    DAffine3::from_mat3_translation(DMat3::from_cols(forward, DVec3::Y, up), body.at(0.5, 0.0, v))
}

/// From the space of the plate above a disc to that of the plate below it.
fn disc(height: f64, angle_deg: f64) -> DAffine3 {
    let (sin, cos) = (libm::sin(angle_deg.to_radians()), libm::cos(angle_deg.to_radians()));
    let turned = DMat3::from_cols(DVec3::new(cos, 0.0, sin), DVec3::Y, DVec3::new(-sin, 0.0, cos));
    DAffine3::from_mat3_translation(turned, DVec3::Z * height)
}

/// A vertebra above L1: a little smaller.
fn thoracic(sample: Sample) -> Size {
    let l1 = Size::typical(Level::L1, sample);
    Size {
        superior_depth: 0.95 * l1.superior_depth,
        superior_width: 0.95 * l1.superior_width,
        anterior_height: l1.anterior_height - 2.0,
        posterior_height: l1.posterior_height - 2.0,
        ..l1
    }
}

/// A piece of the sacrum: tapering down, without waist.
fn sacral(sample: Sample) -> Size {
    let l5 = Size::typical(Level::L5, sample);
    Size {
        superior_depth: 0.92 * l5.superior_depth,
        inferior_depth: 0.68 * l5.superior_depth,
        inferior_width: 0.8 * l5.superior_width,
        inferior_concavity: 0.1,
        posterior_waist: 0.2,
        anterior_waist: 0.8,
        lean: -5.0,
        wall: PosteriorWall::Hollow(0.5),
        spinous_height: 0.5 * l5.spinous_height,
        ..l5
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_sit_above_and_below_a_discs_height_away() {
        for (n, level) in LUMBAR.into_iter().enumerate() {
            let body = Body::new(Size::typical(level, Sample::All));
            let column = column(level, &body, Sample::All);
            assert_eq!(column.len(), 1 + ABOVE_IT + BELOW_IT);
            let middle =
                |placed: &PlacedVertebra, v: f64| placed.place.transform_point3(placed.body.at(0.5, 0.0, v));
            let gap = middle(&column[1], 1.0).distance(middle(&column[0], 0.0));
            let expected = if n == 0 { 7.0 } else { DISCS[n - 1].0 };
            assert!((gap - expected).abs() < 1e-9, "{level:?}: {gap}");
            let gap = middle(&column[0], 1.0).distance(middle(&column[1 + ABOVE_IT], 0.0));
            assert!((gap - DISCS[n].0).abs() < 1e-9 && middle(&column[1 + ABOVE_IT], 0.5).z < -30.0);
        }
    }

    /// Discs open to the front, so that the column is hollow behind.
    #[test]
    fn the_column_curves_as_a_lumbar_spine() {
        let body = Body::new(Size::typical(Level::L3, Sample::All));
        let column = column(Level::L3, &body, Sample::All);
        let forward = |placed: &PlacedVertebra| placed.place.transform_vector3(DVec3::X).z;
        assert!(
            forward(&column[2]) > forward(&column[0]) && forward(&column[2 + ABOVE_IT]) < forward(&column[0])
        );
    }
}
