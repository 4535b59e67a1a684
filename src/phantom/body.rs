//! One vertebral body as surfaces, with its pedicles and spinous process.
//!
//! A place on or in the body is given by its depth `u` (0 posterior to 1 anterior), its height `v` (0 superior
//! to 1 inferior) and its distance `eta` from the middle plane as a fraction of the half width at that height.
//! Only sums, products, quotients and square roots are used on the way to a point, so that the bits are the
//! same on every machine.

use glam::DVec3;

use crate::phantom::size::{PosteriorWall, Size};

/// Depth at which a horizontal section is widest.
const WIDEST: f64 = 0.45;
/// The visible line of an end plate runs along the middle of its rim: the central plate takes about 70 % of
/// the diameter and the rim, 3–7 mm wide, the rest (Wang 2012).
pub const RIM_MIDDLE: f64 = 0.85;
/// How near its ends that line can be followed, as a fraction of its length (no source, plausible).
const LINE_ENDS: f64 = 0.05;
/// Depth at which end plates are deepest: in the posterior half (Sun W et al., sagittal CT, L3–S1).
const DEEPEST: f64 = 0.42;

/// One of the two end plates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plate {
    /// The upper one.
    Superior,
    /// The lower one.
    Inferior,
}

/// A vertebral body about its own middle.
#[derive(Clone, Debug)]
pub struct Body {
    /// Its sizes.
    pub size: Size,
}

/// The part of the arch that connects the body with what lies behind it, on one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pedicle {
    /// The middle of its narrowest section.
    pub centre: DVec3,
    /// From the body backward and outward, length one.
    pub axis: DVec3,
    /// From medial to lateral border, half the width long.
    pub lateral: DVec3,
    /// From inferior to superior border, half the height long.
    pub superior: DVec3,
}

/// The tip of the spinous process, whose oval shadow an AP view shows (“Isolated spinous process deviation”, 1989).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spinous {
    /// Its middle.
    pub tip: DVec3,
    /// Half its thickness, side to side.
    pub half_thickness: f64,
    /// Half its height.
    pub half_height: f64,
}

impl Body {
    /// A body of these sizes.
    #[must_use]
    pub const fn new(size: Size) -> Self {
        Self { size }
    }

    /// Depth coordinate of the posterior outline at height `v`.
    #[must_use]
    pub fn back(&self, v: f64) -> f64 {
        let s = &self.size;
        let top = -0.5 * s.superior_depth - 0.5 * s.lean;
        let bottom = -0.5 * s.inferior_depth + 0.5 * s.lean;
        top + (bottom - top) * v + s.posterior_waist * bow(v)
    }

    /// Depth coordinate of the anterior outline at height `v`.
    #[must_use]
    pub fn front(&self, v: f64) -> f64 {
        let s = &self.size;
        let top = 0.5 * s.superior_depth - 0.5 * s.lean;
        let bottom = 0.5 * s.inferior_depth + 0.5 * s.lean;
        top + (bottom - top) * v - s.anterior_waist * bow(v)
    }

    /// Half width at height `v`.
    #[must_use]
    pub fn half_width(&self, v: f64) -> f64 {
        let s = &self.size;
        0.5 * (s.superior_width + (s.inferior_width - s.superior_width) * v) - s.side_waist * bow(v)
    }

    /// A place between the planes of the two rims.
    #[must_use]
    pub fn at(&self, u: f64, eta: f64, v: f64) -> DVec3 {
        let (back, front) = (self.back(v), self.front(v));
        let half_height = self.half_height(u);
        DVec3::new(back + (front - back) * u, eta * self.half_width(v), half_height * (1.0 - 2.0 * v))
    }

    /// Half the height between the planes of the rims at depth `u`.
    #[must_use]
    pub fn half_height(&self, u: f64) -> f64 {
        0.5 * (self.size.posterior_height + (self.size.anterior_height - self.size.posterior_height) * u)
    }

