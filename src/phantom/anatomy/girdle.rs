//! Bones beside the lumbar column: the last ribs, and the wings of the pelvis. Plausible only, no source.

use glam::{DAffine3, DVec3};

use crate::phantom::anatomy::mesh::Mesh;

/// A rib from beside a thoracic body backward, outward, down and forward again. `long` is the part of the way
/// around the trunk that it takes.
#[must_use]
pub fn rib(place: &DAffine3, side: f64, long: f64) -> Mesh {
    const STEPS: u32 = 26;
    let at = |t: f64| {
        // Around an ellipse about the middle of the trunk, falling as it goes.
        let angle = std::f64::consts::PI * (0.80 - 0.75 * t);
        let around = DVec3::new(22.0 + 96.0 * libm::cos(angle), 0.0, 0.0);
        let out = 16.0 + 116.0 * libm::sin(angle) * (1.0 - 0.62 * (1.0 - t) * (1.0 - t) * (1.0 - t));
        DVec3::new(around.x, side * out, 8.0 - 78.0 * t - 10.0 * t * t)
    };
    let start = DVec3::new(-20.0, side * 16.0, 8.0);
    let joined = |t: f64| {
        let w = (1.0 - t / 0.16).clamp(0.0, 1.0);
        at(t) * (1.0 - w * w) + start * (w * w)
    };
    let section = |i: u32| {
        let t = long * f64::from(i) / f64::from(STEPS);
        let along = (joined(t + 0.01) - joined(t)).normalize();
        let tall = (DVec3::Z - along * along.z).normalize();
        let thick = along.cross(tall);
        let end = (f64::from(STEPS - i) / 1.5).min(1.0);
        (
            place.transform_point3(joined(t)),
            place.transform_vector3(tall * (5.6 * end)),
            place.transform_vector3(thick * (3.2 * end.max(0.3))),
        )
    };
    Mesh::tube(&(0..=STEPS).map(section).collect::<Vec<_>>(), 16)
}

/// The wing of the pelvis of one side, from the first sacral body's space.
#[must_use]
pub fn wing(place: &DAffine3, side: f64) -> Mesh {
    const STEPS: u32 = 24;
    const ROWS: u32 = 14;
    let crest = |t: f64| {
        // From behind over the top to the front.
        let angle = std::f64::consts::PI * (0.92 - 0.80 * t);
        DVec3::new(
            18.0 + 74.0 * libm::cos(angle),
            side * (40.0 + 88.0 * libm::sin(0.62 * std::f64::consts::PI * t)),
            -26.0 + 74.0 * libm::sin(angle),
        )
    };
    let root = |t: f64| DVec3::new(-34.0 + 62.0 * t, side * (48.0 + 18.0 * t), -34.0 - 42.0 * t);
    // Closed rings over the crest from outside to inside, one for each place along the crest.
    let ring = |i: u32| -> Vec<DVec3> {
        let t = f64::from(i) / f64::from(STEPS);
        let (top, bottom) = (crest(t), root(t));
        let along = crest(t + 0.01) - crest(t - 0.01);
        let out = along.cross(top - bottom).normalize();
        let out = if out.y * side < 0.0 { -out } else { out };
        let ends = (6.0 * t).min(6.0 * (1.0 - t)).clamp(0.25, 1.0);
        let surface = |outer: bool, j: u32| {
            let h = f64::from(j) / f64::from(ROWS);
            // Thick at the crest, thin in the middle, thick again below; the wing is hollow on its inner side.
            let thick = (2.0
                + 3.6 * libm::exp(-((1.0 - h) / 0.09) * ((1.0 - h) / 0.09))
                + 4.5 * (1.0 - h) * (1.0 - h))
                * ends;
            let round = ((1.0 - h) / 0.03).clamp(0.0, 1.0).sqrt();
            let sag = 14.0 * h * (1.0 - h) * ends;
            let middle = bottom + (top - bottom) * h + out * sag;
            middle + out * (thick * round * if outer { 1.0 } else { -1.0 })
        };
        (0..=ROWS).map(|j| surface(true, j)).chain((0..=ROWS).rev().map(|j| surface(false, j))).collect()
    };
    let mut mesh = Mesh::rings(&(0..=STEPS).map(ring).collect::<Vec<_>>());
    for p in &mut mesh.points {
        *p = place.transform_point3(*p);
    }
    mesh
}
