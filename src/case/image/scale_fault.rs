//! Where what a file says of its geometry contradicts itself. Nothing of such a file is offered as a scale.

use crate::case::image::facts::Spacing;

/// How far the magnification that a file states may differ from that of its distances, as a part: by the standard both
/// are the same ratio (DICOM PS3.3 C.8.7.5), so that only rounding lies between. A starting value of this project, no
/// source.
const SAME_RATIO: f64 = 0.05;
/// How far the magnification that two spacings imply may differ from the one stated, as a part: the plane that was
/// assumed for the patient may lie some centimeters from the one of the distances. A starting value of this project, no
/// source.
const SAME_PLANE: f64 = 0.15;
/// How much larger a spacing at the patient may be than at the detector before it counts as larger, as a part.
const ROUNDING: f64 = 0.005;
/// An image's size at the detector over the sides of a rectangular field of view. Common practice, no source.
const OF_RECTANGLE: std::ops::RangeInclusive<f64> = 0.85..=1.1;
/// Its longer side over the diameter of a round field, from the square that lies inside it to a frame with an edge
/// around it. Common practice, no source.
const OF_ROUND: std::ops::RangeInclusive<f64> = 0.6..=1.15;

/// A contradiction in what a file says of its geometry.
#[derive(Clone, Debug, PartialEq)]
pub enum ScaleFault {
    /// A pixel is larger at the patient than at the detector: a magnification below 1.
    Shrunk {
        /// Pixel Spacing, in millimeters.
        pixel_mm: f64,
        /// Imager Pixel Spacing, in millimeters.
        imager_mm: f64,
    },
    /// The stated magnification is below 1.
    BelowOne {
        /// Estimated Radiographic Magnification Factor.
        stated: f64,
    },
    /// The stated magnification is not that of the distances.
    AgainstDistances {
        /// Estimated Radiographic Magnification Factor.
        stated: f64,
        /// Source to detector over source to patient.
        by_distances: f64,
    },
    /// The two spacings imply another magnification than the file states elsewhere.
    AgainstSpacings {
        /// As stated, or by the distances.
        stated: f64,
        /// Spacing at the detector over spacing at the patient.
        by_spacings: f64,
    },
    /// The patient lies farther from the source than the detector.
    PatientBeyondDetector {
        /// Distance Source to Patient, in millimeters.
        patient_mm: f64,
        /// Distance Source to Detector, in millimeters.
        detector_mm: f64,
    },
    /// The image is not as large as the field of view that the file states.
    FieldOfView {
        /// The field, in millimeters.
        field_mm: f64,
        /// The image at the detector, in millimeters.
        image_mm: f64,
    },
    /// An element stands more than once.
    Repeated {
        /// Its name.
        name: String,
    },
    /// An element stands behind the pixels.
    BehindPixels {
        /// Its name.
        name: String,
    },
    /// There are more frames than the file declares.
    MoreFrames {
        /// As declared.
        declared: u32,
        /// As found.
        found: usize,
    },
}

/// What is said of a file with such a fault beside the fault itself.
pub const NOT_CALIBRATED: &str = "The image is not calibrated by the file, which contradicts itself.";

