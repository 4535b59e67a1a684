//! The distances between pixels that a file says, as far as they can be meant (PS3.3 10.7 and C.8.7.5).

use dicom_core::Tag;
use dicom_dictionary_std::tags;

use crate::case::image::facts::{FieldOfView, Spacing, SpacingCorrection};
use crate::case::image::scale_fault::{NOT_CALIBRATED, ScaleFault, found_in};
use crate::io::import::dicom::data_set::DataSet;
use crate::io::import::dicom::values::holder;

/// Distances between pixels outside this range, in millimetres, cannot be those of a detector or a film. Common
/// practice, no source: detectors have 0.05 to 0.5 mm.
const PLAUSIBLE_MM: std::ops::RangeInclusive<f64> = 0.005..=20.0;
/// Distances in a fluoroscopy room, in millimetres. Common practice, no source.
const PLAUSIBLE_ROOM_MM: std::ops::RangeInclusive<f64> = 50.0..=5000.0;
/// Magnification factors of a radiograph. Common practice, no source.
const PLAUSIBLE_FACTOR: std::ops::RangeInclusive<f64> = 1.0..=20.0;

/// Sides and diameters of a detector's field, in millimetres. Common practice, no source.
const PLAUSIBLE_FIELD_MM: std::ops::RangeInclusive<f64> = 10.0..=2000.0;

/// What is known of the frame whose spacing is read.
#[derive(Clone, Copy, Debug)]
pub(super) struct OfFrame<'a> {
    /// Its number, from 0.
    pub(super) frame: u32,
    /// Columns and rows.
    pub(super) size: (u32, u32),
    /// Faults of the file as a whole.
    pub(super) faults: &'a [ScaleFault],
}

/// Reads what a file says of a frame's spacing, checked against itself.
pub(super) fn read(set: DataSet<'_>, of: OfFrame<'_>, warnings: &mut Vec<String>) -> Spacing {
    let mut spacing = stated(set, of.frame, warnings);
    let (columns, rows) = of.size;
    spacing.faults = of.faults.to_vec();
    spacing.faults.extend(found_in(&spacing, columns, rows));
    warnings.extend(spacing.faults.iter().map(ScaleFault::sentence));
    if !spacing.faults.is_empty() {
        warnings.push(NOT_CALIBRATED.to_owned());
    }
    spacing
}

/// What the file says, as far as each number can be meant.
fn stated(set: DataSet<'_>, frame: u32, warnings: &mut Vec<String>) -> Spacing {
    let pixel_holder = holder(set, frame, tags::PIXEL_MEASURES_SEQUENCE, tags::PIXEL_SPACING);
    let mut pair = |set: DataSet<'_>, tag: Tag, name: &str| {
        let numbers = set.decimals(tag);
        if numbers.is_empty() || numbers == [None] && set.text(tag).is_none() {
            return None;
        }
        match numbers.as_slice() {
            &[Some(down), Some(across)] if [down, across].iter().all(|mm| PLAUSIBLE_MM.contains(mm)) => {
                Some([down, across])
            }
            _ => {
                warnings.push(format!(
                    "The file's {name} is not a plausible pair of distances and is ignored; the image is not calibrated by it."
                ));
                None
            }
        }
    };
    let pixel_mm = pair(pixel_holder, tags::PIXEL_SPACING, "Pixel Spacing");
    let imager_mm = pair(set, tags::IMAGER_PIXEL_SPACING, "Imager Pixel Spacing");
    let scanned_mm = pair(set, tags::NOMINAL_SCANNED_PIXEL_SPACING, "Nominal Scanned Pixel Spacing");
    let calibration = set.text(tags::PIXEL_SPACING_CALIBRATION_TYPE).map(|word| match word.as_str() {
        "FIDUCIAL" => SpacingCorrection::Fiducial,
        "GEOMETRY" => SpacingCorrection::Geometry,
        _ => SpacingCorrection::Other,
    });
    let within = |tag, range: std::ops::RangeInclusive<f64>| set.decimal(tag).filter(|n| range.contains(n));
    let aspect = match set.decimals(tags::PIXEL_ASPECT_RATIO).as_slice() {
        &[Some(height), Some(width)] if height >= 1.0 && width >= 1.0 => Some(height / width),
        _ => None,
    };
    let stated_magnification = set.decimal(tags::ESTIMATED_RADIOGRAPHIC_MAGNIFICATION_FACTOR);
    let spacing = Spacing {
        imager_mm,
        pixel_mm,
        scanned_mm,
        calibration,
        calibration_words: set.text(tags::PIXEL_SPACING_CALIBRATION_DESCRIPTION),
        magnification: stated_magnification.filter(|stated| PLAUSIBLE_FACTOR.contains(stated)),
        stated_magnification: stated_magnification.filter(|stated| *stated > 0.0),
        source_to_detector_mm: within(tags::DISTANCE_SOURCE_TO_DETECTOR, PLAUSIBLE_ROOM_MM),
        source_to_patient_mm: within(tags::DISTANCE_SOURCE_TO_PATIENT, PLAUSIBLE_ROOM_MM),
        aspect: aspect.filter(|_| pixel_mm.is_none() && imager_mm.is_none()),
        field: field_of_view(set),
        faults: Vec::new(),
    };
    if !is_square(&spacing) {
        warnings.push(
            "The file states that its pixels are not square; the image is shown and read as if they were, so angles and proportions may be off."
                .to_owned(),
        );
    }
    spacing
}

