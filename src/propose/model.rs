//! The shape of a body in a lateral view: fourteen numbers, what is usual of each, and the borders they make.
//!
//! Places are in millimetres of the body, or where there is no calibration in parts of a body whose walls lie 32 mm
//! apart: x from posterior to anterior, y from superior to inferior. Eight of the numbers are the corners' eight
//! coordinates in another form, so that a real body is not forced into a family.

use crate::geom::point::{Point, Vec2};

/// How many numbers a shape has.
pub(crate) const N: usize = 14;
/// Shift x and y (mm), rotation (rad), log size, log depth over height, wedge, difference of the plates' depths, lean,
/// sagitta and skew of the superior and of the inferior plate, waist of the posterior and of the anterior wall (mm).
pub(crate) type Shape = [f64; N];

/// Depth and height of the usual body, in millimetres.
const DEPTH_MM: f64 = 35.5;
const HEIGHT_MM: f64 = 28.0;

/// What is usual of each number, and how far it may stray.
#[derive(Clone, Debug)]
pub(crate) struct Prior {
    pub(crate) mean: Shape,
    pub(crate) sd: Shape,
    /// The largest oddity of a form that is proposed, in standard deviations.
    pub(crate) most_odd: f64,
}

/// The usual form of a kind of body, in any unit of length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualForm {
    /// Depth at the end plates, from posterior to anterior.
    pub depth: f64,
    /// Height between the end plates.
    pub height: f64,
    /// How far the middle of the posterior wall lies inside the line of its corners.
    pub posterior_waist: f64,
    /// The same of the anterior wall.
    pub anterior_waist: f64,
}

impl Prior {
    /// Bodies of another usual form, as large in the patch as human ones.
    pub(crate) fn of_form(form: UsualForm) -> Self {
        let least = |length: f64| length.max(1e-6);
        let (depth, height) = (least(form.depth), least(form.height));
        let size = (DEPTH_MM * HEIGHT_MM / (depth * height)).sqrt();
        let mut prior = Self::BODY;
        prior.mean[4] = (depth / height).ln() - (DEPTH_MM / HEIGHT_MM).ln();
        prior.mean[12] = size * form.posterior_waist;
        prior.mean[13] = size * form.anterior_waist;
        prior
    }

    /// Human lumbar and lower thoracic bodies.
    pub(crate) const BODY: Self = Self {
        mean: [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.5, 0.0, 1.5, 2.0],
        sd: [6.0, 6.0, 0.20, 0.15, 0.13, 0.12, 0.06, 0.07, 0.7, 0.35, 0.7, 0.35, 0.8, 1.0],
        most_odd: 2.2,
    };

    /// The same body again, seen from nearly the same direction.
    pub(crate) fn again(shape: &Shape) -> Self {
        Self {
            mean: *shape,
            sd: [1.5, 1.5, 0.05, 0.045, 0.045, 0.045, 0.045, 0.045, 0.45, 0.35, 0.45, 0.35, 0.5, 0.5],
            // A view turned by 8° parts the lines of a border by some millimetres, and the form with them.
            most_odd: 2.4,
        }
    }
}

/// One of the four borders.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Edge {
    /// Superior end plate, posterior to anterior.
    Superior,
    /// Inferior end plate.
    Inferior,
    /// Posterior wall, superior to inferior.
    Posterior,
    /// Anterior wall.
    Anterior,
}

impl Edge {
    /// All four, in the order used throughout.
    pub const ALL: [Self; 4] = [Self::Superior, Self::Inferior, Self::Posterior, Self::Anterior];

    /// Its place in [`Edge::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Superior => 0,
            Self::Inferior => 1,
            Self::Posterior => 2,
            Self::Anterior => 3,
        }
    }

    /// Its ends among the corners posterior-superior, anterior-superior, posterior-inferior, anterior-inferior.
    const fn ends(self) -> (usize, usize) {
        match self {
            Self::Superior => (0, 1),
            Self::Inferior => (2, 3),
            Self::Posterior => (0, 2),
            Self::Anterior => (1, 3),
        }
    }

    /// 1 where inward is to the right of the way along it (y down), else −1.
    const fn inward(self) -> f64 {
        match self {
            Self::Superior | Self::Anterior => 1.0,
            Self::Inferior | Self::Posterior => -1.0,
        }
    }
}

