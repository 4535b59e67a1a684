//! Scene + theme → flat, coloured primitives in screen or page points, so that every back end only has to copy
//! what it is given.

use std::sync::Arc;

use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::line_styles::Stroke;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Picture, Rect, Role, Scene, Shape, Space, Text};
use crate::scene::drawing::theme::{Colour, Ground, Sign, Theme};

/// Something a back end can draw without knowing what it means; all lengths in points.
#[derive(Clone, Debug, PartialEq)]
pub enum Primitive {
    /// A line of one colour, with round joins and flat ends.
    Stroke {
        /// The points.
        points: Vec<Point>,
        /// Whether the last is joined to the first.
        closed: bool,
        /// Width.
        width: f64,
        /// Colour.
        colour: Colour,
        /// Lengths of dashes and gaps, and where in the pattern the line begins.
        dash: Dash,
    },
    /// The area between two curves with the same number of points.
    Strip {
        /// One edge.
        a: Vec<Point>,
        /// The other, in the same direction.
        b: Vec<Point>,
        /// Colour.
        colour: Colour,
    },
    /// The area that lies in an odd number of closed lines.
    Shade {
        /// The lines.
        lines: Vec<Vec<Point>>,
        /// Colour.
        colour: Colour,
    },
    /// A filled circle.
    Disc {
        /// Centre.
        centre: Point,
        /// Radius.
        radius: f64,
        /// Colour.
        colour: Colour,
    },
    /// A circular line.
    Ring {
        /// Centre.
        centre: Point,
        /// Radius to the middle of the line.
        radius: f64,
        /// Width.
        width: f64,
        /// Colour.
        colour: Colour,
    },
    /// A line of text.
    Words {
        /// Its place.
        at: Point,
        /// How it stands to its place.
        align: (AlignX, AlignY),
        /// The words.
        words: String,
        /// Type size.
        size: f64,
        /// Colour.
        colour: Colour,
        /// Colour of the plate behind it, if it has one.
        plate: Option<Colour>,
    },
    /// A picture.
    Picture {
        /// The places of its top-left, top-right and bottom-left corners.
        corners: [Point; 3],
        /// What.
        picture: Arc<Picture>,
    },
}

/// A dash pattern.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Dash {
    /// Lengths of dashes and gaps in turn; empty for an unbroken line.
    pub pattern: &'static [f64],
    /// Where in the pattern the line begins.
    pub offset: f64,
}

impl Primitive {
    /// The primitives of a scene, in drawing order. `screen_from_space` carries the scene's coordinates to points
    /// of the screen or page.
    #[must_use]
    pub fn of(scene: &Scene, theme: &Theme, screen_from_space: impl Fn(Point) -> Point) -> Vec<Self> {
        let ground = match scene.space {
            Space::Image => Ground::Picture,
            Space::Points => Ground::Panel,
        };
        Self::on(scene, theme, ground, screen_from_space)
    }

    /// The same on a stated ground.
    #[must_use]
    pub fn on(
        scene: &Scene,
        theme: &Theme,
        ground: Ground,
        screen_from_space: impl Fn(Point) -> Point,
    ) -> Vec<Self> {
        let mut out = Vec::new();
        let place = |points: &[Point]| points.iter().map(|&p| screen_from_space(p)).collect::<Vec<_>>();
        for shape in &scene.shapes {
            match shape {
                Shape::Line { points, closed, role } => {
                    let stroke = match ground {
                        Ground::Picture => Theme::picture_stroke(*role),
                        Ground::Panel => theme.stroke(*role),
                    };
                    push_line(&mut out, &place(points), *closed, stroke);
                }
                Shape::Strip { a, b, role } => {
                    let colour = theme.fill(*role, ground);
                    // What cannot be seen is not drawn.
                    if colour.a > 0 {
                        out.push(Self::Strip { a: place(a), b: place(b), colour });
                    }
                }
                Shape::Shade { around, holes, role } => {
                    let edge = [
                        around.min,
                        Point::new(around.max.x, around.min.y),
                        around.max,
                        Point::new(around.min.x, around.max.y),
                    ];
                    let lines = std::iter::once(&edge[..]).chain(holes.iter().map(Vec::as_slice));
                    let colour = theme.fill(*role, ground);
                    out.push(Self::Shade { lines: lines.map(place).collect(), colour });
                }
                Shape::Marker { at, glyph, role } => {
                    push_glyph(&mut out, screen_from_space(*at), *glyph, theme.sign(*role, ground));
                }
                Shape::Text(text) => out.push(words(text, theme, ground, &screen_from_space)),
                Shape::Picture { rect, picture } => {
                    let corners =
                        [rect.min, Point::new(rect.max.x, rect.min.y), Point::new(rect.min.x, rect.max.y)];
                    out.push(Self::Picture {
                        corners: corners.map(&screen_from_space),
                        picture: Arc::clone(picture),
                    });
                }
            }
        }
        out
    }

