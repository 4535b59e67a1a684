//! A page as a PNG file, and a gray picture as one.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

use crate::io::export::fault::ExportError;
use crate::io::export::raster::{Pixels, raster};
use crate::scene::drawing::shape::{Greys, Picture};
use crate::scene::drawing::theme::Theme;
use crate::scene::page::Page;

/// The longest side of a picture in pixels; a larger page is drawn with fewer pixels to a point.
const LONGEST: f64 = 16_000.0;

/// The page as a PNG, its `raster` pixels to a point, in colors only where it has some.
///
/// # Errors
/// A page without area, or one that cannot be drawn.
pub fn pixels(page: &Page, theme: &Theme) -> Result<Vec<u8>, ExportError> {
    let Pixels { width, height, rgba } = raster(page, theme, LONGEST)?;
    let in_grey = rgba.as_chunks::<4>().0.iter().all(|[r, g, b, _]| r == g && g == b);
    let (samples, depth): (Vec<u8>, _) = if in_grey {
        (rgba.as_chunks::<4>().0.iter().map(|[grey, ..]| *grey).collect(), ExtendedColorType::L8)
    } else {
        let colours = rgba.as_chunks::<4>().0.iter().flat_map(|[r, g, b, _]| [*r, *g, *b]);
        (colours.collect(), ExtendedColorType::Rgb8)
    };
    encoded(&samples, (width, height), depth)
}

/// The same as colours, with fewer pixels to a point where a side would be longer than `longest` pixels.
///
/// # Errors
/// A page without area, or one that cannot be drawn.
pub fn colours(page: &Page, theme: &Theme, longest: f64) -> Result<Pixels, ExportError> {
    raster(page, theme, longest.min(LONGEST))
}

/// Pixels of red, green, blue and opacity as PNG; opacity is let go.
///
/// # Errors
/// They cannot be encoded.
pub fn of_rgba(rgba: &[u8], size: (usize, usize)) -> Result<Vec<u8>, ExportError> {
    let colours: Vec<u8> = rgba.as_chunks::<4>().0.iter().flat_map(|[r, g, b, _]| [*r, *g, *b]).collect();
    encoded(&colours, size, ExtendedColorType::Rgb8)
}

/// A grey picture as PNG, at its own depth and without any metadata.
///
/// # Errors
/// A picture whose greys are not as many as its pixels.
pub fn grey_png(picture: &Picture) -> Result<Vec<u8>, ExportError> {
    if !picture.is_whole() {
        return Err(ExportError::Drawing("an image has more or fewer gray values than pixels".to_owned()));
    }
    let size = (picture.width as usize, picture.height as usize);
    match &picture.greys {
        Greys::Eight(greys) => encoded(greys, size, ExtendedColorType::L8),
        // The encoder takes 16-bit samples in the machine's own order.
        Greys::Sixteen(greys) => {
            let bytes: Vec<u8> = greys.iter().flat_map(|g| g.to_ne_bytes()).collect();
            encoded(&bytes, size, ExtendedColorType::L16)
        }
    }
}

/// Quick to write, at the price of a tenth more bytes than slow compression has. One filter for all rows takes half the time
/// of choosing one for each, and 0 to 3 % more bytes.
fn encoded(
    samples: &[u8],
    (width, height): (usize, usize),
    depth: ExtendedColorType,
) -> Result<Vec<u8>, ExportError> {
    let drawing = |e: &dyn std::fmt::Display| ExportError::Drawing(e.to_string());
    let side = |side: usize| u32::try_from(side).map_err(|e| drawing(&e));
    let mut out = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut out, CompressionType::Fast, FilterType::Paeth);
    encoder.write_image(samples, side(width)?, side(height)?, depth).map_err(|e| drawing(&e))?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The PNG specification (ISO/IEC 15948), table 11.1: grey with 16 bits has colour type 0 and bit depth 16.
    #[test]
    fn sixteen_bits_stay_sixteen_bits() {
        let greys: Vec<u16> = (0..12).map(|i| i * 5000 + 3).collect();
        let picture = Picture { width: 4, height: 3, greys: Greys::Sixteen(greys.clone()) };
        let bytes = grey_png(&picture).unwrap();
        assert_eq!((bytes[24], bytes[25]), (16, 0));
        let back = image::load_from_memory(&bytes).unwrap().into_luma16();
        assert_eq!(back.into_raw(), greys);
    }

    #[test]
    fn a_picture_that_lies_about_its_size_is_refused() {
        let picture = Picture { width: 4, height: 3, greys: Greys::Eight(vec![0; 5]) };
        assert!(grey_png(&picture).is_err());
    }
}
