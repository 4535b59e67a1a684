//! Lines of words and the boxes that they fill.

use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::primitive::displaced;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Scene, Shape, Text, TextSize};
use crate::scene::drawing::theme::Theme;
use crate::scene::drawing::type_metrics::{self, wrap};

/// Room around the words in their box, level and upright, in points.
const PADDING: (f64, f64) = (5.0, 3.0);
/// The same about a number where room is short.
const CLOSE: (f64, f64) = (3.0, 1.0);

/// Words in lines no wider than the room; a word that is wider is broken.
pub(super) fn lines_of(words: &str, room: f64) -> Vec<String> {
    let mut out = Vec::new();
    for line in wrap(words, TextSize::Small, room) {
        let mut piece = String::new();
        for c in line.chars() {
            piece.push(c);
            if type_metrics::width(&piece, TextSize::Small) > room && piece.chars().count() > 1 {
                piece.pop();
                out.push(std::mem::replace(&mut piece, c.to_string()));
            }
        }
        out.push(piece);
    }
    out
}

pub(super) fn line_height() -> f64 {
    (Theme::points(TextSize::Small) * 1.3).round()
}

pub(super) fn half_of(lines: &[String]) -> Vec2 {
    let widest = lines.iter().map(|line| type_metrics::width(line, TextSize::Small)).fold(0.0, f64::max);
    #[expect(clippy::cast_precision_loss, reason = "a few lines")]
    let high = lines.len() as f64 * line_height();
    Vec2::new(0.5 * widest + PADDING.0, 0.5 * high + PADDING.1)
}

/// The boxes of a scene's words.
pub(super) fn boxes_of(scene: &Scene, place: &dyn Fn(Point) -> Point) -> Vec<Rect> {
    let box_of = |shape: &Shape| match shape {
        Shape::Text(text) => Some(box_around(text, place)),
        _ => None,
    };
    scene.shapes.iter().filter_map(box_of).collect()
}

/// The box of a line of text with its plate.
fn box_around(text: &Text, place: &dyn Fn(Point) -> Point) -> Rect {
    let size = Theme::points(text.size);
    let (wide, high) = (type_metrics::width(&text.words, text.size), 1.2 * size);
    let at = displaced(text.at, text.offset, place);
    let left = match text.align.0 {
        AlignX::Left => at.x,
        AlignX::Middle => at.x - 0.5 * wide,
        AlignX::Right => at.x - wide,
    };
    let top = match text.align.1 {
        AlignY::Top => at.y,
        AlignY::Middle => at.y - 0.5 * high,
        AlignY::Bottom => at.y - high,
    };
    Rect::new(left, top, left + wide, top + high).grown(2.0)
}

/// Half the size of a number that is as long as the numbers of so many labels can be.
pub(super) fn half_of_number(labels: usize) -> Vec2 {
    let digits: String = labels.to_string().chars().map(|_| '8').collect();
    let wide = type_metrics::width(&digits, TextSize::Small);
    Vec2::new(0.5 * wide + CLOSE.0, 0.5 * line_height() + CLOSE.1)
}
