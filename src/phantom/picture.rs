//! A plain picture of a shot: the thickness of bone and metal along each ray, on a soft background in a round
//! field. No physics: no scatter, no blur, no noise.
//!
//! As on a fluoroscopy screen that shows absorption dark: bone is darker than what surrounds it, metal darkest,
//! and outside the field it is black. Only exact arithmetic and square roots are used, so that a picture has
//! the same bytes on every machine.

use glam::{DAffine3, DMat3, DVec3};

use crate::geom::point::Point;
use crate::phantom::beam::Beam;
use crate::phantom::body::{Body, Plate};
use crate::phantom::instrument::Instrument;
use crate::phantom::spine::Placed;

/// A 16-bit grey picture, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels a side.
    pub side: u32,
    /// `side × side` samples.
    pub samples: Vec<u16>,
}

/// The round field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundField {
    /// Its centre in image coordinates.
    pub centre: Point,
    /// Its radius in pixels.
    pub radius: f64,
}

/// Millimetres between samples along a ray.
const STEP: f64 = 0.8;
/// Weight of spongy bone per millimetre, of the shell on top of it, and the shell's thickness in millimetres.
const SPONGY: f64 = 0.011;
const SHELL: f64 = 0.075;
const SHELL_MM: f64 = 1.3;
/// Over how many millimetres the surface sets in: about a step, or the steps would show as rings.
const ONSET_MM: f64 = 1.0;
/// Weight of metal per millimetre.
const METAL: f64 = 0.42;

/// A vertebra prepared for many samples: what does not depend on the ray is computed once.
struct Solid<'a> {
    body: &'a Body,
    into: DAffine3,
    /// Half extents of a box about the body alone.
    half: DVec3,
    arch: Vec<Ellipsoid>,
}

/// An ellipsoid with its weight per millimetre inside and in its shell.
struct Ellipsoid {
    /// From the vertebra's space to that of the unit ball.
    into: DAffine3,
    spongy: f64,
    shell: f64,
}

/// A straight piece of an instrument: a rod with round ends.
#[derive(Clone, Copy)]
struct Rod {
    from: DVec3,
    to: DVec3,
    radius: f64,
    /// Radius of the bore, 0 for a solid rod.
    bore: f64,
}

/// The picture of vertebrae and an instrument through a beam.
///
/// Work is shared between `threads` threads; the result does not depend on their number.
#[must_use]
pub fn picture(
    spine: &[Placed],
    instrument: Option<&Instrument>,
    beam: &Beam,
    side: u32,
    field: RoundField,
    threads: usize,
) -> Picture {
    let solids: Vec<Solid<'_>> = spine.iter().map(Solid::new).collect();
    let rods = instrument.map(rods).unwrap_or_default();
    let threads = u32::try_from(threads.clamp(1, 64)).unwrap_or(1);
    let band = side.div_ceil(threads).max(1);
    let rows = |from: u32| -> Vec<u16> {
        let to = (from + band).min(side);
        let pixel = |n: u32| {
            let (row, column) = (from + n / side, n % side);
            grey(&solids, &rods, beam, Point::new(f64::from(column) + 0.5, f64::from(row) + 0.5), field)
        };
        (0..(to - from) * side).map(pixel).collect()
    };
    let samples = std::thread::scope(|scope| {
        let starts = (0..threads).map(|t| t * band).filter(|&from| from < side);
        let rows = &rows;
        let running: Vec<_> = starts.map(|from| scope.spawn(move || rows(from))).collect();
        running.into_iter().flat_map(|thread| thread.join().unwrap_or_default()).collect()
    });
    Picture { side, samples }
}