    /// The primitives of one sign of this role by itself, for lists and buttons.
    #[must_use]
    pub fn sign(at: Point, glyph: Glyph, role: Role, theme: &Theme) -> Vec<Self> {
        let mut out = Vec::new();
        push_glyph(&mut out, at, glyph, theme.sign(role, Ground::Panel));
        out
    }
}

fn words(
    text: &Text,
    theme: &Theme,
    ground: Ground,
    screen_from_space: &impl Fn(Point) -> Point,
) -> Primitive {
    let (plate, colour) = match ground {
        Ground::Picture => {
            let (plate, colour) = Theme::plate(text.role);
            (text.plate.then_some(plate), colour)
        }
        Ground::Panel => (text.plate.then_some(theme.panel), theme.ink(text.role)),
    };
    Primitive::Words {
        at: displaced(text.at, text.offset, screen_from_space),
        align: text.align,
        words: text.words.clone(),
        size: Theme::points(text.size),
        colour,
        plate,
    }
}

/// The place of `at` on the screen, moved by an offset whose direction is the scene's and whose length is in
/// points: in a turned or mirrored picture a label stays on the same side of what it names.
pub(crate) fn displaced(
    at: Point,
    offset: (f64, f64),
    screen_from_space: &(impl Fn(Point) -> Point + ?Sized),
) -> Point {
    let place = screen_from_space(at);
    let offset = Vec2::new(offset.0, offset.1);
    let Some(direction) = offset.normalized() else { return place };
    match (screen_from_space(at + direction) - place).normalized() {
        Some(on_screen) => place + on_screen * offset.length(),
        None => place,
    }
}

/// The edge first, each of its dashes reaching as far beyond the core's as it does beside it.
fn push_line(out: &mut Vec<Primitive>, points: &[Point], closed: bool, stroke: Stroke) {
    if points.len() < 2 || points.iter().any(|p| !p.is_finite()) {
        return;
    }
    let dash = Dash { pattern: stroke.dash, offset: 0.0 };
    if let Some((reach, colour)) = stroke.edge {
        let width = stroke.width + 2.0 * reach;
        out.push(Primitive::Stroke { points: points.to_vec(), closed, width, colour, dash });
    }
    out.push(Primitive::Stroke {
        points: points.to_vec(),
        closed,
        width: stroke.width,
        colour: stroke.colour,
        dash,
    });
}

fn push_glyph(out: &mut Vec<Primitive>, at: Point, glyph: Glyph, sign: Sign) {
    if !at.is_finite() {
        return;
    }
    if let Some((reach, colour)) = sign.edge {
        glyph_parts(out, at, glyph, sign.radius, colour, reach);
    }
    glyph_parts(out, at, glyph, sign.radius, sign.colour, 0.0);
}

