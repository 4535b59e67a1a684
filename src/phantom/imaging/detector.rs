//! From ways through materials to the detector's signal: attenuation, scatter, focal blur, veiling glare, quantum
//! noise, the scintillator's blur, and lag.

use rayon::prelude::*;

use crate::phantom::draw::Draw;
use crate::phantom::imaging::plane::Plane;
use crate::phantom::imaging::shadow::{SeenWays, Ways};
use crate::phantom::imaging::spectrum::Spectrum;
use crate::phantom::several::PIECE;

/// How a detector sees. Every figure is plausible, no source, unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Exposure {
    /// Quanta that make the signal of a pixel of middling brightness.
    pub quanta: f64,
    /// Scatter over what comes straight, in the middle of the picture, behind an anti-scatter grid.
    pub scatter: f64,
    /// Width of the scatter's spread in pixels (standard deviation).
    pub scatter_px: f64,
    /// Blur by the focal spot, in pixels (standard deviation).
    pub focal_px: f64,
    /// Blur by the scintillator, in pixels (standard deviation).
    pub detector_px: f64,
    /// Noise of the electronics as a standard deviation, in quanta.
    pub electronic: f64,
    /// Part of the light that is spread over the whole picture.
    pub glare: f64,
    /// Part of the signal that is left over from the moment before.
    pub lag: f64,
}

/// What reaches the detector straight, for each pixel, without air as 1; 0 where `open` says that the beam is
/// shut off.
#[must_use]
pub fn primary(ways: &Ways, spectrum: &Spectrum, open: &Plane) -> Plane {
    let mut values = vec![0.0; ways.millimetres.len()];
    let pieces = values.par_chunks_mut(PIECE).zip(ways.millimetres.par_chunks(PIECE));
    pieces.zip(open.values.par_chunks(PIECE)).with_min_len(64).for_each(|((values, ways), open)| {
        if open.iter().all(|&open| open <= 0.0) {
            return;
        }
        spectrum.through_all(ways, values);
        for (value, &open) in values.iter_mut().zip(open) {
            *value = if open > 0.0 { *value * open } else { 0.0 };
        }
    });
    Plane { side: ways.side, values }
}

/// The same for a scene into which something was put of which the ways are given, where the ways and the plane without it are
/// known; bit for bit that of [`primary`] for the ways through both.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
pub fn primary_beside(
    (known, seen): (&Ways, &Plane),
    more: &SeenWays,
    spectrum: &Spectrum,
    open: &Plane,
) -> Plane {
    let mut plane = seen.clone();
    let from = more.rows.start * known.side;
    let at = |(i, value): (usize, &mut f32)| {
        let (more, open) = (more.millimetres[i], open.values[from + i]);
        if open > 0.0 && more.iter().any(|mm| *mm != 0.0) {
            let mut here = known.millimetres[from + i];
            here.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
            *value = (spectrum.through(here.map(|mm| f64::from(mm.max(0.0)))) as f32) * open;
        }
    };
    plane.values[from..from + more.millimetres.len()].par_iter_mut().enumerate().for_each(at);
    plane
}

/// The mean of the middle of a picture, over the squares' inner three fifths; what automatic exposure goes by.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "a number of pixels")]
pub fn middling(plane: &Plane) -> f64 {
    let (from, to) = (plane.side / 5, plane.side - plane.side / 5);
    let rows = (from..to).map(|y| plane.values[y * plane.side + from..y * plane.side + to].iter());
    let sum: f64 = rows.flatten().map(|&v| f64::from(v)).sum();
    sum / ((to - from) * (to - from)).max(1) as f64
}

/// The expected signal, in quanta: what comes straight with its focal blur, scatter that follows the beam at
/// large, and glare.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
pub fn expected(primary: &Plane, exposure: &Exposure, reference: f64) -> Plane {
    let scale = (exposure.quanta / reference.max(1e-12)) as f32;
    // Beside the patient the beam is a hundred times as strong; little of it scatters.
    let most = (6.0 * reference) as f32;
    let scattering = primary.map(|p| p.min(most)).blurred(exposure.scatter_px);
    let share = exposure.scatter as f32;
    let all = primary.blurred(exposure.focal_px).with(&scattering, |p, s| (p + share * s) * scale);
    let glare = exposure.glare as f32;
    let bright = (8.0 * exposure.quanta) as f32;
    let veil = all.map(|t| t.min(bright)).blurred(0.6 * exposure.scatter_px);
    all.with(&veil, |t, v| t * (1.0 - glare) + v * glare)
}

