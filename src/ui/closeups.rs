//! Close-ups of the four corners of a proposed outline, each in the corner of the canvas that lies its way, so that a wrong
//! one is seen at a glance.

use egui::{Painter, Rect, Stroke, StrokeKind, pos2, vec2};

use crate::app::display::viewport::Transform;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{MarkKind, Marks};
use crate::scene::drawing::shape::Scene;
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::{colour, pt};
use crate::ui::magnifier::is_thin;
use crate::ui::paint;
use crate::ui::textures::Textures;

/// Side of each as a share of the canvas's shorter side, and its bounds in points.
const SHARE: f32 = 0.21;
const SIDE: (f32, f32) = (72.0, 150.0);
/// From the canvas's edge, and at its lower edge above what floats there.
const MARGIN: f32 = 10.0;
const FLOATS: f32 = 48.0;
/// How much larger than the image each shows it.
const FACTOR: f64 = 2.0;
/// A canvas smaller than this, in points, has no room for them.
const LEAST: f32 = 320.0;

/// Draws the close-ups while a proposed outline waits to be confirmed.
pub fn paint(
    painter: &Painter,
    canvas: Rect,
    (editor, document): (&Editor, &Document),
    textures: &Textures,
    drawn: &Scene,
    theme: &Theme,
) {
    let Some(shot) = document.shot() else { return };
    let outline = document.proposals.present(shot).and_then(|offer| offer.outline());
    let (Some(_), Some(marks)) = (outline, document.seen_marks()) else { return };
    let transform = editor.transform();
    let screen = |p: Point| {
        let at = transform.to_canvas(p);
        canvas.min + vec2(pt(at.x), pt(at.y))
    };
    let lines =
        Scene { shapes: drawn.shapes.iter().filter(|s| is_thin(s)).cloned().collect(), ..drawn.clone() };
    let zoom = transform.zoom * FACTOR;
    for (which, (at, rect)) in placed(canvas, &corners(marks).map(|p| (p, screen(p)))).into_iter().enumerate()
    {
        let covers = marks.placed().any(|(_, p)| rect.expand(6.0).contains(screen(p)));
        if covers {
            continue;
        }
        let side = f64::from(rect.width());
        let inner = Transform::about(at, Vec2::new(0.5 * side, 0.5 * side), zoom, transform.turn);
        let corner = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
        let painter = painter.with_clip_rect(rect.intersect(canvas));
        painter.rect_filled(rect, 0.0, colour(theme.ground));
        textures.paint_lens(&painter, editor, inner, (corner, side), which + 1);
        paint::scene(&painter, &lines, theme, Ground::Picture, |p| inner.to_canvas(p) + corner);
        painter.rect_stroke(rect, 0.0, Stroke::new(1.0, colour(theme.weak_text)), StrokeKind::Inside);
    }
}

/// The four corners of an outline, as far as they are placed.
fn corners(marks: &Marks) -> [Point; 4] {
    let ends = |kind| {
        let slots = marks.slots(kind);
        let end = |slot: Option<&Option<Point>>| slot.copied().flatten().unwrap_or_default();
        [end(slots.first()), end(slots.last())]
    };
    let ([a, b], [c, d]) = (ends(MarkKind::SuperiorEndPlate), ends(MarkKind::InferiorEndPlate));
    [a, b, c, d]
}

/// Each corner's image place with the square in which it is shown; none on a canvas that is too small.
fn placed(canvas: Rect, corners: &[(Point, egui::Pos2); 4]) -> Vec<(Point, Rect)> {
    let shorter = canvas.width().min(canvas.height());
    if shorter < LEAST {
        return Vec::new();
    }
    let side = (SHARE * shorter).clamp(SIDE.0, SIDE.1);
    let mut all: Vec<(Point, egui::Pos2)> = corners.to_vec();
    // The two upper ones go to the top, of each two the left one to the left, however the body lies.
    all.sort_by(|a, b| a.1.y.total_cmp(&b.1.y));
    let mut squares = Vec::new();
    for (pair, y) in all.chunks_mut(2).zip([canvas.top() + MARGIN, canvas.bottom() - FLOATS - side]) {
        pair.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        for ((at, _), x) in pair.iter().zip([canvas.left() + MARGIN, canvas.right() - MARGIN - side]) {
            squares.push((*at, Rect::from_min_size(pos2(x, y), vec2(side, side))));
        }
    }
    squares
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(x: f32, y: f32) -> (Point, egui::Pos2) {
        (Point::new(f64::from(x), f64::from(y)), pos2(x, y))
    }

    #[test]
    fn each_corner_is_shown_on_its_own_side() {
        let canvas = Rect::from_min_size(pos2(0.0, 0.0), vec2(900.0, 600.0));
        // Posterior on the right, and the body rotated.
        let corners =
            [corner(600.0, 180.0), corner(350.0, 230.0), corner(620.0, 400.0), corner(370.0, 450.0)];
        let found = placed(canvas, &corners);
        assert_eq!(found.len(), 4);
        for (at, rect) in &found {
            let middle = rect.center();
            assert_eq!(middle.x < 450.0, at.x < 450.0, "{at:?}");
            assert_eq!(middle.y < 300.0, at.y < 300.0, "{at:?}");
            assert!(canvas.contains_rect(*rect));
        }
        assert!(placed(Rect::from_min_size(pos2(0.0, 0.0), vec2(300.0, 300.0)), &corners).is_empty());
    }
}
