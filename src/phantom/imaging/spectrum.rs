//! The tube's spectrum as the detector weighs it.

use fearless_simd::{Level, dispatch};

use crate::phantom::imaging::attenuation::{Absorber, MATERIALS, aluminium_per_mm, scintillator_per_mm};
use crate::phantom::several::{PIECE, exp_all};

/// Energies of a beam, each with its weight in the detector's signal.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrum {
    /// Weights; their sum is 1.
    weights: Vec<f64>,
    /// Attenuation per millimetre at each energy, by material.
    per_mm: Vec<[f64; MATERIALS]>,
}

/// Width of an energy bin in keV.
const BIN_KEV: f64 = 6.0;
/// Filter of the tube in millimetres of aluminium, and the scintillator's thickness (plausible, no source).
const FILTER_MM: f64 = 5.0;
const SCINTILLATOR_MM: f64 = 0.6;
/// Soft tissue behind which an energy must still count to be followed, and how much it must.
const PATIENT_MM: f64 = 120.0;
const COUNTS: f64 = 2e-4;

impl Spectrum {
    /// The spectrum of a tube at this voltage (50–120 kV): bremsstrahlung from a thick target (Kramers 1923, from
    /// memory), filtered by aluminium, weighed by the energy that a scintillator takes up.
    #[must_use]
    pub fn of_tube(kv: f64) -> Self {
        let mut energies = Vec::new();
        let mut kev = 23.0;
        while kev < kv {
            let made = (kv - kev) / kev * libm::exp(-aluminium_per_mm(kev) * FILTER_MM);
            let taken_up = kev * (1.0 - libm::exp(-scintillator_per_mm(kev) * SCINTILLATOR_MM));
            energies.push((kev, made * taken_up));
            kev += BIN_KEV;
        }
        let behind =
            |&(kev, weight): &(f64, f64)| weight * libm::exp(-Absorber::Soft.per_mm(kev) * PATIENT_MM);
        let all: f64 = energies.iter().map(behind).sum();
        energies.retain(|energy| behind(energy) > COUNTS * all);
        Self::of(&energies)
    }

    /// A spectrum of these energies in keV with these weights.
    #[must_use]
    pub fn of(energies: &[(f64, f64)]) -> Self {
        let sum: f64 = energies.iter().map(|(_, weight)| weight).sum();
        Self {
            weights: energies.iter().map(|(_, weight)| weight / sum).collect(),
            per_mm: energies
                .iter()
                .map(|(kev, _)| Absorber::ALL.map(|material| material.per_mm(*kev)))
                .collect(),
        }
    }

    /// The part of the signal that comes through these millimetres of each material.
    #[must_use]
    pub fn through(&self, millimetres: [f64; MATERIALS]) -> f64 {
        self.weights
            .iter()
            .zip(&self.per_mm)
            .map(|(weight, per_mm)| {
                let absorbed: f64 = per_mm.iter().zip(millimetres).map(|(a, b)| a * b).sum();
                weight * libm::exp(-absorbed)
            })
            .sum()
    }

    /// The same for many pixels, each bit for bit that of [`Spectrum::through`]; less than nothing counts as nothing.
    ///
    /// # Panics
    /// If there is not room for each.
    pub fn through_all(&self, ways: &[[f32; MATERIALS]], through: &mut [f32]) {
        assert_eq!(ways.len(), through.len());
        let processor = Level::new();
        for (ways, through) in ways.chunks(PIECE).zip(through.chunks_mut(PIECE)) {
            dispatch!(processor, _ => self.through_piece(ways, through));
        }
    }

    #[inline(always)]
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    fn through_piece(&self, ways: &[[f32; MATERIALS]], through: &mut [f32]) {
        let mut by_material = [[0.0; PIECE]; MATERIALS];
        for (n, ways) in ways.iter().enumerate() {
            for (lengths, mm) in by_material.iter_mut().zip(ways) {
                lengths[n] = f64::from(mm.max(0.0));
            }
        }
        let mut sums = [0.0; PIECE];
        for (weight, per_mm) in self.weights.iter().zip(&self.per_mm) {
            let mut passed = [0.0; PIECE];
            for (per_mm, lengths) in per_mm.iter().zip(&by_material) {
                passed.iter_mut().zip(lengths).for_each(|(absorbed, mm)| *absorbed += per_mm * mm);
            }
            passed.iter_mut().for_each(|absorbed| *absorbed = -*absorbed);
            exp_all(&mut passed);
            sums.iter_mut().zip(&passed).for_each(|(sum, passed)| *sum += weight * passed);
        }
        through.iter_mut().zip(sums).for_each(|(through, sum)| *through = sum as f32);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only(material: Absorber, mm: f64) -> [f64; MATERIALS] {
        let mut all = [0.0; MATERIALS];
        all[material as usize] = mm;
        all
    }

    /// A filtered beam grows harder: every further centimetre takes a smaller part.
    #[test]
    fn the_beam_hardens() {
        let beam = Spectrum::of_tube(80.0);
        let lost = |from: f64| {
            beam.through(only(Absorber::Soft, from + 10.0)) / beam.through(only(Absorber::Soft, from))
        };
        assert!(lost(0.0) < lost(100.0) && lost(100.0) < lost(200.0));
        let bone = |from: f64| {
            beam.through(only(Absorber::Bone, from + 10.0)) / beam.through(only(Absorber::Bone, from))
        };
        assert!(bone(0.0) < bone(30.0));
        assert!((beam.through([0.0; MATERIALS]) - 1.0).abs() < 1e-12);
    }

    #[test]
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    fn many_pixels_have_the_bits_of_each_alone() {
        let beam = Spectrum::of_tube(77.0);
        let millimetres = |n: u16, k: u16| f32::from(n.wrapping_mul(37 + 211 * k) % 611) * 0.7 - 40.0;
        let ways: Vec<[f32; MATERIALS]> =
            (0..1000).map(|n| [0, 1, 2, 3, 4, 5].map(|k| millimetres(n, k))).collect();
        let mut through = vec![0.0; ways.len()];
        beam.through_all(&ways, &mut through);
        for (ways, through) in ways.iter().zip(through) {
            let alone = beam.through(ways.map(|mm| f64::from(mm.max(0.0)))) as f32;
            assert_eq!(through.to_bits(), alone.to_bits(), "{ways:?}");
        }
    }

    #[test]
    fn a_higher_voltage_goes_through_better() {
        let through = |kv: f64| Spectrum::of_tube(kv).through(only(Absorber::Soft, 200.0));
        assert!(through(60.0) < through(80.0) && through(80.0) < through(110.0));
    }
}
