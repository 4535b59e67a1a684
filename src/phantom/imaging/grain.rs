//! The grain of spongy bone: a seeded noise in space, added up along a ray.

use glam::DVec3;

use crate::phantom::draw::Draw;

/// Cells a side of the noise, after which it repeats.
const CELLS: usize = 64;
/// Samples along a ray.
const SAMPLES: u32 = 10;
/// Width of the grain across and along the body in millimetres, strength, for a fine and a coarse part. Upright
/// struts are longer than they are thick (no source, plausible).
const PARTS: [(f64, f64, f64); 2] = [(0.75, 1.6, 0.50), (2.4, 3.4, 0.26)];

/// Seeded noise.
#[derive(Clone, Debug)]
pub struct Grain {
    values: Vec<f32>,
}

impl Grain {
    /// The grain of a seed.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "a value between −1 and 1")]
    pub fn new(seed: u64) -> Self {
        let mut draw = Draw::new(seed);
        Self { values: (0..CELLS * CELLS * CELLS).map(|_| draw.between(-1.0, 1.0) as f32).collect() }
    }

    /// By how much the bone on a stretch of a ray is more than its mean, as a fraction: the mean of samples, as
    /// strong as their number lets through. A ray along `ray` (length one) enters at `start`.
    #[inline(always)]
    #[must_use]
    pub fn along(&self, start: DVec3, ray: DVec3, length: f64) -> f64 {
        let step = length / f64::from(SAMPLES);
        let mut sum = 0.0;
        for i in 0..SAMPLES {
            let p = start + ray * (step * (f64::from(i) + 0.5));
            for (wide, tall, strength) in PARTS {
                // Turned a little, so that the lattice does not show.
                let q = DVec3::new(p.x - 0.21 * p.z, p.y + 0.3 * p.x, p.z + 0.17 * p.x);
                sum += strength * self.at(DVec3::new(q.x / wide, q.y / wide, q.z / tall));
            }
        }
        // Many more struts lie on a long way than samples are taken, hence less than their number says.
        sum / f64::from(SAMPLES)
    }

    /// The noise at a place, between −1 and 1: values on a lattice, joined smoothly.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "wrapped into the lattice")]
    #[inline(always)]
    #[must_use]
    pub fn at(&self, p: DVec3) -> f64 {
        let cell = floor(p);
        let f = p - cell;
        let w = f * f * (DVec3::splat(3.0) - f * 2.0);
        let Some(values) = self.values.first_chunk::<{ CELLS * CELLS * CELLS }>() else { return 0.0 };
        let wrap = |x: f64| (x as i64 & (CELLS as i64 - 1)) as usize;
        let (x, y, z) = (wrap(cell.x), wrap(cell.y), wrap(cell.z));
        let next = |i: usize| (i + 1) & (CELLS - 1);
        let value = |x: usize, y: usize, z: usize| f64::from(values[(z * CELLS + y) * CELLS + x]);
        let row = |y: usize, z: usize| {
            let (a, b) = (value(x, y, z), value(next(x), y, z));
            a + (b - a) * w.x
        };
        let plane = |z: usize| {
            let (a, b) = (row(y, z), row(next(y), z));
            a + (b - a) * w.y
        };
        let (a, b) = (plane(z), plane(next(z)));
        a + (b - a) * w.z
    }
}

/// The next whole numbers below, of numbers that a whole number of 64 bits can hold; the language's own is a call to the library.
#[inline(always)]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "millimetres over a millimetre"
)]
fn floor(p: DVec3) -> DVec3 {
    let below = |x: f64| {
        let whole = (x as i64) as f64;
        if whole > x { whole - 1.0 } else { whole }
    };
    DVec3::new(below(p.x), below(p.y), below(p.z))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grain_is_seeded_and_about_zero_in_the_mean() {
        let (a, b) = (Grain::new(1), Grain::new(1));
        let at = |n: u32| DVec3::new(f64::from(n) * 0.37, f64::from(n) * 0.11, -f64::from(n) * 0.23);
        let mean: f64 = (0..4000).map(|n| a.along(at(n), DVec3::Y, 40.0)).sum::<f64>() / 4000.0;
        assert!(mean.abs() < 0.02, "{mean}");
        assert!((a.along(at(5), DVec3::Y, 40.0) - b.along(at(5), DVec3::Y, 40.0)).abs() < 1e-15);
        assert!((a.along(at(5), DVec3::Y, 40.0) - Grain::new(2).along(at(5), DVec3::Y, 40.0)).abs() > 1e-6);
    }
}
