//! Pages as PDF: the same vectors as the SVG, words as letters of embedded typefaces so that they can be searched and
//! copied, pictures without loss at their own resolution.
//!
//! Nothing is said about the document beyond its page: no title, no author, no program, no time.

use std::sync::Arc;

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point as At, Size, Transform};
use krilla::image::{BitsPerComponent, CustomImage, Image, ImageColorspace};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};
use ttf_parser::OutlineBuilder;

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::io::export::surface::{DrawingSurface, Inside, single};
use crate::scene::drawing::primitive::Dash;
use crate::scene::drawing::set_line::{SetLine, runs};
use crate::scene::drawing::shape::{Greys, Picture, Rect};
use crate::scene::drawing::theme::{Colour, Theme};
use crate::scene::drawing::type_metrics::{PlacedGlyph, glyph_number, typefaces};
use crate::scene::page::Page;

/// The pages as a PDF document, in order.
///
/// # Errors
/// A page without area, or one that cannot be drawn; no page at all.
pub fn document(pages: &[Page], theme: &Theme) -> Result<Vec<u8>, ExportError> {
    if pages.is_empty() {
        return Err(ExportError::Drawing("there is no page".to_owned()));
    }
    let mut document = PdfDocument::default();
    for page in pages {
        document.add(page, theme)?;
    }
    document.finish()
}

/// A document to which pages are added in turn, so that not all of them need be there at once.
pub struct PdfDocument {
    document: Document,
    fonts: Vec<Option<Font>>,
}

impl std::fmt::Debug for PdfDocument {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PdfDocument").finish_non_exhaustive()
    }
}

impl Default for PdfDocument {
    fn default() -> Self {
        let settings = SerializeSettings { xmp_metadata: false, ..SerializeSettings::default() };
        let fonts = typefaces().map(|data| Font::new(data.to_vec().into(), 0));
        Self { document: Document::new_with(settings), fonts: fonts.into_iter().collect() }
    }
}

impl PdfDocument {
    /// Adds a page.
    ///
    /// # Errors
    /// A page without area, or one that cannot be drawn.
    pub fn add(&mut self, page: &Page, theme: &Theme) -> Result<(), ExportError> {
        let (width, height) = (single(page.size.0 * page.scale), single(page.size.1 * page.scale));
        let no_room = || ExportError::Drawing("the page has no area".to_owned());
        let settings = PageSettings::from_wh(width, height).ok_or_else(no_room)?;
        let mut sheet = self.document.start_page_with(settings);
        PdfDrawing { surface: sheet.surface(), fonts: &self.fonts }.page(page, theme)?;
        sheet.finish();
        Ok(())
    }

    /// The bytes of the whole document.
    ///
    /// # Errors
    /// Pages that cannot be written together.
    pub fn finish(self) -> Result<Vec<u8>, ExportError> {
        self.document.finish().map_err(|e| ExportError::Drawing(format!("{e:?}")))
    }
}

/// A page under way.
struct PdfDrawing<'a, 'b> {
    surface: Surface<'a>,
    fonts: &'b [Option<Font>],
}

impl PdfDrawing<'_, '_> {
    fn page(&mut self, page: &Page, theme: &Theme) -> Result<(), ExportError> {
        let scale = single(page.scale);
        self.surface.push_transform(&Transform::from_scale(scale, scale));
        let whole = Rect::new(0.0, 0.0, page.size.0, page.size.1);
        self.fill(rectangle(whole), Inside::Wound, theme.panel);
        let mut drawn = Ok(());
        for part in page.drawn(theme) {
            let cut = part.cut.and_then(rectangle);
            if let Some(cut) = &cut {
                self.surface.push_clip_path(cut, &FillRule::NonZero);
            }
            for primitive in &part.primitives {
                drawn = drawn.and(self.primitive(primitive));
            }
            if cut.is_some() {
                self.surface.pop();
            }
        }
        self.surface.pop();
        drawn
    }
}

impl DrawingSurface for PdfDrawing<'_, '_> {
    type Shape = Path;

    fn shape(moves: impl FnOnce(&mut dyn OutlineBuilder)) -> Option<Path> {
        let mut shape = PdfShape(PathBuilder::new());
        moves(&mut shape);
        shape.0.finish()
    }

    fn fill(&mut self, path: Option<Path>, inside: Inside, colour: Colour) {
        let Some(path) = path else { return };
        let rule = match inside {
            Inside::Wound => FillRule::NonZero,
            Inside::Odd => FillRule::EvenOdd,
        };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(colour, rule)));
        self.surface.draw_path(&path);
    }

    fn stroke(&mut self, path: Option<Path>, width: f64, colour: Colour, dash: Dash) {
        let Some(path) = path else { return };
        let array: Vec<f32> = dash.pattern.iter().map(|&length| single(length)).collect();
        let dash = (!array.is_empty()).then(|| StrokeDash { array, offset: single(dash.offset) });
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke {
            paint: rgb::Color::new(colour.r, colour.g, colour.b).into(),
            width: single(width),
            line_join: LineJoin::Round,
            opacity: opacity(colour),
            dash,
            ..Stroke::default()
        }));
        self.surface.draw_path(&path);
    }

    /// Letters with a place of their own each, so that no reader's kerning moves them.
    fn words(&mut self, words: &str, line: &SetLine, colour: Colour) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(colour, FillRule::NonZero)));
        for (face, run) in runs(words) {
            let (Some(Some(font)), Some(first)) = (self.fonts.get(face), run.first()) else { continue };
            let (text, glyphs) = glyphs(&run, face);
            let start = At::from_xy(single(line.left + first.x * line.size), single(line.baseline));
            self.surface.draw_glyphs(start, &glyphs, font.clone(), &text, single(line.size), false);
        }
    }

    fn picture(
        &mut self,
        [origin, right, down]: [Point; 3],
        picture: &Arc<Picture>,
    ) -> Result<(), ExportError> {
        if !picture.is_whole() {
            let words = "an image has more or fewer gray values than pixels";
            return Err(ExportError::Drawing(words.to_owned()));
        }
        let (x, y) = (right - origin, down - origin);
        let image = Image::from_custom(PdfGrays::of(picture), false).map_err(ExportError::Drawing)?;
        let Some(unit) = Size::from_wh(1.0, 1.0) else { return Ok(()) };
        let place = [x.x, x.y, y.x, y.y, origin.x, origin.y].map(single);
        let [a, b, c, d, e, f] = place;
        self.surface.push_transform(&Transform::from_row(a, b, c, d, e, f));
        self.surface.draw_image(image, unit);
        self.surface.pop();
        Ok(())
    }
}

