//! Whether boxes, lines and closed lines touch each other.

use crate::geom::enclosed::encloses;
use crate::geom::point::Point;
use crate::geom::segment::cross;
use crate::scene::drawing::shape::Rect;

/// The point of a box that is nearest to a place.
#[must_use]
pub fn nearest(at: Rect, p: Point) -> Point {
    Point::new(p.x.clamp(at.min.x, at.max.x), p.y.clamp(at.min.y, at.max.y))
}

/// The part of a line that lies in a box, its ends in their order; none where they do not meet.
#[must_use]
pub fn cut([a, b]: [Point; 2], at: Rect) -> Option<[Point; 2]> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let d = b - a;
    for (start, way, low, high) in [(a.x, d.x, at.min.x, at.max.x), (a.y, d.y, at.min.y, at.max.y)] {
        if way.abs() < 1e-12 {
            if start < low || start > high {
                return None;
            }
            continue;
        }
        let (s, t) = ((low - start) / way, (high - start) / way);
        from = from.max(s.min(t));
        to = to.min(s.max(t));
    }
    (from <= to).then(|| [a.lerp(b, from), a.lerp(b, to)])
}

/// Whether a line meets a box.
#[must_use]
pub fn meets(line: [Point; 2], at: Rect) -> bool {
    cut(line, at).is_some()
}

/// The sides of a closed line through these points.
fn sides(around: &[Point]) -> impl Iterator<Item = [Point; 2]> {
    around.iter().enumerate().map(|(i, a)| [*a, around[(i + 1) % around.len()]])
}

/// Whether a box touches the inside of a closed line.
#[must_use]
pub fn lies_on(at: Rect, around: &[Point]) -> bool {
    Enclosure::of(around.to_vec()).lies_under(at)
}

/// A closed line of which much is asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Enclosure {
    points: Vec<Point>,
    /// Around all of them; none where there are too few to have an inside.
    all: Option<Rect>,
}

impl Enclosure {
    /// The closed line through these points.
    #[must_use]
    pub fn of(points: Vec<Point>) -> Self {
        let all = Rect::around(points.iter().copied()).filter(|_| points.len() > 2);
        Self { points, all }
    }

    /// Whether a place lies inside.
    #[must_use]
    pub fn holds(&self, p: Point) -> bool {
        self.all.is_some_and(|all| all.contains(p)) && encloses(&self.points, p)
    }

    /// Whether a box touches its inside.
    #[must_use]
    pub fn lies_under(&self, at: Rect) -> bool {
        let near = |all: Rect| {
            at.min.x <= all.max.x && all.min.x <= at.max.x && at.min.y <= all.max.y && all.min.y <= at.max.y
        };
        self.all.is_some_and(near)
            && (encloses(&self.points, at.centre()) || sides(&self.points).any(|side| meets(side, at)))
    }

    /// Whether a line touches its inside.
    #[must_use]
    pub fn is_entered(&self, line: [Point; 2]) -> bool {
        self.all.is_some_and(|all| meets(line, all))
            && (line.into_iter().any(|end| self.holds(end))
                || sides(&self.points).any(|side| cross(line, side)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn a_line_is_cut_at_the_edges_of_a_box() {
        let at = Rect::new(10.0, 10.0, 20.0, 20.0);
        assert_eq!(cut([p(0.0, 15.0), p(40.0, 15.0)], at), Some([p(10.0, 15.0), p(20.0, 15.0)]));
        assert_eq!(cut([p(15.0, 12.0), p(15.0, 13.0)], at), Some([p(15.0, 12.0), p(15.0, 13.0)]));
        assert_eq!(cut([p(0.0, 0.0), p(5.0, 40.0)], at), None);
        assert!(meets([p(0.0, 20.0), p(20.0, 0.0)], at) && !meets([p(0.0, 19.0), p(19.0, 0.0)], at));
    }

    #[test]
    fn a_box_lies_on_what_it_holds_and_on_what_holds_it() {
        let square = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 100.0), p(0.0, 100.0)];
        assert!(lies_on(Rect::new(40.0, 40.0, 60.0, 60.0), &square));
        assert!(lies_on(Rect::new(-10.0, -10.0, 110.0, 110.0), &square));
        assert!(lies_on(Rect::new(-10.0, 40.0, 1.0, 60.0), &square));
        assert!(!lies_on(Rect::new(-10.0, 40.0, -1.0, 60.0), &square));
        assert!(!lies_on(Rect::new(0.0, 0.0, 9.0, 9.0), &[]));
    }

    #[test]
    fn lines_run_through_what_they_enter_or_cross() {
        let square = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 100.0), p(0.0, 100.0)];
        let square = Enclosure::of(square.to_vec());
        assert!(square.is_entered([p(-9.0, 50.0), p(109.0, 51.0)]));
        assert!(square.is_entered([p(-9.0, 50.0), p(9.0, 50.0)]));
        assert!(!square.is_entered([p(-9.0, -1.0), p(109.0, -1.0)]));
        assert!(square.holds(p(50.0, 50.0)) && !square.holds(p(101.0, 50.0)));
    }
}
