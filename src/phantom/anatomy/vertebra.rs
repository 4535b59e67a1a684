//! A vertebral body as two closed surfaces: the bone's outside, and the spongy core inside its shell.

use glam::DVec3;

use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::body::{Body, Plate, RIM_MIDDLE, bow};

/// Along which direction the end plates are hollow.
///
/// The truth's lateral outline is hollow from back to front over the whole width, its AP outline from side to
/// side over the whole depth ([`crate::phantom::body`]). No one surface shows both lines, so a picture takes
/// the hollow of its view; the two differ by less than the hollow is deep, 1–2 mm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hollow {
    /// From back to front, for lateral views.
    Along,
    /// From side to side, for AP and pedicle views.
    Across,
}

/// Points of a section on the front half of its outline, and as many on the back half.
const HALF_AROUND: u32 = 60;
/// How far the edge of a rim is rounded down, in millimetres (no source, plausible).
const ROUNDED_MM: f64 = 1.5;
/// Thickness of the shell on the walls, of the end plates and of their rims, in millimetres (plausible; no
/// source could be confirmed).
const WALL_MM: f64 = 0.38;
const PLATE_MM: f64 = 0.5;
const RIM_MM: f64 = 0.8;

/// The outside of the body.
#[must_use]
pub fn outside(body: &Body, hollow: Hollow) -> Mesh {
    let skin = Skin { body, hollow };
    let mut rings = skin.plate(Plate::Superior);
    for step in 1..20 {
        let share = f64::from(step) / 20.0;
        rings.push(skin.ring(|u, eta| {
            let (top, bottom) =
                (skin.wall_end(Plate::Superior, u, eta), skin.wall_end(Plate::Inferior, u, eta));
            (1.0, top + (1.0 - bottom - top) * share)
        }));
    }
    let mut below = skin.plate(Plate::Inferior);
    below.reverse();
    rings.append(&mut below);
    Mesh::rings(&rings)
}

/// The core within the shell of an outside.
#[must_use]
pub fn core(body: &Body, outside: &Mesh) -> Mesh {
    outside.inset(|p, normal| {
        let flat = normal.z * normal.z;
        // How near the rim a point of a plate lies.
        let eta = p.y / body.half_width(0.5);
        let u = 0.5 + p.x / (body.front(0.5) - body.back(0.5));
        let off = (4.0 * (u - 0.5) * (u - 0.5) + eta * eta).min(1.0);
        let plate = PLATE_MM + (RIM_MM - PLATE_MM) * off * off;
        WALL_MM + (plate - WALL_MM) * flat
    })
}

/// What a surface is made of, ring by ring.
struct Skin<'a> {
    body: &'a Body,
    hollow: Hollow,
}

