//! What a file says about its values, their display and their scale. Everything is as the file has it, checked for
//! plausibility but not interpreted further; what follows for millimetres is decided elsewhere.

use crate::case::image::scale_fault::ScaleFault;

/// What a file says about a frame beside its samples. The default is a plain picture: samples are values, nothing
/// is known of the scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// Frames in the file, at least 1.
    pub frames: u32,
    /// Time from one frame to the next in milliseconds, positive, where the file says it.
    pub frame_time_ms: Option<f64>,
    /// What is added to a sample to get the stored value: 0, or negative where the file's values are signed, so that
    /// samples count from 0 and keep their order.
    pub stored_offset: i32,
    /// From stored values to the values that windows are about.
    pub modality: Modality,
    /// Displays that the file carries, in its order.
    pub presets: Vec<Preset>,
    /// Whether the lowest value is meant to be shown white (MONOCHROME1).
    pub inverted: bool,
    /// The distances between pixels.
    pub spacing: Spacing,
    /// Whether the file says that text is burned into the picture.
    pub burned_in: Option<bool>,
    /// Whether the samples are compressed in a way that carries no checksum, so that a flipped bit may show as other values
    /// and as nothing else.
    pub unchecked: bool,
}

/// From stored values to the values that windows are about (DICOM PS3.3 C.11.1).
#[derive(Clone, Debug, PartialEq)]
pub enum Modality {
    /// Value = slope × stored + intercept.
    Rescale {
        /// Not 0.
        slope: f64,
        /// Any.
        intercept: f64,
    },
    /// A table; stored values before its first entry take that, those behind the last take the last.
    Table {
        /// The stored value of the first entry.
        first: i32,
        /// The values, at least one.
        values: Vec<u16>,
    },
}

/// A display that the file carries.
#[derive(Clone, Debug, PartialEq)]
pub struct Preset {
    /// The file's own word for it, or “Preset 1” and so on.
    pub name: String,
    /// From values to the share of white.
    pub curve: GrayCurve,
}

/// From values to the share of white, before black and white change places in an inverted frame.
#[derive(Clone, Debug, PartialEq)]
pub enum GrayCurve {
    /// A window (DICOM PS3.3 C.11.2.1.2).
    Window {
        /// Centre, in values.
        centre: f64,
        /// Width, in values: at least 1 for a linear window, else positive.
        width: f64,
        /// How greys rise.
        function: WindowFunction,
    },
    /// A table (DICOM PS3.3 C.11.2.1.1); values before its first entry take that, those behind the last the last.
    Table {
        /// The value of the first entry.
        first: i32,
        /// The entries, at least one.
        greys: Vec<u16>,
        /// The entry that stands for white, at least 1.
        white: u16,
    },
}

/// How greys rise inside a window (DICOM PS3.3 C.11.2.1.2 and C.11.2.1.3).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowFunction {
    /// Linear between the centres of whole values; the default.
    Linear,
    /// Linear over exactly the width.
    LinearExact,
    /// By the logistic curve.
    Sigmoid,
}

/// Distances between pixels as the file has them: finite and plausible numbers only, whose meaning depends on the
/// other fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spacing {
    /// Imager Pixel Spacing (0018,1164): at the detector. Millimetres from row to row, and from column to column.
    pub imager_mm: Option<[f64; 2]>,
    /// Pixel Spacing (0028,0030), likewise; what plane it is of, the calibration says.
    pub pixel_mm: Option<[f64; 2]>,
    /// Nominal Scanned Pixel Spacing (0018,2010) of a scanned film, likewise.
    pub scanned_mm: Option<[f64; 2]>,
    /// Pixel Spacing Calibration Type (0028,0A02).
    pub calibration: Option<SpacingCorrection>,
    /// Pixel Spacing Calibration Description (0028,0A04), the file's own words.
    pub calibration_words: Option<String>,
    /// Estimated Radiographic Magnification Factor (0018,1114), at least 1.
    pub magnification: Option<f64>,
    /// The same as it is stated, possible or not.
    pub stated_magnification: Option<f64>,
    /// Distance Source to Detector (0018,1110), in millimetres.
    pub source_to_detector_mm: Option<f64>,
    /// Distance Source to Patient (0018,1111), in millimetres.
    pub source_to_patient_mm: Option<f64>,
    /// Height of a pixel over its width (0028,0034), where the file says so and gives no distances.
    pub aspect: Option<f64>,
    /// The field of view at the detector (0018,1147 and 0018,1149).
    pub field: Option<FieldOfView>,
    /// Where what the file says of its geometry contradicts itself; then nothing of it is a scale.
    pub faults: Vec<ScaleFault>,
}

/// The part of the detector that the image shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldOfView {
    /// Height and width in millimeters; of a round field twice its diameter.
    pub mm: [f64; 2],
    /// Whether the file says that it is a rectangle.
    pub rectangular: bool,
}

/// How Pixel Spacing was corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpacingCorrection {
    /// By an object of known size in the picture: FIDUCIAL.
    Fiducial,
    /// From the geometry of the exposure at an assumed depth: GEOMETRY.
    Geometry,
    /// The file uses another word.
    Other,
}

impl Default for Facts {
    fn default() -> Self {
        Self {
            frames: 1,
            frame_time_ms: None,
            stored_offset: 0,
            modality: Modality::PLAIN,
            presets: Vec::new(),
            inverted: false,
            spacing: Spacing::default(),
            burned_in: None,
            unchecked: false,
        }
    }
}

impl Modality {
    /// Stored values are the values.
    pub const PLAIN: Self = Self::Rescale { slope: 1.0, intercept: 0.0 };

    /// The value of a stored value.
    #[must_use]
    pub fn value(&self, stored: i32) -> f64 {
        match self {
            Self::Rescale { slope, intercept } => slope * f64::from(stored) + intercept,
            Self::Table { first, values } => {
                let last = values.len().saturating_sub(1);
                let index = i64::from(stored) - i64::from(*first);
                let index = usize::try_from(index).unwrap_or(0).min(last);
                values.get(index).copied().map_or(0.0, f64::from)
            }
        }
    }
}

impl Facts {
    /// The stored value of a sample.
    #[must_use]
    pub fn stored(&self, sample: u16) -> i32 {
        i32::from(sample).saturating_add(self.stored_offset)
    }

    /// The value of a sample, which windows are about.
    #[must_use]
    pub fn value(&self, sample: u16) -> f64 {
        self.modality.value(self.stored(sample))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_become_stored_values_and_values() {
        let facts = Facts {
            stored_offset: -2048,
            modality: Modality::Rescale { slope: 0.5, intercept: -10.0 },
            ..Facts::default()
        };
        assert_eq!(facts.stored(0), -2048);
        assert!((facts.value(2048) + 10.0).abs() < 1e-12);
        assert!((facts.value(2050) + 9.0).abs() < 1e-12);
    }

    #[test]
    fn a_table_holds_its_ends() {
        let table = Modality::Table { first: 10, values: vec![5, 7, 100] };
        let found = [i32::MIN, 9, 10, 11, 12, 13, i32::MAX].map(|stored| table.value(stored));
        assert_eq!(found.map(|value| value.to_string()).join(" "), "5 5 5 7 100 100 100");
    }
}
