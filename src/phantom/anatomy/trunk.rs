//! Soft tissue: skin, fat, muscle, the lungs' lower ends and gas in the bowel. Plausible only, no source.

use glam::{DMat3, DVec3};

use crate::phantom::anatomy::implicit::{SimpleShape, Solid, net};
use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::draw::Draw;

/// The trunk about a lumbar column; its axis is the column's.
#[derive(Clone, Debug)]
pub struct Trunk {
    /// The skin.
    pub skin: Mesh,
    /// The muscles' outside, under the fat below the skin.
    pub flesh: Mesh,
    /// The fat behind the belly's organs, in front of and beside the column.
    pub fat: Mesh,
    /// The muscles beside the column.
    pub psoas: [Mesh; 2],
    /// Gas in the bowel.
    pub gas: Mesh,
    /// Loops of bowel that are denser than what surrounds them, and the great vessel in front of the column.
    pub dense: [Mesh; 2],
    /// The lungs, where they are asked for.
    pub lungs: Option<[Mesh; 2]>,
}

/// How far up and down the trunk is drawn.
const REACH_MM: f64 = 420.0;

impl Trunk {
    /// A trunk of drawn size. `lungs_end` is the height at which the lungs end, if they may be seen.
    #[must_use]
    pub fn drawn(lungs_end: Option<f64>, draw: &mut Draw) -> Self {
        let size = draw.between(0.92, 1.08);
        let (half_depth, half_width) = (112.0 * size, 158.0 * size);
        let middle = half_depth - 102.0 - draw.between(0.0, 8.0);
        let fat = draw.between(12.0, 24.0);
        let belly = draw.between(0.0, 14.0);
        let outline = |inward: f64| {
            const RINGS: u32 = 22;
            const AROUND: u32 = 320;
            let ring = |i: u32| -> Vec<DVec3> {
                let z = REACH_MM * (f64::from(2 * i) / f64::from(RINGS) - 1.0);
                let waist = z / 160.0;
                let wide = half_width - inward + 9.0 * waist * waist / (1.0 + 0.3 * waist * waist);
                let forward = half_depth - inward + belly / (1.0 + waist * waist);
                let point = |k: u32| {
                    let angle = std::f64::consts::TAU * f64::from(k) / f64::from(AROUND);
                    let (c, s) = (libm::cos(angle), libm::sin(angle));
                    let deep = if c > 0.0 { forward } else { half_depth - inward };
                    let furrow = if c < 0.0 { 9.0 * libm::exp(-s * s / 0.02) } else { 0.0 };
                    DVec3::new(middle + deep * full(c) + furrow, wide * full(s), z)
                };
                (0..AROUND).map(point).collect()
            };
            Mesh::rings(&(0..=RINGS).map(ring).collect::<Vec<_>>())
        };
        let retro = Mesh::ellipsoid(
            DVec3::new(18.0, 0.0, -10.0),
            DMat3::from_diagonal(DVec3::new(46.0, 88.0, 210.0)),
        );
        let psoas = [-1.0, 1.0].map(|side| psoas(side, size));
        let lungs = lungs_end.map(|z| {
            [-1.0, 1.0].map(|side| {
                let axes = DMat3::from_diagonal(DVec3::new(62.0, 46.0, 150.0));
                Mesh::ellipsoid(DVec3::new(-14.0, side * 76.0, z + 150.0), axes)
            })
        });
        Self {
            skin: outline(0.0),
            flesh: outline(fat),
            fat: retro,
            psoas,
            gas: loops(half_depth + middle, (3, 3), draw),
            dense: [loops(half_depth + middle, (9, 5), draw), vessel()],
            lungs,
        }
    }
}

/// Fuller than a circle: |x|^0.66 with the sign of x.
fn full(x: f64) -> f64 {
    libm::copysign(libm::pow(x.abs(), 0.66), x)
}

fn psoas(side: f64, size: f64) -> Mesh {
    let section = |i: u32| {
        let t = f64::from(i) / 16.0;
        let middle = DVec3::new(2.0 + 10.0 * t * t, side * (26.0 + 24.0 * t), 70.0 - 190.0 * t);
        let thick = size * (6.0 + 17.0 * libm::sin(std::f64::consts::PI * (0.08 + 0.84 * t)));
        (middle, DVec3::X * (1.15 * thick), DVec3::Y * thick)
    };
    Mesh::tube(&(0..=16).map(section).collect::<Vec<_>>(), 32)
}

/// The great vessel in front of the column, a little to the left.
fn vessel() -> Mesh {
    let section = |i: u32| {
        let t = f64::from(i) / 12.0;
        let middle = DVec3::new(31.0 + 9.0 * t * (1.0 - t), 9.0 - 5.0 * t, 150.0 - 200.0 * t);
        (middle, DVec3::X * 9.5, DVec3::Y * 10.0)
    };
    Mesh::tube(&(0..=12).map(section).collect::<Vec<_>>(), 32)
}

/// Loops of bowel in front of the column: at least `number.0`, at most `number.1` more.
fn loops(front: f64, number: (u32, u32), draw: &mut Draw) -> Mesh {
    let mut shapes = Vec::new();
    let loops = number.0 + (0..number.1).map(|_| u32::from(draw.coin())).sum::<u32>();
    for _ in 0..loops {
        let mut at = DVec3::new(
            front - draw.between(34.0, 72.0),
            draw.between(-85.0, 85.0),
            draw.between(-110.0, 110.0),
        );
        let mut heading = draw.between(0.0, std::f64::consts::TAU);
        let thick = draw.between(8.0, 15.0);
        let pieces = 2 + u32::from(draw.coin()) + u32::from(draw.coin()) + u32::from(draw.coin());
        for _ in 0..pieces {
            let radii =
                DVec3::new(draw.between(0.6, 0.9), draw.between(0.9, 1.4), draw.between(0.9, 1.4)) * thick;
            shapes.push(SimpleShape::ellipsoid(at, radii));
            heading += draw.between(-0.7, 0.7);
            at += DVec3::new(
                draw.between(-3.0, 3.0),
                libm::cos(heading) * 1.35 * thick,
                libm::sin(heading) * 1.35 * thick,
            );
        }
    }
    let solid = Solid::new(shapes, 3.0);
    net(&|p| solid.distance(p), solid.bounds(), 2.5)
}
