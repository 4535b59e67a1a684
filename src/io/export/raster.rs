//! A page as pixels: its primitives filled and stroked with soft edges, its pictures laid on by [`resample`].
//!
//! [`resample`]: crate::io::export::resample

use std::collections::BTreeMap;
use std::sync::Arc;

use tiny_skia::{
    Color, FillRule, LineJoin, Mask, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};
use ttf_parser::OutlineBuilder;

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::io::export::resample::lay;
use crate::io::export::surface::{DrawingSurface, Inside, single};
use crate::scene::drawing::primitive::Dash;
use crate::scene::drawing::set_line::SetLine;
use crate::scene::drawing::shape::{Picture, Rect};
use crate::scene::drawing::theme::{Colour, Theme};
use crate::scene::drawing::type_metrics::{outline, placed};
use crate::scene::page::Page;

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

/// The page in its `raster` pixels to a point, or fewer where a side would be longer than `longest` pixels.
///
/// # Errors
/// A page without area, or a picture that is not whole.
pub(super) fn raster(page: &Page, theme: &Theme, longest: f64) -> Result<Pixels, ExportError> {
    let raster = page.raster.min(longest / page.size.0.max(page.size.1).max(1.0));
    let side = |points: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most `longest`")]
        let pixels = (points * raster).ceil().clamp(0.0, longest) as u32;
        pixels
    };
    let no_room = || ExportError::Drawing("the page has no area".to_owned());
    let mut drawing = RasterDrawing {
        pixmap: Pixmap::new(side(page.size.0), side(page.size.1)).ok_or_else(no_room)?,
        raster,
        cut: None,
        glyphs: BTreeMap::new(),
    };
    let Colour { r, g, b, .. } = theme.panel;
    drawing.pixmap.fill(Color::from_rgba8(r, g, b, 255));
    for part in page.drawn(theme) {
        drawing.cut_at(part.cut);
        for primitive in &part.primitives {
            drawing.primitive(primitive)?;
        }
    }
    let (width, height) = (drawing.pixmap.width() as usize, drawing.pixmap.height() as usize);
    // The ground is opaque, so no colour is premultiplied by anything but one.
    Ok(Pixels { width, height, rgba: drawing.pixmap.take() })
}

/// A page under way.
struct RasterDrawing {
    pixmap: Pixmap,
    /// Pixels to a point.
    raster: f64,
    /// The edge at which everything is cut, and the same as a mask.
    cut: Option<(Rect, Mask)>,
    /// The shapes of glyphs by their character, one unit the type size, y downward.
    glyphs: BTreeMap<char, Option<Path>>,
}

impl RasterDrawing {
    fn transform(&self) -> Transform {
        Transform::from_scale(single(self.raster), single(self.raster))
    }

    fn cut_at(&mut self, cut: Option<Rect>) {
        if self.cut.as_ref().map(|(rect, _)| *rect) == cut {
            return;
        }
        self.cut = cut.and_then(|rect| {
            let mut mask = Mask::new(self.pixmap.width(), self.pixmap.height())?;
            let path = PathBuilder::from_rect(rect_of(rect)?);
            mask.fill_path(&path, FillRule::Winding, true, self.transform());
            Some((rect, mask))
        });
    }

    fn fill_with(&mut self, path: &Path, rule: FillRule, colour: Colour, transform: Transform) {
        let mask = self.cut.as_ref().map(|(_, mask)| mask);
        self.pixmap.fill_path(path, &paint(colour), rule, transform, mask);
    }
}

impl DrawingSurface for RasterDrawing {
    type Shape = Path;

    fn shape(moves: impl FnOnce(&mut dyn OutlineBuilder)) -> Option<Path> {
        let mut shape = RasterShape { path: PathBuilder::new(), up: 1.0 };
        moves(&mut shape);
        shape.path.finish()
    }

    fn fill(&mut self, path: Option<Path>, inside: Inside, colour: Colour) {
        let Some(path) = path else { return };
        let rule = match inside {
            Inside::Wound => FillRule::Winding,
            Inside::Odd => FillRule::EvenOdd,
        };
        let transform = self.transform();
        self.fill_with(&path, rule, colour, transform);
    }

