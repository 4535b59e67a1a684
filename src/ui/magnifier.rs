//! The magnifier: what lies under the pointer, larger, in the corner opposite to it.

use egui::{Painter, Rect, Stroke, StrokeKind, pos2, vec2};

use crate::app::display::viewport::Transform;
use crate::app::session::editor::Editor;
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::primitive::Primitive;
use crate::scene::drawing::shape::{Role, Scene, Shape};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::{colour, pt};
use crate::ui::paint;
use crate::ui::textures::Textures;

/// Smallest and largest side in points.
const SIDE: (f32, f32) = (120.0, 240.0);
/// How much larger than the picture it shows.
const FACTOR: f64 = 3.5;
/// From this zoom on, in points to a pixel, the picture itself is large enough.
const LARGE_ENOUGH: f64 = 12.0;
/// The largest zoom in the magnifier.
const LARGEST: f64 = 16.0;
/// From the canvas's edge.
const MARGIN: f32 = 12.0;

/// Where the magnifier stands: in the corner of the canvas that is farthest from the pointer.
#[must_use]
pub fn place(canvas: Rect, pointer: egui::Pos2) -> Rect {
    let side = (0.3 * canvas.width().min(canvas.height())).clamp(SIDE.0, SIDE.1);
    let middle = canvas.center();
    let x = if pointer.x < middle.x { canvas.right() - MARGIN - side } else { canvas.left() + MARGIN };
    let y = if pointer.y < middle.y { canvas.bottom() - MARGIN - side } else { canvas.top() + MARGIN };
    Rect::from_min_size(pos2(x, y), vec2(side, side))
}

/// Draws the magnifier about an image place.
pub fn paint(
    painter: &Painter,
    canvas: Rect,
    at: Point,
    editor: &Editor,
    textures: &Textures,
    drawn: &Scene,
    theme: &Theme,
) {
    let transform = editor.transform();
    if transform.zoom >= LARGE_ENOUGH {
        return;
    }
    let seen = transform.to_canvas(at);
    let rect = place(canvas, canvas.min + vec2(pt(seen.x), pt(seen.y)));
    let zoom = (transform.zoom * FACTOR).clamp(2.0, LARGEST);
    let middle = Vec2::new(f64::from(rect.width()) * 0.5, f64::from(rect.height()) * 0.5);
    let inner = Transform::about(at, middle, zoom, transform.turn);
    let corner = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    let painter = painter.with_clip_rect(rect.intersect(canvas));
    painter.rect_filled(rect, 0.0, colour(theme.ground));
    textures.paint_lens(&painter, editor, inner, (corner, f64::from(rect.width())), 0);
    let lines =
        Scene { shapes: drawn.shapes.iter().filter(|s| is_thin(s)).cloned().collect(), ..drawn.clone() };
    paint::scene(&painter, &lines, theme, Ground::Picture, |p| inner.to_canvas(p) + corner);
    cross(&painter, rect, theme);
    let edge = colour(theme.edge);
    painter.rect_stroke(rect, 0.0, Stroke::new(1.0, edge), StrokeKind::Inside);
}

/// Words and areas would hide what is to be seen.
pub(super) const fn is_thin(shape: &Shape) -> bool {
    matches!(shape, Shape::Line { .. })
}

/// A cross whose arms leave the middle free.
fn cross(painter: &Painter, rect: Rect, theme: &Theme) {
    let middle = rect.center();
    let arm = rect.width() * 0.5;
    let scene_line = |a: egui::Pos2, b: egui::Pos2| {
        let point = |p: egui::Pos2| Point::new(f64::from(p.x), f64::from(p.y));
        Shape::Line { points: vec![point(a), point(b)], closed: false, role: Role::Accent }
    };
    let mut shapes = Vec::new();
    for way in [vec2(1.0, 0.0), vec2(-1.0, 0.0), vec2(0.0, 1.0), vec2(0.0, -1.0)] {
        shapes.push(scene_line(middle + way * 9.0, middle + way * (arm * 0.45)));
    }
    let bounds = crate::scene::drawing::shape::Rect::new(0.0, 0.0, 1.0, 1.0);
    let scene = Scene { space: crate::scene::drawing::shape::Space::Points, bounds, shapes };
    paint::primitives(painter, &Primitive::on(&scene, theme, Ground::Picture, |p| p));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_never_covers_the_place_under_the_pointer() {
        for (w, h) in [(524.0, 460.0), (300.0, 260.0), (2000.0, 1200.0)] {
            let canvas = Rect::from_min_size(pos2(200.0, 80.0), vec2(w, h));
            for i in 0..=40_u8 {
                for j in 0..=40_u8 {
                    let (x, y) = (f32::from(i) / 40.0, f32::from(j) / 40.0);
                    let pointer = canvas.min + vec2(x * w, y * h);
                    let lens = place(canvas, pointer);
                    assert!(!lens.expand(6.0).contains(pointer), "{pointer:?} in {lens:?}");
                }
            }
        }
    }
}
