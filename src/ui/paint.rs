//! Primitives → egui shapes. It adds no numbers of its own: places, widths and colours come with the primitives.

use egui::epaint::{Mesh, PathShape, PathStroke, StrokeKind, Vertex, WHITE_UV};
use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use crate::geom::point::Point;
use crate::geom::slab::slabs;
use crate::scene::drawing::primitive::{Dash, Primitive};
use crate::scene::drawing::shape::{AlignX, AlignY, Scene};
use crate::scene::drawing::theme::{Colour, Ground, Theme};
use crate::ui::look::{colour, pt};

/// A place on the screen.
#[must_use]
pub const fn pos(p: Point) -> Pos2 {
    pos2(pt(p.x), pt(p.y))
}

/// Draws a scene; `screen_from_space` carries its coordinates to points of the screen.
pub fn scene(
    painter: &Painter,
    scene: &Scene,
    theme: &Theme,
    ground: Ground,
    screen_from_space: impl Fn(Point) -> Point,
) {
    primitives(painter, &Primitive::on(scene, theme, ground, screen_from_space));
}

/// Draws primitives in their order.
pub fn primitives(painter: &Painter, primitives: &[Primitive]) {
    for primitive in primitives {
        draw(painter, primitive);
    }
}

fn draw(painter: &Painter, primitive: &Primitive) {
    match primitive {
        Primitive::Stroke { points, closed, width, colour: c, dash } => {
            let points: Vec<Pos2> = points.iter().copied().map(pos).collect();
            line(painter, points, *closed, Stroke::new(pt(*width), colour(*c)), *dash);
        }
        Primitive::Strip { a, b, colour } => strip(painter, a, b, *colour),
        Primitive::Shade { lines, colour } => {
            for [left, right, under_right, under_left] in slabs(lines) {
                strip(painter, &[left, right], &[under_left, under_right], *colour);
            }
        }
        Primitive::Disc { centre, radius, colour: c } => {
            painter.circle_filled(pos(*centre), pt(*radius), colour(*c));
        }
        Primitive::Ring { centre, radius, width, colour: c } => {
            painter.circle_stroke(pos(*centre), pt(*radius), Stroke::new(pt(*width), colour(*c)));
        }
        Primitive::Words { at, align, words, size, colour: c, plate } => {
            let font = egui::FontId::proportional(pt(*size));
            let galley = painter.layout_no_wrap(words.clone(), font, colour(*c));
            let rect = anchor(*align).anchor_size(pos(*at), galley.size());
            if let Some(plate) = plate {
                painter.rect_filled(rect.expand2(vec2(4.0, 1.0)), 3.0, colour(*plate));
            }
            painter.galley(rect.min, galley, colour(*c));
        }
        // Pictures inside a scene are for figures; the window shows its own, in tiles.
        Primitive::Picture { .. } => {}
    }
}

const fn anchor((x, y): (AlignX, AlignY)) -> Align2 {
    match (x, y) {
        (AlignX::Left, AlignY::Top) => Align2::LEFT_TOP,
        (AlignX::Left, AlignY::Middle) => Align2::LEFT_CENTER,
        (AlignX::Left, AlignY::Bottom) => Align2::LEFT_BOTTOM,
        (AlignX::Middle, AlignY::Top) => Align2::CENTER_TOP,
        (AlignX::Middle, AlignY::Middle) => Align2::CENTER_CENTER,
        (AlignX::Middle, AlignY::Bottom) => Align2::CENTER_BOTTOM,
        (AlignX::Right, AlignY::Top) => Align2::RIGHT_TOP,
        (AlignX::Right, AlignY::Middle) => Align2::RIGHT_CENTER,
        (AlignX::Right, AlignY::Bottom) => Align2::RIGHT_BOTTOM,
    }
}

fn line(painter: &Painter, mut points: Vec<Pos2>, closed: bool, stroke: Stroke, dash: Dash) {
    if points.len() < 2 {
        return;
    }
    if dash.pattern.is_empty() {
        let stroke = PathStroke::new(stroke.width, stroke.color);
        let path = PathShape { points, closed, fill: Color32::TRANSPARENT, stroke };
        painter.add(Shape::Path(path));
        return;
    }
    if closed {
        points.push(points[0]);
    }
    let lengths: Vec<f32> = dash.pattern.iter().map(|&x| pt(x)).collect();
    for piece in dashes(&points, &lengths, pt(dash.offset)) {
        painter.add(Shape::line(piece, PathStroke::new(stroke.width, stroke.color)));
    }
}

/// The drawn pieces of a dashed line; `lengths` are dashes and gaps in turn, `offset` is where in them it begins.
fn dashes(points: &[Pos2], lengths: &[f32], offset: f32) -> Vec<Vec<Pos2>> {
    let total: f32 = lengths.iter().sum();
    if total <= 0.0 || lengths.iter().any(|x| *x <= 0.0) {
        return vec![points.to_vec()];
    }
    let mut left = offset.rem_euclid(total);
    let mut index = 0;
    while left >= lengths[index] {
        left -= lengths[index];
        index = (index + 1) % lengths.len();
    }
    let mut rest = lengths[index] - left;
    let mut pieces = Vec::new();
    let mut piece = if index % 2 == 0 { vec![points[0]] } else { Vec::new() };
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        let mut length = (to - from).length();
        while length > rest {
            let at = from + (to - from) * (rest / length);
            if index % 2 == 0 {
                piece.push(at);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![at];
            }
            index = (index + 1) % lengths.len();
            length -= rest;
            rest = lengths[index];
            from = at;
        }
        rest -= length;
        if index % 2 == 0 {
            piece.push(to);
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

/// A strip as triangles, so that it need not be convex.
fn strip(painter: &Painter, a: &[Point], b: &[Point], c: Colour) {
    let color = colour(c);
    let mut mesh = Mesh::default();
    for (p, q) in a.iter().zip(b) {
        for at in [*p, *q] {
            mesh.vertices.push(Vertex { pos: pos(at), uv: WHITE_UV, color });
        }
    }
    let pairs = u32::try_from(a.len().min(b.len())).unwrap_or(0);
    for i in 1..pairs {
        let first = 2 * (i - 1);
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first + 1, first + 2, first + 3);
    }
    painter.add(Shape::mesh(mesh));
}

/// A thin frame.
pub fn frame(painter: &Painter, rect: Rect, c: Colour) {
    painter.rect_stroke(rect, 4.0, Stroke::new(1.0, colour(c)), StrokeKind::Inside);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_cover_the_pattern_whatever_the_corners() {
        let points = [pos2(0.0, 0.0), pos2(3.0, 0.0), pos2(3.0, 7.0)];
        let pieces = dashes(&points, &[4.0, 2.0], 0.0);
        let length = |piece: &Vec<Pos2>| piece.windows(2).map(|w| (w[1] - w[0]).length()).sum::<f32>();
        assert_eq!(pieces.iter().map(length).collect::<Vec<_>>(), vec![4.0, 4.0]);
        assert_eq!(pieces[0], vec![pos2(0.0, 0.0), pos2(3.0, 0.0), pos2(3.0, 1.0)]);
        let shifted = dashes(&points, &[4.0, 2.0], 5.0);
        assert_eq!(shifted[0][0], pos2(1.0, 0.0), "it begins inside a gap");
    }
}
