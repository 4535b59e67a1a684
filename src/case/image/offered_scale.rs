//! What a file says of the scale, and whether that is enough for millimetres at the plane of the body.

use crate::case::image::facts::{Facts, SpacingCorrection as Corrected};
use crate::case::image::scale_fault::ScaleFault;
use crate::measure::calibration::{Calibration, magnification_sd};

/// How far the distances along rows and columns may differ, as a part, before pixels count as not square.
const SQUARE: f64 = 0.01;

/// What a file offers.
#[derive(Clone, Debug, PartialEq)]
pub enum ScaleOffer {
    /// Nothing is said of the scale.
    Nothing,
    /// What the file says contradicts itself, so nothing of it is a scale.
    Contradicts {
        /// What contradicts what, at least one.
        faults: Vec<ScaleFault>,
    },
    /// Distances that differ between rows and columns; fractions are not to be trusted either.
    NotSquare,
    /// A spacing that the file calls calibrated to the patient.
    Calibrated {
        /// What follows from it.
        scale: Calibration,
        /// The file's own word for how: FIDUCIAL or GEOMETRY.
        how: &'static str,
    },
    /// A spacing at the detector with the magnification that belongs to it.
    Magnified {
        /// What follows from it.
        scale: Calibration,
        /// The spacing at the detector, in millimetres.
        spacing_mm: f64,
        /// The magnification.
        magnification: f64,
    },
    /// A spacing at the detector whose magnification the file does not say.
    Detector {
        /// The spacing in millimetres.
        spacing_mm: f64,
    },
}

impl ScaleOffer {
    /// What a file offers. Pixel Spacing is the patient's only where the calibration type says so and it is not the
    /// detector's all the same (DICOM PS3.3 10.7.1.3).
    #[must_use]
    pub fn of(facts: &Facts) -> Self {
        let spacing = &facts.spacing;
        if !spacing.faults.is_empty() {
            return Self::Contradicts { faults: spacing.faults.clone() };
        }
        let differs = |a: [f64; 2], b: [f64; 2]| a.iter().zip(b).any(|(a, b)| (a - b).abs() > 1e-6 * b);
        let corrected = match spacing.calibration {
            Some(Corrected::Fiducial) => Some("FIDUCIAL"),
            Some(Corrected::Geometry) => Some("GEOMETRY"),
            Some(Corrected::Other) | None => None,
        };
        let own =
            spacing.pixel_mm.filter(|pixel| spacing.imager_mm.is_none_or(|imager| differs(*pixel, imager)));
        if let (Some(pixel), Some(how)) = (own, corrected) {
            let Some(mm) = square(pixel) else { return Self::NotSquare };
            return match Calibration::of_calibrated(mm) {
                Ok(scale) => Self::Calibrated { scale, how },
                Err(_implausible) => Self::Nothing,
            };
        }
        let Some(pair) = spacing.imager_mm.or(spacing.pixel_mm).or(spacing.scanned_mm) else {
            let stretched = spacing.aspect.is_some_and(|aspect| (aspect - 1.0).abs() > SQUARE);
            return if stretched { Self::NotSquare } else { Self::Nothing };
        };
        let Some(spacing_mm) = square(pair) else { return Self::NotSquare };
        let distances = spacing
            .source_to_detector_mm
            .zip(spacing.source_to_patient_mm)
            .map(|(detector, patient)| detector / patient);
        let magnification = spacing.magnification.or(distances).filter(|m| (1.0..=10.0).contains(m));
        let magnified = magnification.and_then(|magnification| {
            let sd = magnification_sd(magnification, spacing.source_to_patient_mm);
            let scale = Calibration::of_detector(spacing_mm, magnification, sd).ok()?;
            Some(Self::Magnified { scale, spacing_mm, magnification })
        });
        magnified.unwrap_or(Self::Detector { spacing_mm })
    }

