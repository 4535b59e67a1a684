//! A page as SVG, words as outlines.
//!
//! A text that names a typeface looks different on a machine without it, so every glyph is drawn once as a shape
//! of its own and used where it stands.

use std::collections::BTreeSet;
use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesStart, Event};
use ttf_parser::OutlineBuilder;

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::io::export::png::grey_png;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::set_line::SetLine;
use crate::scene::drawing::shape::Rect;
use crate::scene::drawing::theme::{CORNER_RADIUS, Colour, Theme};
use crate::scene::drawing::type_metrics::{has_glyph, outline, placed};
use crate::scene::page::Page;

/// Units of a glyph's outline to its type size: coordinates are then short whole numbers.
const EM: f64 = 1000.0;

/// The page as SVG text.
///
/// # Errors
/// A picture that cannot be encoded.
pub fn text(page: &Page, theme: &Theme) -> Result<String, ExportError> {
    let parts = page.drawn(theme);
    let (w, h) = (number(page.size.0), number(page.size.1));
    let mut out = SvgElements::default();
    let root = [
        ("xmlns", "http://www.w3.org/2000/svg".to_owned()),
        ("xmlns:xlink", "http://www.w3.org/1999/xlink".to_owned()),
        ("width", format!("{}pt", precise(page.size.0 * page.scale))),
        ("height", format!("{}pt", precise(page.size.1 * page.scale))),
        ("viewBox", format!("0 0 {w} {h}")),
    ];
    out.open("svg", root)?;
    out.glyphs(parts.iter().flat_map(|part| &part.primitives))?;
    let ground = [("width", w), ("height", h)];
    out.empty("rect", ground.into_iter().chain(paint(&FILL, theme.panel)))?;
    for (i, part) in parts.iter().enumerate() {
        if let Some(r) = part.cut {
            let id = format!("cut{i}");
            out.open("clipPath", [("id", id.clone())])?;
            out.empty("rect", rectangle(r))?;
            out.close("clipPath")?;
            out.open("g", [("clip-path", format!("url(#{id})"))])?;
        } else {
            out.open("g", [])?;
        }
        for primitive in &part.primitives {
            out.primitive(primitive)?;
        }
        out.close("g")?;
    }
    out.close("svg")?;
    out.finish()
}

