//! A shot's labels on a page, over its picture and overlay.

use std::sync::Arc;

use crate::case::document::{Case, Shot};
use crate::measure::body::BodyMap;
use crate::scene::label::View;
use crate::scene::page::Part;
use crate::scene::primitive::fit;
use crate::scene::shape::{Picture, Rect, Scene, Shape, Space};
use crate::scene::theme::Ground;

/// Puts a shot's labels on a page, over the overlay that stands in `room`; `enlarged` gives a part of the picture, in
/// whole pixels, for an inset. Returns what the legend below the picture says: numbers with their words, and the
/// words that found no room.
#[must_use]
pub fn on_page(
    case: &Case,
    shot: &Shot,
    map: Option<&BodyMap>,
    (overlay, room): (&Scene, Rect),
    enlarged: &dyn Fn(Rect) -> Option<Arc<Picture>>,
    parts: &mut Vec<Part>,
) -> Vec<(String, String)> {
    if shot.labels.is_empty() {
        return Vec::new();
    }
    let (scale, origin) = fit(overlay.bounds, room);
    let place = |p: crate::geom::point::Point| origin + p.to_vec() * scale;
    let view = View { case, shot, map, overlay: Some(overlay), bounds: overlay.bounds, room, place: &place };
    let drawn = view.drawn();
    let on_picture = |room, scene| Part { room, scene, ground: Ground::Picture };
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
        let words = super::said(shot, map, index)?;
        (super::number(&shot.labels, index).is_none())
            .then(|| ("–".to_owned(), format!("{words} (not in the part shown, or no room)")))
    }));
    legend
}
