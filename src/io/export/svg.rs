//! A page as SVG: words as text for our own renderer, as outlines for everyone else.
//!
//! A text that names a typeface looks different on a machine without it, so files that leave have outlines.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use resvg::usvg::{self, fontdb};

use crate::geom::point::Point;
use crate::io::export::ExportError;
use crate::scene::page::Page;
use crate::scene::primitive::{Dash, Primitive};
use crate::scene::shape::{AlignX, AlignY, Face, Greys, Picture, Rect};
use crate::scene::theme::{CORNER_RADIUS, Colour, Theme, space};
use crate::scene::type_metrics::{CAP_HEIGHT, width_at};

/// The page with words as text in the two typefaces, for [`tree`].
///
/// # Errors
/// A picture that cannot be encoded.
pub fn with_text(page: &Page, theme: &Theme) -> Result<String, ExportError> {
    let (w, h) = (number(page.size.0), number(page.size.1));
    let mut out = String::new();
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" \
         width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\">"
    );
    let _ = writeln!(out, "<rect width=\"{w}\" height=\"{h}\" {}/>", paint("fill", theme.panel));
    for (i, part) in page.drawn(theme).into_iter().enumerate() {
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
            push(&mut out, primitive)?;
        }
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    Ok(out)
}

/// The page with words as outlines: it looks the same everywhere.
///
/// # Errors
/// A page that cannot be drawn.
pub fn outlined(page: &Page, theme: &Theme) -> Result<String, ExportError> {
    let tree = tree(&with_text(page, theme)?)?;
    let options = usvg::WriteOptions {
        coordinates_precision: 3,
        transforms_precision: 6,
        indent: usvg::Indent::None,
        ..usvg::WriteOptions::default()
    };
    let mut text = tree.to_string(&options);
    if !text.ends_with('\n') {
        text.push('\n');
    }
    Ok(text)
}

/// An SVG text read with the two typefaces and no others.
///
/// # Errors
/// A text that is no SVG.
pub fn tree(text: &str) -> Result<usvg::Tree, ExportError> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(epaint_default_fonts::UBUNTU_LIGHT.to_vec());
    fonts.load_font_data(epaint_default_fonts::HACK_REGULAR.to_vec());
    let options = usvg::Options {
        fontdb: std::sync::Arc::new(fonts),
        font_family: "Ubuntu".to_owned(),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(text, &options).map_err(|e| ExportError::Drawing(e.to_string()))
}

fn push(out: &mut String, primitive: &Primitive) -> Result<(), ExportError> {
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
        Primitive::Words { at, align, words, size, face, colour, plate } => {
            push_words(
                out,
                &Line { at: *at, align: *align, words, size: *size, face: *face },
                *colour,
                *plate,
            );
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
    face: Face,
}

fn push_words(out: &mut String, line: &Line<'_>, colour: Colour, plate: Option<Colour>) {
    let width = width_at(line.words, line.face, line.size);
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
    let family = match line.face {
        Face::Words => "font-family=\"Ubuntu\" font-weight=\"300\"",
        Face::Numbers => "font-family=\"Hack\"",
    };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" {family} font-size=\"{}\" xml:space=\"preserve\" {}>{}</text>",
        number(left),
        number(baseline),
        number(line.size),
        paint("fill", colour),
        escaped(line.words)
    );
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
        return Err(ExportError::Drawing("a picture's greys are not as many as its pixels".to_owned()));
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

fn escaped(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            // Not allowed in XML, however escaped.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A coordinate to a thousandth of a point, without needless digits.
fn number(value: f64) -> String {
    trimmed(format!("{value:.3}"))
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
    use crate::scene::shape::{Role, Scene, Space, Text, TextSize};

    fn page() -> Page {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 120.0, 60.0));
        scene.line(vec![Point::new(10.0, 10.0), Point::new(110.0, 10.0)], Role::SecondContour);
        scene.text(Text::new(Point::new(10.0, 30.0), "38 % ± 3 <&> \u{1}", Role::Text).sized(TextSize::Body));
        Page::of_drawing(scene)
    }

    #[test]
    fn the_same_page_gives_the_same_bytes() {
        let (a, b) = (outlined(&page(), &Theme::dark()).unwrap(), outlined(&page(), &Theme::dark()).unwrap());
        assert_eq!(a, b);
    }

    #[test]
    fn outlined_files_name_no_typeface_and_no_maker() {
        let text = outlined(&page(), &Theme::light()).unwrap();
        for absent in ["<text", "font-family", "Ubuntu", "Hack", "metadata", "<!--"] {
            assert!(!text.contains(absent), "{absent}");
        }
        assert!(text.contains("stroke-dasharray"));
        // Reading it again finds the outlines of the words.
        assert!(tree(&text).unwrap().root().children().len() >= 2);
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

    #[test]
    fn numbers_are_short() {
        assert_eq!([1.0, 0.12345, -0.0001, 12.5, 100.0].map(number), ["1", "0.123", "0", "12.5", "100"]);
    }
}
