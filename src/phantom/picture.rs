//! A simulated still: what a detector behind a patient sees, as stored greys.
//!
//! Everything follows from the scene, the technique and two seeds, one for the patient and one for the noise.
//! Transcendental functions come from `libm`, sums run in a fixed order: a picture has the same bytes on every
//! machine.

use glam::{DAffine3, DVec3};

use crate::geom::point::Point;
use crate::phantom::anatomy::part::Part;
use crate::phantom::anatomy::tool::{CannulaTool, parts as tool_parts};
use crate::phantom::beam::Beam;
use crate::phantom::imaging::attenuation::{Absorber, MATERIALS};
use crate::phantom::imaging::detector::{Exposure, expected, middling, noisy, primary, primary_beside};
use crate::phantom::imaging::grain::Grain;
use crate::phantom::imaging::greys::{Setting, greys};
use crate::phantom::imaging::lettering;
use crate::phantom::imaging::plane::Plane;
use crate::phantom::imaging::shadow::{Ways, ways, ways_where_seen};
use crate::phantom::imaging::spectrum::Spectrum;
use crate::phantom::instrument::PlacedInstrument;

/// A grey picture, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GrayPicture {
    /// Pixels a side.
    pub side: u32,
    /// How samples are stored.
    pub bits: Bits,
    /// `side × side` samples.
    pub samples: Vec<u16>,
}

/// A square part of a picture, in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Crop {
    /// Columns left out at the left.
    pub left: u32,
    /// Rows left out at the top.
    pub top: u32,
    /// Pixels a side of what is kept.
    pub side: u32,
}

impl GrayPicture {
    /// A part of the picture; what lies beyond its edges is left out.
    #[must_use]
    pub fn cropped(&self, crop: Crop) -> Self {
        let side = crop.side.min(self.side.saturating_sub(crop.left.max(crop.top)));
        let samples = (crop.top..crop.top + side).flat_map(|row| {
            let from = (row * self.side + crop.left) as usize;
            self.samples[from..from + side as usize].iter().copied()
        });
        Self { side, bits: self.bits, samples: samples.collect() }
    }
}

/// Bits of a stored sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bits {
    /// 0 to 255.
    Eight,
    /// 0 to 65,535.
    Sixteen,
}

/// The part of the picture that the beam reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aperture {
    /// A disc; outside it the picture is black.
    Round {
        /// Its centre in image coordinates.
        centre: Point,
        /// Its radius in pixels.
        radius: f64,
    },
    /// The whole picture.
    Square,
}

/// How a still is made, apart from where the beam stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Technique {
    /// Pixels a side.
    pub side: u32,
    /// The part that the beam reaches.
    pub aperture: Aperture,
    /// Tube voltage, 50–120 kV.
    pub kv: f64,
    /// Dose, 1 for an ordinary still.
    pub dose: f64,
    /// How the screen is set.
    pub setting: Setting,
    /// How samples are stored.
    pub bits: Bits,
    /// Lines burned in at the upper left.
    pub words: Vec<String>,
    /// Seed of the noise.
    pub seed: u64,
}

/// Quanta a pixel of 0.3 mm on the detector sees at dose 1 (plausible for a still, no source).
const QUANTA: f64 = 420.0;
/// Side of that pixel in millimetres.
const PIXEL_MM: f64 = 0.3;
/// Scatter over what comes straight, for each centimetre of patient, behind a grid.
const SCATTER_PER_CM: f64 = 0.026;
/// Spread of the scatter, of the scintillator's light, and of the focal spot on the tube's side, as standard
/// deviations in millimetres.
const SCATTER_MM: f64 = 34.0;
const DETECTOR_MM: f64 = 0.40;
const FOCUS_MM: f64 = 0.24;
/// Noise of the electronics, in quanta of the same pixel.
const ELECTRONIC: f64 = 7.0;
/// Glare and lag.
const GLARE: f64 = 0.06;
const LAG: f64 = 0.08;
/// How far back the instrument was in the moment before, in millimetres.
const MOVED_MM: f64 = 0.7;

