//! Common picture formats to a frame of grey samples.

use std::io::Cursor;
use std::path::Path;

use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};
use tiff::tags::{SampleFormat, Tag};

use crate::case::image::digest::FileDigest;
use crate::case::image::facts::Facts;
use crate::case::image::frame::{Frame, Samples};
use crate::io::error::{Error, ErrorKind};
use crate::io::import::entropy::{self, Health};
use crate::io::import::format::format_name;
use crate::io::import::size::{Remedy, check_size};
use crate::io::import::{bitmap, jpeg, strips};

/// The most memory a decoder may ask for, in bytes: a picture at the limit with 16 bits in four channels.
const MAX_ALLOCATION: u64 = 2_200_000_000;
/// Pages of a TIFF are counted up to here; a chain of pages that leads back to itself must end.
const MAX_PAGES_COUNTED: usize = 10_000;

/// Decodes a picture that was recognised as `format`; `digest` is of its bytes.
pub(super) fn decode(
    path: &Path,
    bytes: &[u8],
    format: ImageFormat,
    digest: &FileDigest,
) -> Result<Frame, Error> {
    let mut warnings = Vec::new();
    let (mut ended, mut may_have_exif) = (true, true);
    match format {
        ImageFormat::Jpeg => ended = look_at_jpeg(path, bytes)?,
        ImageFormat::Png => look_at_png(path, bytes)?,
        ImageFormat::Tiff => may_have_exif = look_at_tiff(path, bytes, &mut warnings)?,
        // The flag for animation in the extended header (RFC 9649, 2.7).
        ImageFormat::WebP
            if bytes.get(12..16) == Some(b"VP8X") && bytes.get(20).is_some_and(|flags| flags & 2 != 0) =>
        {
            warnings.push("The WebP image is animated; its first frame is shown.".to_owned());
        }
        _ => {}
    }
    // What is told of the codes and what EXIF says need not be waited for before the samples are decoded, nor these for them.
    let beside = || {
        let health = if format == ImageFormat::Jpeg { entropy::walk(bytes) } else { Health::NotKnown };
        (health, may_have_exif.then(|| exif_of(bytes)).flatten())
    };
    let (grays, (health, exif)) = rayon::join(|| grays(path, bytes, format), beside);
    let Grays { width, height, grey } = grays?;
    if health == Health::Torn {
        warnings.push(TORN.to_owned());
    }
    if !ended || health == Health::Short {
        warnings.push(SHORT.to_owned());
    }
    if grey.see_through {
        warnings.push("The image has transparent areas; they are shown as opaque.".to_owned());
    }
    if exif.as_ref().is_some_and(is_photo) {
        warnings.push(PHOTO.to_owned());
    }
    Ok(Frame {
        width,
        height,
        samples: grey.samples,
        was_colour: grey.was_colour,
        digest: digest.clone(),
        warnings,
        taken: exif.as_ref().and_then(time_taken),
        facts: Facts { unchecked: format == ImageFormat::Jpeg, ..Facts::default() },
    })
}

/// Gray samples of a whole picture.
pub(super) struct Grays {
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) grey: RasterGrays,
}

/// Decodes by the way that is made for the most usual layouts, else by the library that reads them all.
fn grays(path: &Path, bytes: &[u8], format: ImageFormat) -> Result<Grays, Error> {
    let quick = match format {
        ImageFormat::Bmp => bitmap::read(bytes),
        ImageFormat::Tiff => strips::read(bytes),
        _ => None,
    };
    quick.map_or_else(|| by_library(path, bytes, format), Ok)
}

fn by_library(path: &Path, bytes: &[u8], format: ImageFormat) -> Result<Grays, Error> {
    let fail = |error: ImageError| explain(path, format, &error);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MAX_ALLOCATION);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(fail)?;
    let (width, height) = decoder.dimensions();
    check_size(path, width, height, Remedy::Save)?;
    let orientation = decoder.orientation().map_err(fail)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(fail)?;
    picture.apply_orientation(orientation);

    let (width, height) = (picture.width(), picture.height());
    Ok(Grays { width, height, grey: to_grey(path, picture)? })
}