    /// The key in the command line's output.
    #[must_use]
    pub const fn key(&self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Contradicts { .. } => "contradicts",
            Self::NotSquare => "not_square",
            Self::Calibrated { .. } => "calibrated",
            Self::Magnified { .. } => "magnified",
            Self::Detector { .. } => "detector",
        }
    }

    /// What contradicts itself in the file, if something does.
    #[must_use]
    pub fn faults(&self) -> &[ScaleFault] {
        if let Self::Contradicts { faults } = self { faults } else { &[] }
    }

    /// The scale, where nothing is missing.
    #[must_use]
    pub const fn scale(&self) -> Option<Calibration> {
        match self {
            Self::Calibrated { scale, .. } | Self::Magnified { scale, .. } => Some(*scale),
            Self::Nothing | Self::NotSquare | Self::Contradicts { .. } | Self::Detector { .. } => None,
        }
    }
}

/// The mean of two distances that are nearly the same.
fn square([a, b]: [f64; 2]) -> Option<f64> {
    ((a - b).abs() <= SQUARE * a.max(b)).then_some(0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::facts::Spacing;
    use crate::measure::calibration::ScaleFrom;

    fn of(spacing: Spacing) -> ScaleOffer {
        ScaleOffer::of(&Facts { spacing, ..Facts::default() })
    }

    #[test]
    fn distances_make_a_magnification() {
        // references, section 10: 0.200 mm, 1000 mm, 700 mm → factor 1.428571, spacing 0.140 mm.
        let offer = of(Spacing {
            imager_mm: Some([0.2, 0.2]),
            source_to_detector_mm: Some(1000.0),
            source_to_patient_mm: Some(700.0),
            ..Spacing::default()
        });
        let ScaleOffer::Magnified { scale, magnification, .. } = offer else { panic!("{offer:?}") };
        assert!((magnification - 1.428_571).abs() < 1e-6 && (scale.mm_per_px - 0.14).abs() < 1e-9);
        assert_eq!(scale.from, ScaleFrom::Detector);
    }

    #[test]
    fn pixel_spacing_is_the_patients_only_where_the_file_says_how() {
        let pixel_mm = Some([0.1, 0.1]);
        let calibration = Some(Corrected::Geometry);
        let said = of(Spacing { pixel_mm, calibration, imager_mm: Some([0.14, 0.14]), ..Spacing::default() });
        assert!(matches!(said, ScaleOffer::Calibrated { how: "GEOMETRY", .. }), "{said:?}");
        // Equal to the detector's spacing, or without a calibration type: the detector's.
        let equal = of(Spacing { pixel_mm, calibration, imager_mm: pixel_mm, ..Spacing::default() });
        assert_eq!(equal, ScaleOffer::Detector { spacing_mm: 0.1 });
        assert_eq!(of(Spacing { pixel_mm, ..Spacing::default() }), ScaleOffer::Detector { spacing_mm: 0.1 });
        assert_eq!(of(Spacing::default()), ScaleOffer::Nothing);
    }

    #[test]
    fn nothing_of_a_file_that_contradicts_itself_is_offered() {
        let faults = vec![ScaleFault::BelowOne { stated: 0.7 }];
        let (pixel_mm, imager_mm) = (Some([0.1, 0.1]), Some([0.14, 0.14]));
        let calibration = Some(Corrected::Geometry);
        let offer =
            of(Spacing { pixel_mm, imager_mm, calibration, faults: faults.clone(), ..Spacing::default() });
        assert_eq!((offer.scale(), &offer), (None, &ScaleOffer::Contradicts { faults }));
    }

    #[test]
    fn pixels_that_are_not_square_give_no_scale() {
        assert_eq!(of(Spacing { imager_mm: Some([0.1, 0.2]), ..Spacing::default() }), ScaleOffer::NotSquare);
        assert_eq!(of(Spacing { aspect: Some(1.2), ..Spacing::default() }), ScaleOffer::NotSquare);
    }
}
