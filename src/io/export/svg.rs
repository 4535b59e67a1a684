//! A page as SVG, words as outlines.
//!
//! A text that names a typeface looks different on a machine without it, so every glyph is drawn once as a shape
//! of its own and used where it stands.

use std::collections::BTreeSet;
use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use ttf_parser::OutlineBuilder;

use crate::geom::point::Point;
use crate::io::export::ExportError;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::shape::{AlignX, AlignY, Greys, Picture, Rect};
use crate::scene::drawing::theme::{CORNER_RADIUS, Colour, Theme, space};
use crate::scene::drawing::type_metrics::{
    CAP_HEIGHT, PlacedGlyph, has_glyph, outline, placed, typeface_of, width_at,
};
use crate::scene::page::Page;

/// Points to an inch, the unit in which a page says how large it is.
pub(super) const DPI: f32 = 72.0;

/// Units of a glyph's outline to its type size: coordinates are then short whole numbers.
const EM: f64 = 1000.0;

/// How words are written.
#[derive(Clone, Copy, Debug)]
pub(super) enum Lettering<'a> {
    /// As shapes, which look the same everywhere.
    Outlines,
    /// As letters of these typefaces, each with its weight, in the order of
    /// [`typefaces`](crate::scene::drawing::type_metrics::typefaces): for a format that embeds them.
    Letters(&'a [(String, u16)]),
}

/// The page as SVG text.
///
/// # Errors
/// A picture that cannot be encoded.
pub fn text(page: &Page, theme: &Theme) -> Result<String, ExportError> {
    lettered(page, theme, Lettering::Outlines)
}

/// The same with words written one way or the other.
pub(super) fn lettered(page: &Page, theme: &Theme, lettering: Lettering<'_>) -> Result<String, ExportError> {
    let (w, h) = (number(page.size.0), number(page.size.1));
    let (wide, high) = (precise(page.size.0 * page.scale), precise(page.size.1 * page.scale));
    let parts = page.drawn(theme);
    let mut out = String::new();
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" \
         width=\"{wide}pt\" height=\"{high}pt\" viewBox=\"0 0 {w} {h}\">"
    );
    if matches!(lettering, Lettering::Outlines) {
        push_glyphs(&mut out, parts.iter().flat_map(|part| &part.primitives));
    }
    let _ = writeln!(out, "<rect width=\"{w}\" height=\"{h}\" {}/>", paint("fill", theme.panel));
    for (i, part) in parts.iter().enumerate() {
        let _ = match part.cut {
            Some(r) => {
                let (x, y, w, h) = (number(r.min.x), number(r.min.y), number(r.width()), number(r.height()));
                writeln!(
                    out,
                    "<clipPath id=\"cut{i}\"><rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"/></clipPath>\n\
                     <g clip-path=\"url(#cut{i})\">"
                )
            }
            None => writeln!(out, "<g>"),
        };
        for primitive in &part.primitives {
            push(&mut out, primitive, lettering)?;
        }
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    Ok(out)
}

/// The shapes of all glyphs that are used, by their code point.
fn push_glyphs<'a>(out: &mut String, primitives: impl Iterator<Item = &'a Primitive>) {
    let used: BTreeSet<char> = primitives
        .filter_map(|primitive| match primitive {
            Primitive::Words { words, .. } => Some(words.chars()),
            _ => None,
        })
        .flatten()
        .collect();
    if used.is_empty() {
        return;
    }
    out.push_str("<defs>\n");
    for c in used {
        let mut path = GlyphPath::default();
        outline(c, &mut path);
        if !path.0.is_empty() {
            let _ = writeln!(out, "<path id=\"{}\" d=\"{}\"/>", glyph_id(c), path.0);
        }
    }
    out.push_str("</defs>\n");
}

fn glyph_id(c: char) -> String {
    format!("u{:x}", u32::from(c))
}

/// A glyph's outline as path data, y downward.
#[derive(Default)]
struct GlyphPath(String);

impl GlyphPath {
    fn add(&mut self, letter: char, numbers: &[f32]) {
        self.0.push(letter);
        for (i, pair) in numbers.chunks(2).enumerate() {
            let [x, y] = pair else { continue };
            let gap = if i > 0 { " " } else { "" };
            let _ = write!(self.0, "{gap}{:.0} {:.0}", f64::from(*x) * EM, 0.0 - f64::from(*y) * EM);
        }
    }
}

