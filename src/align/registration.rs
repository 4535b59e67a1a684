//! Where every place of one picture lies in another one of the same body and view, and back.
//!
//! Over the body this is the registration through the body maps (method, section 7). Body maps say little beyond the
//! borders they were made from, so that a place further out is laid by the affine map that comes nearest to the
//! registration over the body. From a tenth of the body outside its borders to half of it, the one passes smoothly into the other.

use crate::case::document::{Case, Shot};
use crate::geom::affine::Affine;
use crate::geom::point::Point;
use crate::measure::ap::ap_body_map;
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::lateral::lateral_body_map;
use crate::measure::mark::View;

/// Up to this far outside the borders, in fractions of the body, the body maps alone count.
const INNER: f64 = 0.1;
/// From this far outside on, the affine map alone counts.
const OUTER: f64 = 0.5;
/// Places a side of the grid over the body to which the affine map is fitted.
const GRID: u32 = 9;

/// The first picture laid on the second.
///
/// [`Registration::back`] is what draws a picture. [`Registration::there`] is its inverse, to 1e-6 px.
#[derive(Clone, Debug)]
pub struct Registration {
    from: BodyMap,
    to: BodyMap,
    /// From the first picture into the second, and back.
    affine: Affine,
    affine_back: Affine,
    /// From the second picture to body coordinates, roughly: tells where the body map need not be asked.
    roughly: Affine,
    /// Whether the affine map alone counts, over the body too.
    straight: bool,
}

impl Registration {
    /// Laid through two body maps of one view; in AP both must run from the same entry side. `None` where the bodies are
    /// so thin that no affine map fits.
    #[must_use]
    pub fn new(from: BodyMap, to: BodyMap) -> Option<Self> {
        let in_both = |at| (from.to_image(at), to.to_image(at));
        let in_body = |at: BodyPoint| (to.to_image(at), Point::new(at.along, at.height));
        let affine = Affine::fit(&body_grid(GRID).map(in_both).collect::<Vec<_>>())?;
        let roughly = Affine::fit(&body_grid(GRID).map(in_body).collect::<Vec<_>>())?;
        Some(Self { affine_back: affine.inverse()?, from, to, affine, roughly, straight: false })
    }

    /// Two shots of a case, from the marks of both.
    ///
    /// # Errors
    /// A sentence that says which shot cannot be laid and what it lacks.
    pub fn of_shots(case: &Case, [from, to]: [&Shot; 2]) -> Result<Self, String> {
        let of = |shot: &Shot| {
            body_map(case, shot).map_err(|why| format!("The shot “{}” cannot be registered: {why}", shot.id))
        };
        Self::new(of(from)?, of(to)?)
            .ok_or_else(|| "One of the bodies is too thin for registration; check the corners.".to_owned())
    }

    /// The same two bodies laid by this affine map alone, from the first picture into the second; `None` where it
    /// cannot be undone.
    #[must_use]
    pub fn straight(&self, affine: Affine) -> Option<Self> {
        Some(Self { affine, affine_back: affine.inverse()?, straight: true, ..self.clone() })
    }

    /// Places over the body, borders included, as the marks have them in the first picture and in the second.
    #[must_use]
    pub fn pairs(&self) -> Vec<(Point, Point)> {
        body_grid(GRID).map(|at| (self.from.to_image(at), self.to.to_image(at))).collect()
    }

    /// The body map of the first picture.
    #[must_use]
    pub const fn from(&self) -> &BodyMap {
        &self.from
    }

    /// The body map of the second picture.
    #[must_use]
    pub const fn to(&self) -> &BodyMap {
        &self.to
    }

    /// The affine map that comes nearest over the body, from the first picture into the second.
    #[must_use]
    pub const fn affine(&self) -> Affine {
        self.affine
    }

    /// Whether a place of the second picture lies within the second body or this far outside it, in fractions of the
    /// body; by an affine map of the body, so roughly.
    #[must_use]
    pub fn is_near_body(&self, q: Point, margin: f64) -> bool {
        self.roughly_outside(q) <= margin
    }

