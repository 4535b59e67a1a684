//! The contours a view shows of a body: where rays graze its walls, and the lines of its end plates.
//!
//! A border shows twice where its two sides do not fall together: the margins of the posterior wall and the
//! two sides of each end plate's rim in lateral, the rim's front and back in AP. Rounded walls show once.

use glam::DVec3;

use crate::geom::point::{Point, Vec2};
use crate::phantom::beam::Beam;
use crate::phantom::body::{Body, Plate};
use crate::phantom::size::PosteriorWall;

/// Which of a border's two contours: that of the part nearer the source, or of the part farther from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contour {
    /// Nearer the source, hence larger.
    Near,
    /// Farther from it.
    Far,
}

impl Contour {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Near => Self::Far,
            Self::Far => Self::Near,
        }
    }

    /// +1 for a near contour where `positive_is_near`, and for a far one where not.
    const fn sign(self, positive_is_near: bool) -> f64 {
        match (self, positive_is_near) {
            (Self::Near, true) | (Self::Far, false) => 1.0,
            (Self::Near, false) | (Self::Far, true) => -1.0,
        }
    }
}

/// Whether the posterior wall shows two contours.
#[must_use]
pub const fn posterior_shows_twice(body: &Body) -> bool {
    matches!(body.size.wall, PosteriorWall::Hollow(_))
}

/// The place of the posterior wall's contour at height `v` in a lateral view. A convex wall has one contour,
/// the same for near and far.
#[must_use]
pub fn posterior(body: &Body, beam: &Beam, contour: Contour, v: f64) -> DVec3 {
    let backward = outward(body, beam, 0.0);
    let at = |eta: f64| body.at(body.posterior(eta, v), eta, v);
    let reach = |eta: f64| beam.project(at(eta)).to_vec().dot(backward);
    match body.size.wall {
        PosteriorWall::Convex => at(summit(-0.9, 0.9, &reach).0),
        PosteriorWall::Hollow(_) => {
            let side = contour.sign(beam.left_is_near());
            let m = body.margin(v);
            let (eta, inside) = summit(0.4 * m, 0.5 + 0.5 * m, &|e| reach(side * e));
            // Where no ray grazes the margin its edge is still what shows.
            at(side * if inside { eta } else { m })
        }
    }
}

/// The place of the anterior wall's contour at height `v` in a lateral view.
#[must_use]
pub fn anterior(body: &Body, beam: &Beam, v: f64) -> DVec3 {
    let forward = outward(body, beam, 1.0);
    let at = |eta: f64| body.at(body.anterior(eta), eta, v);
    at(summit(-0.9, 0.9, &|eta| beam.project(at(eta)).to_vec().dot(forward)).0)
}

/// The place of a lateral wall's contour at height `v` in an AP view; `side` is +1 for the patient's left.
#[must_use]
pub fn side_wall(body: &Body, beam: &Beam, side: f64, v: f64) -> DVec3 {
    let outer = beam.project(body.at(0.5, side, 0.5)) - beam.project(DVec3::ZERO);
    let at = |u: f64| body.at(u, side * body.side(u, v), v);
    at(summit(0.1, 0.9, &|u| beam.project(at(u)).to_vec().dot(outer)).0)
}

/// The place on an end plate's line at depth `u` in a lateral view: along the middle of the rim on the near or
/// the far side, at the depth of the plate's floor.
#[must_use]
pub fn plate_lateral(body: &Body, beam: &Beam, plate: Plate, contour: Contour, u: f64) -> DVec3 {
    let side = contour.sign(beam.left_is_near());
    body.on_plate(plate, u, side * body.rim(u, height_of(plate)))
}

/// The place on an end plate's line in an AP view, `eta` from −1 (patient's right) to 1 (left): along the middle
/// of the rim in front or behind, bowed by the plate's concavity from side to side.
#[must_use]
pub fn plate_ap(body: &Body, beam: &Beam, plate: Plate, contour: Contour, eta: f64) -> DVec3 {
    let v = height_of(plate);
    let in_front = contour.sign(beam.front_is_near()) > 0.0;
    body.at(body.rim_depth(eta, v, in_front), eta, v) + body.floor_across(plate, eta)
}

/// The height of an end plate's rim.
const fn height_of(plate: Plate) -> f64 {
    match plate {
        Plate::Superior => 0.0,
        Plate::Inferior => 1.0,
    }
}

/// The picture's direction out of the body across the wall at depth `u` (0 or 1): at right angles to the wall.
///
/// A point found with it lies on the true contour up to the square of the angle between this direction and the
/// contour's own normal times the small distance along the section, far below a thousandth of a millimetre.
fn outward(body: &Body, beam: &Beam, u: f64) -> Vec2 {
    let along = beam.project(body.at(u, 0.0, 1.0)) - beam.project(body.at(u, 0.0, 0.0));
    let normal = along.perpendicular();
    let out = beam.project(body.at(u, 0.0, 0.5)) - beam.project(body.at(1.0 - u, 0.0, 0.5));
    if normal.dot(out) < 0.0 { -normal } else { normal }
}

/// Where `f` is largest between two ends, and whether that is a summit and not one of the ends.
fn summit(low: f64, high: f64, f: &dyn Fn(f64) -> f64) -> (f64, bool) {
    const STEPS: u32 = 24;
    let step = (high - low) / f64::from(STEPS);
    let values: Vec<f64> = (0..=STEPS).map(|i| f(low + step * f64::from(i))).collect();
    // The innermost true summit if there is one: at a margin the wall may rise again only beyond it.
    let peak = (1..values.len() - 1)
        .filter(|&i| values[i] >= values[i - 1] && values[i] > values[i + 1])
        .max_by(|&a, &b| values[a].total_cmp(&values[b]));
    let Some(peak) = peak else {
        return if values[0] > values[values.len() - 1] { (low, false) } else { (high, false) };
    };
    #[expect(clippy::cast_precision_loss, reason = "one of 25 steps")]
    let at = low + step * peak as f64;
    (golden(at - step, at + step, f), true)
}

