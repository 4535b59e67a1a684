//! The instrument followed from where it comes in to its end: a straight shaft first, then short arcs.

use crate::align::plane::NumberPlane;
use crate::geom::point::{Point, Vec2};
use crate::propose::metal::{Instrument, SmallImage, line_through, place};
use crate::propose::raster::pieces;

/// How near a sample lies to the shaft's line, and how far apart two samples that draw it.
const ON_LINE_MM: f64 = 0.8;
const APART_MM: f64 = 5.0;
/// Lines tried.
const TRIES: u32 = 200;
/// An instrument is dark against its sides at this distance.
const SIDE_MM: f64 = 2.3;
/// How far an arc looks ahead, how far a step goes, and the part of the arc that tells whether there is metal.
const AHEAD_MM: f64 = 2.6;
const STEP_MM: f64 = 0.4;
const NEAR_MM: f64 = 1.0;
/// Samples along an arc.
const ALONG_MM: f64 = 0.25;
/// The sharpest curve, and how many are tried.
const SHARPEST: f64 = 0.32;
const CURVES: i32 = 17;
/// Below this share of the shaft's darkness there is no metal any more.
const LEAST_DARK: f64 = 0.35;
/// Metal this far ahead and at least this dark over the shaft is the same instrument; steps across such a gap, and how many
/// gaps there may be.
const GAP_MM: f64 = 2.5;
const FAR_DARK: f64 = 0.5;
const GAP_STEPS: u32 = 5;
const MOST_GAPS: u32 = 3;
/// The inner end of an instrument lies farther from the field's edge than the other one, by more than this.
const INWARD_MM: f64 = 8.0;
/// The longest instrument.
const LONGEST_MM: f64 = 200.0;

/// The way of an instrument.
#[derive(Clone, Debug)]
pub(crate) struct Shaft {
    /// Places along it in samples of the scene, from its middle to its end.
    pub(crate) path: Vec<Point>,
    /// Darkness of the shaft against its sides.
    pub(crate) core: f64,
}

/// The instrument followed toward `target`, a place of the scene in samples.
pub(crate) fn follow(scene: &SmallImage, instrument: &Instrument, target: Point) -> Option<Shaft> {
    let columns = scene.grey.columns;
    let largest = pieces(&instrument.mask, columns).into_iter().max_by_key(|piece| piece.samples.len())?;
    let places: Vec<Point> = largest.samples.iter().map(|&i| place(i, columns)).collect();
    let (middle, axis, half) = straight_part(&places, scene.mm)?;
    let inward = inward(scene, instrument, (middle, axis * half));
    let axis = if inward.unwrap_or_else(|| (target - middle).dot(axis)) >= 0.0 { axis } else { -axis };
    let grey = scene.grey.map(|v| v * instrument.polarity.sign());
    let ridge = Ridge { grey: &grey, off: SIDE_MM / scene.mm };
    let mut darkness: Vec<f64> =
        (-6..=6).map(|i| ridge.at(middle + axis * (f64::from(i) / 10.0 * half), axis)).collect();
    darkness.sort_by(f64::total_cmp);
    let core = darkness[darkness.len() / 2];
    (core > 0.0).then(|| Shaft { path: ridge.arcs(middle, axis, core, scene.mm), core })
}

/// How much farther from the field's edge the end ahead of a shaft's middle lies than the one behind it, in millimetres: an
/// instrument that comes in from the edge ends within. `None` where it does not, or either end may be meant.
fn inward(scene: &SmallImage, instrument: &Instrument, (middle, half): (Point, Vec2)) -> Option<f64> {
    let [ahead, behind] = [half, -half].map(|to| scene.index_of(middle + to).map(|i| scene.edge_mm(i)));
    let farther = ahead? - behind?;
    (instrument.from_edge && farther.abs() > INWARD_MM).then_some(farther)
}

/// The straight line that most samples lie on: its middle, direction and half length in samples.
fn straight_part(places: &[Point], mm: f64) -> Option<(Point, Vec2, f64)> {
    let mut state = 1_u64;
    let mut pick = || {
        // A fixed sequence (Knuth's MMIX constants), so that the same picture gives the same line.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap_or(0) % places.len().max(1)
    };
    let near = |a: Point, d: Vec2| places.iter().filter(move |p| (**p - a).cross(d).abs() * mm < ON_LINE_MM);
    let mut best: Option<(usize, Point, Vec2)> = None;
    for _ in 0..TRIES {
        let (a, b) = (*places.get(pick())?, *places.get(pick())?);
        if a.distance(b) * mm < APART_MM {
            continue;
        }
        let Some(d) = (b - a).normalized() else { continue };
        let count = near(a, d).count();
        if best.is_none_or(|(most, ..)| count > most) {
            best = Some((count, a, d));
        }
    }
    let (_, a, d) = best?;
    let on: Vec<Point> = near(a, d).copied().collect();
    let (middle, axis) = line_through(&on);
    let reach =
        on.iter().map(|p| (*p - middle).dot(axis)).fold((0.0_f64, 0.0_f64), |(l, h), t| (l.min(t), h.max(t)));
    Some((middle, axis, (reach.1 - reach.0) / 2.0))
}

