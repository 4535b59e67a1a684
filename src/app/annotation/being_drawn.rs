//! The box or the line that is being drawn or moved on the image just now, before it is let go.

use crate::app::session::mode::Tool;
use crate::case::document::redaction::Cover;
use crate::geom::point::{Point, Vec2};

/// What is being drawn or moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BeingDrawn {
    /// Nothing.
    Nothing,
    /// A cover, with its place in the shot's list if it has one.
    Cover(Option<usize>, Cover),
    /// A line along a known length.
    Line([Point; 2]),
}

/// What the pointer holds, where it draws or moves something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Held {
    /// Something that begins at this place of the image.
    From(Point),
    /// The cover at this place of the shot's list, grasped at this place of the image.
    Cover(usize, Cover, Point),
}

impl BeingDrawn {
    /// What is drawn with this tool while the pointer is `at` a place of the image. A known length stays until it is used.
    #[must_use]
    pub fn of(tool: Tool, held: Option<Held>, at: Point) -> Self {
        match (held, tool) {
            (Some(Held::From(from)), Tool::Redaction { .. }) => {
                Cover::between(from, at).map_or(Self::Nothing, |cover| Self::Cover(None, cover))
            }
            (Some(Held::From(from)), Tool::Scale { .. }) => Self::Line([from, at]),
            (Some(Held::Cover(index, cover, from)), _) => {
                moved_by(cover, at - from).map_or(Self::Nothing, |cover| Self::Cover(Some(index), cover))
            }
            (None, Tool::Scale { ends: Some(ends) }) => Self::Line(ends),
            (Some(Held::From(_)), Tool::Marks | Tool::Annotations | Tool::Straighten)
            | (
                None,
                Tool::Marks
                | Tool::Annotations
                | Tool::Straighten
                | Tool::Redaction { .. }
                | Tool::Scale { ends: None },
            ) => Self::Nothing,
        }
    }
}

/// A cover put elsewhere, as long as it is one there.
#[must_use]
pub fn moved_by(cover: Cover, by: Vec2) -> Option<Cover> {
    Cover::between(cover.min + by, cover.max + by)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_tool_draws_its_own() {
        let (from, at) = (Point::new(10.0, 10.0), Point::new(30.0, 20.0));
        let redaction = Tool::Redaction { chosen: None };
        let Some(cover) = Cover::between(from, at) else { panic!("a box") };
        let of = |tool, held| BeingDrawn::of(tool, held, at);
        assert_eq!(of(redaction, Some(Held::From(from))), BeingDrawn::Cover(None, cover));
        assert_eq!(of(redaction, Some(Held::From(at))), BeingDrawn::Nothing, "a click has no area");
        let moved = Cover::between(from + Vec2::new(20.0, 10.0), at + Vec2::new(20.0, 10.0));
        assert_eq!(
            Some(of(redaction, Some(Held::Cover(2, cover, from)))),
            moved.map(|moved| BeingDrawn::Cover(Some(2), moved))
        );
        let line = |ends| Tool::Scale { ends };
        assert_eq!(of(line(None), Some(Held::From(from))), BeingDrawn::Line([from, at]));
        assert_eq!(of(line(Some([at, from])), None), BeingDrawn::Line([at, from]));
        assert_eq!(of(Tool::Marks, Some(Held::From(from))), BeingDrawn::Nothing);
        assert_eq!(of(line(None), None), BeingDrawn::Nothing);
    }
}