/// The field of view at the detector (PS3.3 C.8.11.4): of a rectangle its height and width, else its diameter.
fn field_of_view(set: DataSet<'_>) -> Option<FieldOfView> {
    let plausible = |mm: &f64| PLAUSIBLE_FIELD_MM.contains(mm);
    let rectangular = set.text(tags::FIELD_OF_VIEW_SHAPE).as_deref() == Some("RECTANGLE");
    match *set.decimals(tags::FIELD_OF_VIEW_DIMENSIONS).as_slice() {
        [Some(down), Some(across)] if [down, across].iter().all(plausible) => {
            Some(FieldOfView { mm: [down, across], rectangular })
        }
        [Some(only)] if plausible(&only) => Some(FieldOfView { mm: [only, only], rectangular }),
        _ => None,
    }
}

/// Whether pixels are as high as wide, to a thousandth.
fn is_square(spacing: &Spacing) -> bool {
    let pairs = [spacing.pixel_mm, spacing.imager_mm, spacing.scanned_mm];
    let ratios = pairs.into_iter().flatten().map(|[down, across]| down / across);
    ratios.chain(spacing.aspect).all(|ratio| (ratio - 1.0).abs() < 1e-3)
}

#[cfg(test)]
mod tests {
    use dicom_core::{DataElement, PrimitiveValue, VR};
    use dicom_object::InMemDicomObject;

    use super::*;
    use crate::io::import::dicom::syntax::EXPLICIT;

    fn read_of(pairs: &[(Tag, &str)]) -> (Spacing, usize) {
        let mut object = InMemDicomObject::new_empty();
        for (tag, text) in pairs {
            object.put(DataElement::new(*tag, VR::DS, PrimitiveValue::from(*text)));
        }
        let mut warnings = Vec::new();
        let of = OfFrame { frame: 0, size: (1000, 1000), faults: &[] };
        let spacing = read(DataSet::new(&object, EXPLICIT), of, &mut warnings);
        (spacing, warnings.len())
    }

    #[test]
    fn spacing_that_cannot_be_meant_is_told_and_left_out() {
        for bad in ["0\\0", "-0.2\\0.2", "nan\\nan", "inf\\inf", "0.2", "1e9\\1e9", "0.2\\0.2\\0.2"] {
            let (spacing, told) = read_of(&[(tags::PIXEL_SPACING, bad)]);
            assert_eq!((spacing.pixel_mm, told), (None, 1), "{bad}");
        }
        let (spacing, told) =
            read_of(&[(tags::PIXEL_SPACING, "0.14\\0.14"), (tags::IMAGER_PIXEL_SPACING, "")]);
        assert_eq!((spacing.pixel_mm, spacing.imager_mm, told), (Some([0.14, 0.14]), None, 0));
    }

    #[test]
    fn what_the_file_says_is_kept_with_its_words() {
        let (spacing, told) = read_of(&[
            (tags::IMAGER_PIXEL_SPACING, "0.2\\0.2"),
            (tags::PIXEL_SPACING, "0.14\\0.14"),
            (tags::PIXEL_SPACING_CALIBRATION_TYPE, "GEOMETRY"),
            (tags::PIXEL_SPACING_CALIBRATION_DESCRIPTION, "assumed depth"),
            (tags::ESTIMATED_RADIOGRAPHIC_MAGNIFICATION_FACTOR, "1.428571"),
            (tags::DISTANCE_SOURCE_TO_DETECTOR, "1000"),
            (tags::DISTANCE_SOURCE_TO_PATIENT, "7"),
        ]);
        assert_eq!(told, 0);
        assert_eq!(spacing.calibration, Some(SpacingCorrection::Geometry));
        assert_eq!(spacing.calibration_words.as_deref(), Some("assumed depth"));
        assert_eq!(spacing.magnification, Some(1.428_571));
        assert_eq!((spacing.source_to_detector_mm, spacing.source_to_patient_mm), (Some(1000.0), None));
    }

    #[test]
    fn pixels_that_are_not_square_are_told() {
        assert_eq!(read_of(&[(tags::PIXEL_SPACING, "0.2\\0.25")]).1, 1);
        let (spacing, told) = read_of(&[(tags::PIXEL_ASPECT_RATIO, "4\\3")]);
        assert_eq!((spacing.aspect, told), (Some(4.0 / 3.0), 1));
        assert_eq!(read_of(&[(tags::PIXEL_ASPECT_RATIO, "1\\1")]).1, 0);
    }
}