    /// The least and the largest coordinates of the places for which [`Registration::is_near_body`] holds.
    pub(crate) fn box_near_body(&self, margin: f64) -> [Point; 2] {
        let everywhere = [Point::new(f64::MIN, f64::MIN), Point::new(f64::MAX, f64::MAX)];
        let Some(back) = self.roughly.inverse() else { return everywhere };
        let sides = [-margin, 1.0 + margin];
        let corners = sides.iter().flat_map(|&x| sides.iter().map(move |&y| back.apply(Point::new(x, y))));
        corners.fold([everywhere[1], everywhere[0]], |[low, high], p| {
            [Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y))]
        })
    }

    /// How far a place of the second picture lies outside the second body, in fractions of it, by an affine map.
    pub(crate) fn roughly_outside(&self, q: Point) -> f64 {
        let rough = self.roughly.apply(q);
        outside(BodyPoint::new(rough.x, rough.y))
    }

    /// Where a place of the second picture lies in the first.
    #[must_use]
    pub fn back(&self, q: Point) -> Point {
        let far = self.affine_back.apply(q);
        // The rough coordinates err by less than a third of the body unless it is badly deformed.
        if self.straight || self.roughly_outside(q) > OUTER + 0.3 {
            return far;
        }
        self.to.to_body(q).map_or(far, |at| self.joined(at, far))
    }

    /// The same for places at equal distances along a line, asked for one after another, to 1e-7 px: each is looked for in the
    /// body from where the last two were found.
    pub(super) fn back_along_a_line(&self) -> impl FnMut(Point) -> Point {
        let mut before: [Option<BodyPoint>; 2] = [None; 2];
        move |q| {
            let far = self.affine_back.apply(q);
            if self.straight || self.roughly_outside(q) > OUTER + 0.3 {
                before = [None; 2];
                return far;
            }
            let on = |a: f64, b: f64| b + (b - a);
            let at = match before {
                [Some(a), Some(b)] => {
                    let next = BodyPoint::new(on(a.along, b.along), on(a.height, b.height));
                    self.to.to_body_near(q, next, 1e-7)
                }
                _ => self.to.to_body(q),
            };
            before = [before[1], at];
            at.map_or(far, |at| self.joined(at, far))
        }
    }

    /// Where a place of the body lies in the first picture, which by the affine map lies at `far`.
    fn joined(&self, at: BodyPoint, far: Point) -> Point {
        let share = share_of_maps(outside(at));
        if share > 0.0 { far.lerp(self.from.to_image(at), share) } else { far }
    }

    /// Where a place of the first picture lies in the second.
    #[must_use]
    pub fn there(&self, p: Point) -> Point {
        if self.straight {
            return self.affine.apply(p);
        }
        if let Some(at) = self.from.to_body(p)
            && outside(at) <= INNER
        {
            return self.to.to_image(at);
        }
        let mut q = self.affine.apply(p);
        let mut miss = p - self.back(q);
        for _ in 0..60 {
            if miss.length() < 1e-6 {
                break;
            }
            // The registration differs from its affine map by little, so that this converges; where it does not at once, by
            // half steps.
            let step = self.affine.turned(miss);
            let mut size = 1.0;
            loop {
                let tried = q + step * size;
                let missed = p - self.back(tried);
                if missed.length() < miss.length() {
                    (q, miss) = (tried, missed);
                    break;
                }
                size *= 0.5;
                if size < 1e-3 {
                    return q;
                }
            }
        }
        q
    }
}

/// The body map of a shot as comparing uses it.
///
/// # Errors
/// A sentence that says what it lacks.
pub fn body_map(case: &Case, shot: &Shot) -> Result<BodyMap, String> {
    if shot.draft {
        return Err("its marks are a draft; confirm them first.".to_owned());
    }
    if !shot.view_set {
        return Err("its view is not set; set it first.".to_owned());
    }
    let found = match shot.view {
        View::Lateral => lateral_body_map(&shot.marks),
        View::Ap => ap_body_map(&shot.marks, shot.side, shot.patient_right.or(case.patient_right)),
        View::Pedicle => return Err("an en face pedicle view has no body map.".to_owned()),
    };
    found.map_err(|issue| issue.text)
}

