//! What a file is by its first bytes, whatever its name says.

use image::ImageFormat;

use crate::io::import::dicom;

/// What the first bytes of a file say it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Content {
    /// A picture that can be opened.
    Picture(ImageFormat),
    /// A DICOM file.
    Dicom,
    /// An AVI video, of which some can be opened.
    Avi,
    /// Something else that is recognised, by its name.
    Other(&'static str),
    /// Nothing that is recognised.
    Unknown,
}

/// What the first bytes are; signatures from the formats' own specifications.
pub(super) fn recognise(bytes: &[u8]) -> Content {
    let starts = |signature: &[u8]| bytes.starts_with(signature);
    let at = |from: usize, signature: &[u8]| bytes.get(from..).is_some_and(|b| b.starts_with(signature));
    // A preamble may be made to look like another format's beginning.
    if at(128, b"DICM") {
        Content::Dicom
    } else if starts(b"\x89PNG\r\n\x1a\n") {
        Content::Picture(ImageFormat::Png)
    } else if starts(b"\xff\xd8\xff") {
        Content::Picture(ImageFormat::Jpeg)
    } else if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
        Content::Picture(ImageFormat::Tiff)
    } else if starts(b"BM") && bytes.len() >= 14 {
        Content::Picture(ImageFormat::Bmp)
    } else if dicom::is_dicom(bytes) {
        Content::Dicom
    } else if starts(b"GIF87a") || starts(b"GIF89a") {
        Content::Picture(ImageFormat::Gif)
    } else if starts(b"RIFF") && at(8, b"WEBP") {
        Content::Picture(ImageFormat::WebP)
    } else if starts(b"RIFF") && at(8, b"AVI ") {
        Content::Avi
    } else if is_pnm(bytes) {
        Content::Picture(ImageFormat::Pnm)
    } else if starts(b"\0\0\0\x0cjP  ") || starts(b"\xff\x4f\xff\x51") {
        Content::Other("a JPEG 2000 image")
    } else if at(4, b"ftypheic") || at(4, b"ftypheix") || at(4, b"ftypmif1") || at(4, b"ftypavif") {
        Content::Other("a HEIF image")
    } else if at(4, b"ftyp") {
        Content::Other("a video")
    } else if starts(b"%PDF-") {
        Content::Other("a PDF document")
    } else if starts(b"PK\x03\x04") {
        Content::Other("a ZIP archive")
    } else {
        Content::Unknown
    }
}

/// Portable any-map: `P1` to `P7` and a blank or a comment.
fn is_pnm(bytes: &[u8]) -> bool {
    matches!(bytes, [b'P', b'1'..=b'7', b' ' | b'\t' | b'\r' | b'\n' | b'#', ..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn other_files_are_named_where_they_are_known() {
        assert_eq!(recognise(b"%PDF-1.7"), Content::Other("a PDF document"));
        assert_eq!(recognise(b"hello"), Content::Unknown);
        assert_eq!(recognise(b"P5 2 2 255 1234"), Content::Picture(ImageFormat::Pnm));
        assert_eq!(recognise(b"P9 2 2"), Content::Unknown);
        assert_eq!(recognise(b"RIFF\0\0\0\0AVI LIST"), Content::Avi);
        assert_eq!(recognise(b""), Content::Unknown);
    }
}