/// The stored value of a pixel.
fn grey(solids: &[Solid<'_>], rods: &[Rod], beam: &Beam, p: Point, field: RoundField) -> u16 {
    // Squared, since the last bit of `hypot` is not the same on every machine.
    let from_centre = p - field.centre;
    let off = from_centre.dot(from_centre) / (field.radius * field.radius);
    if off > 1.0 {
        return 0;
    }
    let (source, ray) = (beam.source(), beam.ray_to(p));
    let bone: f64 = solids.iter().map(|solid| solid.weight(source, ray)).sum();
    let metal: f64 = rods.iter().map(|rod| rod.thickness(source, ray)).sum::<f64>() * METAL;
    // Soft tissue: a broad hump, thickest along the spine.
    let soft = 0.55 + 0.25 * (1.0 - off);
    let absorbed = soft + bone + metal;
    // A curve of the kind exp(−x) from exact arithmetic: (1 + x/4)⁻⁴.
    let base = 1.0 + 0.25 * absorbed;
    let through = 1.0 / (base * base * base * base);
    // The field's edge falls off over its last hundredth.
    let edge = ((1.0 - off) * 60.0).min(1.0);
    to_u16(65535.0 * (through * 1.55).min(1.0) * edge)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the range first")]
fn to_u16(x: f64) -> u16 {
    (x + 0.5).clamp(0.0, 65535.0) as u16
}

impl<'a> Solid<'a> {
    fn new(placed: &'a Placed) -> Self {
        let body = &placed.body;
        let s = &body.size;
        let half = DVec3::new(
            0.5 * s.superior_depth.max(s.inferior_depth) + 0.5 * s.lean.abs(),
            0.5 * s.superior_width.max(s.inferior_width),
            0.5 * s.anterior_height.max(s.posterior_height),
        );
        Self {
            body,
            into: placed.place.inverse(),
            half: half + DVec3::splat(0.5 * ONSET_MM),
            arch: arch(body),
        }
    }

    /// Weight of bone along a ray.
    fn weight(&self, source: DVec3, ray: DVec3) -> f64 {
        let (source, ray) = (self.into.transform_point3(source), self.into.transform_vector3(ray));
        let arch: f64 = self.arch.iter().map(|e| e.weight(source, ray)).sum();
        arch + self.body_weight(source, ray)
    }

    fn body_weight(&self, source: DVec3, ray: DVec3) -> f64 {
        let Some((from, to)) = through_box(self.half, source, ray) else { return 0.0 };
        // Samples sit at fixed places along the ray, so that neighbouring pixels do not alias.
        let first = (from / STEP).ceil();
        let mut sum = 0.0;
        let mut t = first * STEP;
        while t < to {
            sum += self.density(source + ray * t);
            t += STEP;
        }
        sum * STEP
    }

    /// Weight per millimetre at a place of the body's own space.
    fn density(&self, p: DVec3) -> f64 {
        let body = self.body;
        // Two rounds settle depth and height, which depend on each other only weakly.
        let mut v = 0.5;
        let mut u = 0.5;
        for _ in 0..2 {
            let (back, front) = (body.back(v), body.front(v));
            u = (p.x - back) / (front - back);
            v = 0.5 - 0.5 * p.z / body.half_height(u.clamp(0.0, 1.0));
        }
        let half_width = body.half_width(v);
        let eta = p.y / half_width;
        let sides = (1.0 - eta.abs()) * half_width;
        if sides <= 0.0 {
            return 0.0;
        }
        let depth = body.front(v) - body.back(v);
        let (behind, before) = (body.posterior(eta, v), body.anterior(eta));
        // Distance to the walls: along the depth, and to the side where the section is round.
        let walls = (u - behind).min(before - u) * depth;
        let walls = if walls < 0.0 { walls } else { walls.min(sides) };
        let height = 2.0 * body.half_height(u);
        // The floor of an end plate lies under its rim, up to the rim itself.
        let inside = (walls / 4.0).clamp(0.0, 1.0);
        let up = v * height - inside * body.floor(Plate::Superior, u);
        let down = (1.0 - v) * height - inside * body.floor(Plate::Inferior, u);
        let distance = walls.min(up).min(down);
        if distance <= -0.5 * ONSET_MM {
            return 0.0;
        }
        // The vessels' notch at the back of a hollow wall is left out: it would need a source for its height.
        let onset = (0.5 + distance / ONSET_MM).min(1.0);
        let shell = (1.0 - distance.max(0.0) / SHELL_MM).max(0.0);
        onset * (SPONGY + SHELL * shell)
    }
}

/// Entry and exit of a ray through a box about the origin.
fn through_box(half: DVec3, source: DVec3, ray: DVec3) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0_f64, f64::INFINITY);
    for axis in 0..3 {
        let (s, r, h) = (source[axis], ray[axis], half[axis]);
        if r.abs() < 1e-12 {
            if s.abs() > h {
                return None;
            }
            continue;
        }
        let (a, b) = ((-h - s) / r, (h - s) / r);
        from = from.max(a.min(b));
        to = to.min(a.max(b));
    }
    (from < to).then_some((from, to))
}