impl Skin<'_> {
    /// A ring: `at` says of each point of the outline how far out it lies (1 on the wall) and at which height.
    fn ring(&self, at: impl Fn(f64, f64) -> (f64, f64)) -> Vec<DVec3> {
        let step = std::f64::consts::PI / f64::from(HALF_AROUND);
        let front =
            (0..HALF_AROUND).map(|k| (true, libm::sin(f64::from(k) * step - 0.5 * std::f64::consts::PI)));
        let back =
            (0..HALF_AROUND).map(|k| (false, libm::sin(0.5 * std::f64::consts::PI - f64::from(k) * step)));
        let point = |(in_front, eta): (bool, f64)| {
            let edge = |v: f64| if in_front { self.body.anterior(eta) } else { self.body.posterior(eta, v) };
            // The outline depends on the height only through the width between the margins.
            let (out, v) = at(edge(0.5), eta);
            let u = 0.5 + out * (edge(v.clamp(0.0, 1.0)) - 0.5);
            self.body.at(u, out * eta, v)
        };
        front.chain(back).map(point).collect()
    }

    /// The rings of an end plate from its middle to its rim and over the rounded edge to the wall.
    fn plate(&self, plate: Plate) -> Vec<Vec<DVec3>> {
        let flat = [0.1, 0.25, 0.4, 0.55, 0.7, 0.8, RIM_MIDDLE].map(|out| (out, 0.0));
        let edge = [0.25, 0.45, 0.65, 0.85, 1.0].map(|t| {
            let angle = 0.5 * std::f64::consts::PI * t;
            (RIM_MIDDLE + (1.0 - RIM_MIDDLE) * libm::sin(angle), ROUNDED_MM * (1.0 - libm::cos(angle)))
        });
        let ring = |(out, rounded): (f64, f64)| {
            self.ring(|u, eta| {
                let u = 0.5 + out * (u - 0.5);
                let v = (self.floor(plate, u, out * eta) + rounded) / (2.0 * self.body.half_height(u));
                (out, if plate == Plate::Superior { v } else { 1.0 - v })
            })
        };
        flat.into_iter().chain(edge).map(ring).collect()
    }

    /// How far from the rim's plane the wall begins, as a fraction of the height.
    fn wall_end(&self, plate: Plate, u: f64, eta: f64) -> f64 {
        (self.floor(plate, u, eta) + ROUNDED_MM) / (2.0 * self.body.half_height(u))
    }

    fn floor(&self, plate: Plate, u: f64, eta: f64) -> f64 {
        match self.hollow {
            Hollow::Along => self.body.floor(plate, u.clamp(0.0, 1.0)),
            Hollow::Across => {
                let concavity = match plate {
                    Plate::Superior => self.body.size.superior_concavity,
                    Plate::Inferior => self.body.size.inferior_concavity,
                };
                concavity * bow(0.5 + 0.5 * eta.clamp(-1.0, 1.0))
            }
        }
    }
}

/// About how far inside the body's outside a place of its space lies, in millimetres; negative outside.
#[must_use]
pub fn depth_inside(body: &Body, p: DVec3) -> f64 {
    // Two rounds settle depth and height, which depend on each other only weakly.
    let (mut u, mut v) = (0.5, 0.5);
    for _ in 0..2 {
        let (back, front) = (body.back(v), body.front(v));
        u = (p.x - back) / (front - back);
        v = (0.5 - 0.5 * p.z / body.half_height(u.clamp(0.0, 1.0))).clamp(0.0, 1.0);
    }
    let half_width = body.half_width(v);
    let eta = (p.y / half_width).clamp(-1.0, 1.0);
    let sides = half_width - p.y.abs();
    let depth = body.front(v) - body.back(v);
    let walls = (u - body.posterior(eta, v)).min(body.anterior(eta) - u) * depth;
    let ends = body.half_height(u.clamp(0.0, 1.0)) - p.z.abs();
    walls.min(sides).min(ends)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;
    use crate::phantom::size::{LUMBAR, Sample, Size};

    /// The outside reaches exactly as far as the model's walls and plates do in the middle plane.
    #[test]
    fn the_outside_is_the_models() {
        for level in LUMBAR {
            let body = Body::new(Size::typical(level, Sample::All));
            let mesh = outside(&body, Hollow::Along);
            let top = mesh
                .points
                .iter()
                .filter(|p| p.y.abs() < 8.0 && (p.x - body.at(0.42, 0.0, 0.0).x).abs() < 3.0);
            let top = top.map(|p| p.z).fold(f64::MIN, f64::max);
            let floor = body.on_plate(Plate::Superior, 0.42, 0.0).z;
            assert!((top - floor).abs() < 0.25, "{level:?}: {top} for {floor}");
            let core = core(&body, &mesh);
            assert_eq!(core.points.len(), mesh.points.len());
            assert!(core.points.iter().all(|&p| depth_inside(&body, p) > -0.1));
        }
    }

    #[test]
    fn depth_inside_is_that_of_the_walls() {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        assert!(depth_inside(&body, body.at(0.0, 0.0, 0.5)).abs() < 1e-6);
        assert!((depth_inside(&body, body.at(0.5, 0.0, 0.5)) - 14.0).abs() < 4.0);
        assert!(depth_inside(&body, DVec3::new(-30.0, 0.0, 0.0)) < -5.0);
    }
}