/// What is said of a JPEG file whose codes do not fit each other.
const TORN: &str = "The compressed image data are damaged, so parts of the image may be wrong. Copy the file again if possible.";
/// What is said of one that ends early.
const SHORT: &str = "The file ends before the image is complete, so its lower part may be missing. Copy the file again if possible.";

/// Refuses a JPEG file that is too large or of a process that is not read; whether it has its end-of-image marker.
fn look_at_jpeg(path: &Path, bytes: &[u8]) -> Result<bool, Error> {
    let found = jpeg::walk(bytes);
    if let Some((rows, columns)) = found.size {
        check_size(path, u32::from(columns), u32::from(rows), Remedy::Save)?;
    }
    if let Some(what) = jpeg::unread_process(found) {
        let text = format!("it is {what}, which is not supported; save it as PNG or TIFF at full bit depth");
        return Err(Error::new(ErrorKind::Unsupported, path, text));
    }
    Ok(found.ended)
}

/// Refuses a PNG that ends before its last chunk (ISO/IEC 15948, 5.3 and 11.2.5), and checks its size before
/// anything is allocated.
fn look_at_png(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let four = |at: usize| bytes.get(at..)?.first_chunk::<4>().map(|b| u32::from_be_bytes(*b));
    if bytes.get(12..16) == Some(b"IHDR")
        && let (Some(width), Some(height)) = (four(16), four(20))
    {
        check_size(path, width, height, Remedy::Save)?;
    }
    let mut at = 8_usize;
    while let Some(length) = four(at) {
        let kind = bytes.get(at + 4..at + 8);
        let next = usize::try_from(length).ok().and_then(|n| at.checked_add(n)?.checked_add(12));
        let Some(next) = next.filter(|&next| next <= bytes.len()) else { break };
        if kind == Some(b"IEND") {
            return Ok(());
        }
        at = next;
    }
    Err(cut_short(path, ImageFormat::Png))
}

/// Counts the pages of a TIFF and refuses samples that are not unsigned whole numbers of 1, 8 or 16 bits by
/// their name.
fn look_at_tiff(path: &Path, bytes: &[u8], warnings: &mut Vec<String>) -> Result<bool, Error> {
    let fail = |error: tiff::TiffError| explain_tiff(path, &error);
    let mut decoder = tiff::decoder::Decoder::new(Cursor::new(bytes)).map_err(fail)?;
    let (width, height) = decoder.dimensions().map_err(fail)?;
    check_size(path, width, height, Remedy::Save)?;
    let mut tag = |tag: Tag| -> Result<Vec<u16>, Error> {
        Ok(decoder.find_tag_unsigned_vec::<u16>(tag).map_err(fail)?.unwrap_or_default())
    };
    let bits = tag(Tag::BitsPerSample)?.first().copied().unwrap_or(1);
    let photometric = tag(Tag::PhotometricInterpretation)?.first().copied();
    let formats = tag(Tag::SampleFormat)?;
    if let Some(what) = unread_samples(photometric, bits, &formats) {
        let text =
            format!("its samples are {what}, which is not supported; save it as 8- or 16-bit grayscale");
        return Err(Error::new(ErrorKind::Unsupported, path, text));
    }
    // Of a TIFF without this directory EXIF says nothing that is asked for, and its reader takes a copy of the whole file.
    let has_exif = !matches!(decoder.find_tag(Tag::ExifDirectory), Ok(None));
    let mut pages = 1_usize;
    while pages < MAX_PAGES_COUNTED && decoder.more_images() && decoder.next_image().is_ok() {
        pages += 1;
    }
    if pages > 1 {
        warnings.push(format!(
            "The file has {pages} pages; the first is shown. Save the others as separate files."
        ));
    }
    Ok(has_exif)
}

