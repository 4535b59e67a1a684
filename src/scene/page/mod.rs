//! A page: scenes laid out in rooms of their own, as every exporter takes it.

pub mod paper;
pub mod sheet;
pub mod table;

use crate::geom::point::Point;
use crate::scene::drawing::primitive::{Primitive, fit};
use crate::scene::drawing::shape::{Rect, Scene, Shape, Space};
use crate::scene::drawing::theme::{Ground, Theme};

/// A scene in its room on a page.
#[derive(Clone, Debug, PartialEq)]
pub struct PagePart {
    /// Where, in points of the page. A scene of a picture is fitted into it and cut at its edge; a drawing, whose
    /// points are the page's, begins at its top-left corner.
    pub room: Rect,
    /// What.
    pub scene: Scene,
    /// On what it lies.
    pub ground: Ground,
}

/// A page.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Width and height in points of the layout.
    pub size: (f64, f64),
    /// What stands on it.
    pub parts: Vec<PagePart>,
    /// Pixels to a point of the layout when the page becomes pixels.
    pub raster: f64,
    /// Points of paper, 72 to an inch, to a point of the layout: type and lines are made this much smaller or larger
    /// together.
    pub scale: f64,
    /// What was asked for and has no room on it, a sentence each, for whoever makes it.
    pub left_out: Vec<String>,
}

/// The primitives of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnPart {
    /// The edge at which they are cut.
    pub cut: Option<Rect>,
    /// The primitives in points of the page.
    pub primitives: Vec<Primitive>,
}

impl Page {
    /// A page with one drawing on it.
    #[must_use]
    pub fn of_drawing(scene: Scene) -> Self {
        let size = (scene.bounds.width(), scene.bounds.height());
        let room = Rect::new(0.0, 0.0, size.0, size.1);
        Self {
            size,
            parts: vec![PagePart { room, scene, ground: Ground::Panel }],
            raster: 2.0,
            scale: 1.0,
            left_out: Vec::new(),
        }
    }

    /// The lines of words on it, in drawing order.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        let shapes = self.parts.iter().flat_map(|part| &part.scene.shapes);
        shapes.filter_map(|shape| match shape {
            Shape::Text(text) => Some(text.words.as_str()),
            Shape::Line { .. }
            | Shape::Strip { .. }
            | Shape::Shade { .. }
            | Shape::Marker { .. }
            | Shape::Picture { .. } => None,
        })
    }

    /// The primitives of each part, in drawing order.
    #[must_use]
    pub fn drawn(&self, theme: &Theme) -> Vec<DrawnPart> {
        self.parts
            .iter()
            .map(|part| {
                let (scale, origin) = match part.scene.space {
                    Space::Image => fit(part.scene.bounds, part.room),
                    Space::Points => (1.0, part.room.min - part.scene.bounds.min.to_vec()),
                };
                let place = |p: Point| origin + p.to_vec() * scale;
                DrawnPart {
                    cut: matches!(part.scene.space, Space::Image).then_some(part.room),
                    primitives: Primitive::on(&part.scene, theme, part.ground, place),
                }
            })
            .collect()
    }
}
