//! The labels of a shot as a list: their numbers, another order, words in line.

use crate::case::annotation::{Label, LabelKind};
use crate::geom::point::{Point, Vec2};

/// A line that words are brought to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointedLine {
    /// The left ends, at the leftmost.
    Left,
    /// The right ends, at the rightmost.
    Right,
    /// The tops, at the topmost.
    Top,
    /// The middles, at half the height between the topmost and the lowest.
    Middle,
}

impl PointedLine {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Middle];
}

/// The number of the label at this place, if it is a numbered point: they count in the order of the list, from 1.
#[must_use]
pub fn number(labels: &[Label], index: usize) -> Option<usize> {
    let is_one = |label: &Label| label.kind() == Some(LabelKind::Number);
    labels.get(index).filter(|label| is_one(label))?;
    Some(labels.iter().take(index + 1).filter(|label| is_one(label)).count())
}

/// The labels with the one at `from` brought to `to`; as they are where there is none.
#[must_use]
pub fn reordered(labels: &[Label], from: usize, to: usize) -> Vec<Label> {
    let mut labels = labels.to_vec();
    if from < labels.len() {
        let label = labels.remove(from);
        labels.insert(to.min(labels.len()), label);
    }
    labels
}

/// Where words stand: their label's place in the list, the middle of their box, and half the box's size, upright as
/// the picture is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelBox {
    /// Whose they are.
    pub index: usize,
    /// The middle of their box as it is shown.
    pub middle: Point,
    /// Half its width and height.
    pub half: Vec2,
}

/// The middles of the boxes once these words are in line, in the same space and order.
#[must_use]
pub fn in_line(words: &[LabelBox], edge: PointedLine) -> Vec<Point> {
    let low = |of: fn(&LabelBox) -> f64| words.iter().map(of).fold(f64::INFINITY, f64::min);
    let high = |of: fn(&LabelBox) -> f64| words.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let left = low(|w| w.middle.x - w.half.x);
    let right = high(|w| w.middle.x + w.half.x);
    let top = low(|w| w.middle.y - w.half.y);
    let middle = 0.5 * (low(|w| w.middle.y) + high(|w| w.middle.y));
    words
        .iter()
        .map(|w| match edge {
            PointedLine::Left => Point::new(left + w.half.x, w.middle.y),
            PointedLine::Right => Point::new(right - w.half.x, w.middle.y),
            PointedLine::Top => Point::new(w.middle.x, top + w.half.y),
            PointedLine::Middle => Point::new(w.middle.x, middle),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels() -> Vec<Label> {
        let at = |x: f64| vec![Point::new(x, 0.0)];
        vec![
            Label::new(LabelKind::Number, at(0.0)).saying("a"),
            Label::new(LabelKind::Text, at(1.0)).saying("b"),
            Label::new(LabelKind::Number, at(2.0)).saying("c"),
        ]
    }

    #[test]
    fn numbers_follow_the_order_of_the_list() {
        let labels = labels();
        assert_eq!([0, 1, 2, 3].map(|i| number(&labels, i)), [Some(1), None, Some(2), None]);
        let other = reordered(&labels, 2, 0);
        assert_eq!(other.iter().map(|l| l.text.as_str()).collect::<Vec<_>>(), ["c", "a", "b"]);
        assert_eq!(number(&other, 1), Some(2));
        assert_eq!(reordered(&labels, 9, 0), labels);
    }

    /// Two boxes, 10 and 30 wide, 4 and 8 high.
    #[test]
    fn words_are_brought_in_line() {
        let words = [
            LabelBox { index: 0, middle: Point::new(20.0, 10.0), half: Vec2::new(5.0, 2.0) },
            LabelBox { index: 1, middle: Point::new(60.0, 30.0), half: Vec2::new(15.0, 4.0) },
        ];
        let x = |edge| in_line(&words, edge).iter().map(|p| p.x).collect::<Vec<_>>();
        let y = |edge| in_line(&words, edge).iter().map(|p| p.y).collect::<Vec<_>>();
        assert_eq!(x(PointedLine::Left), [20.0, 30.0]);
        assert_eq!(x(PointedLine::Right), [70.0, 60.0]);
        assert_eq!(y(PointedLine::Top), [10.0, 12.0]);
        assert_eq!(y(PointedLine::Middle), [20.0, 20.0]);
    }
}