/// Places of the body on a grid of `side × side`, borders included, row by row.
pub fn body_grid(side: u32) -> impl Iterator<Item = BodyPoint> {
    let last = f64::from(side.max(2) - 1);
    (0..side)
        .flat_map(move |j| (0..side).map(move |i| BodyPoint::new(f64::from(i) / last, f64::from(j) / last)))
}

/// How far a place lies outside the borders: the larger of the two directions.
fn outside(at: BodyPoint) -> f64 {
    let over = |x: f64| (x - x.clamp(0.0, 1.0)).abs();
    over(at.along).max(over(at.height))
}

/// The body maps' share: 1 up to [`INNER`], 0 from [`OUTER`] on, with no kink.
fn share_of_maps(outside: f64) -> f64 {
    let t = ((OUTER - outside) / (OUTER - INNER)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::geom::point::Vec2;
    use crate::measure::body::Outline;

    /// A bowed body of 350 × 270 units, its places carried by `at`.
    pub(crate) fn map(at: impl Fn(f64, f64) -> Point) -> BodyMap {
        let line = |points: &[(f64, f64)]| -> Vec<Point> { points.iter().map(|&(x, y)| at(x, y)).collect() };
        let outline = Outline::new(
            line(&[(0.0, 0.0), (170.0, 8.0), (350.0, 0.0)]),
            line(&[(10.0, 270.0), (180.0, 252.0), (360.0, 280.0)]),
            &line(&[(15.0, 130.0)]),
            &line(&[(332.0, 140.0)]),
        );
        BodyMap::new(&outline).unwrap()
    }

    fn similar(x: f64, y: f64) -> Point {
        let (sin, cos) = 0.2_f64.sin_cos();
        Point::new(900.0 - 1.3 * (cos * x - sin * y), 140.0 + 1.3 * (sin * x + cos * y))
    }

    /// A similarity carries body maps along, and it is its own nearest affine map: the registration is that similarity all over
    /// the picture, far outside the body too.
    #[test]
    fn a_similarity_is_found_everywhere() {
        let registration = Registration::new(map(Point::new), map(similar)).unwrap();
        for i in -10..=20 {
            for j in -10..=20 {
                let p = Point::new(f64::from(i) * 60.0, f64::from(j) * 60.0);
                let q = registration.there(p);
                assert!(q.distance(similar(p.x, p.y)) < 1e-5, "{p:?} {q:?}");
                assert!(registration.back(q).distance(p) < 1e-5, "{p:?} {q:?}");
            }
        }
    }

    /// Bodies marked a little differently: inside the registration of the method holds, further out the registration has no
    /// step, and it is the inverse of itself.
    #[test]
    fn it_has_no_step_and_can_be_undone() {
        let bent =
            |x: f64, y: f64| similar(x, y) + Vec2::new(6.0 * (y / 90.0).sin(), 5.0 * (x / 110.0).cos());
        let registration = Registration::new(map(Point::new), map(bent)).unwrap();
        let inside = registration.to().to_image(BodyPoint::new(0.3, 0.7));
        assert!(
            registration.back(inside).distance(registration.from().to_image(BodyPoint::new(0.3, 0.7))) < 1e-9
        );
        let mut last: Option<(Point, Point)> = None;
        for i in 0..600 {
            let q = similar(-300.0 + f64::from(i) * 1.5, 60.0);
            let p = registration.back(q);
            if let Some((q0, p0)) = last {
                assert!(p.distance(p0) < 2.0 * q.distance(q0) / 1.3, "{q:?}");
            }
            assert!(registration.there(p).distance(q) < 1e-4, "{q:?} {:?}", registration.there(p));
            last = Some((q, p));
        }
    }

    #[test]
    fn a_straight_one_is_its_affine_map() {
        let registration = Registration::new(map(Point::new), map(similar)).unwrap();
        let shift = Affine { origin: Point::new(3.0, -2.0), ..Affine::IDENTITY };
        let straight = registration.straight(registration.affine().then(shift)).unwrap();
        let p = Point::new(120.0, 80.0);
        assert!(straight.there(p).distance(registration.there(p) + Vec2::new(3.0, -2.0)) < 1e-9);
        assert!(straight.back(straight.there(p)).distance(p) < 1e-9);
        assert!(registration.straight(Affine { down: Vec2::default(), ..shift }).is_none());
    }
}