/// Golden-section search for the largest value of a function with one summit.
fn golden(mut low: f64, mut high: f64, f: &dyn Fn(f64) -> f64) -> f64 {
    const RATIO: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (high - RATIO * (high - low), low + RATIO * (high - low));
    let (mut fa, mut fb) = (f(a), f(b));
    // Past this width the values no longer differ in their last bits.
    while high - low > 1e-7 {
        if fa < fb {
            (low, a, fa) = (a, b, fb);
            b = low + RATIO * (high - low);
            fb = f(b);
        } else {
            (high, b, fb) = (b, a, fa);
            a = high - RATIO * (high - low);
            fa = f(a);
        }
    }
    0.5 * (low + high)
}

/// The picture's point where a wall's contour and an end plate's meet: its place along the depth from the
/// wall's end, its place along the height from the plate's.
#[must_use]
pub fn meeting(on_wall: Point, on_plate: Point, along_wall: Vec2, along_plate: Vec2) -> Point {
    let t = (on_wall - on_plate).cross(along_wall) / along_plate.cross(along_wall);
    on_plate + along_plate * t
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, View};
    use crate::phantom::beam::Pose;
    use crate::phantom::size::{Sample, Size};

    fn body(level: Level) -> Body {
        Body::new(Size::typical(level, Sample::All))
    }

    /// A beam from so far away that it is parallel to one part in 10⁶.
    fn parallel(view: View, turn_deg: f64, tilt_deg: f64) -> Beam {
        let mut pose = Pose::true_view(view, 1.0, 0.0);
        (pose.source_to_body, pose.source_to_detector) = (1e8, 1e8);
        (pose.turn_deg, pose.tilt_deg) = (turn_deg, tilt_deg);
        pose.beam(DVec3::NEG_X)
    }

    #[test]
    fn in_a_true_parallel_view_near_and_far_fall_together() {
        for level in [Level::L2, Level::L4, Level::L5] {
            let (b, beam) = (body(level), parallel(View::Lateral, 0.0, 0.0));
            for i in 0..=10 {
                let t = f64::from(i) / 10.0;
                let gap = |f: &dyn Fn(Contour) -> DVec3| {
                    beam.project(f(Contour::Near)).distance(beam.project(f(Contour::Far)))
                };
                assert!(gap(&|c| posterior(&b, &beam, c, t)) < 1e-4);
                assert!(gap(&|c| plate_lateral(&b, &beam, Plate::Superior, c, t)) < 1e-4);
                let wall = beam.project(posterior(&b, &beam, Contour::Near, t));
                assert!(wall.distance(beam.project(b.at(0.0, 0.0, t))) < 1e-4, "{level:?} {t}");
                let front = beam.project(anterior(&b, &beam, t));
                assert!(front.distance(beam.project(b.at(1.0, 0.0, t))) < 1e-4);
            }
        }
    }

    /// A turn by θ parts the margins of a hollow wall by about 2·12·sin θ, and hardly moves a rounded wall.
    #[test]
    fn a_turn_parts_the_margins_and_spares_the_rounded_wall() {
        let (b, beam) = (body(Level::L2), parallel(View::Lateral, 5.0, 0.0));
        let x = |p: DVec3| beam.project(p).x;
        let apart =
            (x(posterior(&b, &beam, Contour::Near, 0.5)) - x(posterior(&b, &beam, Contour::Far, 0.5))).abs();
        let expected = b.size.canal_width * 5.0_f64.to_radians().sin();
        assert!((apart / expected - 1.0).abs() < 0.1, "{apart} for {expected}");
        let straight = parallel(View::Lateral, 0.0, 0.0);
        let moved = x(anterior(&b, &beam, 0.5)) - straight.project(anterior(&b, &straight, 0.5)).x;
        assert!(moved.abs() < 0.35, "{moved}");
    }

    /// No point of a wall shows outside its contour.
    #[test]
    fn contours_bound_what_shows() {
        let b = body(Level::L3);
        let mut pose = Pose::true_view(View::Lateral, 1.0, 0.0);
        (pose.turn_deg, pose.tilt_deg) = (3.0, 2.0);
        let beam = pose.beam(DVec3::NEG_X);
        let backward = outward(&b, &beam, 0.0);
        for v in [0.2, 0.5, 0.8] {
            let reach = |p: DVec3| beam.project(p).to_vec().dot(backward) / backward.length();
            let outermost = [Contour::Near, Contour::Far]
                .map(|c| reach(posterior(&b, &beam, c, v)))
                .into_iter()
                .fold(f64::NEG_INFINITY, f64::max);
            for i in -90..=90 {
                let eta = f64::from(i) / 100.0;
                assert!(reach(b.at(b.posterior(eta, v), eta, v)) < outermost + 1e-6);
            }
        }
    }

    #[test]
    fn contours_meet_where_depth_is_the_walls_and_height_the_plates() {
        let corner =
            meeting(Point::new(3.0, 0.7), Point::new(0.0, 5.0), Vec2::new(0.0, 2.0), Vec2::new(4.0, 0.0));
        assert_eq!(corner, Point::new(3.0, 5.0));
    }
}