impl ScaleFault {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(&self) -> &'static str {
        match self {
            Self::Shrunk { .. } => "spacing_larger_than_at_detector",
            Self::BelowOne { .. } => "magnification_below_one",
            Self::AgainstDistances { .. } => "magnification_against_distances",
            Self::AgainstSpacings { .. } => "magnification_against_spacings",
            Self::PatientBeyondDetector { .. } => "patient_beyond_detector",
            Self::FieldOfView { .. } => "field_of_view_against_spacing",
            Self::Repeated { .. } => "repeated_element",
            Self::BehindPixels { .. } => "element_behind_pixels",
            Self::MoreFrames { .. } => "more_frames_than_declared",
        }
    }

    /// What contradicts what, as a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Self::Shrunk { pixel_mm, imager_mm } => format!(
                "The file states {pixel_mm:.3} mm per pixel at the patient and {imager_mm:.3} mm at the detector, a magnification below 1, which is impossible."
            ),
            Self::BelowOne { stated } => {
                format!("The file states a magnification of {stated:.2}; below 1 it is impossible.")
            }
            Self::AgainstDistances { stated, by_distances } => format!(
                "The file states a magnification of {stated:.2}, but its distances give {by_distances:.2}."
            ),
            Self::AgainstSpacings { stated, by_spacings } => format!(
                "The file states a magnification of {stated:.2}, but its two pixel spacings give {by_spacings:.2}."
            ),
            Self::PatientBeyondDetector { patient_mm, detector_mm } => format!(
                "The file puts the patient {patient_mm:.0} mm from the source, beyond the detector at {detector_mm:.0} mm."
            ),
            Self::FieldOfView { field_mm, image_mm } => format!(
                "The file states a field of view of {field_mm:.0} mm, but its pixel spacing makes the image {image_mm:.0} mm."
            ),
            Self::Repeated { name } => format!("The file states its {name} more than once."),
            Self::BehindPixels { name } => {
                format!("The file states its {name} behind the pixels, where it does not belong.")
            }
            Self::MoreFrames { declared: 1, found } => {
                format!("The file declares 1 frame but contains {found}.")
            }
            Self::MoreFrames { declared, found } => {
                format!("The file declares {declared} frames but contains {found}.")
            }
        }
    }
}

/// The sentences of all faults as one text.
#[must_use]
pub fn told(faults: &[ScaleFault]) -> String {
    faults.iter().map(ScaleFault::sentence).collect::<Vec<_>>().join(" ")
}

/// What contradicts itself in these distances; `columns` and `rows` are those of the image.
#[must_use]
pub fn found_in(spacing: &Spacing, columns: u32, rows: u32) -> Vec<ScaleFault> {
    let mut faults = Vec::new();
    let distances = spacing.source_to_detector_mm.zip(spacing.source_to_patient_mm);
    if let Some((detector_mm, patient_mm)) = distances.filter(|(detector, patient)| patient > detector) {
        faults.push(ScaleFault::PatientBeyondDetector { patient_mm, detector_mm });
    }
    let by_distances = distances.map(|(detector, patient)| detector / patient).filter(|ratio| *ratio >= 1.0);
    if let Some(stated) = spacing.stated_magnification.filter(|stated| *stated < 1.0) {
        faults.push(ScaleFault::BelowOne { stated });
    }
    let stated = spacing.magnification;
    if let (Some(stated), Some(by_distances)) = (stated, by_distances)
        && differs(stated, by_distances, SAME_RATIO)
    {
        faults.push(ScaleFault::AgainstDistances { stated, by_distances });
    }
    if let (Some(pixel), Some(imager)) = (spacing.pixel_mm, spacing.imager_mm) {
        faults.extend(against_spacings(pixel, imager, stated.or(by_distances)));
    }
    faults.extend(against_field(spacing, columns, rows));
    faults
}

fn against_spacings(pixel: [f64; 2], imager: [f64; 2], stated: Option<f64>) -> Option<ScaleFault> {
    let [pixel_mm, imager_mm] = [pixel, imager].map(|[down, across]| 0.5 * (down + across));
    let by_spacings = imager_mm / pixel_mm;
    if by_spacings < 1.0 / (1.0 + ROUNDING) {
        return Some(ScaleFault::Shrunk { pixel_mm, imager_mm });
    }
    // Equal spacings are both the detector's, and say nothing of a magnification.
    let stated = stated.filter(|_| by_spacings > 1.0 + ROUNDING)?;
    differs(stated, by_spacings, SAME_PLANE).then_some(ScaleFault::AgainstSpacings { stated, by_spacings })
}

