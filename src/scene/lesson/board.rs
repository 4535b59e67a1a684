//! What the manual's drawings have in common: a typical body in a room, words, leaders, captions.

use crate::geom::point::{Point, Vec2};
use crate::measure::body::{BodyMap, BodyPoint, Outline};
use crate::scene::body_map::parts::{bone, borders, carried};
use crate::scene::body_map::side::{arch, arch_shape, typical_outline};
use crate::scene::drawing::primitive::fit;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Shape, Space, Text, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::type_metrics::wrap;

/// Width of every drawing of the manual in points.
pub const WIDTH: f64 = 720.0;

/// A drawing in the making.
#[derive(Clone, Debug)]
pub struct Board {
    /// The scene so far.
    pub scene: Scene,
}

/// The typical body, posterior on the left, placed in a drawing.
#[derive(Clone, Debug)]
pub struct PlacedBody {
    /// Its map into the drawing.
    pub map: BodyMap,
    /// Its outline in the drawing.
    pub outline: Outline,
    /// The silhouette of its pedicle.
    pub arch: [Vec<Point>; 2],
    /// Points of the drawing to a millimetre of a body 36 mm deep.
    pub scale: f64,
}

impl PlacedBody {
    /// The typical body with its arch fitted into a room; `None` only for a room without area.
    #[must_use]
    pub fn new(room: Rect) -> Option<Self> {
        Self::of(&typical_outline(), room)
    }

    /// Another outline in millimetres, with the same arch.
    #[must_use]
    pub fn of(outline: &Outline, room: Rect) -> Option<Self> {
        let arch = arch();
        let bounds = Rect::around(outline.first.iter().chain(&arch).flatten().copied())?;
        let (scale, origin) = fit(bounds, room);
        let place = |p: Point| origin + p.to_vec() * scale;
        let outline = carried(outline, &place);
        let map = BodyMap::new(&outline).ok()?;
        Some(Self { map, outline, arch: arch.map(|edge| edge.into_iter().map(place).collect()), scale })
    }

    /// A place of the body in the drawing.
    #[must_use]
    pub fn at(&self, along: f64, height: f64) -> Point {
        self.map.to_image(BodyPoint::new(along, height))
    }
}

impl Board {
    /// An empty drawing of this height.
    #[must_use]
    pub fn new(height: f64) -> Self {
        Self { scene: Scene::new(Space::Points, Rect::new(0.0, 0.0, WIDTH, height)) }
    }

    /// Pedicle, inside and outline of a body.
    pub fn body(&mut self, placed: &PlacedBody) {
        self.inside(placed);
        borders(&mut self.scene, &placed.map);
    }

    /// Pedicle and inside without the outline.
    pub fn inside(&mut self, placed: &PlacedBody) {
        arch_shape(&mut self.scene, &placed.arch);
        bone(&mut self.scene, &placed.map);
    }

    /// Small words at a place.
    pub fn words(&mut self, at: Point, align: (AlignX, AlignY), words: &str, role: Role) {
        self.scene.text(Text::new(at, words, role).aligned(align.0, align.1));
    }

    /// A number in body size.
    pub fn number(&mut self, at: Point, align: (AlignX, AlignY), words: &str, role: Role) {
        let text = Text::new(at, words, role).sized(TextSize::Body);
        self.scene.text(text.aligned(align.0, align.1));
    }

    /// A title over a part of the drawing.
    pub fn title(&mut self, at: Point, words: &str) {
        self.scene
            .text(Text::new(at, words, Role::Text).sized(TextSize::Body).aligned(AlignX::Left, AlignY::Top));
    }

    /// Small words in lines no wider than `width`, downward from `at`; returns where the next line would stand.
    pub fn paragraph(&mut self, at: Point, width: f64, align: AlignX, words: &str, role: Role) -> f64 {
        let step = (Theme::points(TextSize::Small) * 1.35).round();
        let mut y = at.y;
        for line in wrap(words, TextSize::Small, width) {
            self.words(Point::new(at.x, y), (align, AlignY::Top), &line, role);
            y += step;
        }
        y
    }

    /// Another drawing, its top-left corner at `at`.
    pub fn put(&mut self, at: Point, scene: Scene) {
        let by = at - scene.bounds.min;
        let moved = |points: Vec<Point>| points.into_iter().map(|p| p + by).collect();
        self.scene.shapes.extend(scene.shapes.into_iter().map(|shape| match shape {
            Shape::Line { points, closed, role } => Shape::Line { points: moved(points), closed, role },
            Shape::Strip { a, b, role } => Shape::Strip { a: moved(a), b: moved(b), role },
            Shape::Shade { around, holes, role } => Shape::Shade {
                around: Rect { min: around.min + by, max: around.max + by },
                holes: holes.into_iter().map(moved).collect(),
                role,
            },
            Shape::Marker { at, glyph, role } => Shape::Marker { at: at + by, glyph, role },
            Shape::Text(text) => Shape::Text(Text { at: text.at + by, ..text }),
            Shape::Picture { rect, picture } => {
                Shape::Picture { rect: Rect { min: rect.min + by, max: rect.max + by }, picture }
            }
        }));
    }

    /// A thin line from words to what they name; it ends a little before it.
    pub fn leader(&mut self, from: Point, to: Point) {
        let Some(along) = (to - from).normalized() else { return };
        self.scene.line(vec![from, to - along * 7.0], Role::Leader);
    }

    /// A circle around a place.
    pub fn circle(&mut self, centre: Point, radius: f64, role: Role) {
        let (a, b) = crate::scene::overlay::body_lines::halves(&around(centre, radius));
        self.scene.strip(a, b, role);
        self.scene.outline(around(centre, radius), role);
    }
}

fn around(centre: Point, radius: f64) -> Vec<Point> {
    (0..48)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 48.0).sin_cos();
            centre + Vec2::new(radius * cos, radius * sin)
        })
        .collect()
}