impl Ellipsoid {
    /// An ellipsoid by its centre and its three half axes.
    fn new(centre: DVec3, axes: [DVec3; 3], spongy: f64, shell: f64) -> Self {
        let from = DAffine3::from_mat3_translation(DMat3::from_cols(axes[0], axes[1], axes[2]), centre);
        Self { into: from.inverse(), spongy, shell }
    }

    /// Weight along a ray: what is inside, and a shell that is thickest where the ray grazes it.
    fn weight(&self, source: DVec3, ray: DVec3) -> f64 {
        let (s, r) = (self.into.transform_point3(source), self.into.transform_vector3(ray));
        let (a, b) = (r.dot(r), s.dot(r));
        let chord = |radius: f64| {
            let d = b * b - a * (s.dot(s) - radius * radius);
            if d > 0.0 { 2.0 * d.sqrt() / a } else { 0.0 }
        };
        let outer = chord(1.0);
        if outer <= 0.0 { 0.0 } else { self.spongy * outer + self.shell * (outer - chord(0.86)) }
    }
}

impl Rod {
    /// Millimetres of metal along a ray.
    fn thickness(&self, source: DVec3, ray: DVec3) -> f64 {
        let chord = |radius: f64| self.chord(source, ray, radius);
        chord(self.radius) - if self.bore > 0.0 { chord(self.bore) } else { 0.0 }
    }

    fn chord(&self, source: DVec3, ray: DVec3, radius: f64) -> f64 {
        let along = self.to - self.from;
        let length = along.length();
        let axis = along / length;
        let s = source - self.from;
        let (across, off) = (ray - axis * ray.dot(axis), s - axis * s.dot(axis));
        let (a, b) = (across.dot(across), across.dot(off));
        let d = b * b - a * (off.dot(off) - radius * radius);
        if a < 1e-12 || d <= 0.0 {
            return 0.0;
        }
        let (mut near, mut far) = ((-b - d.sqrt()) / a, (-b + d.sqrt()) / a);
        // The part between the two end planes.
        let (start, rate) = (s.dot(axis), ray.dot(axis));
        if rate.abs() > 1e-12 {
            let (p, q) = (-start / rate, (length - start) / rate);
            near = near.max(p.min(q));
            far = far.min(p.max(q));
        } else if !(0.0..=length).contains(&start) {
            return 0.0;
        }
        (far - near).max(0.0)
    }
}

/// The instrument as rods: a cannula with a bore, and the course beyond its mouth, thicker at the electrodes.
fn rods(instrument: &Instrument) -> Vec<Rod> {
    let i = instrument;
    let mut rods =
        vec![Rod { from: i.outside, to: i.mouth, radius: i.cannula_radius, bore: 0.55 * i.cannula_radius }];
    // The stylet fills the bore.
    rods.push(Rod { from: i.outside, to: i.mouth, radius: 0.5 * i.cannula_radius, bore: 0.0 });
    let course = i.course.windows(2);
    rods.extend(course.map(|pair| Rod { from: pair[0], to: pair[1], radius: i.probe_radius, bore: 0.0 }));
    if let Some([proximal, distal]) = i.electrodes {
        for electrode in [proximal, distal] {
            let nearest = i.course.windows(2).min_by(|a, b| {
                let d = |pair: &[DVec3]| (pair[0].midpoint(pair[1]) - electrode).length_squared();
                d(a).total_cmp(&d(b))
            });
            if let Some(pair) = nearest {
                let along = (pair[1] - pair[0]).normalize() * 1.4;
                let radius = 1.7 * i.probe_radius;
                rods.push(Rod { from: electrode - along, to: electrode + along, radius, bore: 0.0 });
            }
        }
    }
    rods
}