/// The still of a patient with an instrument.
#[must_use]
pub fn picture(
    patient: &[Part],
    grain: &Grain,
    instrument: Option<(&PlacedInstrument, CannulaTool)>,
    beam: &Beam,
    technique: &Technique,
) -> GrayPicture {
    let side = technique.side as usize;
    let bare = ways(patient, beam, side, grain);
    let parts = instrument.map(|(instrument, tool)| tool_parts(instrument, tool)).unwrap_or_default();
    let back = instrument.map_or(DVec3::ZERO, |(i, _)| (i.outside - i.mouth).normalize() * MOVED_MM);
    let moved: Vec<Part> =
        parts.iter().map(|part| part.clone().placed(DAffine3::from_translation(back))).collect();

    let open = opening(side, technique.aperture);
    let strength = open.with(&falloff(side), |o, f| o * f);
    let spectrum = Spectrum::of_tube(technique.kv);
    let alone = primary(&bare, &spectrum, &strength);
    let reference = middling(&alone);
    // The instrument is in few of the pixels.
    let [now, before] = [&parts, &moved].map(|parts| {
        let more = ways_where_seen(parts, beam, side, grain);
        primary_beside((&bare, &alone), &more, &spectrum, &strength)
    });
    let exposure = exposure(beam, &bare, technique.dose);
    let signal = noisy(&expected(&now, &exposure, reference), &exposure, technique.seed);
    let left_over =
        noisy(&expected(&before, &exposure, reference), &exposure, technique.seed.wrapping_add(1));
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    let lag = exposure.lag as f32;
    let signal = signal.with(&left_over, |s, l| s * (1.0 - lag) + l * lag);
    let shown = greys(&signal, &open, exposure.quanta, technique.setting);
    stored(&shown, technique)
}

/// The detector's figures for a beam through a patient.
fn exposure(beam: &Beam, ways: &Ways, dose: f64) -> Exposure {
    let pixel_mm = beam.detector_pixel_mm();
    let magnification = beam.magnification();
    let thick = |m: &[f32; MATERIALS]| m[Absorber::Soft as usize] + m[Absorber::Fat as usize];
    let thickness = Plane { side: ways.side, values: ways.millimetres.iter().map(thick).collect() };
    Exposure {
        quanta: QUANTA * dose * (pixel_mm / PIXEL_MM) * (pixel_mm / PIXEL_MM),
        scatter: SCATTER_PER_CM * 0.1 * middling(&thickness),
        scatter_px: SCATTER_MM / pixel_mm,
        focal_px: FOCUS_MM * (magnification - 1.0) / pixel_mm,
        detector_px: DETECTOR_MM / pixel_mm,
        electronic: ELECTRONIC * (pixel_mm / PIXEL_MM),
        glare: GLARE,
        lag: LAG,
    }
}

/// 1 where the beam reaches, 0 where not, with an edge two pixels wide.
#[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "pixels; storage as f32")]
fn opening(side: usize, aperture: Aperture) -> Plane {
    match aperture {
        Aperture::Square => Plane::of(side, |_, _| 1.0),
        Aperture::Round { centre, radius } => Plane::of(side, |x, y| {
            let (dx, dy) = (x as f64 + 0.5 - centre.x, y as f64 + 0.5 - centre.y);
            (0.5 * (radius - (dx * dx + dy * dy).sqrt())).clamp(0.0, 1.0) as f32
        }),
    }
}

/// The beam is a little weaker toward the corners and toward the anode's side (plausible, no source).
#[expect(clippy::cast_precision_loss, reason = "pixels")]
fn falloff(side: usize) -> Plane {
    let half = 0.5 * side as f32;
    Plane::of(side, |x, y| {
        let (dx, dy) = ((x as f32 - half) / half, (y as f32 - half) / half);
        (1.0 - 0.10 * (dx * dx + dy * dy)) * (1.0 - 0.05 * dy)
    })
}

/// Greys as samples, with words.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the range first")]
fn stored(shown: &Plane, technique: &Technique) -> GrayPicture {
    let most = match technique.bits {
        Bits::Eight => 255.0_f32,
        Bits::Sixteen => 65_535.0,
    };
    let mut samples: Vec<u16> =
        shown.values.iter().map(|&g| (g * most + 0.5).clamp(0.0, most) as u16).collect();
    let side = shown.side;
    let scale = (side / 512).max(1);
    // Light letters with a dark edge can be read on any grey.
    for (edge, grey) in [(scale, 0.04), (0, 0.86)] {
        lettering::write(&technique.words, side / 40, side / 40, scale, &mut |x, y| {
            for y in y.saturating_sub(edge)..=y + edge {
                for x in x.saturating_sub(edge)..=x + edge {
                    if x < side && y < side {
                        samples[y * side + x] = (most * grey) as u16;
                    }
                }
            }
        });
    }
    GrayPicture { side: technique.side, bits: technique.bits, samples }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: of 3 × 3 samples the four at the lower right, and of what lies beyond the edge nothing.
    #[test]
    fn a_part_is_cut_out() {
        let whole = GrayPicture { side: 3, bits: Bits::Eight, samples: (1..=9).collect() };
        assert_eq!(whole.cropped(Crop { left: 1, top: 1, side: 2 }).samples, [5, 6, 8, 9]);
        assert_eq!(whole.cropped(Crop { left: 2, top: 0, side: 9 }).samples, [3]);
    }
}