/// One layer of a sign: `reach` widens every part by that much on each side.
fn glyph_parts(out: &mut Vec<Primitive>, at: Point, glyph: Glyph, r: f64, colour: Colour, reach: f64) {
    let width = (0.36 * r).max(1.4) + 2.0 * reach;
    let mut stroke = |points: &[(f64, f64)]| {
        let points: Vec<_> = points.iter().map(|&(x, y)| at + Vec2::new(x * r, y * r)).collect();
        let ends = lengthened(&points, reach);
        out.push(Primitive::Stroke { points: ends, closed: false, width, colour, dash: Dash::default() });
    };
    match glyph {
        Glyph::Cross => {
            stroke(&[(-0.8, -0.8), (0.8, 0.8)]);
            stroke(&[(-0.8, 0.8), (0.8, -0.8)]);
        }
        Glyph::Plus => {
            stroke(&[(-1.0, 0.0), (1.0, 0.0)]);
            stroke(&[(0.0, -1.0), (0.0, 1.0)]);
        }
        Glyph::Bar => stroke(&[(-0.9, 0.0), (0.9, 0.0)]),
        Glyph::Disc => out.push(Primitive::Disc { centre: at, radius: r + reach, colour }),
        Glyph::Ring => out.push(Primitive::Ring { centre: at, radius: r - 0.18 * r, width, colour }),
        Glyph::Target => {
            out.push(Primitive::Ring { centre: at, radius: r - 0.15 * r, width: width - 0.1 * r, colour });
            out.push(Primitive::Disc { centre: at, radius: 0.26 * r + 0.8 * reach, colour });
        }
        Glyph::HalfDisc => {
            out.push(Primitive::Ring { centre: at, radius: r - 0.15 * r, width: width - 0.06 * r, colour });
            let (right, left) = half_circle(at, r - 0.1 * r);
            out.push(Primitive::Strip { a: right, b: left, colour });
        }
        Glyph::Square => {
            let s = 0.85 * r + reach;
            let corner = |x: f64, y: f64| at + Vec2::new(x * s, y * s);
            let (a, b) =
                (vec![corner(-1.0, -1.0), corner(1.0, -1.0)], vec![corner(-1.0, 1.0), corner(1.0, 1.0)]);
            out.push(Primitive::Strip { a, b, colour });
        }
        Glyph::Triangle => {
            let s = r + 1.6 * reach;
            let top = at + Vec2::new(0.0, -s);
            let a = vec![top, at + Vec2::new(-0.95 * s, 0.75 * s)];
            let b = vec![top, at + Vec2::new(0.95 * s, 0.75 * s)];
            out.push(Primitive::Strip { a, b, colour });
        }
    }
}

/// A two-point line made longer by `by` at both ends.
fn lengthened(points: &[Point], by: f64) -> Vec<Point> {
    let [a, b] = points else { return points.to_vec() };
    let Some(along) = (*b - *a).normalized() else { return points.to_vec() };
    vec![*a - along * by, *b + along * by]
}

/// The left half of a disc as a strip: from its upright diameter to its left arc.
fn half_circle(at: Point, r: f64) -> (Vec<Point>, Vec<Point>) {
    let steps = 16_u32;
    let angle = |i: u32| std::f64::consts::PI * (f64::from(i) / f64::from(steps));
    let right = (0..=steps).map(|i| at + Vec2::new(0.0, -r * angle(i).cos())).collect();
    let left = (0..=steps).map(|i| at + Vec2::new(-r * angle(i).sin(), -r * angle(i).cos())).collect();
    (right, left)
}

/// The map that fits `bounds` into `room`, centred, with one scale for both axes: its scale, and the place of the
/// space's origin.
#[must_use]
pub fn fit(bounds: Rect, room: Rect) -> (f64, Point) {
    let scale = (room.width() / bounds.width().max(1e-9)).min(room.height() / bounds.height().max(1e-9));
    (scale, room.centre() - bounds.centre().to_vec() * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_do_not_follow_the_zoom() {
        let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 9.0, 9.0));
        scene.line(vec![Point::new(0.0, 0.0), Point::new(9.0, 0.0)], Role::Border);
        let width = |zoom: f64| {
            let drawn = Primitive::of(&scene, &Theme::dark(), |p| Point::new(p.x * zoom, p.y * zoom));
            match &drawn[1] {
                Primitive::Stroke { points, width, .. } => (points[1].x, *width),
                other => panic!("{other:?}"),
            }
        };
        let ((near, thin), (far, same)) = (width(1.0), width(7.0));
        assert!((far / near - 7.0).abs() < 1e-12 && (thin - same).abs() < 1e-12);
    }

    #[test]
    fn nothing_is_drawn_of_a_line_that_runs_to_infinity() {
        let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 9.0, 9.0));
        scene.line(vec![Point::new(0.0, 0.0), Point::new(f64::INFINITY, 0.0)], Role::Border);
        scene.marker(Point::new(f64::NAN, 0.0), Glyph::Disc, Role::Tip);
        assert!(Primitive::of(&scene, &Theme::dark(), |p| p).is_empty());
    }

    #[test]
    fn fitting_keeps_the_shape_and_the_centre() {
        let (scale, origin) = fit(Rect::new(10.0, 10.0, 30.0, 20.0), Rect::new(0.0, 0.0, 100.0, 100.0));
        assert!((scale - 5.0).abs() < 1e-12);
        let centre = origin + Point::new(20.0, 15.0).to_vec() * scale;
        assert!(centre.distance(Point::new(50.0, 50.0)) < 1e-12);
    }
}