impl OutlineBuilder for GlyphPath {
    fn move_to(&mut self, x: f32, y: f32) {
        self.add('M', &[x, y]);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.add('L', &[x, y]);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.add('Q', &[x1, y1, x, y]);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.add('C', &[x1, y1, x2, y2, x, y]);
    }
    fn close(&mut self) {
        self.0.push('Z');
    }
}

fn push(out: &mut String, primitive: &Primitive, lettering: Lettering<'_>) -> Result<(), ExportError> {
    let _ = match primitive {
        Primitive::Stroke { points, closed, width, colour, dash } => writeln!(
            out,
            "<path d=\"{}{}\" fill=\"none\" {} stroke-width=\"{}\" stroke-linejoin=\"round\"{}/>",
            path(points),
            if *closed { "Z" } else { "" },
            paint("stroke", *colour),
            number(*width),
            dashes(*dash)
        ),
        Primitive::Strip { a, b, colour } => {
            let around: Vec<_> = a.iter().chain(b.iter().rev()).copied().collect();
            writeln!(out, "<path d=\"{}Z\" {}/>", path(&around), paint("fill", *colour))
        }
        Primitive::Shade { lines, colour } => {
            let around: String = lines.iter().map(|line| format!("{}Z", path(line))).collect();
            writeln!(out, "<path d=\"{around}\" fill-rule=\"evenodd\" {}/>", paint("fill", *colour))
        }
        Primitive::Disc { centre, radius, colour } => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>",
            number(centre.x),
            number(centre.y),
            number(*radius),
            paint("fill", *colour)
        ),
        Primitive::Ring { centre, radius, width, colour } => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"none\" {} stroke-width=\"{}\"/>",
            number(centre.x),
            number(centre.y),
            number(*radius),
            paint("stroke", *colour),
            number(*width)
        ),
        Primitive::Words { at, align, words, size, colour, plate } => {
            let line = Line { at: *at, align: *align, words, size: *size };
            push_words(out, &line, *colour, *plate, lettering);
            Ok(())
        }
        Primitive::Picture { corners, picture } => {
            let [origin, right, down] = *corners;
            let (w, h) = (f64::from(picture.width.max(1)), f64::from(picture.height.max(1)));
            let (x, y) = ((right - origin) / w, (down - origin) / h);
            writeln!(
                out,
                "<image width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" \
                 transform=\"matrix({} {} {} {} {} {})\" xlink:href=\"data:image/png;base64,{}\"/>",
                picture.width,
                picture.height,
                precise(x.x),
                precise(x.y),
                precise(y.x),
                precise(y.y),
                precise(origin.x),
                precise(origin.y),
                STANDARD.encode(png_of(picture)?)
            )
        }
    };
    Ok(())
}

/// A line of words to be placed.
struct Line<'a> {
    at: Point,
    align: (AlignX, AlignY),
    words: &'a str,
    size: f64,
}

fn push_words(
    out: &mut String,
    line: &Line<'_>,
    colour: Colour,
    plate: Option<Colour>,
    lettering: Lettering<'_>,
) {
    let width = width_at(line.words, line.size);
    let left = match line.align.0 {
        AlignX::Left => line.at.x,
        AlignX::Middle => line.at.x - 0.5 * width,
        AlignX::Right => line.at.x - width,
    };
    let cap = CAP_HEIGHT * line.size;
    let baseline = match line.align.1 {
        // A line of text is 1.2 of its size high; its capitals stand in the middle of that.
        AlignY::Top => line.at.y + 0.6 * line.size + 0.5 * cap,
        AlignY::Middle => line.at.y + 0.5 * cap,
        AlignY::Bottom => line.at.y - 0.6 * line.size + 0.5 * cap,
    };
    if let Some(plate) = plate {
        let r = Rect::new(left, baseline - cap, left + width, baseline).grown(space::S1);
        let _ = writeln!(
            out,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" {}/>",
            number(r.min.x),
            number(r.min.y),
            number(r.width()),
            number(r.height()),
            number(CORNER_RADIUS - 1.0),
            paint("fill", plate)
        );
    }
    match lettering {
        Lettering::Outlines => push_outlines(out, line, colour, (left, baseline)),
        Lettering::Letters(faces) => push_letters(out, line, colour, (left, baseline), faces),
    }
}

