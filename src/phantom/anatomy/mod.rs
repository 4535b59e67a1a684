//! What the beam passes through: bones, soft tissue and instruments as closed surfaces.
//!
//! Reading order: [`mesh`], [`implicit`], [`part`], [`vertebra`], [`arch`], [`mod@girdle`], [`trunk`], [`tool`].

pub mod arch;
pub mod girdle;
pub mod implicit;
pub mod mesh;
pub mod part;
pub mod tool;
pub mod trunk;
pub mod vertebra;

use glam::{DMat3, DVec3};
use rayon::prelude::*;

use crate::measure::mark::{Level, View};
use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::anatomy::part::{Fill, Part};
use crate::phantom::anatomy::trunk::Trunk;
use crate::phantom::anatomy::vertebra::Hollow;
use crate::phantom::body::Body;
use crate::phantom::draw::Draw;
use crate::phantom::size::Sample;
use crate::phantom::spine::{Kind, PlacedVertebra, column};

/// Everything but the instrument: the same body and seed give the same patient.
#[must_use]
pub fn patient(level: Level, body: &Body, view: View, seed: u64) -> Vec<Part> {
    let hollow = if view == View::Lateral { Hollow::Along } else { Hollow::Across };
    let spine = column(level, body, Sample::All);
    let bones = || {
        (0_u64..)
            .zip(&spine)
            .collect::<Vec<_>>()
            .into_par_iter()
            .with_max_len(1)
            .flat_map_iter(|(n, placed)| {
                vertebra_parts(placed, hollow, &mut Draw::new(seed.wrapping_add(1000 + n)))
            })
            .collect::<Vec<Part>>()
    };
    let between = || [discs(&spine), girdle(&spine)].concat();
    // The soft tissue takes longest of what is made by one core, and is begun first.
    let (soft, (between, mut parts)) =
        rayon::join(|| soft_tissue(&spine, seed), || rayon::join(between, bones));
    parts.extend(between);
    parts.extend(soft);
    parts
}

/// The body with its core, and what hangs on it with its core.
fn vertebra_parts(placed: &PlacedVertebra, hollow: Hollow, draw: &mut Draw) -> Vec<Part> {
    let outside = vertebra::outside(&placed.body, hollow);
    let core = vertebra::core(&placed.body, &outside);
    let (arch, arch_core) = arch::surfaces(&placed.body, placed.kind, draw);
    [
        Part::new(outside, Fill::SHELL),
        Part::new(core, Fill::CORE).grained(),
        Part::new(arch, Fill::SHELL),
        Part::new(arch_core, Fill::CORE),
    ]
    .map(|part| part.placed(placed.place))
    .into()
}

/// A disc above the middle body and above every body below it, and below every body above it.
fn discs(spine: &[PlacedVertebra]) -> Vec<Part> {
    let mut stack: Vec<&PlacedVertebra> = spine.iter().collect();
    stack.sort_by(|a, b| b.place.translation.z.total_cmp(&a.place.translation.z));
    let gap = |pair: &[&PlacedVertebra]| {
        let (above, below) = (pair[0], pair[1]);
        let top = above.place.transform_point3(above.body.at(0.5, 0.0, 1.0));
        let bottom = below.place.transform_point3(below.body.at(0.5, 0.0, 0.0));
        let forward = below.place.transform_vector3(DVec3::X);
        let half = 0.5 * below.body.size.superior_depth;
        let axes = DMat3::from_cols(
            forward * half,
            DVec3::Y * (0.94 * below.body.half_width(0.0)),
            (top - bottom) * 0.62,
        );
        Part::new(Mesh::ellipsoid(top.midpoint(bottom), axes).outward(), Fill::DISC)
    };
    stack.windows(2).map(gap).collect()
}

/// Ribs on the thoracic bodies, the pelvis on the first sacral one.
fn girdle(spine: &[PlacedVertebra]) -> Vec<Part> {
    let mut bones: Vec<Mesh> = Vec::new();
    let thoracic = spine.iter().filter(|placed| placed.kind == Kind::Thoracic);
    for (placed, long) in thoracic.zip([0.42, 0.62, 0.8, 0.9]) {
        bones.extend([-1.0, 1.0].map(|side| girdle::rib(&placed.place, side, long)));
    }
    for placed in spine.iter().filter(|placed| placed.kind == Kind::Sacral(0)) {
        bones.extend([-1.0, 1.0].map(|side| girdle::wing(&placed.place, side)));
    }
    bones
        .into_iter()
        .flat_map(|outside| {
            let core = outside.inset(|_, _| 0.9);
            [Part::new(outside, Fill::SHELL), Part::new(core, Fill::CORE)]
        })
        .collect()
}

fn soft_tissue(spine: &[PlacedVertebra], seed: u64) -> Vec<Part> {
    let first =
        spine.iter().find(|placed| placed.kind == Kind::Lumbar(0)).map(|placed| placed.place.translation.z);
    let trunk = Trunk::drawn(first.map(|z| z + 24.0), &mut Draw::new(seed.wrapping_add(77)));
    let mut parts = vec![
        Part::new(trunk.skin, Fill::FAT),
        Part::new(trunk.flesh, Fill::FLESH),
        Part::new(trunk.fat, Fill::LOOSE),
        Part::new(trunk.gas, Fill::GAS),
    ];
    parts.extend(trunk.psoas.map(|mesh| Part::new(mesh, Fill::MUSCLE)));
    parts.extend(trunk.dense.map(|mesh| Part::new(mesh, Fill::DENSE)));
    parts.extend(trunk.lungs.into_iter().flatten().map(|mesh| Part::new(mesh, Fill::LUNG)));
    parts
}
