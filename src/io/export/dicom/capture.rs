//! Secondary Captures (PS3.3, A.8.1): a figure in color, or the still itself with its redactions in the pixels.

use dicom_core::value::PrimitiveValue;
use dicom_core::{DataElement, VR};
use dicom_dictionary_std::{tags, uids};

use crate::case::image::frame::{Frame, Samples};
use crate::io::export::ExportError;
use crate::io::export::dicom::element::{Elements, empty, file_bytes, items, shorts, text};
use crate::io::export::dicom::identity::{Context, Image, ObjectKind};
use crate::io::export::raster::Pixels;

const FIGURE: ObjectKind = ObjectKind {
    class: uids::SECONDARY_CAPTURE_IMAGE_STORAGE,
    modality: "OT",
    series: 9001,
    description: "Figures",
};
const STILL: ObjectKind = ObjectKind { series: 9000, description: "Stills", ..FIGURE };

/// What is said of the pixels of a capture.
#[derive(Clone, Copy, Debug)]
pub(super) struct Said {
    /// Whether words are drawn or readable in it.
    pub(super) words: bool,
    /// Whether its source went through lossy compression.
    pub(super) lossy: bool,
    /// Instance number.
    pub(super) number: usize,
}

/// The still of a shot, its redactions already in the pixels: the image, to be referred to, and the file.
///
/// # Errors
/// A frame with more columns or rows than the standard can say.
pub(super) fn still(context: &Context, frame: &Frame, said: Said) -> Result<(Image, Vec<u8>), ExportError> {
    let (rows, columns) = (side(frame.height)?, side(frame.width)?);
    let inverted = frame.facts.inverted;
    let (bytes, bits, white) = match &frame.samples {
        Samples::Gray8(samples) => {
            let turned: Vec<u8> = samples.iter().map(|&v| if inverted { u8::MAX - v } else { v }).collect();
            (turned, 8, u16::from(u8::MAX))
        }
        Samples::Gray16(samples) => {
            let most = samples.iter().copied().max().unwrap_or(1).max(1);
            let turned = samples.iter().map(|&v| if inverted { most - v } else { v });
            (turned.flat_map(u16::to_le_bytes).collect(), 16, most)
        }
    };
    let mut elements = begun(context, said, "Still as it was marked");
    let placed = context.object(&mut elements, STILL, &[&said.number.to_le_bytes(), &bytes]);
    shorts(&mut elements, tags::SAMPLES_PER_PIXEL, &[1]);
    text(&mut elements, tags::PHOTOMETRIC_INTERPRETATION, VR::CS, "MONOCHROME2");
    layout(&mut elements, rows, columns, bits);
    text(&mut elements, tags::WINDOW_CENTER, VR::DS, &format!("{}", f64::from(white) / 2.0 + 0.5));
    text(&mut elements, tags::WINDOW_WIDTH, VR::DS, &format!("{}", u32::from(white) + 1));
    pixels(&mut elements, bytes, bits);
    let image = Image { placed, frame: None, columns, rows, source: None };
    Ok((image, file_bytes(elements, context.copied())?))
}

/// A figure, and the images it shows.
///
/// # Errors
/// A figure with more columns or rows than the standard can say.
pub(super) fn figure(
    context: &Context,
    drawn: &Pixels,
    shown: &[&Image],
    said: Said,
) -> Result<Vec<u8>, ExportError> {
    let side = |pixels: usize| side(u32::try_from(pixels).unwrap_or(u32::MAX));
    let (rows, columns) = (side(drawn.height)?, side(drawn.width)?);
    let bytes: Vec<u8> = drawn.rgba.chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
    let mut elements = begun(context, said, "Annotated figure; not for measuring");
    context.object(&mut elements, FIGURE, &[&said.number.to_le_bytes(), &bytes]);
    if !shown.is_empty() {
        let sources = shown.iter().map(|image| image.as_source_of_picture()).collect();
        items(&mut elements, tags::SOURCE_IMAGE_SEQUENCE, sources);
    }
    shorts(&mut elements, tags::SAMPLES_PER_PIXEL, &[3]);
    text(&mut elements, tags::PHOTOMETRIC_INTERPRETATION, VR::CS, "RGB");
    shorts(&mut elements, tags::PLANAR_CONFIGURATION, &[0]);
    layout(&mut elements, rows, columns, 8);
    pixels(&mut elements, bytes, 8);
    file_bytes(elements, context.copied())
}

/// What both kinds begin with.
fn begun(context: &Context, said: Said, derivation: &str) -> Elements {
    let mut elements = Elements::new_empty();
    context.patient_and_study(&mut elements);
    let (date, time) = &context.now;
    let yes = |it: bool| if it { "YES" } else { "NO" };
    text(&mut elements, tags::INSTANCE_NUMBER, VR::IS, &said.number.to_string());
    text(&mut elements, tags::CONVERSION_TYPE, VR::CS, "WSD");
    text(&mut elements, tags::IMAGE_TYPE, VR::CS, "DERIVED\\SECONDARY");
    text(&mut elements, tags::CONTENT_DATE, VR::DA, date);
    text(&mut elements, tags::CONTENT_TIME, VR::TM, time);
    text(&mut elements, tags::DATE_OF_SECONDARY_CAPTURE, VR::DA, date);
    text(&mut elements, tags::TIME_OF_SECONDARY_CAPTURE, VR::TM, time);
    empty(&mut elements, tags::PATIENT_ORIENTATION, VR::CS);
    text(&mut elements, tags::BURNED_IN_ANNOTATION, VR::CS, yes(said.words));
    text(&mut elements, tags::RECOGNIZABLE_VISUAL_FEATURES, VR::CS, "NO");
    text(&mut elements, tags::LOSSY_IMAGE_COMPRESSION, VR::CS, if said.lossy { "01" } else { "00" });
    text(&mut elements, tags::DERIVATION_DESCRIPTION, VR::ST, derivation);
    elements
}

fn layout(elements: &mut Elements, rows: u16, columns: u16, bits: u16) {
    shorts(elements, tags::ROWS, &[rows]);
    shorts(elements, tags::COLUMNS, &[columns]);
    shorts(elements, tags::BITS_ALLOCATED, &[bits]);
    shorts(elements, tags::BITS_STORED, &[bits]);
    shorts(elements, tags::HIGH_BIT, &[bits - 1]);
    shorts(elements, tags::PIXEL_REPRESENTATION, &[0]);
}

fn pixels(elements: &mut Elements, mut bytes: Vec<u8>, bits: u16) {
    if bytes.len() % 2 == 1 {
        bytes.push(0);
    }
    let (vr, value) = if bits == 16 {
        let words = bytes.chunks_exact(2).map(|b| u16::from_le_bytes([b[0], b[1]])).collect();
        (VR::OW, PrimitiveValue::U16(words))
    } else {
        (VR::OB, PrimitiveValue::from(bytes))
    };
    elements.put(DataElement::new(tags::PIXEL_DATA, vr, value));
}

fn side(pixels: u32) -> Result<u16, ExportError> {
    u16::try_from(pixels)
        .map_err(|_too_large| ExportError::Drawing("an image has more than 65535 columns or rows".to_owned()))
}
