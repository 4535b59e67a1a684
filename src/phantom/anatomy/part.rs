//! A surface with what it is filled with.

use glam::DAffine3;

use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::imaging::attenuation::{Absorber, MATERIALS};

/// What a surface adds to the way through each material, per millimetre within it. What it takes the place of
/// counts negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fill(pub [f32; MATERIALS]);

/// Part of the shell's volume that is cortical bone, and of the spongy core's (plausible, no source).
const SHELL: f32 = 0.72;
const SPONGY: f32 = 0.16;

impl Fill {
    /// The skin: fat, from air.
    pub const FAT: Self = Self::of(&[(Absorber::Fat, 1.0)]);
    /// Muscle and organs in place of fat.
    pub const FLESH: Self = Self::of(&[(Absorber::Soft, 1.0), (Absorber::Fat, -1.0)]);
    /// Looser tissue, two fifths of it fat, in place of flesh.
    pub const LOOSE: Self = Self::of(&[(Absorber::Soft, -0.4), (Absorber::Fat, 0.4)]);
    /// Muscle in place of looser tissue.
    pub const MUSCLE: Self = Self::of(&[(Absorber::Soft, 0.4), (Absorber::Fat, -0.4)]);
    /// A disc, a little denser than what surrounds it.
    pub const DISC: Self = Self::of(&[(Absorber::Soft, 0.06)]);
    /// Bowel and vessel among fat.
    pub const DENSE: Self = Self::of(&[(Absorber::Soft, 0.28), (Absorber::Fat, -0.2)]);
    /// Gas in place of flesh.
    pub const GAS: Self = Self::of(&[(Absorber::Soft, -1.0)]);
    /// Lung in place of flesh.
    pub const LUNG: Self = Self::of(&[(Absorber::Soft, -0.6)]);
    /// Cortical bone in place of flesh.
    pub const SHELL: Self = Self::of(&[(Absorber::Bone, SHELL), (Absorber::Soft, -SHELL)]);
    /// Spongy bone with half fatty marrow, in place of a shell's bone.
    pub const CORE: Self = Self::of(&[
        (Absorber::Bone, SPONGY - SHELL),
        (Absorber::Soft, SHELL - SPONGY - 0.4),
        (Absorber::Fat, 0.4),
    ]);
    /// Steel in place of flesh.
    pub const STEEL: Self = Self::of(&[(Absorber::Steel, 1.0), (Absorber::Soft, -1.0)]);
    /// Nickel–titanium in place of flesh.
    pub const NITINOL: Self = Self::of(&[(Absorber::Nitinol, 1.0), (Absorber::Soft, -1.0)]);
    /// A plastic stylet in place of spongy bone.
    pub const PLASTIC: Self =
        Self::of(&[(Absorber::Plastic, 1.0), (Absorber::Bone, -SPONGY), (Absorber::Soft, -0.87)]);
    /// The handle's plastic, in air.
    pub const HANDLE: Self = Self::of(&[(Absorber::Plastic, 0.8)]);

    const fn of(parts: &[(Absorber, f32)]) -> Self {
        let mut fill = [0.0; MATERIALS];
        let mut i = 0;
        while i < parts.len() {
            fill[parts[i].0 as usize] = parts[i].1;
            i += 1;
        }
        Self(fill)
    }

    /// The same, taken away again.
    #[must_use]
    pub fn taken_away(self) -> Self {
        Self(self.0.map(|x| -x))
    }
}

/// A closed surface, where it stands, and what fills it.
#[derive(Clone, Debug)]
pub struct Part {
    /// The surface.
    pub mesh: Mesh,
    /// From the surface's space to that of the body the shot is about.
    pub place: DAffine3,
    /// What fills it.
    pub fill: Fill,
    /// Whether it has the grain of spongy bone.
    pub grained: bool,
}

impl Part {
    /// A surface that stands in the space of the body the shot is about.
    #[must_use]
    pub const fn new(mesh: Mesh, fill: Fill) -> Self {
        Self { mesh, place: DAffine3::IDENTITY, fill, grained: false }
    }

    /// The same surface standing elsewhere.
    #[must_use]
    pub const fn placed(mut self, place: DAffine3) -> Self {
        self.place = place;
        self
    }

    /// The same with the grain of spongy bone.
    #[must_use]
    pub const fn grained(mut self) -> Self {
        self.grained = true;
        self
    }
}