/// A name and what it is set to.
type Attribute = (&'static str, String);

/// The elements written so far.
struct SvgElements(Writer<Vec<u8>>);

impl Default for SvgElements {
    fn default() -> Self {
        Self(Writer::new_with_indent(Vec::new(), b' ', 0))
    }
}

impl SvgElements {
    fn event(&mut self, event: Event<'_>) -> Result<(), ExportError> {
        self.0.write_event(event).map_err(|e| ExportError::Drawing(e.to_string()))
    }

    fn element(name: &'static str, attributes: impl IntoIterator<Item = Attribute>) -> BytesStart<'static> {
        let mut element = BytesStart::new(name);
        for (key, value) in attributes {
            element.push_attribute((key, value.as_str()));
        }
        element
    }

    fn open(
        &mut self,
        name: &'static str,
        attributes: impl IntoIterator<Item = Attribute>,
    ) -> Result<(), ExportError> {
        self.event(Event::Start(Self::element(name, attributes)))
    }

    fn empty(
        &mut self,
        name: &'static str,
        attributes: impl IntoIterator<Item = Attribute>,
    ) -> Result<(), ExportError> {
        self.event(Event::Empty(Self::element(name, attributes)))
    }

    fn close(&mut self, name: &'static str) -> Result<(), ExportError> {
        self.event(Event::End(BytesEnd::new(name)))
    }

    fn finish(self) -> Result<String, ExportError> {
        let text = String::from_utf8(self.0.into_inner()).map_err(|e| ExportError::Drawing(e.to_string()))?;
        Ok(text + "\n")
    }

    /// The shapes of all glyphs that are used, by their code point.
    fn glyphs<'a>(&mut self, primitives: impl Iterator<Item = &'a Primitive>) -> Result<(), ExportError> {
        let used: BTreeSet<char> = primitives
            .filter_map(|primitive| match primitive {
                Primitive::Words { words, .. } => Some(words.chars()),
                _ => None,
            })
            .flatten()
            .collect();
        if used.is_empty() {
            return Ok(());
        }
        self.open("defs", [])?;
        for c in used {
            let mut path = SvgGlyph::default();
            outline(c, &mut path);
            if !path.0.is_empty() {
                self.empty("path", [("id", glyph_id(c)), ("d", path.0)])?;
            }
        }
        self.close("defs")
    }

    fn primitive(&mut self, primitive: &Primitive) -> Result<(), ExportError> {
        match primitive {
            Primitive::Stroke { points, closed, width, colour, dash } => {
                let end = if *closed { "Z" } else { "" };
                let line = [("d", path(points) + end), ("fill", "none".to_owned())];
                let look = [("stroke-width", number(*width)), ("stroke-linejoin", "round".to_owned())];
                let all = line.into_iter().chain(paint(&STROKE, *colour)).chain(look).chain(dashes(*dash));
                self.empty("path", all)
            }
            Primitive::Strip { a, b, colour } => {
                let around: Vec<_> = a.iter().chain(b.iter().rev()).copied().collect();
                let area = [("d", path(&around) + "Z")];
                self.empty("path", area.into_iter().chain(paint(&FILL, *colour)))
            }
            Primitive::Shade { lines, colour } => {
                let around: String = lines.iter().map(|line| path(line) + "Z").collect();
                let area = [("d", around), ("fill-rule", "evenodd".to_owned())];
                self.empty("path", area.into_iter().chain(paint(&FILL, *colour)))
            }
            Primitive::Disc { centre, radius, colour } => {
                self.empty("circle", circle(*centre, *radius).into_iter().chain(paint(&FILL, *colour)))
            }
            Primitive::Ring { centre, radius, width, colour } => {
                let look = [("fill", "none".to_owned()), ("stroke-width", number(*width))];
                let all = circle(*centre, *radius).into_iter().chain(paint(&STROKE, *colour)).chain(look);
                self.empty("circle", all)
            }
            Primitive::Words { at, align, words, size, colour, plate } => {
                self.words(words, &SetLine::of(words, *size, *at, *align), *colour, *plate)
            }
            Primitive::Picture { corners: [origin, right, down], picture } => {
                let (w, h) = (f64::from(picture.width.max(1)), f64::from(picture.height.max(1)));
                let (x, y) = ((*right - *origin) / w, (*down - *origin) / h);
                let matrix = [x.x, x.y, y.x, y.y, origin.x, origin.y].map(precise).join(" ");
                let image = [
                    ("width", picture.width.to_string()),
                    ("height", picture.height.to_string()),
                    ("preserveAspectRatio", "none".to_owned()),
                    ("transform", format!("matrix({matrix})")),
                    ("xlink:href", format!("data:image/png;base64,{}", STANDARD.encode(grey_png(picture)?))),
                ];
                self.empty("image", image)
            }
        }
    }

    fn words(
        &mut self,
        words: &str,
        line: &SetLine,
        colour: Colour,
        plate: Option<Colour>,
    ) -> Result<(), ExportError> {
        if let Some(plate) = plate {
            let round = [("rx", number(CORNER_RADIUS - 1.0))];
            let all = rectangle(line.plate()).into_iter().chain(round).chain(paint(&FILL, plate));
            self.empty("rect", all)?;
        }
        let scale = precise(line.size / EM);
        let matrix = format!("matrix({scale} 0 0 {scale} {} {})", number(line.left), number(line.baseline));
        self.open("g", paint(&FILL, colour).into_iter().chain([("transform", matrix)]))?;
        for glyph in placed(words) {
            if has_glyph(glyph.character) && !glyph.character.is_whitespace() {
                let place = [
                    ("xlink:href", format!("#{}", glyph_id(glyph.character))),
                    ("x", format!("{:.0}", glyph.x * EM)),
                ];
                self.empty("use", place)?;
            }
        }
        self.close("g")
    }
}

fn glyph_id(c: char) -> String {
    format!("u{:x}", u32::from(c))
}

/// A glyph's outline as path data, y downward.
#[derive(Default)]
struct SvgGlyph(String);

impl SvgGlyph {
    fn add(&mut self, letter: char, numbers: &[f32]) {
        self.0.push(letter);
        for (i, pair) in numbers.chunks(2).enumerate() {
            let [x, y] = pair else { continue };
            let gap = if i > 0 { " " } else { "" };
            let _ = write!(self.0, "{gap}{:.0} {:.0}", f64::from(*x) * EM, 0.0 - f64::from(*y) * EM);
        }
    }
}

impl OutlineBuilder for SvgGlyph {
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

fn path(points: &[Point]) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if i == 0 { "M" } else { "L" }, number(p.x), number(p.y));
    }
    d
}

fn rectangle(r: Rect) -> [Attribute; 4] {
    [
        ("x", number(r.min.x)),
        ("y", number(r.min.y)),
        ("width", number(r.width())),
        ("height", number(r.height())),
    ]
}

fn circle(centre: Point, radius: f64) -> [Attribute; 3] {
    [("cx", number(centre.x)), ("cy", number(centre.y)), ("r", number(radius))]
}

fn dashes(dash: Dash) -> Vec<Attribute> {
    if dash.pattern.is_empty() {
        return Vec::new();
    }
    let list: Vec<_> = dash.pattern.iter().map(|&d| number(d)).collect();
    let mut said = vec![("stroke-dasharray", list.join(" "))];
    if dash.offset > 0.0 {
        said.push(("stroke-dashoffset", number(dash.offset)));
    }
    said
}

/// What a colour is for, and its opacity.
const FILL: [&str; 2] = ["fill", "fill-opacity"];
const STROKE: [&str; 2] = ["stroke", "stroke-opacity"];

fn paint(names: &[&'static str; 2], colour: Colour) -> Vec<Attribute> {
    let Colour { r, g, b, a } = colour;
    let mut said = vec![(names[0], format!("#{r:02x}{g:02x}{b:02x}"))];
    if a < 255 {
        said.push((names[1], number(f64::from(a) / 255.0)));
    }
    said
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

    #[test]
    fn numbers_are_short() {
        assert_eq!([1.0, 0.12345, -0.0001, 12.5, 100.0].map(number), ["1", "0.12", "0", "12.5", "100"]);
    }
}
