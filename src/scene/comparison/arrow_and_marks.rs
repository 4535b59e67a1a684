//! What is drawn of a comparison: the arrow from the earlier tip to the later one, and the marks of either shot.

use crate::align::registration::Registration;
use crate::case::document::{Case, Shot};
use crate::case::readings::ShotReading;
use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::mark::View;
use crate::scene::drawing::shape::{AlignX, AlignY, Glyph, Rect, Role, Scene, Shape, Space, Text};
use crate::scene::format;
use crate::scene::overlay::of_shot::ShotOverlay;
use crate::scene::overlay::{Layer, LayerSet};

/// Length of the strokes of an arrow's head, in points.
const HEAD: f64 = 9.0;
/// How far they open, in radians.
const OPEN: f64 = 0.45;
/// A shorter arrow is none, in points: the signs at its ends would meet.
const SHORTEST: f64 = 6.0;

/// Adds an arrow; `zoom` is points to a unit of the scene.
pub fn arrow(scene: &mut Scene, [from, to]: [Point; 2], zoom: f64) {
    scene.marker(from, Glyph::Ring, Role::Tip);
    let Some(back) = (from - to).normalized() else { return };
    if from.distance(to) * zoom < SHORTEST {
        return;
    }
    scene.line(vec![from, to], Role::Accent);
    let stroke = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        let turned = Vec2::new(cos * back.x - sin * back.y, sin * back.x + cos * back.y);
        to + turned * (HEAD / zoom.max(1e-9))
    };
    scene.line(vec![stroke(OPEN), to, stroke(-OPEN)], Role::Accent);
}

/// A shot whose marks are drawn.
#[derive(Clone, Copy, Debug)]
pub struct ComparisonMarks<'a> {
    /// The shot.
    pub shot: &'a Shot,
    /// Its body map, if it has one.
    pub map: Option<&'a BodyMap>,
    /// Its reading.
    pub reading: &'a ShotReading,
}

/// The marks and the target of a shot on its own picture.
#[must_use]
pub fn marks(case: &Case, drawn: ComparisonMarks<'_>, layers: LayerSet, zoom: f64, bounds: Rect) -> Scene {
    let ComparisonMarks { shot, map, reading } = drawn;
    ShotOverlay { case, shot, marks: &shot.marks, map, reading: Some(reading), layers, zoom }.scene(bounds)
}

/// A scene of one picture in another: every place carried, and what cannot be carried left out. What is already drawn
/// from the other shot's own marks looks like a draft here, so that the two are told apart.
#[must_use]
pub fn carried(scene: Scene, carry: impl Fn(Point) -> Option<Point>) -> Scene {
    let all = |points: &[Point]| points.iter().map(|&p| carry(p)).collect::<Option<Vec<Point>>>();
    let shapes = scene.shapes.iter().filter_map(|shape| {
        Some(match shape {
            Shape::Line { points, closed, role } => {
                Shape::Line { points: all(points)?, closed: *closed, role: faint(*role) }
            }
            Shape::Strip { a, b, role } => Shape::Strip { a: all(a)?, b: all(b)?, role: *role },
            Shape::Marker { at, glyph, role } => {
                let glyph = if *glyph == Glyph::Disc { Glyph::Ring } else { *glyph };
                Shape::Marker { at: carry(*at)?, glyph, role: *role }
            }
            Shape::Text(text) => Shape::Text(Text { at: carry(text.at)?, ..text.clone() }),
            Shape::Shade { .. } | Shape::Picture { .. } => return None,
        })
    });
    Scene { shapes: shapes.collect(), ..scene }
}

const fn faint(role: Role) -> Role {
    match role {
        Role::Border | Role::MeanBorder | Role::SecondContour | Role::Pedicle | Role::Cannula => Role::Draft,
        other => other,
    }
}

/// The place under the pointer, in either picture, with its fractions.
#[must_use]
pub fn pointed(view: View, at: Point, body: BodyPoint, bounds: Rect) -> Scene {
    let mut scene = Scene::new(Space::Image, bounds);
    scene.marker(at, Glyph::Plus, Role::Accent);
    let along = if view == View::Ap { "mediolateral" } else { "depth" };
    let words = format!("{along} {}, height {}", format::percent(body.along), format::percent(body.height));
    let text = Text::new(at, words, Role::Accent).aligned(AlignX::Middle, AlignY::Middle);
    scene.text(text.shifted(0.0, 22.0).on_plate());
    scene
}

