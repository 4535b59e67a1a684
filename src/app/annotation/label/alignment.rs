//! Words that are dragged come in line with other words: their edges or middles, where these are only a few points apart.

use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::shape::Rect;

/// How near edges or middles have to be to come in line, in points of the screen.
const NEAR: f64 = 6.0;

/// Where dragged words come to stand, and the lines that they stand on, in points of the canvas.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct InLine {
    pub(super) by: Vec2,
    pub(super) guides: Vec<[Point; 2]>,
}

/// How a box is brought in line with others: across and along apart, each with the nearest line there is.
pub(super) fn in_line(own: Rect, others: &[Rect]) -> InLine {
    let upright = nearest(others.iter().map(|other| (edges_x(*other), *other)), edges_x(own));
    let level = nearest(others.iter().map(|other| (edges_y(*other), *other)), edges_y(own));
    let by = Vec2::new(upright.map_or(0.0, |(by, ..)| by), level.map_or(0.0, |(by, ..)| by));
    let moved = Rect { min: own.min + by, max: own.max + by };
    let mut guides = Vec::new();
    if let Some((_, x, other)) = upright {
        let ends = (moved.min.y.min(other.min.y), moved.max.y.max(other.max.y));
        guides.push([Point::new(x, ends.0), Point::new(x, ends.1)]);
    }
    if let Some((_, y, other)) = level {
        let ends = (moved.min.x.min(other.min.x), moved.max.x.max(other.max.x));
        guides.push([Point::new(ends.0, y), Point::new(ends.1, y)]);
    }
    InLine { by, guides }
}

fn edges_x(r: Rect) -> [f64; 3] {
    [r.min.x, r.centre().x, r.max.x]
}

fn edges_y(r: Rect) -> [f64; 3] {
    [r.min.y, r.centre().y, r.max.y]
}

/// The least way to a line of the others, that line, and whose it is; none where all are too far.
fn nearest(others: impl Iterator<Item = ([f64; 3], Rect)>, own: [f64; 3]) -> Option<(f64, f64, Rect)> {
    let ways = others.flat_map(|(edges, other)| {
        let way = move |(from, to): (f64, f64)| (to - from, to, other);
        own.into_iter().zip(edges).map(way).collect::<Vec<_>>()
    });
    ways.filter(|(by, ..)| by.abs() <= NEAR).min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: the left edges are 4 points apart and the middles 40; the tops are 30 apart, the bottoms 26.
    #[test]
    fn near_edges_meet_and_far_ones_do_not() {
        let other = Rect::new(100.0, 50.0, 180.0, 66.0);
        let found = in_line(Rect::new(104.0, 80.0, 220.0, 92.0), &[other]);
        assert_eq!(found.by, Vec2::new(-4.0, 0.0));
        assert_eq!(found.guides, [[Point::new(100.0, 50.0), Point::new(100.0, 92.0)]]);
        let free = in_line(Rect::new(300.0, 180.0, 420.0, 192.0), &[other]);
        assert_eq!(free, InLine::default());
        assert_eq!(in_line(other, &[]), InLine::default());
    }

    #[test]
    fn both_ways_are_taken_and_the_nearer_line_wins() {
        let others = [Rect::new(100.0, 50.0, 180.0, 66.0), Rect::new(105.0, 300.0, 185.0, 316.0)];
        let found = in_line(Rect::new(104.0, 53.0, 184.0, 69.0), &others);
        assert_eq!(found.by, Vec2::new(1.0, -3.0));
        assert_eq!(found.guides.len(), 2);
    }
}