    fn stroke(&mut self, path: Option<Path>, width: f64, colour: Colour, dash: Dash) {
        let Some(path) = path else { return };
        let pattern = dash.pattern.iter().map(|&length| single(length)).collect();
        let dash = StrokeDash::new(pattern, single(dash.offset));
        let stroke = Stroke { width: single(width), line_join: LineJoin::Round, dash, ..Stroke::default() };
        let (transform, mask) = (self.transform(), self.cut.as_ref().map(|(_, mask)| mask));
        self.pixmap.stroke_path(&path, &paint(colour), &stroke, transform, mask);
    }

    fn words(&mut self, words: &str, line: &SetLine, colour: Colour) {
        for glyph in placed(words) {
            let shape = self.glyphs.entry(glyph.character).or_insert_with(|| glyph_path(glyph.character));
            // A copy of the few points is cheaper than borrowing them apart from the drawing.
            let Some(shape) = shape.clone() else { continue };
            let size = single(line.size * self.raster);
            let x = single((line.left + glyph.x * line.size) * self.raster);
            let y = single(line.baseline * self.raster);
            let transform = Transform::from_row(size, 0.0, 0.0, size, x, y);
            self.fill_with(&shape, FillRule::Winding, colour, transform);
        }
    }

    fn picture(&mut self, corners: [Point; 3], picture: &Arc<Picture>) -> Result<(), ExportError> {
        let size = (self.pixmap.width() as usize, self.pixmap.height() as usize);
        let corners = corners.map(|p| Point::new(p.x * self.raster, p.y * self.raster));
        let cut = self.cut.as_ref().map(|(_, mask)| mask.data());
        lay(picture, corners, (self.pixmap.data_mut(), size), cut)
    }
}

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour.r, colour.g, colour.b, colour.a);
    paint.anti_alias = true;
    paint
}

fn rect_of(r: Rect) -> Option<tiny_skia::Rect> {
    tiny_skia::Rect::from_ltrb(single(r.min.x), single(r.min.y), single(r.max.x), single(r.max.y))
}

fn glyph_path(c: char) -> Option<Path> {
    let mut path = RasterShape { path: PathBuilder::new(), up: -1.0 };
    outline(c, &mut path);
    path.path.finish()
}

/// A shape under way; `up` is −1 for glyphs, whose y counts upward.
struct RasterShape {
    path: PathBuilder,
    up: f32,
}

impl OutlineBuilder for RasterShape {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(x, self.up * y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(x, self.up * y);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.quad_to(x1, self.up * y1, x, self.up * y);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path.cubic_to(x1, self.up * y1, x2, self.up * y2, x, self.up * y);
    }
    fn close(&mut self) {
        self.path.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::export::png::pixels;
    use crate::scene::drawing::shape::{Greys, Picture, Role, Scene, Space, Text};
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
        let page =
            Page { size: (20.0, 15.0), parts: vec![part], raster: 2.0, scale: 1.0, left_out: Vec::new() };
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
        let page =
            Page { size: (0.0, 10.0), parts: Vec::new(), raster: 2.0, scale: 1.0, left_out: Vec::new() };
        assert!(raster(&page, &Theme::dark(), 100.0).is_err());
    }

    /// The same page by way of its SVG and another program's renderer: no pixel far off but at edges.
    #[test]
    fn another_renderer_draws_the_same() {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 160.0, 60.0));
        scene.line(
            vec![Point::new(10.0, 10.0), Point::new(110.0, 14.0), Point::new(90.0, 50.0)],
            Role::HeightBand,
        );
        scene.strip(
            vec![Point::new(20.0, 20.0); 2],
            vec![Point::new(60.0, 25.0), Point::new(50.0, 50.0)],
            Role::Bone,
        );
        scene.text(Text::new(Point::new(70.0, 40.0), "depth ● 38 % ± 3", Role::Text).on_plate());
        let page = Page::of_drawing(scene);
        let ours = raster(&page, &Theme::light(), 1000.0).unwrap();
        let text = crate::io::export::svg::text(&page, &Theme::light()).unwrap();
        let options = resvg::usvg::Options { dpi: 72.0, ..resvg::usvg::Options::default() };
        let tree = resvg::usvg::Tree::from_str(&text, &options).unwrap();
        let mut theirs = Pixmap::new(320, 120).unwrap();
        resvg::render(&tree, Transform::from_scale(2.0, 2.0), &mut theirs.as_mut());
        assert_eq!((ours.width, ours.height), (320, 120));
        let off = ours.rgba.iter().zip(theirs.data()).filter(|(a, b)| a.abs_diff(**b) > 24).count();
        assert!(off < 4 * 320 * 120 / 500, "{off} samples differ");
    }
}