fn against_field(spacing: &Spacing, columns: u32, rows: u32) -> Option<ScaleFault> {
    let field = spacing.field?;
    // A spacing that was corrected is the patient's, where the field is smaller.
    let at_detector = spacing.imager_mm.or(spacing.pixel_mm.filter(|_| spacing.calibration.is_none()))?;
    let image = [f64::from(rows) * at_detector[0], f64::from(columns) * at_detector[1]];
    let longer = |[a, b]: [f64; 2]| a.max(b);
    let fits = if field.rectangular {
        let [down, across] = field.mm;
        let within = |sides: [f64; 2]| image.iter().zip(sides).all(|(a, b)| OF_RECTANGLE.contains(&(a / b)));
        within([down, across]) || within([across, down])
    } else {
        OF_ROUND.contains(&(longer(image) / longer(field.mm)))
    };
    (!fits).then(|| ScaleFault::FieldOfView { field_mm: longer(field.mm), image_mm: longer(image) })
}

fn differs(a: f64, b: f64, part: f64) -> bool {
    (a - b).abs() > part * a.max(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::facts::{FieldOfView, SpacingCorrection};

    fn keys(spacing: &Spacing) -> Vec<&'static str> {
        found_in(spacing, 1000, 1000).iter().map(ScaleFault::key).collect()
    }

    fn sound() -> Spacing {
        // references, section 10: 0.200 mm, 1000 mm, 700 mm → factor 1.428571, 0.140 mm.
        Spacing {
            imager_mm: Some([0.2, 0.2]),
            pixel_mm: Some([0.14, 0.14]),
            calibration: Some(SpacingCorrection::Geometry),
            magnification: Some(1.43),
            stated_magnification: Some(1.43),
            source_to_detector_mm: Some(1000.0),
            source_to_patient_mm: Some(700.0),
            field: Some(FieldOfView { mm: [200.0, 200.0], rectangular: true }),
            ..Spacing::default()
        }
    }

    #[test]
    fn a_file_that_agrees_with_itself_has_no_fault() {
        assert!(keys(&sound()).is_empty());
        assert!(keys(&Spacing::default()).is_empty());
        // The same spacing twice is the detector's twice.
        assert!(keys(&Spacing { pixel_mm: Some([0.2, 0.2]), ..sound() }).is_empty());
        // A round field of 230 mm, from which a square of 200 mm is kept.
        let round = FieldOfView { mm: [230.0, 230.0], rectangular: false };
        assert!(keys(&Spacing { field: Some(round), ..sound() }).is_empty());
    }

    #[test]
    fn each_contradiction_is_found_alone() {
        assert_eq!(
            keys(&Spacing { pixel_mm: Some([0.24, 0.24]), ..sound() }),
            ["spacing_larger_than_at_detector"]
        );
        assert_eq!(
            keys(&Spacing { magnification: Some(1.6), pixel_mm: None, ..sound() }),
            ["magnification_against_distances"]
        );
        assert_eq!(
            keys(&Spacing { pixel_mm: Some([0.1, 0.1]), ..sound() }),
            ["magnification_against_spacings"]
        );
        assert_eq!(
            keys(&Spacing { magnification: None, stated_magnification: Some(0.7), ..sound() }),
            ["magnification_below_one"]
        );
        let beyond = Spacing { source_to_patient_mm: Some(1100.0), magnification: None, ..sound() };
        assert_eq!(keys(&beyond), ["patient_beyond_detector"]);
        for mm in [[300.0, 300.0], [120.0, 120.0]] {
            let field = Some(FieldOfView { mm, rectangular: true });
            assert_eq!(keys(&Spacing { field, ..sound() }), ["field_of_view_against_spacing"]);
        }
        let round = Some(FieldOfView { mm: [400.0, 400.0], rectangular: false });
        assert_eq!(keys(&Spacing { field: round, ..sound() }), ["field_of_view_against_spacing"]);
    }

    #[test]
    fn sentences_name_both_sides() {
        let faults = found_in(&Spacing { pixel_mm: Some([0.24, 0.24]), ..sound() }, 1000, 1000);
        let text = told(&faults);
        assert!(text.contains("0.240") && text.contains("0.200") && text.ends_with('.'), "{text}");
    }
}
