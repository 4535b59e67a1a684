//! Areas between closed lines, cut into level slabs, for back ends that fill no polygons with holes.

use crate::geom::point::Point;

/// A slab: its corners top left, top right, bottom right, bottom left.
pub type Slab = [Point; 4];

/// The area that lies in an odd number of the closed lines, as slabs that touch and do not overlap (the even-odd
/// rule). Lines that cross themselves or each other are allowed; points that are not finite are left out.
#[must_use]
pub fn slabs(lines: &[Vec<Point>]) -> Vec<Slab> {
    let edges = edges(lines);
    let mut cuts: Vec<f64> = edges.iter().flat_map(|(a, b)| [a.y, b.y]).collect();
    for (i, &e) in edges.iter().enumerate() {
        cuts.extend(edges[i + 1..].iter().filter_map(|&f| crossing_y(e, f)));
    }
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let mut out = Vec::new();
    for pair in cuts.windows(2) {
        let (top, bottom) = (pair[0], pair[1]);
        let mut through: Vec<(f64, f64)> = edges
            .iter()
            .filter(|(a, b)| a.y <= top && b.y >= bottom)
            .map(|&edge| (x_at(edge, top), x_at(edge, bottom)))
            .collect();
        through.sort_by(|p, q| (p.0 + p.1).total_cmp(&(q.0 + q.1)));
        for sides in through.chunks_exact(2) {
            let ((l0, l1), (r0, r1)) = (sides[0], sides[1]);
            out.push([
                Point::new(l0, top),
                Point::new(r0, top),
                Point::new(r1, bottom),
                Point::new(l1, bottom),
            ]);
        }
    }
    out
}

/// The edges of closed lines that are not level, upper end first.
fn edges(lines: &[Vec<Point>]) -> Vec<(Point, Point)> {
    let mut edges = Vec::new();
    for line in lines {
        let points: Vec<Point> = line.iter().copied().filter(|p| p.is_finite()).collect();
        for (i, &a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            if a.y < b.y {
                edges.push((a, b));
            } else if b.y < a.y {
                edges.push((b, a));
            }
        }
    }
    edges
}

fn x_at((a, b): (Point, Point), y: f64) -> f64 {
    a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y))
}

/// The height at which two edges cross between their ends.
fn crossing_y((a, b): (Point, Point), (c, d): (Point, Point)) -> Option<f64> {
    let (u, v) = (b - a, d - c);
    let det = u.cross(v);
    let t = (c - a).cross(v) / det;
    let s = (c - a).cross(u) / det;
    let inside = |x: f64| x > 0.0 && x < 1.0;
    (inside(t) && inside(s)).then_some(a.y + t * u.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn area(slabs: &[Slab]) -> f64 {
        slabs.iter().map(|s| 0.5 * ((s[1].x - s[0].x) + (s[2].x - s[3].x)) * (s[3].y - s[0].y)).sum()
    }

    fn square(side: f64) -> Vec<Point> {
        vec![p(0.0, 0.0), p(side, 0.0), p(side, side), p(0.0, side)]
    }

    /// By hand: 100 − a triangle of 8.
    #[test]
    fn what_is_left_around_a_hole_has_the_rest_of_the_area() {
        let hole = vec![p(2.0, 2.0), p(6.0, 2.0), p(3.0, 6.0)];
        assert!((area(&slabs(&[square(10.0), hole])) - 92.0).abs() < 1e-9);
        assert!((area(&slabs(&[square(10.0)])) - 100.0).abs() < 1e-9);
    }

    /// An arrowhead that bends inward: a triangle of 16 less one of 8. And a bow tie, twice a triangle of 4.
    #[test]
    fn holes_may_bend_inward_and_cross_themselves() {
        let bent = vec![p(1.0, 1.0), p(5.0, 9.0), p(9.0, 1.0), p(5.0, 5.0)];
        assert!((area(&slabs(&[square(10.0), bent])) - 84.0).abs() < 1e-9);
        let tie = vec![p(1.0, 1.0), p(5.0, 5.0), p(5.0, 1.0), p(1.0, 5.0)];
        assert!((area(&slabs(&[tie])) - 8.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_comes_of_nothing() {
        assert!(slabs(&[]).is_empty() && slabs(&[vec![p(1.0, f64::NAN)], vec![p(1.0, 1.0)]]).is_empty());
    }
}
