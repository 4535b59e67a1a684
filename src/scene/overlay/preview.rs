//! What is not there yet: a border as the next click would make it, and marks that are only a draft.

use crate::geom::point::Point;
use crate::geom::segment;
use crate::scene::drawing::shape::{Role, Scene, Shape};

/// A line of the next drawing that lies this near to one of the present drawing is the same line, in the scene's
/// units.
const SAME: f64 = 0.75;

/// Whether a line follows from marks alone, so that it may look like a preview.
const fn is_marked(role: Role) -> bool {
    matches!(
        role,
        Role::Border
            | Role::MeanBorder
            | Role::SecondContour
            | Role::Pedicle
            | Role::SpinousProcess
            | Role::Cannula
    )
}

/// The next drawing, with every marked line that the present one does not have yet drawn as a preview.
#[must_use]
pub fn of_next(now: &Scene, next: Scene) -> Scene {
    let there: Vec<&[Point]> = now.shapes.iter().filter_map(marked_line).collect();
    restyled(next, Role::Preview, |points| !points.iter().all(|p| there.iter().any(|line| lies_on(*p, line))))
}

/// The drawing of marks that wait to be confirmed.
#[must_use]
pub fn of_draft(scene: Scene) -> Scene {
    restyled(scene, Role::Draft, |_| true)
}

fn restyled(mut scene: Scene, as_role: Role, which: impl Fn(&[Point]) -> bool) -> Scene {
    for shape in &mut scene.shapes {
        if let Shape::Line { points, role, .. } = shape
            && is_marked(*role)
            && which(points)
        {
            *role = as_role;
        }
    }
    scene
}

fn marked_line(shape: &Shape) -> Option<&[Point]> {
    match shape {
        Shape::Line { points, role, .. } if is_marked(*role) => Some(points),
        _ => None,
    }
}

fn lies_on(p: Point, line: &[Point]) -> bool {
    line.windows(2).any(|pair| segment::distance([pair[0], pair[1]], p) <= SAME)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::{Rect, Space};

    fn scene(lines: &[(&[(f64, f64)], Role)]) -> Scene {
        let mut scene = Scene::new(Space::Image, Rect::new(0.0, 0.0, 100.0, 100.0));
        for (points, role) in lines {
            scene.line(points.iter().map(|&(x, y)| Point::new(x, y)).collect(), *role);
        }
        scene
    }

    fn roles(scene: &Scene) -> Vec<Role> {
        let role = |shape: &Shape| match shape {
            Shape::Line { role, .. } => Some(*role),
            _ => None,
        };
        scene.shapes.iter().filter_map(role).collect()
    }

    #[test]
    fn only_the_border_that_is_new_looks_like_a_preview() {
        let now = scene(&[(&[(0.0, 0.0), (50.0, 0.0)], Role::Border)]);
        // The same border, sampled otherwise; a new one; and a band, which is no mark.
        let next = scene(&[
            (&[(0.0, 0.0), (20.0, 0.1), (50.0, 0.0)], Role::Border),
            (&[(0.0, 0.0), (0.0, 40.0)], Role::Border),
            (&[(20.0, 0.0), (20.0, 40.0)], Role::DepthBand),
        ]);
        assert_eq!(roles(&of_next(&now, next)), [Role::Border, Role::Preview, Role::DepthBand]);
    }

    #[test]
    fn all_marks_of_a_draft_are_dashed_and_the_tip_is_not() {
        let marks =
            scene(&[(&[(0.0, 0.0), (50.0, 0.0)], Role::Border), (&[(0.0, 0.0), (1.0, 1.0)], Role::Tip)]);
        assert_eq!(roles(&of_draft(marks)), [Role::Draft, Role::Tip]);
    }
}
