//! A page as pixels.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

use crate::io::export::ExportError;
use crate::io::export::svg;
use crate::scene::drawing::theme::Theme;
use crate::scene::page::Page;

/// The longest side of a picture in pixels; a larger page is drawn with fewer pixels to a point.
const LONGEST: f64 = 16_000.0;

/// A page drawn as pixels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pixels {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Red, green, blue and opacity of each pixel, row by row; every pixel is opaque.
    pub rgba: Vec<u8>,
}

/// The page as a PNG, its `raster` pixels to a point.
///
/// # Errors
/// A page without area, or one that cannot be drawn.
pub fn pixels(page: &Page, theme: &Theme) -> Result<Vec<u8>, ExportError> {
    drawn(page, theme, LONGEST)?.encode_png().map_err(|e| ExportError::Drawing(e.to_string()))
}

/// The same as colours, with fewer pixels to a point where a side would be longer than `longest` pixels.
///
/// # Errors
/// A page without area, or one that cannot be drawn.
pub fn colours(page: &Page, theme: &Theme, longest: f64) -> Result<Pixels, ExportError> {
    let drawn = drawn(page, theme, longest.min(LONGEST))?;
    let (width, height) = (drawn.width() as usize, drawn.height() as usize);
    // The ground is opaque, so no colour is premultiplied by anything but one.
    Ok(Pixels { width, height, rgba: drawn.take() })
}

fn drawn(page: &Page, theme: &Theme, longest: f64) -> Result<Pixmap, ExportError> {
    // Drawn in points of the layout: where its pixels fall is then not subject to rounding.
    let text = svg::text(&Page { scale: 1.0, ..page.clone() }, theme)?;
    let tree = Tree::from_str(&text, &Options { dpi: svg::DPI, ..Options::default() })
        .map_err(|e| ExportError::Drawing(e.to_string()))?;
    let side_pt = page.size.0.max(page.size.1);
    let raster = page.raster.min(longest / side_pt.max(1.0));
    let side = |points: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most LONGEST")]
        let pixels = (points * raster).ceil().clamp(0.0, LONGEST) as u32;
        pixels
    };
    let no_room = || ExportError::Drawing("the page has no area".to_owned());
    let mut pixmap = Pixmap::new(side(page.size.0), side(page.size.1)).ok_or_else(no_room)?;
    let Theme { panel, .. } = theme;
    pixmap.fill(resvg::tiny_skia::Color::from_rgba8(panel.r, panel.g, panel.b, 255));
    #[expect(clippy::cast_possible_truncation, reason = "the renderer works with single precision")]
    let scale = raster as f32;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixmap.as_mut());
    Ok(pixmap)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::point::Point;
    use crate::scene::drawing::shape::{Greys, Picture, Rect, Role, Scene, Space, Text};
    use crate::scene::drawing::theme::Ground;
    use crate::scene::page::PagePart;
    use std::sync::Arc;

    #[test]
    fn a_picture_drawn_at_its_own_size_keeps_every_grey() {
        let greys: Vec<u8> = (0..200).map(|i| u8::try_from(i).unwrap()).collect();
        let bounds = Rect::new(0.0, 0.0, 20.0, 10.0);
        let mut scene = Scene::new(Space::Image, bounds);
        scene
            .picture(bounds, Arc::new(Picture { width: 20, height: 10, greys: Greys::Eight(greys.clone()) }));
        let part = PagePart { room: Rect::new(4.0, 4.0, 14.0, 9.0), scene, ground: Ground::Picture };
        let page = Page { size: (20.0, 15.0), parts: vec![part], raster: 2.0, scale: 1.0 };
        let drawn = image::load_from_memory(&pixels(&page, &Theme::dark()).unwrap()).unwrap().into_luma8();
        assert_eq!(drawn.dimensions(), (40, 30));
        for (i, grey) in greys.iter().enumerate() {
            let (x, y) = (8 + u32::try_from(i % 20).unwrap(), 8 + u32::try_from(i / 20).unwrap());
            assert_eq!(drawn.get_pixel(x, y).0[0], *grey, "{x} {y}");
        }
    }

    #[test]
    fn words_leave_ink() {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 80.0, 20.0));
        scene.text(Text::new(Point::new(4.0, 10.0), "depth ● 38 %", Role::Text));
        let theme = Theme::light();
        let drawn =
            image::load_from_memory(&pixels(&Page::of_drawing(scene), &theme).unwrap()).unwrap().into_luma8();
        assert!(drawn.pixels().filter(|p| p.0[0] < 100).count() > 50);
    }

    #[test]
    fn a_page_without_area_is_refused() {
        let page = Page { size: (0.0, 10.0), parts: Vec::new(), raster: 2.0, scale: 1.0 };
        assert!(pixels(&page, &Theme::dark()).is_err());
    }
}