    /// The margins of the posterior wall as fractions of the half width at height `v`: they lie where the
    /// pedicles begin, half the canal's width off the middle plane, which is about 12 mm.
    #[must_use]
    pub fn margin(&self, v: f64) -> f64 {
        match self.size.wall {
            PosteriorWall::Hollow(_) => 0.5 * self.size.canal_width / self.half_width(v),
            PosteriorWall::Convex => 0.0,
        }
    }

    /// Depth of the posterior surface in a horizontal section, for `eta` from −1 to 1.
    #[must_use]
    pub fn posterior(&self, eta: f64, v: f64) -> f64 {
        let e = eta.abs();
        let m = self.margin(v);
        match self.size.wall {
            PosteriorWall::Hollow(depth) if e < m => {
                let inward = 1.0 - (e / m) * (e / m);
                depth / (self.front(v) - self.back(v)) * inward * inward
            }
            PosteriorWall::Hollow(_) => {
                let out = (e - m) / (1.0 - m);
                rounded(out)
            }
            PosteriorWall::Convex => rounded(e),
        }
    }

    /// Depth of the anterior surface in a horizontal section: rounded, a little flatter in the middle.
    #[must_use]
    pub fn anterior(&self, eta: f64) -> f64 {
        let e = eta.abs();
        WIDEST + (1.0 - WIDEST) * (1.0 - e * e * e.sqrt()).max(0.0).sqrt()
    }

    /// How far the section reaches to the side at depth `u`, as a fraction of the half width.
    #[must_use]
    pub fn side(&self, u: f64, v: f64) -> f64 {
        let u = u.clamp(0.0, 1.0);
        if u >= WIDEST {
            let forward = (u - WIDEST) / (1.0 - WIDEST);
            return libm::pow((1.0 - forward * forward).max(0.0), 0.4);
        }
        let backward = (WIDEST - u) / WIDEST;
        let round = (1.0 - backward * backward).max(0.0).sqrt().sqrt();
        let m = self.margin(v);
        m + (1.0 - m) * round
    }

    /// How far to the side the visible line of an end plate runs at depth `u`, as a fraction of the half width:
    /// along the middle of the rim. The rim's edge is rounded off, so the line can be followed to
    /// [`LINE_ENDS`] from the walls and is continued straight from there.
    #[must_use]
    pub fn rim(&self, u: f64, v: f64) -> f64 {
        RIM_MIDDLE * self.side(u.clamp(LINE_ENDS, 1.0 - LINE_ENDS), v)
    }

    /// Depth of that line in front of or behind the middle of an end plate, `eta` half widths off the middle
    /// plane, for an AP view.
    #[must_use]
    pub fn rim_depth(&self, eta: f64, v: f64, in_front: bool) -> f64 {
        let eta = eta.clamp(2.0 * LINE_ENDS - 1.0, 1.0 - 2.0 * LINE_ENDS);
        let edge = if in_front { self.anterior(eta) } else { self.posterior(eta, v) };
        0.5 + RIM_MIDDLE * (edge - 0.5)
    }

    /// How far an end plate's floor lies inside the plane of its rim at depth `u`.
    #[must_use]
    pub fn floor(&self, plate: Plate, u: f64) -> f64 {
        let concavity = match plate {
            Plate::Superior => self.size.superior_concavity,
            Plate::Inferior => self.size.inferior_concavity,
        };
        concavity * bow(skewed(u))
    }

    /// A place on the visible line of an end plate at depth `u`, `eta` half widths off the middle plane.
    #[must_use]
    pub fn on_plate(&self, plate: Plate, u: f64, eta: f64) -> DVec3 {
        let (v, inward) = match plate {
            Plate::Superior => (0.0, -1.0),
            Plate::Inferior => (1.0, 1.0),
        };
        self.at(u, eta, v) + DVec3::new(0.0, 0.0, inward * self.floor(plate, u))
    }

