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

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::set_line::{SetLine, runs};
use crate::scene::drawing::shape::{Greys, Picture, Rect};
use crate::scene::drawing::theme::{CORNER_RADIUS, Colour, Theme};
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
    let fonts = typefaces().map(|data| Font::new(data.to_vec().into(), 0));
    let mut document =
        Document::new_with(SerializeSettings { xmp_metadata: false, ..SerializeSettings::default() });
    for page in pages {
        let (width, height) = (single(page.size.0 * page.scale), single(page.size.1 * page.scale));
        let no_room = || ExportError::Drawing("the page has no area".to_owned());
        let settings = PageSettings::from_wh(width, height).ok_or_else(no_room)?;
        let mut sheet = document.start_page_with(settings);
        PdfDrawing { surface: sheet.surface(), fonts: &fonts }.page(page, theme)?;
        sheet.finish();
    }
    document.finish().map_err(|e| ExportError::Drawing(format!("{e:?}")))
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
        self.fill(rectangle(whole), FillRule::NonZero, theme.panel);
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

    fn fill(&mut self, path: Option<Path>, rule: FillRule, colour: Colour) {
        let Some(path) = path else { return };
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

    fn primitive(&mut self, primitive: &Primitive) -> Result<(), ExportError> {
        match primitive {
            Primitive::Stroke { points, closed, width, colour, dash } => {
                self.stroke(path([(points.as_slice(), *closed)]), *width, *colour, *dash);
            }
            Primitive::Strip { a, b, colour } => {
                let around: Vec<_> = a.iter().chain(b.iter().rev()).copied().collect();
                self.fill(path([(around.as_slice(), true)]), FillRule::NonZero, *colour);
            }
            Primitive::Shade { lines, colour } => {
                let lines = lines.iter().map(|line| (line.as_slice(), true));
                self.fill(path(lines), FillRule::EvenOdd, *colour);
            }
            Primitive::Disc { centre, radius, colour } => {
                self.fill(circle(*centre, *radius), FillRule::NonZero, *colour);
            }
            Primitive::Ring { centre, radius, width, colour } => {
                self.stroke(circle(*centre, *radius), *width, *colour, Dash::default());
            }
            Primitive::Words { at, align, words, size, colour, plate } => {
                let line = SetLine::of(words, *size, *at, *align);
                if let Some(plate) = plate {
                    self.fill(rounded(line.plate(), CORNER_RADIUS - 1.0), FillRule::NonZero, *plate);
                }
                self.words(words, &line, *colour);
            }
            Primitive::Picture { corners, picture } => self.picture(*corners, picture)?,
        }
        Ok(())
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

#[expect(clippy::cast_possible_truncation, reason = "the format's numbers have single precision")]
const fn single(value: f64) -> f32 {
    value as f32
}

fn opacity(colour: Colour) -> NormalizedF32 {
    NormalizedF32::new(f32::from(colour.a) / 255.0).unwrap_or(NormalizedF32::ONE)
}

fn fill(colour: Colour, rule: FillRule) -> Fill {
    Fill { paint: rgb::Color::new(colour.r, colour.g, colour.b).into(), opacity: opacity(colour), rule }
}

/// Lines, each with whether its end is joined to its beginning.
fn path<'a>(lines: impl IntoIterator<Item = (&'a [Point], bool)>) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (points, closed) in lines {
        for (i, p) in points.iter().enumerate() {
            let (x, y) = (single(p.x), single(p.y));
            if i == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
        }
        if closed {
            path.close();
        }
    }
    path.finish()
}

fn rectangle(r: Rect) -> Option<Path> {
    let mut path = PathBuilder::new();
    let (left, top, right, bottom) = (single(r.min.x), single(r.min.y), single(r.max.x), single(r.max.y));
    path.push_rect(krilla::geom::Rect::from_ltrb(left, top, right, bottom)?);
    path.finish()
}

/// How far from a quarter circle's end its tangent's point lies, as a share of the radius: 4/3 · tan(π/8).
const QUARTER: f64 = 0.552_284_749_8;

fn circle(centre: Point, radius: f64) -> Option<Path> {
    let square = Rect::new(centre.x, centre.y, centre.x, centre.y).grown(radius);
    rounded(square, radius)
}

/// A rectangle with round corners.
fn rounded(r: Rect, radius: f64) -> Option<Path> {
    let k = (1.0 - QUARTER) * radius;
    let (x0, y0, x1, y1) = (r.min.x, r.min.y, r.max.x, r.max.y);
    let s = single;
    let mut path = PathBuilder::new();
    path.move_to(s(x0 + radius), s(y0));
    path.line_to(s(x1 - radius), s(y0));
    path.cubic_to(s(x1 - k), s(y0), s(x1), s(y0 + k), s(x1), s(y0 + radius));
    path.line_to(s(x1), s(y1 - radius));
    path.cubic_to(s(x1), s(y1 - k), s(x1 - k), s(y1), s(x1 - radius), s(y1));
    path.line_to(s(x0 + radius), s(y1));
    path.cubic_to(s(x0 + k), s(y1), s(x0), s(y1 - k), s(x0), s(y1 - radius));
    path.line_to(s(x0), s(y0 + radius));
    path.cubic_to(s(x0), s(y0 + k), s(x0 + k), s(y0), s(x0 + radius), s(y0));
    path.close();
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