/// Whose marks are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// Nobody's.
    Neither,
    /// The earlier shot's.
    Earlier,
    /// The later shot's.
    Later,
    /// Both shots'.
    Both,
}

impl Whose {
    /// All, in the order of their list.
    pub const ALL: [Self; 4] = [Self::Both, Self::Earlier, Self::Later, Self::Neither];

    /// Its word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Neither => "No marks",
            Self::Earlier => "Marks of the earlier shot",
            Self::Later => "Marks of the later shot",
            Self::Both => "Marks of both shots",
        }
    }

    /// Whether the earlier (0) or the later shot's (1) are drawn.
    #[must_use]
    pub const fn has(self, side: usize) -> bool {
        match self {
            Self::Neither => false,
            Self::Earlier => side == 0,
            Self::Later => side == 1,
            Self::Both => true,
        }
    }
}

/// How the marks of two shots are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Whose.
    pub whose: Whose,
    /// Which layers.
    pub layers: LayerSet,
    /// Points to a pixel of the later picture.
    pub zoom: f64,
    /// What of it is seen.
    pub bounds: Rect,
}

/// Everything drawn over two shots laid on each other, in the later picture: the marks of either, the way of the tip.
#[must_use]
pub fn laid(
    case: &Case,
    [from, to]: [ComparisonMarks<'_>; 2],
    registration: &Registration,
    way: Option<[Point; 2]>,
    style: &Style,
) -> Vec<Scene> {
    let Style { whose, layers, zoom, bounds } = *style;
    let mut scenes = Vec::new();
    if whose.has(0) {
        // Both shots' borders and bands lie on each other, so that they need to stand there only once.
        let twice = [Layer::Labels, Layer::Ruler, Layer::DepthBand, Layer::HeightBand, Layer::MidlineBand];
        let own = if whose.has(1) { twice.into_iter().fold(layers, LayerSet::without) } else { layers };
        scenes.push(carried(marks(case, from, own, zoom, bounds), |p| Some(registration.there(p))));
    }
    if whose.has(1) {
        scenes.push(marks(case, to, layers, zoom, bounds));
    }
    if let Some(ends) = way {
        let mut scene = Scene::new(Space::Image, bounds);
        arrow(&mut scene, ends, zoom);
        scenes.push(scene);
    }
    scenes
}

/// Names a picture in its top-left corner.
pub fn name(scene: &mut Scene, words: &str) {
    let at = scene.bounds.min;
    let text = Text::new(at, words, Role::Text).aligned(AlignX::Left, AlignY::Top);
    scene.text(text.shifted(8.0, 8.0).on_plate());
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene() -> Scene {
        Scene::new(Space::Image, Rect::new(0.0, 0.0, 100.0, 100.0))
    }

    #[test]
    fn an_arrow_points_at_the_later_tip_and_a_short_one_is_a_ring() {
        let mut long = scene();
        arrow(&mut long, [Point::new(10.0, 50.0), Point::new(60.0, 50.0)], 1.0);
        let Some(Shape::Line { points, .. }) = long.shapes.last() else { panic!("no head") };
        assert_eq!(points[1], Point::new(60.0, 50.0));
        assert!(points[0].x < 60.0 && points[2].x < 60.0 && points[0].y * points[2].y < 2500.0);
        let mut short = scene();
        arrow(&mut short, [Point::new(10.0, 50.0), Point::new(12.0, 50.0)], 1.0);
        assert_eq!(short.shapes.len(), 1);
    }

    #[test]
    fn what_cannot_be_carried_is_left_out() {
        let mut marks = scene();
        marks.line(vec![Point::new(0.0, 0.0), Point::new(10.0, 0.0)], Role::Border);
        marks.line(vec![Point::new(0.0, 0.0), Point::new(90.0, 0.0)], Role::Border);
        marks.marker(Point::new(5.0, 5.0), Glyph::Disc, Role::Tip);
        let carried = carried(marks, |p| (p.x < 50.0).then(|| p + Vec2::new(1.0, 2.0)));
        assert_eq!(carried.shapes.len(), 2);
        assert!(
            matches!(&carried.shapes[0], Shape::Line { role: Role::Draft, points, .. } if points[1] == Point::new(11.0, 2.0))
        );
        assert!(matches!(carried.shapes[1], Shape::Marker { glyph: Glyph::Ring, .. }));
    }
}