/// One reading of the detector: quantum noise, the scintillator's blur, and the noise of the electronics, which
/// is not blurred.
#[must_use]
pub fn noisy(expected: &Plane, exposure: &Exposure, seed: u64) -> Plane {
    let mut values = expected.values.clone();
    // A stream for each row, so that the rows can be drawn in any order.
    let stream =
        |row: usize, salt: u64| Draw::new(seed ^ salt ^ (row as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    values.par_chunks_mut(expected.side).enumerate().for_each(|(row, values)| {
        stream(row, 0).quanta_of_all(values);
    });
    let mut read = Plane { side: expected.side, values }.blurred(exposure.detector_px);
    if exposure.electronic > 0.0 {
        read.values.par_chunks_mut(expected.side).enumerate().for_each(|(row, values)| {
            stream(row, 0x517c_c1b7_2722_0a95).add_normal(exposure.electronic, values);
        });
    }
    read
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::phantom::imaging::attenuation::{Absorber, MATERIALS};

    fn flat(quanta: f64) -> Exposure {
        Exposure {
            quanta,
            scatter: 0.0,
            scatter_px: 20.0,
            focal_px: 0.0,
            detector_px: 0.0,
            electronic: 0.0,
            glare: 0.0,
            lag: 0.0,
        }
    }

    /// Poisson: the variance is the mean, so it grows in proportion to the dose. Within five standard errors.
    #[test]
    fn the_noise_grows_with_the_dose() {
        let side = 160;
        for quanta in [4.0, 40.0, 400.0, 1600.0] {
            let plane = Plane::of(side, |_, _| 1.0);
            let signal = noisy(&expected(&plane, &flat(quanta), 1.0), &flat(quanta), 9);
            let n = signal.values.len() as f64;
            let mean = signal.values.iter().map(|&v| f64::from(v)).sum::<f64>() / n;
            let variance = signal.values.iter().map(|&v| (f64::from(v) - mean).powi(2)).sum::<f64>() / n;
            assert!((mean / quanta - 1.0).abs() < 5.0 / (n * quanta).sqrt(), "{quanta}: {mean}");
            assert!(
                (variance / quanta - 1.0).abs() < 5.0 * (2.0 / n).sqrt() + 1.0 / (quanta * n.sqrt()),
                "{quanta}: {variance}"
            );
        }
    }

    /// Scatter adds what it says in a flat field, and none of it has the shape of small things.
    #[test]
    fn scatter_adds_light_and_no_detail() {
        let side = 128;
        let exposure = Exposure { scatter: 0.8, ..flat(100.0) };
        let plain = expected(&Plane::of(side, |_, _| 1.0), &exposure, 1.0);
        assert!(plain.values.iter().all(|v| (v - 180.0).abs() < 0.5));
        let line = Plane::of(side, |x, _| if x == 64 { 0.0 } else { 1.0 });
        let seen = expected(&line, &exposure, 1.0);
        let here = seen.values[64 * side + 64];
        assert!(here > 70.0 && here < 80.0, "{here}: scatter fills the line, less what the line lacks");
    }

    #[test]
    fn a_shut_beam_gives_nothing() {
        let mut millimetres = vec![[0.0; MATERIALS]; 4];
        millimetres[1][Absorber::Soft as usize] = 100.0;
        let open = Plane { side: 2, values: vec![1.0, 1.0, 0.0, 1.0] };
        let p = primary(&Ways { side: 2, millimetres }, &Spectrum::of(&[(60.0, 1.0)]), &open);
        assert_eq!((p.values[0], p.values[2]), (1.0, 0.0));
        // References, section 9: μ of soft tissue at 60 keV is 0.21714 per centimetre.
        assert!((f64::from(p.values[1]) / (-2.1714_f64).exp() - 1.0).abs() < 1e-4);
    }
}