/// A shape under way.
struct PdfShape(PathBuilder);

impl OutlineBuilder for PdfShape {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to(x, y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to(x, y);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.quad_to(x1, y1, x, y);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.0.cubic_to(x1, y1, x2, y2, x, y);
    }
    fn close(&mut self) {
        self.0.close();
    }
}

/// The letters of a run and which glyph of the typeface each is; an advance is the way to the next letter.
fn glyphs(run: &[PlacedGlyph], face: usize) -> (String, Vec<KrillaGlyph>) {
    let mut text = String::new();
    let mut glyphs = Vec::new();
    for (i, glyph) in run.iter().enumerate() {
        let start = text.len();
        text.push(glyph.character);
        let next = run.get(i + 1).map_or(glyph.x, |next| next.x);
        let number = glyph_number(glyph.character, face).unwrap_or(0);
        glyphs.push(KrillaGlyph {
            glyph_id: GlyphId::new(u32::from(number)),
            text_range: start..text.len(),
            x_advance: single(next - glyph.x),
            x_offset: 0.0,
            y_offset: 0.0,
            y_advance: 0.0,
            location: None,
        });
    }
    (text, glyphs)
}

/// A picture as the format takes it: 16 bits with the high byte first.
#[derive(Clone, Debug, Hash)]
struct PdfGrays {
    size: (u32, u32),
    bytes: Arc<Vec<u8>>,
    sixteen: bool,
}

impl PdfGrays {
    fn of(picture: &Picture) -> Self {
        let (bytes, sixteen) = match &picture.greys {
            Greys::Eight(greys) => (greys.clone(), false),
            Greys::Sixteen(greys) => (greys.iter().flat_map(|grey| grey.to_be_bytes()).collect(), true),
        };
        Self { size: (picture.width, picture.height), bytes: Arc::new(bytes), sixteen }
    }
}

impl CustomImage for PdfGrays {
    fn color_channel(&self) -> &[u8] {
        &self.bytes
    }
    fn alpha_channel(&self) -> Option<&[u8]> {
        None
    }
    fn bits_per_component(&self) -> BitsPerComponent {
        if self.sixteen { BitsPerComponent::Sixteen } else { BitsPerComponent::Eight }
    }
    fn size(&self) -> (u32, u32) {
        self.size
    }
    fn icc_profile(&self) -> Option<&[u8]> {
        None
    }
    fn color_space(&self) -> ImageColorspace {
        ImageColorspace::Luma
    }
}

fn opacity(colour: Colour) -> NormalizedF32 {
    NormalizedF32::new(f32::from(colour.a) / 255.0).unwrap_or(NormalizedF32::ONE)
}

fn fill(colour: Colour, rule: FillRule) -> Fill {
    Fill { paint: rgb::Color::new(colour.r, colour.g, colour.b).into(), opacity: opacity(colour), rule }
}

fn rectangle(r: Rect) -> Option<Path> {
    let mut path = PathBuilder::new();
    let (left, top, right, bottom) = (single(r.min.x), single(r.min.y), single(r.max.x), single(r.max.y));
    path.push_rect(krilla::geom::Rect::from_ltrb(left, top, right, bottom)?);
    path.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::{Role, Scene, Space, Text};

    fn page(words: &str) -> Page {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 200.0, 60.0));
        scene.text(Text::new(Point::new(10.0, 30.0), words, Role::Text));
        Page::of_drawing(scene)
    }

    #[test]
    fn the_same_page_gives_the_same_bytes() {
        let write = || document(&[page("38 % ± 3 ● <&>")], &Theme::light()).unwrap();
        let bytes = write();
        assert_eq!(&bytes[..5], b"%PDF-");
        assert!(bytes == write());
    }

    #[test]
    fn both_typefaces_are_embedded_where_both_are_used() {
        let has = |words: &str, name: &str| {
            let bytes = document(&[page(words)], &Theme::light()).unwrap();
            bytes.windows(name.len()).any(|part| part == name.as_bytes())
        };
        assert!(has("inside ●", "Ubuntu") && has("inside ●", "Hack"));
        assert!(has("inside", "Ubuntu") && !has("inside", "Hack"));
    }

    /// ISO 32000-1, 14.3: an information dictionary would have these keys, a metadata stream this type.
    #[test]
    fn nothing_is_said_about_the_document() {
        let bytes = document(&[page("words")], &Theme::dark()).unwrap();
        for told in ["/Info", "/Producer", "/Creator", "/CreationDate", "/ModDate", "/Author", "/Metadata"] {
            assert!(!bytes.windows(told.len()).any(|part| part == told.as_bytes()), "{told}");
        }
    }
}
