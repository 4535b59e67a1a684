//! Covers on the picture, what is proposed as one, and the line along a known length.

use crate::app::annotation::being_drawn::BeingDrawn;
use crate::app::pages::active;
use crate::app::session::document::Document;
use crate::app::session::mode::Tool;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::case::document::redaction::Cover;
use crate::geom::point::Point;
use crate::scene::drawing::shape::{Glyph, Rect as SceneRect, Role, Scene, Space};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::ui::look::colour;
use crate::ui::paint;

/// Covers, opaque but while they are drawn; what is proposed as an outline; the line along a known length.
pub(crate) fn paint(
    painter: &egui::Painter,
    state: &State,
    document: &Document,
    shot: &Shot,
    drawing: &BeingDrawn,
    theme: &Theme,
    screen: impl Fn(Point) -> Point,
) {
    let editing = match document.tool() {
        Tool::Redaction { chosen } => Some(chosen),
        Tool::Marks | Tool::Scale { .. } | Tool::Annotations | Tool::Straighten => None,
    };
    let mut boxes = shot.covers.clone();
    let mut chosen = editing.flatten();
    if let BeingDrawn::Cover(index, cover) = drawing {
        match index.and_then(|index| boxes.get_mut(index)) {
            Some(place) => *place = *cover,
            None => boxes.push(*cover),
        }
        chosen = index.or(Some(boxes.len() - 1));
    }
    let mut lines = Scene::new(Space::Image, SceneRect::new(0.0, 0.0, 1.0, 1.0));
    let fill = colour(theme.ground);
    // While covers are worked on, what lies beneath must be seen to judge them.
    let fill = if editing.is_some() { fill.gamma_multiply(0.55) } else { fill };
    for (i, cover) in boxes.iter().enumerate() {
        filled(painter, cover, fill, &screen);
        if editing.is_some() {
            let role = if chosen == Some(i) { Role::Accent } else { Role::Frame };
            lines.outline(corners(cover).to_vec(), role);
        }
    }
    for cover in crate::app::annotation::redaction::proposed(active(state)) {
        lines.outline(corners(&cover).to_vec(), Role::Undecided);
    }
    if let BeingDrawn::Line(ends) = drawing {
        lines.line(ends.to_vec(), Role::Accent);
        for end in ends {
            lines.marker(*end, Glyph::Ring, Role::ChosenHandle);
        }
    }
    paint::scene(painter, &lines, theme, Ground::Picture, screen);
}

/// Covers that hide what lies beneath.
pub(crate) fn opaque(
    painter: &egui::Painter,
    covers: &[Cover],
    theme: &Theme,
    screen: impl Fn(Point) -> Point,
) {
    for cover in covers {
        filled(painter, cover, colour(theme.ground), &screen);
    }
}

fn filled(painter: &egui::Painter, cover: &Cover, fill: egui::Color32, screen: &impl Fn(Point) -> Point) {
    let points = corners(cover).map(|p| paint::pos(screen(p))).to_vec();
    painter.add(egui::Shape::convex_polygon(points, fill, egui::Stroke::NONE));
}

fn corners(cover: &Cover) -> [Point; 4] {
    let Cover { min, max } = *cover;
    [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
}
