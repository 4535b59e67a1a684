//! One frame of a picture's file: its samples as PNG, and what the file says of them as JSON.

use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder as _};
use serde_json::{Value, json};

use crate::case::image::facts::{
    Facts, GrayCurve, Modality, Preset, Spacing, SpacingCorrection, WindowFunction,
};
use crate::case::image::frame::{Frame, Samples};
use crate::case::image::offered_scale::ScaleOffer;
use crate::io::export::ExportError;
use crate::io::export::json::headed;

/// The samples as a grey PNG of 8 or 16 bits, unchanged. Adding the stored offset of the facts gives stored values.
///
/// # Errors
/// The picture cannot be encoded.
pub fn png(frame: &Frame) -> Result<Vec<u8>, ExportError> {
    let (bytes, depth) = match &frame.samples {
        Samples::Gray8(samples) => (samples.clone(), ExtendedColorType::L8),
        // The encoder turns the machine's order into that of the format.
        Samples::Gray16(samples) => {
            (samples.iter().flat_map(|sample| sample.to_ne_bytes()).collect(), ExtendedColorType::L16)
        }
    };
    let mut out = Vec::new();
    PngEncoder::new(&mut out)
        .write_image(&bytes, frame.width, frame.height, depth)
        .map_err(|e| ExportError::Drawing(e.to_string()))?;
    Ok(out)
}

/// What a file says of a frame, ending in a line break; `coding` in words, `index` from 0.
#[must_use]
pub fn facts_text(frame: &Frame, index: u32, coding: &str) -> String {
    let Facts {
        frames,
        frame_time_ms,
        stored_offset,
        modality,
        presets,
        inverted,
        spacing,
        burned_in,
        unchecked,
    } = &frame.facts;
    let value = json!({
        "columns": frame.width,
        "rows": frame.height,
        "bits": match frame.samples { Samples::Gray8(_) => 8, Samples::Gray16(_) => 16 },
        "frame": index,
        "frames": frames,
        "frame_time_ms": frame_time_ms,
        "coding": coding,
        "was_colour": frame.was_colour,
        "stored_offset": stored_offset,
        "modality": modality_value(modality),
        "presets": presets.iter().map(preset_value).collect::<Vec<_>>(),
        "inverted": inverted,
        "spacing": spacing_value(spacing),
        "scale": scale_value(&ScaleOffer::of(&frame.facts)),
        "burned_in": burned_in,
        "checksum": !unchecked,
        "taken": frame.taken,
        "digest": frame.digest.as_str(),
        "warnings": frame.warnings,
    });
    format!("{:#}\n", headed("frame", value))
}

fn modality_value(modality: &Modality) -> Value {
    match modality {
        Modality::Rescale { slope, intercept } => json!({ "slope": slope, "intercept": intercept }),
        Modality::Table { first, values } => json!({ "first": first, "values": values }),
    }
}

fn preset_value(preset: &Preset) -> Value {
    match &preset.curve {
        GrayCurve::Window { centre, width, function } => json!({
            "name": preset.name,
            "centre": centre,
            "width": width,
            "function": match function {
                WindowFunction::Linear => "linear",
                WindowFunction::LinearExact => "linear_exact",
                WindowFunction::Sigmoid => "sigmoid",
            },
        }),
        GrayCurve::Table { first, greys, white } => json!({
            "name": preset.name,
            "first": first,
            "greys": greys,
            "white": white,
        }),
    }
}

/// What is offered as a scale, and what stands in the way.
fn scale_value(offer: &ScaleOffer) -> Value {
    let scale = offer.scale();
    let faults = offer.faults().iter();
    json!({
        "offer": offer.key(),
        "mm_per_px": scale.map(|scale| scale.mm_per_px),
        "sd": scale.and_then(|scale| scale.sd),
        "faults": faults.map(|fault| json!({ "code": fault.key(), "text": fault.sentence() })).collect::<Vec<_>>(),
    })
}

fn spacing_value(spacing: &Spacing) -> Value {
    json!({
        "imager_mm": spacing.imager_mm,
        "pixel_mm": spacing.pixel_mm,
        "scanned_mm": spacing.scanned_mm,
        "calibration": spacing.calibration.map(|calibration| match calibration {
            SpacingCorrection::Fiducial => "fiducial",
            SpacingCorrection::Geometry => "geometry",
            SpacingCorrection::Other => "other",
        }),
        "calibration_words": spacing.calibration_words,
        "magnification": spacing.magnification,
        "source_to_detector_mm": spacing.source_to_detector_mm,
        "source_to_patient_mm": spacing.source_to_patient_mm,
        "aspect": spacing.aspect,
        "field_mm": spacing.field.map(|field| field.mm),
        "field_is_rectangle": spacing.field.map(|field| field.rectangular),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_survive_in_both_depths() {
        for samples in [Samples::Gray8(vec![0, 7, 255, 9]), Samples::Gray16(vec![0, 258, 65535, 9])] {
            let frame = Frame::of_samples(2, 2, samples.clone());
            let read = image::load_from_memory(&png(&frame).unwrap()).unwrap();
            let found = match samples {
                Samples::Gray8(_) => Samples::Gray8(read.into_luma8().into_raw()),
                Samples::Gray16(_) => Samples::Gray16(read.into_luma16().into_raw()),
            };
            assert_eq!(found, frame.samples);
            let facts: Value = serde_json::from_str(&facts_text(&frame, 0, "PNG")).unwrap();
            assert_eq!(facts["modality"]["slope"], 1.0);
            assert_eq!(facts["frames"], 1);
        }
    }
}
