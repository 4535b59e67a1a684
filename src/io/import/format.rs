//! Names of picture formats, and names of files that say another one.

use std::path::Path;

use image::ImageFormat;

/// A sentence if the name's ending is that of another kind of picture.
pub(super) fn extension_lies(path: &Path, format: ImageFormat) -> Option<String> {
    let extension = path.extension()?.to_str()?.to_ascii_lowercase();
    let named = ImageFormat::from_extension(&extension);
    if named == Some(format) {
        return None;
    }
    Some(format!("The name ends in .{extension}, but the content is a {} image.", format_name(format)))
}

/// The format's name for people.
pub(super) const fn format_name(format: ImageFormat) -> &'static str {
    match format {
        ImageFormat::Png => "PNG",
        ImageFormat::Jpeg => "JPEG",
        ImageFormat::Tiff => "TIFF",
        ImageFormat::Bmp => "BMP",
        ImageFormat::Gif => "GIF",
        ImageFormat::WebP => "WebP",
        ImageFormat::Pnm => "PNM",
        _ => "further",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lying_name_is_told() {
        assert!(extension_lies(Path::new("a.png"), ImageFormat::Jpeg).is_some());
        for fine in ["a.jpg", "a.JPEG", "a"] {
            assert_eq!(extension_lies(Path::new(fine), ImageFormat::Jpeg), None, "{fine}");
        }
    }
}