    /// The same floor as a displacement, along a line from side to side: an AP view shows the concavity along
    /// that direction, taken as deep as from back to front (no source).
    #[must_use]
    pub fn floor_across(&self, plate: Plate, eta: f64) -> DVec3 {
        let across = bow(0.5 + 0.5 * eta);
        match plate {
            Plate::Superior => DVec3::new(0.0, 0.0, -self.size.superior_concavity * across),
            Plate::Inferior => DVec3::new(0.0, 0.0, self.size.inferior_concavity * across),
        }
    }

    /// The pedicle of one side: `side` is +1 for the patient's left, −1 for the right.
    ///
    /// It leaves the upper half of the body just behind it (common practice, no source) and runs backward and
    /// outward by 12° (no source; the inclination by level could not be found).
    #[must_use]
    pub fn pedicle(&self, side: f64) -> Pedicle {
        let s = &self.size;
        let (sin, cos) = (0.207_911_690_817_759_34, 0.978_147_600_733_805_6);
        let off = 0.5 * (s.canal_width + s.pedicle_width);
        let up = 0.5 * s.posterior_height - 0.5 * s.pedicle_height - 1.0;
        Pedicle {
            centre: DVec3::new(self.back(0.3) - 5.0, side * off, up),
            axis: DVec3::new(-cos, side * sin, 0.0),
            lateral: DVec3::new(sin, side * cos, 0.0) * (0.5 * s.pedicle_width),
            superior: DVec3::new(0.0, 0.0, 0.5 * s.pedicle_height),
        }
    }

    /// The tip of the spinous process: behind the canal, a little below mid height.
    #[must_use]
    pub fn spinous(&self) -> Spinous {
        let s = &self.size;
        Spinous {
            tip: DVec3::new(
                self.back(0.5) - s.canal_depth - 28.0,
                s.spinous_deviation,
                -0.45 * s.mean_height(),
            ),
            half_thickness: 0.5 * s.spinous_thickness,
            half_height: 0.5 * s.spinous_height,
        }
    }
}

/// Depth of the posterior surface a fraction `out` of the way from margin to side. It is full, since the body
/// reaches behind to the pedicles, whose width and distance are known (Lavecchia 2018; Cook and Baker 2021).
fn rounded(out: f64) -> f64 {
    WIDEST * (1.0 - (1.0 - out * out * out * out).max(0.0).sqrt())
}

/// A bow from 0 over 1 at the middle to 0, whose curvature vanishes at both ends: the bent line of a loaded
/// beam.
#[must_use]
pub fn bow(t: f64) -> f64 {
    3.2 * t * (1.0 - t) * (1.0 + t - t * t)
}

