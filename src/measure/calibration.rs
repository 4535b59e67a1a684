//! Where a picture's scale comes from, and how uncertain it is.
//!
//! All scales are at the plane of the body. What a file says is mostly true at the detector, where a body casts a
//! larger shadow; without the magnification it is no scale of the body.

use crate::geom::point::Point;
use crate::measure::settings::scale_fault;

/// Where a scale comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ScaleFrom {
    /// Typed by the user.
    Typed,
    /// A known length marked on the picture.
    KnownLength,
    /// The file's spacing at the detector, divided by a magnification.
    Detector,
    /// The file's spacing, which says that it is calibrated to the patient.
    Calibrated,
}

/// A length known in millimetres between two places of the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownLength {
    /// Its ends, in image coordinates.
    pub ends: [Point; 2],
    /// How long it is, in millimetres.
    pub mm: f64,
    /// Standard uncertainty of that, in millimetres.
    pub sd_mm: f64,
}

/// A scale with where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// Millimetres to a pixel at the plane of the body.
    pub mm_per_px: f64,
    /// Its standard uncertainty; `None` where nobody has said.
    pub sd: Option<f64>,
    /// Where it comes from.
    pub from: ScaleFrom,
    /// The length it was worked out from, if it was.
    pub known: Option<KnownLength>,
}

/// How far the body may lie from where the file says the patient is, in millimetres, as the half-width of a
/// rectangular distribution; a starting value of this project, no source.
pub const PLANE_HALF_WIDTH_MM: f64 = 50.0;
/// Relative standard uncertainty of a spacing that a file calls calibrated; a starting value of this project, no
/// source.
pub const CALIBRATED_RELATIVE_SD: f64 = 0.03;

impl ScaleFrom {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Typed, Self::KnownLength, Self::Detector, Self::Calibrated];

    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Typed => "typed",
            Self::KnownLength => "known_length",
            Self::Detector => "detector",
            Self::Calibrated => "calibrated",
        }
    }
}

impl KnownLength {
    /// Why it cannot be meant, if it cannot.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        if !(0.01..=10_000.0).contains(&self.mm) || !(0.0..=self.mm).contains(&self.sd_mm) {
            return Some(
                "a known length must be between 0.01 and 10 000 mm, and its uncertainty between 0 and the length",
            );
        }
        let apart = self.ends[0].distance(self.ends[1]);
        (!apart.is_finite() || apart < 1.0)
            .then_some("the two ends of a known length must be at least one pixel apart")
    }
}

impl Calibration {
    /// A scale typed by the user.
    #[must_use]
    pub const fn typed(mm_per_px: f64, sd: Option<f64>) -> Self {
        Self { mm_per_px, sd, from: ScaleFrom::Typed, known: None }
    }