/// A plane in which metal is a dark ridge.
struct Ridge<'a> {
    grey: &'a NumberPlane,
    /// Where its sides are looked at, in samples.
    off: f64,
}

impl Ridge<'_> {
    /// How much darker a place is than its two sides, the darker side counting a third.
    fn at(&self, p: Point, along: Vec2) -> f64 {
        let side = along.perpendicular() * self.off;
        let value = |p: Point| f64::from(self.grey.between(p.x, p.y));
        let (a, b) = (value(p + side), value(p - side));
        0.35 * a.min(b) + 0.65 * a.max(b) - value(p)
    }

    /// The mean darkness along an arc, whole and over its beginning.
    fn along(&self, start: Point, angle: f64, curve: f64, mm: f64) -> (f64, f64) {
        let (mut p, mut angle) = (start, angle);
        let (mut sum, mut count) = (0.0, 0.0);
        let (mut near, mut near_count) = (0.0, 0.0);
        let mut way = 0.0;
        while way + ALONG_MM <= AHEAD_MM + 1e-9 {
            angle += curve * ALONG_MM;
            way += ALONG_MM;
            let along = Vec2::new(angle.cos(), angle.sin());
            p += along * (ALONG_MM / mm);
            if !self.holds(p) {
                break;
            }
            let dark = self.at(p, along);
            sum += dark;
            count += 1.0;
            if way <= NEAR_MM + 1e-9 {
                near += dark;
                near_count += 1.0;
            }
        }
        (sum / f64::max(count, 1.0), near / f64::max(near_count, 1.0))
    }

    #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
    fn holds(&self, p: Point) -> bool {
        p.x > 2.0 && p.y > 2.0 && p.x < self.grey.columns as f64 - 3.0 && p.y < self.grey.rows as f64 - 3.0
    }

    /// Arc by arc as long as there is metal.
    fn arcs(&self, start: Point, axis: Vec2, core: f64, mm: f64) -> Vec<Point> {
        let mut p = start;
        let mut angle = axis.y.atan2(axis.x);
        let mut curve = 0.0;
        let mut path = vec![p];
        let mut way = 0.0;
        let mut gaps = 0;
        while way < LONGEST_MM {
            let curves = (0..CURVES).map(|i| SHARPEST * (2.0 * f64::from(i) / f64::from(CURVES - 1) - 1.0));
            let tried = curves.map(|k: f64| {
                let (whole, near) = self.along(p, angle, k, mm);
                let worth = whole - 0.2 * core * (k - curve).abs() / 0.3 - 0.15 * core * k.abs() / 0.3;
                (worth, near, k)
            });
            let best = tried.max_by(|a, b| a.0.total_cmp(&b.0));
            let Some((.., k)) = best.filter(|(_, near, _)| *near >= LEAST_DARK * core) else {
                if self.goes_on(p, angle, core, mm) && gaps < MOST_GAPS {
                    // Across a thin part by straight steps; where it goes on is looked at again behind it.
                    gaps += 1;
                    for _ in 0..GAP_STEPS {
                        p += Vec2::new(angle.cos(), angle.sin()) * (STEP_MM / mm);
                        path.push(p);
                    }
                    way += STEP_MM * f64::from(GAP_STEPS);
                    continue;
                }
                break;
            };
            curve = k;
            angle += curve * STEP_MM;
            p += Vec2::new(angle.cos(), angle.sin()) * (STEP_MM / mm);
            p += self.centre(p, angle, mm);
            path.push(p);
            way += STEP_MM;
        }
        path
    }

    /// Whether dark metal lies farther ahead, behind a part that hardly shows.
    fn goes_on(&self, p: Point, angle: f64, core: f64, mm: f64) -> bool {
        let straight = Vec2::new(angle.cos(), angle.sin());
        (-4..=4).any(|i| {
            let turned = angle + f64::from(i) * 0.08;
            let along = Vec2::new(turned.cos(), turned.sin());
            let sum: f64 = (0..=12)
                .map(|n| {
                    let q = p + straight * (1.0 / mm) + along * ((GAP_MM + 0.25 * f64::from(n)) / mm);
                    if self.holds(q) { self.at(q, along) } else { 0.0 }
                })
                .sum();
            sum / 13.0 > FAR_DARK * core
        })
    }

    /// A part of the way back to the middle of the ridge.
    fn centre(&self, p: Point, angle: f64, mm: f64) -> Vec2 {
        let side = Vec2::new(-angle.sin(), angle.cos());
        let offsets: [f64; 7] = std::array::from_fn(|i| i as f64 * 0.25 - 0.75);
        let values = offsets.map(|o| {
            let q = p + side * (o / mm);
            f64::from(self.grey.between(q.x, q.y))
        });
        let brightest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights = values.map(|v| (brightest - v).powi(2));
        let sum: f64 = weights.iter().sum();
        if sum <= 0.0 {
            return Vec2::default();
        }
        let mean: f64 = weights.iter().zip(offsets).map(|(w, o)| w * o).sum::<f64>() / sum;
        side * (0.3 * mean / mm)
    }
}