/// Moves the middle of the bow to [`DEEPEST`].
fn skewed(u: f64) -> f64 {
    let c = (0.5 - DEEPEST) / (DEEPEST * (1.0 - DEEPEST));
    u + c * u * (1.0 - u)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::Level;
    use crate::phantom::size::{LUMBAR, Sample};

    fn body(level: Level) -> Body {
        Body::new(Size::typical(level, Sample::All))
    }

    /// Sizes read off the surfaces equal those of the table (Cook and Baker 2021, L5, CONFIRMED).
    #[test]
    fn the_surfaces_have_the_sizes() {
        let b = body(Level::L5);
        let corner = |u, v| b.at(u, 0.0, v);
        assert!((corner(0.0, 0.0).z - corner(0.0, 1.0).z - 26.3).abs() < 1e-12);
        assert!((corner(1.0, 0.0).z - corner(1.0, 1.0).z - 30.3).abs() < 1e-12);
        assert!((corner(1.0, 0.0).x - corner(0.0, 0.0).x - 35.7).abs() < 1e-12);
        assert!((corner(1.0, 1.0).x - corner(0.0, 1.0).x - 35.3).abs() < 1e-12);
    }

    /// Masharawi Y et al. *Eur Spine J* 2010;19:768–773 (CONFIRMED), L1–L4.
    #[test]
    fn the_plates_are_wedged_as_measured() {
        for (sample, wedging) in
            [(Sample::Female, [2.6, 0.7, -1.1, -3.1]), (Sample::Male, [4.1, 2.6, 1.3, -0.7])]
        {
            for (level, expected) in LUMBAR.into_iter().zip(wedging) {
                let b = Body::new(Size::typical(level, sample));
                let slope = |v: f64| {
                    let d = b.at(1.0, 0.0, v) - b.at(0.0, 0.0, v);
                    d.z.atan2(d.x).to_degrees()
                };
                assert!((slope(1.0) - slope(0.0) - expected).abs() < 0.01, "{level:?} {sample:?}");
            }
        }
    }

    /// Wang Y, Battié MC, Videman T. *Eur Spine J* 2012;21:2316–2323: 0.7 mm superior, 1.5 mm inferior;
    /// deepest in the posterior half (Sun). CONFIRMED.
    #[test]
    fn the_plates_are_concave_as_measured() {
        let b = body(Level::L3);
        for (plate, expected) in [(Plate::Superior, 0.7), (Plate::Inferior, 1.5)] {
            let (deepest, at) = (0..=1000)
                .map(|i| f64::from(i) / 1000.0)
                .map(|u| (b.floor(plate, u), u))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .unwrap();
            assert!((deepest - expected).abs() < 1e-6 && at < 0.5, "{deepest} at {at}");
            assert!(b.floor(plate, 0.0).abs() < 1e-12 && b.floor(plate, 1.0).abs() < 1e-12);
        }
    }

    /// Larsen 1985 (CONFIRMED): concave L1–L3, intermediate L4, mostly convex L5.
    #[test]
    fn the_posterior_wall_has_its_levels_shape() {
        for level in LUMBAR {
            let b = body(level);
            let middle = b.posterior(0.0, 0.5);
            let at_12_mm = b.posterior(12.0 / b.half_width(0.5), 0.5);
            match level {
                Level::L4 => assert!((middle - at_12_mm).abs() < 1e-3),
                Level::L5 => assert!(at_12_mm - middle > 0.01),
                _ => assert!(middle - at_12_mm > 0.01),
            }
        }
    }

    /// Pedicles leave the body from behind: a seventh of its depth from the back it must be wide enough for a third of each
    /// (widths of pedicle and canal CONFIRMED: Lavecchia 2018, L1–L4; Cook and Baker 2021, L5).
    #[test]
    fn the_body_reaches_to_its_pedicles() {
        for level in LUMBAR {
            let b = body(level);
            let needed = 0.5 * b.size.canal_width + b.size.pedicle_width / 3.0;
            assert!(b.side(0.15, 0.2) * b.half_width(0.2) > needed, "{level:?}");
        }
    }

    #[test]
    fn the_two_descriptions_of_a_section_agree() {
        for level in LUMBAR {
            let b = body(level);
            for i in 1..20 {
                let u = f64::from(i) / 20.0;
                let eta = b.side(u, 0.3);
                let back = if u < WIDEST { b.posterior(eta, 0.3) } else { b.anterior(eta) };
                assert!((back - u).abs() < 1e-9, "{level:?} {u} {eta} {back}");
            }
        }
    }

    /// The levers of the method: rims about 20 mm to the side and 15 mm to front and back, posterior margins
    /// about 12 mm to the side. They are the means over the levels here, which no source gives.
    #[test]
    fn the_levers_are_near_those_of_the_method() {
        let mean = |of: &dyn Fn(&Body) -> f64| LUMBAR.map(|l| of(&body(l))).iter().sum::<f64>() / 5.0;
        let side = mean(&|b| RIM_MIDDLE * b.half_width(0.0).midpoint(b.half_width(1.0)));
        let front = mean(&|b| RIM_MIDDLE * 0.25 * (b.size.superior_depth + b.size.inferior_depth));
        let margin = mean(&|b| 0.5 * b.size.canal_width);
        assert!((side - 20.0).abs() < 1.5, "{side}");
        assert!((front - 15.0).abs() < 1.5, "{front}");
        assert!((margin - 12.0).abs() < 1.0, "{margin}");
    }
}