/// The name of a sample type that is not read, if it is not (TIFF 6.0: BitsPerSample, SampleFormat,
/// PhotometricInterpretation).
fn unread_samples(photometric: Option<u16>, bits: u16, formats: &[u16]) -> Option<String> {
    let kind = match photometric {
        Some(0 | 1) => "gray",
        Some(2) => "color",
        Some(3) => return Some(format!("{bits}-bit palette colors")),
        Some(5) => "CMYK colors",
        Some(6) => return Some(format!("{bits}-bit YCbCr colors")),
        Some(8..=10) => return Some(format!("{bits}-bit Lab colors")),
        _ => return Some("of an undefined kind".to_owned()),
    };
    let is = |format: SampleFormat| formats.contains(&format.to_u16());
    if is(SampleFormat::IEEEFP) {
        return Some(format!("{bits}-bit floating-point numbers"));
    }
    if is(SampleFormat::Int) {
        return Some(format!("{bits}-bit signed numbers"));
    }
    if formats.iter().any(|&format| format != SampleFormat::Uint.to_u16()) {
        return Some("of an undefined type".to_owned());
    }
    let read = matches!((kind, bits), ("gray", 1) | (_, 8 | 16));
    (!read).then(|| format!("{bits}-bit {kind}"))
}

/// Grey samples and what was lost on the way.
pub(super) struct RasterGrays {
    pub(super) samples: Samples,
    pub(super) was_colour: bool,
    pub(super) see_through: bool,
}

pub(super) fn to_grey(path: &Path, picture: DynamicImage) -> Result<RasterGrays, Error> {
    let plain = |samples| RasterGrays { samples, was_colour: false, see_through: false };
    Ok(match picture {
        DynamicImage::ImageLuma8(p) => plain(Samples::Gray8(p.into_raw())),
        DynamicImage::ImageLuma16(p) => plain(Samples::Gray16(p.into_raw())),
        DynamicImage::ImageLumaA8(p) => {
            let see_through = p.pixels().any(|p| p.0[1] != u8::MAX);
            RasterGrays { see_through, ..plain(Samples::Gray8(p.pixels().map(|p| p.0[0]).collect())) }
        }
        DynamicImage::ImageLumaA16(p) => {
            let see_through = p.pixels().any(|p| p.0[1] != u16::MAX);
            RasterGrays { see_through, ..plain(Samples::Gray16(p.pixels().map(|p| p.0[0]).collect())) }
        }
        DynamicImage::ImageRgb8(p) => from_rgb8(p.as_raw(), 3),
        DynamicImage::ImageRgba8(p) => from_rgb8(p.as_raw(), 4),
        DynamicImage::ImageRgb16(p) => from_rgb16(p.as_raw(), 3),
        DynamicImage::ImageRgba16(p) => from_rgb16(p.as_raw(), 4),
        _ => {
            let text =
                "its samples are floating-point numbers, which is not supported; save it as 16-bit grayscale";
            return Err(Error::new(ErrorKind::Unsupported, path, text));
        }
    })
}

/// Luma of ITU-R BT.709 (0.2126 R + 0.7152 G + 0.0722 B) of the stored values, rounded; equal channels keep
/// their value.
pub(super) fn luma(red: u32, green: u32, blue: u32) -> u32 {
    (2126 * red + 7152 * green + 722 * blue + 5000) / 10_000
}

fn from_rgb8(raw: &[u8], channels: usize) -> RasterGrays {
    let mut was_colour = false;
    let mut see_through = false;
    let samples = raw.chunks_exact(channels).map(|p| {
        was_colour |= p[0] != p[1] || p[1] != p[2];
        see_through |= p.get(3).is_some_and(|&a| a != u8::MAX);
        let value = luma(u32::from(p[0]), u32::from(p[1]), u32::from(p[2]));
        u8::try_from(value).unwrap_or(u8::MAX)
    });
    let samples = Samples::Gray8(samples.collect());
    RasterGrays { samples, was_colour, see_through }
}

fn from_rgb16(raw: &[u16], channels: usize) -> RasterGrays {
    let mut was_colour = false;
    let mut see_through = false;
    let samples = raw.chunks_exact(channels).map(|p| {
        was_colour |= p[0] != p[1] || p[1] != p[2];
        see_through |= p.get(3).is_some_and(|&a| a != u16::MAX);
        let value = luma(u32::from(p[0]), u32::from(p[1]), u32::from(p[2]));
        u16::try_from(value).unwrap_or(u16::MAX)
    });
    let samples = Samples::Gray16(samples.collect());
    RasterGrays { samples, was_colour, see_through }
}