fn push_outlines(out: &mut String, line: &Line<'_>, colour: Colour, (left, baseline): (f64, f64)) {
    let scale = line.size / EM;
    let _ = write!(
        out,
        "<g {} transform=\"matrix({} 0 0 {} {} {})\">",
        paint("fill", colour),
        precise(scale),
        precise(scale),
        number(left),
        number(baseline)
    );
    for glyph in placed(line.words) {
        if has_glyph(glyph.character) && !glyph.character.is_whitespace() {
            let _ =
                write!(out, "<use xlink:href=\"#{}\" x=\"{:.0}\"/>", glyph_id(glyph.character), glyph.x * EM);
        }
    }
    out.push_str("</g>\n");
}

/// Letters with a place of their own each, so that no reader's kerning moves them; one element for each run of one
/// typeface.
fn push_letters(
    out: &mut String,
    line: &Line<'_>,
    colour: Colour,
    (left, baseline): (f64, f64),
    faces: &[(String, u16)],
) {
    for (face, run) in runs(line.words) {
        let Some((family, weight)) = faces.get(face) else { continue };
        let places: Vec<_> = run.iter().map(|glyph| number(left + glyph.x * line.size)).collect();
        let letters: String = run.iter().map(|glyph| escaped(glyph.character)).collect();
        let _ = writeln!(
            out,
            "<text xml:space=\"preserve\" font-family=\"{family}\" font-weight=\"{weight}\" font-size=\"{}\" \
             x=\"{}\" y=\"{}\" {}>{letters}</text>",
            number(line.size),
            places.join(" "),
            number(baseline),
            paint("fill", colour)
        );
    }
}

/// The glyphs of a line as runs of one typeface each, in order. A space belongs to the run before it, so that words
/// are not torn apart where they are searched; a character that no typeface has is left out.
fn runs(words: &str) -> Vec<(usize, Vec<PlacedGlyph>)> {
    let mut runs: Vec<(usize, Vec<PlacedGlyph>)> = Vec::new();
    for glyph in placed(words) {
        let Some(face) = typeface_of(glyph.character) else { continue };
        match runs.last_mut() {
            Some((of, run)) if *of == face || glyph.character == ' ' => run.push(glyph),
            _ => runs.push((face, vec![glyph])),
        }
    }
    runs
}

/// A character as it stands in XML.
fn escaped(c: char) -> String {
    match c {
        '<' => "&lt;".to_owned(),
        '>' => "&gt;".to_owned(),
        '&' => "&amp;".to_owned(),
        other => other.to_string(),
    }
}

/// A grey picture as PNG, at its own depth and without any metadata.
///
/// # Errors
/// A picture whose greys are not as many as its pixels.
pub fn png_of(picture: &Picture) -> Result<Vec<u8>, ExportError> {
    let pixels = u64::from(picture.width) * u64::from(picture.height);
    let count = match &picture.greys {
        Greys::Eight(g) => g.len(),
        Greys::Sixteen(g) => g.len(),
    };
    if count as u64 != pixels || pixels == 0 {
        return Err(ExportError::Drawing("an image has more or fewer gray values than pixels".to_owned()));
    }
    let mut out = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut out, CompressionType::Default, FilterType::Adaptive);
    let written = match &picture.greys {
        Greys::Eight(greys) => {
            encoder.write_image(greys, picture.width, picture.height, ExtendedColorType::L8)
        }
        // The encoder takes 16-bit samples in the machine's own order.
        Greys::Sixteen(greys) => {
            let bytes: Vec<u8> = greys.iter().flat_map(|g| g.to_ne_bytes()).collect();
            encoder.write_image(&bytes, picture.width, picture.height, ExtendedColorType::L16)
        }
    };
    written.map_err(|e| ExportError::Drawing(e.to_string()))?;
    Ok(out)
}

fn path(points: &[Point]) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if i == 0 { "M" } else { "L" }, number(p.x), number(p.y));
    }
    d
}

fn dashes(dash: Dash) -> String {
    if dash.pattern.is_empty() {
        return String::new();
    }
    let list: Vec<_> = dash.pattern.iter().map(|&d| number(d)).collect();
    let offset = if dash.offset > 0.0 {
        format!(" stroke-dashoffset=\"{}\"", number(dash.offset))
    } else {
        String::new()
    };
    format!(" stroke-dasharray=\"{}\"{offset}", list.join(" "))
}

