//! A shot's labels on a page, over its picture and overlay.

use std::sync::Arc;

use crate::case::annotation::LabelKind;
use crate::case::document::{Case, Shot};
use crate::geom::point::Point;
use crate::measure::body::BodyMap;
use crate::scene::annotation::words::boxes_of;
use crate::scene::annotation::{AnnotatedView, WithoutRoom};
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{Picture, Rect, Scene, Shape, Space};
use crate::scene::drawing::theme::Ground;
use crate::scene::page::PagePart;

/// What stands behind words that are not on the picture.
pub const NO_ROOM: &str = " (outside the part shown, or no room)";

/// Puts a shot's labels on a page, over the overlay that stands in `room`, and off a drawing in the room's own points
/// that is to lie over it; `enlarged` gives a part of the picture, in
/// whole pixels, for an inset. Returns what the legend below the picture says: numbers with their words, and the
/// words that found no room.
#[must_use]
pub fn on_page(
    case: &Case,
    shot: &Shot,
    map: Option<&BodyMap>,
    ([overlay, over], room, without_room): ([&Scene; 2], Rect, WithoutRoom),
    enlarged: &dyn Fn(Rect) -> Option<Arc<Picture>>,
    parts: &mut Vec<PagePart>,
) -> Vec<(String, String)> {
    if shot.labels.is_empty() {
        return Vec::new();
    }
    let (scale, origin) = fit(overlay.bounds, room);
    let place = |p: Point| origin + p.to_vec() * scale;
    let kept = kept_free(over, room);
    let view = AnnotatedView {
        case,
        shot,
        map,
        overlay: Some(overlay),
        kept: &kept,
        bounds: overlay.bounds,
        room,
        without_room,
        place: &place,
    };
    let drawn = view.drawn();
    let on_picture = |room, scene| PagePart { room, scene, ground: Ground::Picture };
    parts.push(on_picture(room, drawn.lines));
    for inset in &drawn.insets {
        let mut scene = Scene::new(Space::Image, inset.from);
        if let Some(picture) = enlarged(inset.from) {
            scene.picture(inset.from, picture);
        }
        // Words and areas would hide what is to be seen.
        scene.shapes.extend(overlay.shapes.iter().filter(|s| matches!(s, Shape::Line { .. })).cloned());
        parts.push(on_picture(inset.to, scene));
    }
    let mut words = drawn.words;
    words.bounds = room;
    parts.push(on_picture(room, words));
    let mut legend = drawn.legend;
    legend.extend(drawn.left_out.iter().filter_map(|&index| {
        let label = shot.labels.get(index)?;
        let words = match label.kind()? {
            LabelKind::Number => label.words(),
            _ => super::said(shot, map, index)?,
        };
        Some(("–".to_owned(), format!("{words}{NO_ROOM}")))
    }));
    legend
}

/// The boxes of what lies over the picture, in the page's points.
fn kept_free(over: &Scene, room: Rect) -> Vec<Rect> {
    let from = room.min - over.bounds.min;
    let place = |p: Point| p + from;
    let of_line = |shape: &Shape| match shape {
        Shape::Line { points, .. } => Rect::around(points.iter().map(|&p| place(p))),
        _ => None,
    };
    boxes_of(over, &place).into_iter().chain(over.shapes.iter().filter_map(of_line)).collect()
}