/// What is said of a photo.
const PHOTO: &str = "This image is a photo taken with a camera. If it shows a screen at an angle, the body is distorted (keystone) and fractions are off; straighten it by the four corners or the round field of the screen (Image › Straighten screen photo; command line: straighten).";

/// Whether a camera took the picture: its EXIF tells an exposure or a focal length. Who or what took it is not read.
fn is_photo(exif: &exif::Exif) -> bool {
    let told = |tag| exif.get_field(tag, exif::In::PRIMARY).is_some();
    [exif::Tag::ExposureTime, exif::Tag::FNumber, exif::Tag::FocalLength].into_iter().any(told)
}

/// The time of day of EXIF DateTimeOriginal, `10:42:05`, if the file has one.
pub(super) fn taken(bytes: &[u8]) -> Option<String> {
    time_taken(&exif_of(bytes)?)
}

/// What a file's EXIF says, as far as it can be read.
fn exif_of(bytes: &[u8]) -> Option<exif::Exif> {
    let mut reader = exif::Reader::new();
    reader.continue_on_error(true);
    match reader.read_from_container(&mut Cursor::new(bytes)) {
        Ok(exif) => Some(exif),
        Err(exif::Error::PartialResult(partial)) => Some(partial.into_inner().0),
        Err(_) => None,
    }
}

fn time_taken(exif: &exif::Exif) -> Option<String> {
    let field = exif.get_field(exif::Tag::DateTimeOriginal, exif::In::PRIMARY)?;
    let exif::Value::Ascii(lines) = &field.value else { return None };
    let text = std::str::from_utf8(lines.first()?).ok()?;
    let time = text.split_whitespace().nth(1)?;
    let digits = |part: &str, below: u8| part.len() == 2 && part.parse::<u8>().is_ok_and(|n| n < below);
    let parts: Vec<&str> = time.split(':').collect();
    let good = matches!(parts[..], [h, m, s] if digits(h, 24) && digits(m, 60) && digits(s, 61));
    good.then(|| time.to_owned())
}

fn cut_short(path: &Path, format: ImageFormat) -> Error {
    let text = format!("the file ends before the {} image is complete; copy it again", format_name(format));
    Error::new(ErrorKind::Damaged, path, text)
}

pub(super) fn damaged(path: &Path, format: ImageFormat) -> Error {
    let text =
        format!("the {} image is damaged and cannot be opened; copy or save it again", format_name(format));
    Error::new(ErrorKind::Damaged, path, text)
}

fn too_much(path: &Path) -> Error {
    let text = "opening the image would take more memory than allowed; save a smaller one";
    Error::new(ErrorKind::TooLarge, path, text)
}

/// The decoder's error as a sentence; its own words are for programmers and are not shown.
fn explain(path: &Path, format: ImageFormat, error: &ImageError) -> Error {
    match error {
        ImageError::Limits(_) => too_much(path),
        ImageError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => cut_short(path, format),
        ImageError::Unsupported(_) => {
            let text = format!(
                "this kind of {} image is not supported; save it as 8- or 16-bit grayscale PNG",
                format_name(format)
            );
            Error::new(ErrorKind::Unsupported, path, text)
        }
        _ => damaged(path, format),
    }
}

fn explain_tiff(path: &Path, error: &tiff::TiffError) -> Error {
    match error {
        tiff::TiffError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
            cut_short(path, ImageFormat::Tiff)
        }
        tiff::TiffError::LimitsExceeded => too_much(path),
        tiff::TiffError::UnsupportedError(_) => {
            let text = "this kind of TIFF image is not supported; save it as 8- or 16-bit grayscale TIFF";
            Error::new(ErrorKind::Unsupported, path, text)
        }
        _ => damaged(path, ImageFormat::Tiff),
    }
}