/// A place of a border and the direction out of the body there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OnEdge {
    pub(crate) at: Point,
    pub(crate) out: Vec2,
}

/// Corners posterior-superior, anterior-superior, posterior-inferior, anterior-inferior.
pub(crate) fn corners(shape: &Shape) -> [Point; 4] {
    let [tx, ty, rotation, size, aspect, wedge, depths, lean, ..] = *shape;
    let (depth, height) = (DEPTH_MM * (aspect / 2.0).exp(), HEIGHT_MM * (-aspect / 2.0).exp());
    let (hp, ha) = (height * (1.0 + wedge / 2.0), height * (1.0 - wedge / 2.0));
    let (ds, di) = (depth * (1.0 + depths / 2.0), depth * (1.0 - depths / 2.0));
    let shear = lean * height / 2.0;
    let (sin, cos) = rotation.sin_cos();
    let zoom = size.exp();
    let place = |x: f64, y: f64| Point::new(zoom * (x * cos - y * sin) + tx, zoom * (x * sin + y * cos) + ty);
    [
        place(-ds / 2.0 - shear, -hp / 2.0),
        place(ds / 2.0 - shear, -ha / 2.0),
        place(-di / 2.0 + shear, hp / 2.0),
        place(di / 2.0 + shear, ha / 2.0),
    ]
}

/// A border's place at a share of its chord, with the direction outward.
pub(crate) fn on_edge(shape: &Shape, corners: &[Point; 4], edge: Edge, t: f64) -> OnEdge {
    let (from, to) = edge.ends();
    let chord = corners[to] - corners[from];
    let inward = chord.normalized().unwrap_or(Vec2::new(1.0, 0.0)).perpendicular() * edge.inward();
    let (sagitta, skew) = bow(shape, edge);
    let deep = sagitta * 4.0 * t * (1.0 - t) + skew * 10.4 * t * (1.0 - t) * (1.0 - 2.0 * t);
    let slope = sagitta * 4.0 * (1.0 - 2.0 * t) + skew * 10.4 * (1.0 - 6.0 * t + 6.0 * t * t);
    let along = (chord + inward * slope).normalized().unwrap_or(Vec2::new(1.0, 0.0));
    let out = along.perpendicular() * -edge.inward();
    OnEdge { at: corners[from] + chord * t + inward * deep, out }
}

/// How far a border bows inward, and how unevenly.
const fn bow(shape: &Shape, edge: Edge) -> (f64, f64) {
    match edge {
        Edge::Superior => (shape[8], shape[9]),
        Edge::Inferior => (shape[10], shape[11]),
        Edge::Posterior => (shape[12], 0.0),
        Edge::Anterior => (shape[13], 0.0),
    }
}

/// The part of a border that is looked at: the ends are rounded, or have spurs.
const fn looked_at(edge: Edge) -> (usize, f64, f64) {
    match edge {
        Edge::Superior | Edge::Inferior => (36, 0.04, 0.96),
        Edge::Posterior | Edge::Anterior => (28, 0.05, 0.95),
    }
}

/// The shares of a border's chord at which it is looked for.
pub(crate) fn shares(edge: Edge) -> impl Iterator<Item = f64> {
    let (count, from, to) = looked_at(edge);
    #[expect(clippy::cast_precision_loss, reason = "some dozen places")]
    let share = move |i: usize| from + (to - from) * i as f64 / (count - 1) as f64;
    (0..count).map(share)
}

/// A border as it is looked for.
pub(crate) fn sampled(shape: &Shape, edge: Edge) -> Vec<OnEdge> {
    let corners = corners(shape);
    shares(edge).map(|t| on_edge(shape, &corners, edge, t)).collect()
}

