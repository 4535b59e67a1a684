//! The way of a tip through a body: numbered places in order, joined, with an arrow to the last one.

use crate::geom::point::Point;
use crate::measure::body::{BodyMap, BodyPoint};
use crate::scene::body_map::parts::{Reach, drawn_at};
use crate::scene::body_map::{Coordinate, Position, Stop};
use crate::scene::comparison::arrow_and_marks::arrow;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Role, Scene, Text};
use crate::scene::format;

/// The two coordinates of a place that a drawing shows.
pub(super) type PlaceAxes = fn(&Position) -> (Option<Coordinate>, Option<Coordinate>);

pub(super) const SIDE: PlaceAxes = |p| (p.depth, p.height);
pub(super) const FRONT: PlaceAxes = |p| (p.across, p.height);
pub(super) const ABOVE: PlaceAxes = |p| (p.across, p.depth);

/// The stops of which both coordinates are known.
fn known(stops: &[Stop], pick: PlaceAxes) -> impl Iterator<Item = (usize, Coordinate, Coordinate)> + '_ {
    stops.iter().filter_map(move |stop| {
        let (a, b) = pick(&stop.position);
        Some((stop.number, a?, b?))
    })
}

/// Draws the way.
pub(super) fn way(scene: &mut Scene, map: &BodyMap, stops: &[Stop], pick: PlaceAxes, reach: Reach) {
    let places: Vec<(usize, Point)> = known(stops, pick)
        .map(|(number, a, b)| (number, drawn_at(scene, map, BodyPoint::new(a.value, b.value), reach)))
        .collect();
    let points: Vec<Point> = places.iter().map(|(_, p)| *p).collect();
    if let [before @ .., from, to] = points.as_slice() {
        if !before.is_empty() {
            scene.line(points[..points.len() - 1].to_vec(), Role::Accent);
        }
        arrow(scene, [*from, *to], 1.0);
    }
    for (number, at) in &places {
        scene.marker(*at, Glyph::Disc, Role::Tip);
        let text = Text::new(*at, number.to_string(), Role::Text).aligned(AlignX::Middle, AlignY::Bottom);
        scene.text(text.shifted(0.0, -6.0));
    }
}

/// The way in words, as the end of a sentence; empty without one.
pub(super) fn words(stops: &[Stop], pick: PlaceAxes) -> String {
    let places: Vec<String> = known(stops, pick)
        .map(|(number, a, b)| {
            format!("{number} at {} and {}", format::percent(a.value), format::percent(b.value))
        })
        .collect();
    if places.is_empty() { String::new() } else { format!(" Tip path: {}.", places.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Settings;
    use crate::scene::body_map::BodyDrawing;
    use crate::scene::drawing::shape::Shape;

    fn stop(number: usize, depth: Option<f64>, height: f64) -> Stop {
        let at = |value| Coordinate { value, sd: 0.02 };
        let position = Position { depth: depth.map(at), height: Some(at(height)), ..Position::default() };
        Stop { number, position }
    }

    /// Places whose depth is not known have no place from the side; the others are joined in order.
    #[test]
    fn the_way_goes_through_what_is_known() {
        let settings = Settings::default();
        let mut drawing = BodyDrawing::new(&settings, None);
        drawing.way = vec![stop(1, Some(0.1), 0.4), stop(2, None, 0.5), stop(3, Some(0.4), 0.5)];
        let side = drawing.side((240.0, 200.0));
        assert!(side.words.ends_with("Tip path: 1 at 10 % and 40 %, 3 at 40 % and 50 %."), "{}", side.words);
        let numbers: Vec<&str> = side
            .scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Text(text) if text.words.len() == 1 => Some(text.words.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(numbers, ["1", "3"]);
        assert!(!drawing.above((240.0, 200.0)).words.contains("The way"));
    }
}