/// A colour for `fill` or `stroke`, with its opacity.
fn paint(attribute: &str, colour: Colour) -> String {
    let Colour { r, g, b, a } = colour;
    let opacity = if a < 255 {
        format!(" {attribute}-opacity=\"{}\"", number(f64::from(a) / 255.0))
    } else {
        String::new()
    };
    format!("{attribute}=\"#{r:02x}{g:02x}{b:02x}\"{opacity}")
}

/// A coordinate to a hundredth of a point, without needless digits.
fn number(value: f64) -> String {
    trimmed(format!("{value:.2}"))
}

/// A factor that places a picture exactly.
fn precise(value: f64) -> String {
    trimmed(format!("{value:.9}"))
}

fn trimmed(text: String) -> String {
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short.is_empty() || short == "-0" { "0".to_owned() } else { short.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::{Role, Scene, Space, Text, TextSize};

    fn page() -> Page {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 120.0, 60.0));
        scene.line(vec![Point::new(10.0, 10.0), Point::new(110.0, 10.0)], Role::SecondContour);
        scene.text(Text::new(Point::new(10.0, 30.0), "38 % ± 3 <&> \u{1}", Role::Text).sized(TextSize::Body));
        Page::of_drawing(scene)
    }

    #[test]
    fn the_same_page_gives_the_same_bytes() {
        let write = || text(&page(), &Theme::dark()).unwrap();
        assert_eq!(write(), write());
    }

    #[test]
    fn files_name_no_typeface_and_no_maker() {
        let text = text(&page(), &Theme::light()).unwrap();
        for absent in ["<text", "font-family", "Ubuntu", "Hack", "metadata", "<!--", "\u{1}"] {
            assert!(!text.contains(absent), "{absent}");
        }
        assert!(text.contains("stroke-dasharray"));
    }

    /// Read by another program's parser, the file is well formed and every glyph it uses is there.
    #[test]
    fn another_parser_reads_it() {
        let text = text(&page(), &Theme::light()).unwrap();
        let tree = resvg::usvg::Tree::from_str(&text, &resvg::usvg::Options::default()).unwrap();
        // The page is 120 points wide; CSS Values and Units, 5.2: 96 px are an inch, as 72 pt are.
        assert!((tree.size().width() - 120.0 * 96.0 / 72.0).abs() < 1e-3);
        for used in text.split("xlink:href=\"#").skip(1).filter_map(|rest| rest.split('"').next()) {
            assert!(text.contains(&format!("id=\"{used}\"")), "{used}");
        }
    }

    /// The PNG specification (ISO/IEC 15948), table 11.1: grey with 16 bits has colour type 0 and bit depth 16.
    #[test]
    fn sixteen_bits_stay_sixteen_bits() {
        let greys: Vec<u16> = (0..12).map(|i| i * 5000 + 3).collect();
        let picture = Picture { width: 4, height: 3, greys: Greys::Sixteen(greys.clone()) };
        let bytes = png_of(&picture).unwrap();
        assert_eq!((bytes[24], bytes[25]), (16, 0));
        let back = image::load_from_memory(&bytes).unwrap().into_luma16();
        assert_eq!(back.into_raw(), greys);
    }

    #[test]
    fn a_picture_that_lies_about_its_size_is_refused() {
        let picture = Picture { width: 4, height: 3, greys: Greys::Eight(vec![0; 5]) };
        assert!(png_of(&picture).is_err());
    }

    /// Words behind a sign were once written in the sign's typeface, at places meant for another.
    #[test]
    fn each_letter_is_in_the_typeface_it_was_measured_in() {
        let runs = runs("● inside ○");
        let said: Vec<_> = runs
            .iter()
            .map(|(face, run)| (*face, run.iter().map(|g| g.character).collect::<String>()))
            .collect();
        assert_eq!(said, [(1, "● ".to_owned()), (0, "inside ".to_owned()), (1, "○".to_owned())]);
        for (face, run) in &runs {
            assert!(run.iter().all(|g| g.character == ' ' || typeface_of(g.character) == Some(*face)));
        }
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!([1.0, 0.12345, -0.0001, 12.5, 100.0].map(number), ["1", "0.12", "0", "12.5", "100"]);
    }
}
