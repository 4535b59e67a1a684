//! An arc that leaves a straight line smoothly, somewhere in space, as its parallel projection shows it.

use crate::geom::point::{Point, Vec2};

/// An arc in space beside an axis, such as a curved stylet beyond its cannula's mouth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Radius, in the unit of the picture.
    pub radius: f64,
    /// How far it bends, in radians, at least 0.
    pub bend_rad: f64,
    /// Turn about the axis, in radians: 0 bends in the picture's plane, clockwise on screen as seen along the axis; a
    /// quarter bends straight away from the viewer, a half to the other side.
    pub turn_rad: f64,
    /// How far the axis leans out of the picture's plane, away from the viewer, in radians; its length then shows
    /// foreshortened by the cosine.
    pub lean_rad: f64,
}

impl Arc {
    /// The place on the picture after a part `t` (0 to 1) of the bend, leaving `mouth` along `axis`, whose length does not
    /// matter; `None` for an axis without direction.
    ///
    /// With the axis `a`, `n` across it in the picture and `m` at right angles to both, the arc is
    /// `R sin θ a + R (1 − cos θ)(cos φ n + sin φ m)`; the picture shows what of it lies in its plane.
    #[must_use]
    pub fn at(&self, mouth: Point, axis: Vec2, t: f64) -> Option<Point> {
        let along = axis.normalized()?;
        let theta = t * self.bend_rad;
        let (forward, aside) = (self.radius * theta.sin(), self.radius * (1.0 - theta.cos()));
        let shown = forward * self.lean_rad.cos() - aside * self.turn_rad.sin() * self.lean_rad.sin();
        Some(mouth + along * shown + along.perpendicular() * (aside * self.turn_rad.cos()))
    }

    /// The whole arc as `steps` short pieces.
    #[must_use]
    pub fn course(&self, mouth: Point, axis: Vec2, steps: u32) -> Option<Vec<Point>> {
        (0..=steps).map(|i| self.at(mouth, axis, f64::from(i) / f64::from(steps.max(1)))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arc(turn_deg: f64, lean_deg: f64) -> Arc {
        Arc {
            radius: 40.0,
            bend_rad: 1.2,
            turn_rad: f64::to_radians(turn_deg),
            lean_rad: f64::to_radians(lean_deg),
        }
    }

    /// In the picture's plane every place is as far from the arc's centre as the radius.
    #[test]
    fn in_the_plane_it_is_a_circle_tangent_to_the_axis() {
        let (mouth, axis) = (Point::new(100.0, 50.0), Vec2::new(3.0, 4.0));
        let course = arc(0.0, 0.0).course(mouth, axis, 20).unwrap();
        let centre = mouth + Vec2::new(-0.8, 0.6) * 40.0;
        assert!(course.iter().all(|p| (p.distance(centre) - 40.0).abs() < 1e-9));
        let start = (course[1] - course[0]).normalized().unwrap();
        assert!(start.dot(Vec2::new(0.6, 0.8)) > 0.999);
        let found = crate::geom::circle::fit(&course).unwrap();
        assert!((found.radius - 40.0).abs() < 1e-6);
    }

    #[test]
    fn turned_by_a_quarter_it_shows_as_a_line_and_by_a_half_mirrored() {
        let (mouth, axis) = (Point::new(0.0, 0.0), Vec2::new(1.0, 0.0));
        let end = arc(90.0, 0.0).at(mouth, axis, 1.0).unwrap();
        assert!(end.y.abs() < 1e-9 && (end.x - 40.0 * 1.2_f64.sin()).abs() < 1e-9);
        let (one, other) =
            (arc(0.0, 0.0).at(mouth, axis, 1.0).unwrap(), arc(180.0, 0.0).at(mouth, axis, 1.0).unwrap());
        assert!((one.y + other.y).abs() < 1e-9 && (one.x - other.x).abs() < 1e-9);
        assert_eq!(arc(0.0, 0.0).at(mouth, Vec2::new(0.0, 0.0), 1.0), None);
    }

    /// Against the same arc built in space: rotations of the three axes by matrices.
    #[test]
    fn it_is_the_projection_of_an_arc_in_space() {
        for (turn, lean) in [(25.0, 10.0), (140.0, -35.0), (-60.0, 50.0)] {
            let arc = arc(turn, lean);
            let (sin, cos) = arc.lean_rad.sin_cos();
            // Picture: x right, y down, z away from the viewer; the axis along x before it leans.
            let a = [cos, 0.0, sin];
            let n = [0.0, 1.0, 0.0];
            let m = [-sin, 0.0, cos];
            for t in [0.3, 1.0] {
                let theta = t * arc.bend_rad;
                let (f, s) = (40.0 * theta.sin(), 40.0 * (1.0 - theta.cos()));
                let place = |i: usize| f * a[i] + s * (arc.turn_rad.cos() * n[i] + arc.turn_rad.sin() * m[i]);
                let shown = arc.at(Point::new(0.0, 0.0), Vec2::new(1.0, 0.0), t).unwrap();
                assert!((shown.x - place(0)).abs() < 1e-9 && (shown.y - place(1)).abs() < 1e-9);
            }
        }
    }
}