/// Pedicles, laminae, joints, transverse and spinous processes as ellipsoids: enough to know them by. Their
/// sizes beyond those of [`crate::phantom::size`] are plausible only, no source.
fn arch(body: &Body) -> Vec<Ellipsoid> {
    let s = &body.size;
    let mut parts = Vec::new();
    let (x, y, z) = (DVec3::X, DVec3::Y, DVec3::Z);
    let back = body.back(0.4);
    for side in [-1.0, 1.0] {
        let p = body.pedicle(side);
        parts.push(Ellipsoid::new(p.centre, [p.axis * 11.0, p.lateral, p.superior], 0.006, 0.05));
        let behind = p.centre + p.axis * 14.0;
        // Superior and inferior joint processes, above and below the pedicle's end.
        parts.push(Ellipsoid::new(behind + z * 8.0, [x * 5.0, y * 6.0, z * 12.0], 0.010, 0.03));
        parts.push(Ellipsoid::new(
            behind + DVec3::new(-6.0, -side * 4.0, -18.0),
            [x * 5.0, y * 6.5, z * 13.0],
            0.010,
            0.03,
        ));
        // The bridge between them, and the transverse process.
        parts.push(Ellipsoid::new(
            behind + DVec3::new(-2.0, -side * 2.0, -5.0),
            [x * 4.0, y * 5.0, z * 10.0],
            0.010,
            0.03,
        ));
        parts.push(Ellipsoid::new(
            behind + DVec3::new(1.0, side * 16.0, -1.0),
            [x * 3.5, y * 16.0, z * 5.0],
            0.008,
            0.02,
        ));
        // A lamina.
        parts.push(Ellipsoid::new(
            DVec3::new(back - s.canal_depth - 3.0, side * 8.0, -6.0),
            [DVec3::new(3.0, 0.0, 0.0), DVec3::new(3.0, side * -9.0, 0.0), z * 10.0],
            0.008,
            0.03,
        ));
    }
    let tip = body.spinous();
    let root = DVec3::new(back - s.canal_depth - 4.0, 0.0, -6.0);
    let along = (tip.tip - root) * 0.5;
    parts.push(Ellipsoid::new(
        root + along,
        [along, y * (0.4 * tip.half_thickness), z * (0.8 * tip.half_height)],
        0.010,
        0.03,
    ));
    parts.push(Ellipsoid::new(
        tip.tip + x * 5.0,
        [x * 5.0, y * tip.half_thickness, z * tip.half_height],
        0.010,
        0.04,
    ));
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, View};
    use crate::phantom::beam::Pose;
    use crate::phantom::size::{Sample, Size};
    use crate::phantom::spine::column;

    fn small(threads: usize) -> Picture {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        let beam = Pose::true_view(View::Lateral, 1.6, 96.0).beam(DVec3::NEG_X);
        let field = RoundField { centre: Point::new(48.0, 48.0), radius: 46.0 };
        picture(&column(Level::L4, &body, Sample::All), None, &beam, 96, field, threads)
    }

    #[test]
    fn the_picture_does_not_depend_on_the_threads() {
        assert_eq!(small(1), small(3));
    }

    #[test]
    fn bone_is_darker_than_what_is_beside_it_and_the_outside_black() {
        let p = small(2);
        let at = |x: usize, y: usize| p.samples[y * 96 + x];
        assert_eq!(at(0, 0), 0);
        assert!(at(48, 48) < at(20, 48), "{} {}", at(48, 48), at(20, 48));
    }

    /// Through the middle of a rod the ray passes its diameter, through an ellipsoid its axis.
    #[test]
    fn chords_are_those_of_the_solids() {
        let rod = Rod { from: DVec3::ZERO, to: DVec3::X * 10.0, radius: 1.5, bore: 0.5 };
        assert!((rod.thickness(DVec3::new(5.0, -100.0, 0.0), DVec3::Y) - 2.0).abs() < 1e-9);
        assert!(rod.thickness(DVec3::new(12.0, -100.0, 0.0), DVec3::Y).abs() < 1e-12);
        let e = Ellipsoid::new(DVec3::ZERO, [DVec3::X * 3.0, DVec3::Y * 7.0, DVec3::Z * 2.0], 1.0, 0.0);
        assert!((e.weight(DVec3::new(0.0, -50.0, 0.0), DVec3::Y) - 14.0).abs() < 1e-9);
    }

    /// The body's shadow ends where the contours say: across the middle of the anterior wall the weight sets in
    /// within a millimetre of the projected contour.
    #[test]
    fn the_shadow_ends_at_the_contours() {
        let body = Body::new(Size::typical(Level::L4, Sample::All));
        let beam = Pose::true_view(View::Lateral, 0.1, 1000.0).beam(DVec3::NEG_X);
        let placed = Placed { body: body.clone(), place: DAffine3::IDENTITY };
        let solid = Solid::new(&placed);
        let front = beam.project(crate::phantom::contour::anterior(&body, &beam, 0.5));
        let weight =
            |dx: f64| solid.body_weight(beam.source(), beam.ray_to(Point::new(front.x + dx, front.y)));
        assert!(weight(-12.0).abs() < 1e-12 && weight(8.0) > 0.05, "{} {}", weight(-12.0), weight(8.0));
    }
}
