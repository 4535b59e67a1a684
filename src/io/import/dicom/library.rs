//! Streams that the codecs of the DICOM library decode, from an object that holds nothing else: lossless JPEG and some
//! malformed baseline JPEG.

use dicom_core::value::{PixelFragmentSequence, Value};
use dicom_core::{DataElement, PrimitiveValue, Tag, VR};
use dicom_dictionary_std::{tags, uids};
use dicom_object::{FileMetaTableBuilder, InMemDicomObject};
use dicom_pixeldata::PixelDecoder as _;

/// The library refuses frames from this size on, in bytes, that shrank by more than its own ratio.
const LIBRARY_SIZE: usize = 16 << 20;
/// The strictest of those ratios.
const LIBRARY_RATIO: usize = 32;

/// How a stream is coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::io::import) enum Process {
    /// JPEG baseline.
    Jpeg,
    /// Lossless JPEG.
    JpegLossless,
}

/// The layout of the samples that are to come out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::io::import) struct Layout {
    /// Columns.
    pub(in crate::io::import) columns: u32,
    /// Rows.
    pub(in crate::io::import) rows: u32,
    /// Samples of a pixel, 1 or 3.
    pub(in crate::io::import) samples: usize,
    /// Bits of a sample as it is written, 8 or 16.
    pub(in crate::io::import) allocated: u32,
}

impl Layout {
    /// Bytes of a row.
    pub(in crate::io::import) fn row_bytes(&self) -> usize {
        (self.columns as usize).saturating_mul(self.samples).saturating_mul(self.allocated as usize / 8)
    }

    /// Bytes of a frame.
    pub(in crate::io::import) fn bytes(&self) -> usize {
        self.row_bytes().saturating_mul(self.rows as usize)
    }
}

/// Decodes a stream whose size has been checked against the layout; `None` if it is damaged.
pub(in crate::io::import) fn decode(mut coded: Vec<u8>, process: Process, layout: Layout) -> Option<Vec<u8>> {
    let size = layout.bytes();
    if size >= LIBRARY_SIZE && coded.len() < size / LIBRARY_RATIO + 1 {
        // The size has been checked against the stream and against our own limits.
        coded.resize(size / LIBRARY_RATIO + 1, 0);
    }
    let syntax = match process {
        Process::Jpeg => uids::JPEG_BASELINE8_BIT,
        Process::JpegLossless => uids::JPEG_LOSSLESS_SV1,
    };
    let meta = FileMetaTableBuilder::new()
        .media_storage_sop_class_uid("1.2")
        .media_storage_sop_instance_uid("1.2")
        .transfer_syntax(syntax)
        .build()
        .ok()?;
    let mut object = InMemDicomObject::new_empty();
    let mut short = |tag: Tag, value: u32| {
        let value = u16::try_from(value).unwrap_or(u16::MAX);
        object.put(DataElement::new(tag, VR::US, PrimitiveValue::from(value)));
    };
    short(tags::SAMPLES_PER_PIXEL, if layout.samples == 3 { 3 } else { 1 });
    short(tags::ROWS, layout.rows);
    short(tags::COLUMNS, layout.columns);
    short(tags::BITS_ALLOCATED, layout.allocated);
    short(tags::BITS_STORED, layout.allocated);
    short(tags::HIGH_BIT, layout.allocated - 1);
    short(tags::PIXEL_REPRESENTATION, 0);
    short(tags::PLANAR_CONFIGURATION, 0);
    let meaning = if layout.samples == 3 { "RGB" } else { "MONOCHROME2" };
    object.put(DataElement::new(tags::PHOTOMETRIC_INTERPRETATION, VR::CS, PrimitiveValue::from(meaning)));
    let pixels = Value::PixelSequence(PixelFragmentSequence::new_fragments(vec![coded]));
    object.put(DataElement::new(tags::PIXEL_DATA, VR::OB, pixels));
    let object = object.with_exact_meta(meta);
    let decoded = object.decode_pixel_data_frame(0).ok()?;
    let bytes = decoded.data().to_vec();
    (bytes.len() == size).then_some(bytes)
}
