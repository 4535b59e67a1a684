//! One order of drawing for pixels and PDF: which primitive is filled, which is stroked, and the shapes both are made of.

use std::sync::Arc;

use ttf_parser::OutlineBuilder;

use crate::geom::point::Point;
use crate::io::export::fault::ExportError;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::set_line::SetLine;
use crate::scene::drawing::shape::{Picture, Rect};
use crate::scene::drawing::theme::{CORNER_RADIUS, Colour};

/// How far from a quarter circle's end its tangent's point lies, as a share of the radius: 4/3 · tan(π/8).
const QUARTER: f64 = 0.552_284_749_8;

/// Which points count as inside where lines cross.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Inside {
    /// Those that the lines go round at least once.
    Wound,
    /// Those in an odd number of the lines.
    Odd,
}

/// Something that primitives are drawn on.
pub(super) trait DrawingSurface {
    /// A shape as the format's library has it.
    type Shape;

    /// A shape from its moves; none where there is nothing to draw.
    fn shape(moves: impl FnOnce(&mut dyn OutlineBuilder)) -> Option<Self::Shape>;
    /// Fills a shape.
    fn fill(&mut self, shape: Option<Self::Shape>, inside: Inside, colour: Colour);
    /// Draws a line along a shape, `width` points wide.
    fn stroke(&mut self, shape: Option<Self::Shape>, width: f64, colour: Colour, dash: Dash);
    /// Sets words.
    fn words(&mut self, words: &str, line: &SetLine, colour: Colour);
    /// Lays a picture on: its origin and the ends of its first row and column.
    fn picture(&mut self, corners: [Point; 3], picture: &Arc<Picture>) -> Result<(), ExportError>;

    /// Draws a primitive.
    fn primitive(&mut self, primitive: &Primitive) -> Result<(), ExportError> {
        match primitive {
            Primitive::Stroke { points, closed, width, colour, dash } => {
                self.stroke(path::<Self>([(points.as_slice(), *closed)]), *width, *colour, *dash);
            }
            Primitive::Strip { a, b, colour } => {
                let around: Vec<_> = a.iter().chain(b.iter().rev()).copied().collect();
                self.fill(path::<Self>([(around.as_slice(), true)]), Inside::Wound, *colour);
            }
            Primitive::Shade { lines, colour } => {
                let lines = lines.iter().map(|line| (line.as_slice(), true));
                self.fill(path::<Self>(lines), Inside::Odd, *colour);
            }
            Primitive::Disc { centre, radius, colour } => {
                self.fill(circle::<Self>(*centre, *radius), Inside::Wound, *colour);
            }
            Primitive::Ring { centre, radius, width, colour } => {
                self.stroke(circle::<Self>(*centre, *radius), *width, *colour, Dash::default());
            }
            Primitive::Words { at, align, words, size, colour, plate } => {
                let line = SetLine::of(words, *size, *at, *align);
                if let Some(plate) = plate {
                    self.fill(rounded::<Self>(line.plate(), CORNER_RADIUS - 1.0), Inside::Wound, *plate);
                }
                self.words(words, &line, *colour);
            }
            Primitive::Picture { corners, picture } => self.picture(*corners, picture)?,
        }
        Ok(())
    }
}

/// Both formats have single precision.
#[expect(clippy::cast_possible_truncation, reason = "the formats' numbers have single precision")]
pub(super) const fn single(value: f64) -> f32 {
    value as f32
}

/// Lines, each with whether its end is joined to its beginning.
fn path<'a, S: DrawingSurface + ?Sized>(
    lines: impl IntoIterator<Item = (&'a [Point], bool)>,
) -> Option<S::Shape> {
    S::shape(|to| {
        for (points, closed) in lines {
            for (i, p) in points.iter().enumerate() {
                let (x, y) = (single(p.x), single(p.y));
                if i == 0 { to.move_to(x, y) } else { to.line_to(x, y) }
            }
            if closed {
                to.close();
            }
        }
    })
}

fn circle<S: DrawingSurface + ?Sized>(centre: Point, radius: f64) -> Option<S::Shape> {
    rounded::<S>(Rect::new(centre.x, centre.y, centre.x, centre.y).grown(radius), radius)
}

/// A rectangle with round corners.
fn rounded<S: DrawingSurface + ?Sized>(r: Rect, radius: f64) -> Option<S::Shape> {
    let k = (1.0 - QUARTER) * radius;
    let (x0, y0, x1, y1) = (r.min.x, r.min.y, r.max.x, r.max.y);
    let s = single;
    S::shape(|to| {
        to.move_to(s(x0 + radius), s(y0));
        to.line_to(s(x1 - radius), s(y0));
        to.curve_to(s(x1 - k), s(y0), s(x1), s(y0 + k), s(x1), s(y0 + radius));
        to.line_to(s(x1), s(y1 - radius));
        to.curve_to(s(x1), s(y1 - k), s(x1 - k), s(y1), s(x1 - radius), s(y1));
        to.line_to(s(x0 + radius), s(y1));
        to.curve_to(s(x0 + k), s(y1), s(x0), s(y1 - k), s(x0), s(y1 - radius));
        to.line_to(s(x0), s(y0 + radius));
        to.curve_to(s(x0), s(y0 + k), s(x0 + k), s(y0), s(x0 + radius), s(y0));
        to.close();
    })
}