    /// The scale that a known length of the picture gives: `mm / |ends|`. Both ends are placed with the standard
    /// deviation `click_sd_mm` in each direction, so that with `d = mm` the relative variance is
    /// `(sd_mm / d)² + 2 (click_sd_mm / d)²` (JCGM 100:2008, 5.1.2; only the direction along the length counts).
    ///
    /// # Errors
    /// One sentence, if the length cannot be meant.
    pub fn of_known_length(known: KnownLength, click_sd_mm: f64) -> Result<Self, &'static str> {
        if let Some(why) = known.fault() {
            return Err(why);
        }
        let mm_per_px = known.mm / known.ends[0].distance(known.ends[1]);
        let relative = (known.sd_mm.powi(2) + 2.0 * click_sd_mm.powi(2)).sqrt() / known.mm;
        let sd = Some(mm_per_px * relative);
        Self { mm_per_px, sd, from: ScaleFrom::KnownLength, known: Some(known) }.checked()
    }

    /// The scale at the body from the spacing at the detector: `spacing / magnification` (DICOM PS3.3 C.8.19.6.1.2,
    /// Estimated Radiographic Magnification Factor), the magnification with its standard uncertainty.
    ///
    /// # Errors
    /// One sentence, if one of the numbers cannot be meant.
    pub fn of_detector(
        spacing_mm: f64,
        magnification: f64,
        magnification_sd: f64,
    ) -> Result<Self, &'static str> {
        if !(1.0..=10.0).contains(&magnification) || !(0.0..=10.0).contains(&magnification_sd) {
            return Err(
                "the magnification must be between 1 and 10, and its uncertainty must not be negative",
            );
        }
        let mm_per_px = spacing_mm / magnification;
        let sd = Some(mm_per_px * magnification_sd / magnification);
        Self { mm_per_px, sd, from: ScaleFrom::Detector, known: None }.checked()
    }

    /// The scale of a file that says that its spacing is calibrated to the patient.
    ///
    /// # Errors
    /// One sentence, if the spacing cannot be meant.
    pub fn of_calibrated(spacing_mm: f64) -> Result<Self, &'static str> {
        let sd = Some(spacing_mm * CALIBRATED_RELATIVE_SD);
        Self { mm_per_px: spacing_mm, sd, from: ScaleFrom::Calibrated, known: None }.checked()
    }

    /// Why it cannot be meant, if it cannot.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        let sd_good = self.sd.is_none_or(|sd| (0.0..=self.mm_per_px).contains(&sd));
        scale_fault(self.mm_per_px)
            .or((!sd_good)
                .then_some("the uncertainty of a scale must not be negative or larger than the scale itself"))
            .or_else(|| self.known.and_then(|known| known.fault()))
    }

    fn checked(self) -> Result<Self, &'static str> {
        self.fault().map_or(Ok(self), Err)
    }
}

/// Standard uncertainty of a magnification that a file works out from its distances: the body lies within
/// [`PLANE_HALF_WIDTH_MM`] of the plane it names, rectangular. Without the distance, that of 700 mm.
#[must_use]
pub fn magnification_sd(magnification: f64, source_to_patient_mm: Option<f64>) -> f64 {
    let distance = source_to_patient_mm.filter(|d| *d > 100.0).unwrap_or(700.0);
    magnification * PLANE_HALF_WIDTH_MM / 3.0_f64.sqrt() / distance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_length_gives_its_scale_with_both_clicks_uncertainty() {
        // By hand: 3 mm over 10 px is 0.3 mm a pixel; two clicks of 0.25 mm: √2 · 0.25 / 3 = 0.117851 of it.
        let ends = [Point::new(10.0, 10.0), Point::new(16.0, 18.0)];
        let known = KnownLength { ends, mm: 3.0, sd_mm: 0.0 };
        let scale = Calibration::of_known_length(known, 0.25).unwrap();
        assert!((scale.mm_per_px - 0.3).abs() < 1e-12);
        assert!((scale.sd.unwrap() - 0.3 * 0.117_851_130_2).abs() < 1e-9);
        let same = [ends[0], ends[0]];
        assert!(Calibration::of_known_length(KnownLength { ends: same, ..known }, 0.25).is_err());
        assert!(Calibration::of_known_length(KnownLength { mm: f64::NAN, ..known }, 0.25).is_err());
    }

    #[test]
    fn detector_spacing_becomes_the_bodys_by_the_magnification() {
        // references: 0.200 mm, source to detector 1000 mm, source to patient 700 mm → factor 1.428571, 0.140 mm.
        let factor = 1000.0 / 700.0;
        let scale = Calibration::of_detector(0.2, factor, 0.1).unwrap();
        assert!((scale.mm_per_px - 0.14).abs() < 1e-12);
        assert!((scale.sd.unwrap() - 0.14 * 0.1 / factor).abs() < 1e-12);
        assert!(Calibration::of_detector(0.2, 0.5, 0.1).is_err());
        assert!(Calibration::of_detector(-0.2, 1.4, 0.1).is_err());
    }

    #[test]
    fn a_plane_that_may_lie_nearer_or_farther_is_uncertain() {
        let sd = magnification_sd(1.4, Some(700.0));
        assert!((sd - 1.4 * 50.0 / 3.0_f64.sqrt() / 700.0).abs() < 1e-12);
        assert!(magnification_sd(1.4, None) > 0.0);
    }
}
