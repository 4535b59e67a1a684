//! The way of a tip through a body: numbered places in order, joined, with an arrow to the last one.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::scene::body_map::parts::{Reach, drawn_at};
use crate::scene::body_map::{Coordinate, Position, Stop};
use crate::scene::comparison::arrow_and_marks::arrow;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Text, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::type_metrics::width;
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
    let mut taken: Vec<Rect> = points.iter().map(|at| Rect::about(*at, SIGN)).collect();
    for at in &points {
        scene.marker(*at, Glyph::Disc, Role::Tip);
    }
    for (number, at) in &places {
        let words = number.to_string();
        let half =
            Vec2::new(0.5 * width(&words, TextSize::Small) + 1.0, 0.5 * Theme::points(TextSize::Small));
        let (to, ring) = free_place(scene.bounds, &taken, *at, half);
        taken.push(Rect { min: to - half, max: to + half });
        if ring > 0 {
            // Which place it belongs to is no longer seen by its nearness.
            let way = to - *at;
            let edge = 1.0 - (half.x.min(half.y) / way.length().max(1.0)).min(0.8);
            scene.line(vec![*at, *at + way * edge], Role::Leader);
        }
        scene.text(Text::new(to, words, Role::Text).aligned(AlignX::Middle, AlignY::Middle));
    }
}

/// Half of the box about the sign of a place.
const SIGN: f64 = 4.0;
/// How far from its place a number stands at first, and by how much further it moves.
const NEAR: f64 = 11.0;
const FURTHER: f64 = 8.0;
/// How often it is moved further.
const RINGS: u32 = 7;

/// Where a number of this half size finds room about its place, above first, and in which ring: off every sign and every
/// number that stands already.
fn free_place(bounds: Rect, taken: &[Rect], at: Point, half: Vec2) -> (Point, u32) {
    // Up, then to the sides, then down.
    const TURNS: [f64; 8] = [0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0];
    let ways = (0..RINGS).flat_map(|ring| {
        TURNS.map(|turn| {
            let (sin, cos) = (turn * std::f64::consts::FRAC_PI_4).sin_cos();
            (at + Vec2::new(sin, -cos) * (NEAR + FURTHER * f64::from(ring)), ring)
        })
    });
    let free = |(to, _): &(Point, u32)| {
        let own = Rect { min: *to - half, max: *to + half };
        bounds.contains(own.min)
            && bounds.contains(own.max)
            && !taken.iter().any(|other| own.overlaps(*other))
    };
    ways.clone().find(free).unwrap_or((at + Vec2::new(0.0, -NEAR), 0))
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

    /// Three places a percent or two apart, as at the end of a way: their numbers lie neither on each other nor on a sign.
    #[test]
    fn numbers_of_places_that_lie_close_are_apart() {
        let settings = Settings::default();
        for size in [(136.0, 120.0), (240.0, 200.0)] {
            let mut drawing = BodyDrawing::new(&settings, None);
            drawing.way = vec![
                stop(1, Some(0.02), 0.40),
                stop(2, Some(0.10), 0.44),
                stop(3, Some(0.25), 0.47),
                stop(4, Some(0.38), 0.50),
                stop(5, Some(0.39), 0.51),
                stop(6, Some(0.40), 0.50),
            ];
            let scene = drawing.side(size).scene;
            let number = |shape: &Shape| match shape {
                Shape::Text(text) if text.words.len() == 1 => Some(Rect::about(text.at, 4.0)),
                _ => None,
            };
            let sign = |shape: &Shape| match shape {
                Shape::Marker { at, glyph: Glyph::Disc, role: Role::Tip, .. } => Some(Rect::about(*at, 2.0)),
                _ => None,
            };
            let numbers: Vec<Rect> = scene.shapes.iter().filter_map(number).collect();
            let signs: Vec<Rect> = scene.shapes.iter().filter_map(sign).collect();
            assert_eq!((numbers.len(), signs.len()), (6, 6));
            for (i, a) in numbers.iter().enumerate() {
                assert!(numbers.iter().skip(i + 1).all(|b| !a.overlaps(*b)), "{size:?} {numbers:?}");
                assert!(signs.iter().all(|b| !Rect::about(a.centre(), 3.0).overlaps(*b)), "{size:?} {a:?}");
                assert!(scene.bounds.contains(a.centre()));
            }
        }
    }
}