/// Something of a shape that can be pointed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// A corner: posterior-superior, anterior-superior, posterior-inferior, anterior-inferior.
    Corner(usize),
    /// A border at a share of its chord.
    On(Edge, f64),
}

/// Where a target lies.
pub(crate) fn locate(shape: &Shape, target: Target) -> Point {
    let corners = corners(shape);
    match target {
        Target::Corner(i) => corners[i.min(3)],
        Target::On(edge, t) => on_edge(shape, &corners, edge, t).at,
    }
}

/// Evenly spaced places on all borders, ends included, `n` on each.
pub(crate) fn outline(shape: &Shape, n: usize) -> Vec<Point> {
    let corners = corners(shape);
    #[expect(clippy::cast_precision_loss, reason = "some dozen places")]
    let share = |i: usize| i as f64 / (n - 1) as f64;
    Edge::ALL
        .into_iter()
        .flat_map(|edge| (0..n).map(move |i| (edge, i)))
        .map(|(edge, i)| on_edge(shape, &corners, edge, share(i)).at)
        .collect()
}

/// The shape with one of its numbers a little larger.
pub(crate) fn nudged(shape: &Shape, index: usize, by: f64) -> Shape {
    let mut other = *shape;
    other[index] += by;
    other
}

/// How far a shape's form lies off what is usual: each number past place and rotation over its standard deviation.
pub(crate) fn oddity(shape: &Shape, prior: &Prior) -> [f64; N - 4] {
    std::array::from_fn(|i| (shape[i + 4] - prior.mean[i + 4]) / prior.sd[i + 4])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The usual body by hand: 35.5 × 28 mm about the origin, walls 32 mm apart at mid height.
    #[test]
    fn the_usual_body_by_hand() {
        let shape = Prior::BODY.mean;
        let [ps, as_, pi, ai] = corners(&shape);
        assert!(
            ps.distance(Point::new(-17.75, -14.0)) < 1e-12 && as_.distance(Point::new(17.75, -14.0)) < 1e-12
        );
        assert!(
            pi.distance(Point::new(-17.75, 14.0)) < 1e-12 && ai.distance(Point::new(17.75, 14.0)) < 1e-12
        );
        let walls = [Edge::Posterior, Edge::Anterior].map(|edge| locate(&shape, Target::On(edge, 0.5)));
        assert!((walls[1].x - walls[0].x - 32.0).abs() < 1e-12);
        let floor = locate(&shape, Target::On(Edge::Superior, 0.5));
        assert!(floor.distance(Point::new(0.0, -13.0)) < 1e-12);
    }

    /// By hand: 40 × 160 is as large as 15.76 × 63.06 mm, its waists of 4 and 6 are 1.58 and 2.36 mm.
    #[test]
    fn another_form_is_as_large_as_a_human_body() {
        let form = UsualForm { depth: 40.0, height: 160.0, posterior_waist: 4.0, anterior_waist: 6.0 };
        let shape = Prior::of_form(form).mean;
        let [ps, as_, pi, _] = corners(&shape);
        assert!((ps.distance(as_) - 15.764).abs() < 1e-3 && (ps.distance(pi) - 63.055).abs() < 1e-3);
        assert!((shape[12] - 1.576).abs() < 1e-3 && (shape[13] - 2.365).abs() < 1e-3);
    }

    #[test]
    fn outward_is_away_from_the_middle() {
        let shape = [2.0, -1.0, 0.3, 0.1, 0.1, 0.1, 0.02, 0.05, 1.0, 0.2, 1.2, -0.1, 1.0, 2.0];
        for edge in Edge::ALL {
            for place in sampled(&shape, edge) {
                let away = place.at - Point::new(2.0, -1.0);
                assert!(place.out.dot(away) > 0.0 && (place.out.length() - 1.0).abs() < 1e-12);
            }
        }
    }
}
