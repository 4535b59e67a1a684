//! How far rays run inside closed surfaces.
//!
//! Every triangle adds the depth of its plane along the ray of each pixel it covers, with the sign of its side:
//! where rays leave minus where they enter is the way inside. The reciprocal of the depth along the beam's axis
//! is linear in the picture, so that no ray need be set up, and pixels on a common edge belong to exactly one of
//! its triangles, so that no ray slips through.

use std::ops::Range;

use glam::DVec3;
use rayon::prelude::*;

use crate::geom::point::Point;
use crate::phantom::anatomy::part::Part;
use crate::phantom::beam::Beam;
use crate::phantom::imaging::attenuation::MATERIALS;
use crate::phantom::imaging::grain::Grain;

/// Millimetres of each material along the ray through the centre of each pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Ways {
    /// Pixels a side.
    pub side: usize,
    /// `side × side` entries.
    pub millimetres: Vec<[f32; MATERIALS]>,
}

/// Rows that are worked on together.
const BAND: usize = 32;
/// Corners are moved to this fraction of a pixel, so that edges are decided without rounding.
const SNAP: f64 = 1024.0;

/// A surface as the beam sees it.
struct SeenSurface<'a> {
    part: &'a Part,
    /// Place in the picture, and one over the depth.
    points: Vec<(f64, f64, f64)>,
    rows: Range<usize>,
    columns: Range<usize>,
    /// For each band of rows that it reaches, from `first_band` on, where its triangles end in `triangles`.
    first_band: usize,
    ends: Vec<usize>,
    /// The triangles of each band in their own order; one that reaches several bands stands in each.
    triangles: Vec<[u32; 3]>,
}

/// The ways through parts. Rows are shared between cores; the result does not depend on their number.
#[must_use]
pub fn ways(parts: &[Part], beam: &Beam, side: usize, grain: &Grain) -> Ways {
    let seen: Vec<SeenSurface<'_>> =
        parts.par_iter().filter_map(|part| SeenSurface::new(part, beam, side)).collect();
    let mut millimetres = vec![[0.0; MATERIALS]; side * side];
    millimetres.par_chunks_mut(BAND * side).enumerate().for_each(|(n, band)| {
        let rows = n * BAND..(n * BAND + BAND).min(side);
        let mut lengths = Lengths::default();
        for surface in &seen {
            lengths.of(surface, beam, &rows);
            lengths.add_to(band, surface, beam, &rows, side, grain);
        }
    });
    Ways { side, millimetres }
}

impl<'a> SeenSurface<'a> {
    fn new(part: &'a Part, beam: &Beam, side: usize) -> Option<Self> {
        let look = |&p: &DVec3| {
            let (at, depth) = beam.seen(part.place.transform_point3(p));
            ((at.x * SNAP).round() / SNAP, (at.y * SNAP).round() / SNAP, 1.0 / depth)
        };
        let points: Vec<_> = part.mesh.points.iter().map(look).collect();
        // A surface that reaches behind the source has no shadow of finite size.
        if points.iter().any(|p| p.2 <= 0.0) {
            return None;
        }
        let range = |of: fn(&(f64, f64, f64)) -> f64| {
            let (low, high) =
                points.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
            pixels(low, high, side)
        };
        let (columns, rows) = (range(|p| p.0), range(|p| p.1));
        if columns.is_empty() || rows.is_empty() {
            return None;
        }
        let first_band = rows.start / BAND;
        let mut seen =
            Self { part, points, columns, first_band, ends: Vec::new(), triangles: Vec::new(), rows };
        seen.sort_into_bands(side);
        Some(seen)
    }

    /// Finds the triangles of each band.
    fn sort_into_bands(&mut self, side: usize) {
        let bands = self.rows.end.div_ceil(BAND) - self.first_band;
        let of = |triangle: &[u32; 3]| {
            let [a, b, c] = triangle.map(|i| self.points[i as usize].1);
            let rows = pixels(a.min(b).min(c), a.max(b).max(c), side);
            let clamp = |band: usize| band.saturating_sub(self.first_band).min(bands);
            if rows.is_empty() { 0..0 } else { clamp(rows.start / BAND)..clamp(rows.end.div_ceil(BAND)) }
        };
        let reached: Vec<Range<usize>> = self.part.mesh.triangles.iter().map(of).collect();
        let mut starts = vec![0_usize; bands + 1];
        reached.iter().flat_map(Clone::clone).for_each(|band| starts[band + 1] += 1);
        for band in 0..bands {
            starts[band + 1] += starts[band];
        }
        let mut triangles = vec![[0; 3]; starts[bands]];
        for (triangle, bands) in self.part.mesh.triangles.iter().zip(reached) {
            for band in bands {
                triangles[starts[band]] = *triangle;
                starts[band] += 1;
            }
        }
        (self.triangles, self.ends) = (triangles, starts);
    }

    /// The triangles that reach the rows of a band.
    fn of_band(&self, band: usize) -> &[[u32; 3]] {
        let Some(at) = band.checked_sub(self.first_band) else { return &[] };
        let end = self.ends.get(at).copied().unwrap_or(0);
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        self.triangles.get(start..end).unwrap_or(&[])
    }
}

/// The pixels whose centres lie between two coordinates.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the picture first")]
#[expect(clippy::cast_precision_loss, reason = "pixels of a picture")]
fn pixels(low: f64, high: f64, side: usize) -> Range<usize> {
    let clamp = |x: f64| x.clamp(0.0, side as f64) as usize;
    clamp((low - 0.5).ceil())..clamp((high - 0.5).floor() + 1.0)
}

/// Ways inside one surface on the pixels of a band, and the depth at which the rays first enter it.
#[derive(Default)]
struct Lengths {
    rows: Range<usize>,
    columns: Range<usize>,
    inside: Vec<f64>,
    entry: Vec<f64>,
}

impl Lengths {
    fn of(&mut self, surface: &SeenSurface<'_>, beam: &Beam, band: &Range<usize>) {
        self.rows = surface.rows.start.max(band.start)..surface.rows.end.min(band.end);
        self.columns = surface.columns.clone();
        let n = self.rows.len() * self.columns.len();
        self.inside.clear();
        self.inside.resize(n, 0.0);
        self.entry.clear();
        self.entry.resize(if surface.part.grained { n } else { 0 }, f64::MAX);
        if n == 0 {
            return;
        }
        let handed = beam.handed();
        for triangle in surface.of_band(band.start / BAND) {
            let corners = triangle.map(|i| surface.points[i as usize]);
            self.add_triangle(corners, handed);
        }
    }

    /// Adds the depth of one triangle to the pixels whose centres it covers.
    #[expect(clippy::cast_precision_loss, reason = "pixels of a picture")]
    fn add_triangle(&mut self, [a, mut b, mut c]: [(f64, f64, f64); 3], handed: f64) {
        let (low, high) = (a.1.min(b.1).min(c.1), a.1.max(b.1).max(c.1));
        if high < self.rows.start as f64 || low > self.rows.end as f64 {
            return;
        }
        let mut area = (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        if area == 0.0 {
            return;
        }
        // Seen from outside, triangles run one way round; from inside the other.
        let sign = if area > 0.0 { handed } else { -handed };
        if area < 0.0 {
            std::mem::swap(&mut b, &mut c);
            area = -area;
        }
        let rows = pixels(low, high, self.rows.end);
        let rows = rows.start.max(self.rows.start)..rows.end;
        let columns = pixels(a.0.min(b.0).min(c.0), a.0.max(b.0).max(c.0), self.columns.end);
        let columns = columns.start.max(self.columns.start)..columns.end;
        let edges = [(b, c), (c, a), (a, b)].map(|(p, q)| TriangleEdge::new(p, q));
        let (least, most) = (a.2.min(b.2).min(c.2), a.2.max(b.2).max(c.2));
        for row in rows {
            let y = row as f64 + 0.5;
            let start = (row - self.rows.start) * self.columns.len();
            for column in columns.clone() {
                let x = column as f64 + 0.5;
                let [u, v, w] = [edges[0].at(x, y), edges[1].at(x, y), edges[2].at(x, y)];
                if !(edges[0].holds(u) && edges[1].holds(v) && edges[2].holds(w)) {
                    continue;
                }
                // Rounding must not carry a sliver's plane beyond its corners.
                let reciprocal = ((u * a.2 + v * b.2 + w * c.2) / area).clamp(least, most);
                let depth = 1.0 / reciprocal;
                let i = start + (column - self.columns.start);
                self.inside[i] += sign * depth;
                if let Some(entry) = self.entry.get_mut(i) {
                    *entry = entry.min(depth);
                }
            }
        }
    }

    /// Adds what fills the surface to the pixels of a band.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "pixels; storage as f32"
    )]
    fn add_to(
        &self,
        band: &mut [[f32; MATERIALS]],
        surface: &SeenSurface<'_>,
        beam: &Beam,
        rows: &Range<usize>,
        side: usize,
        grain: &Grain,
    ) {
        let from_shot = surface.part.place.inverse();
        let fill = surface.part.fill.0;
        for (n, &inside) in self.inside.iter().enumerate() {
            // Less than this is what rounding leaves where a ray only touches.
            if inside.abs() < 1e-6 {
                continue;
            }
            let (row, column) =
                (self.rows.start + n / self.columns.len(), self.columns.start + n % self.columns.len());
            let p = Point::new(column as f64 + 0.5, row as f64 + 0.5);
            let stretch = beam.stretch(p);
            let length = inside * stretch;
            let mut weight = 1.0;
            if let Some(&entry) = self.entry.get(n) {
                let ray = beam.ray_to(p);
                let start = from_shot.transform_point3(beam.source() + ray * (entry * stretch));
                weight += grain.along(start, from_shot.transform_vector3(ray), length);
            }
            let here = &mut band[(row - rows.start) * side + column];
            for (sum, per_mm) in here.iter_mut().zip(fill) {
                *sum += (length * weight) as f32 * per_mm;
            }
        }
    }
}

/// An edge of a triangle: positive on the triangle's side.
#[derive(Clone, Copy)]
struct TriangleEdge {
    x: f64,
    y: f64,
    dx: f64,
    dy: f64,
    /// Whether centres on the edge belong to this triangle: on its upper and left edges.
    closed: bool,
}

impl TriangleEdge {
    fn new(p: (f64, f64, f64), q: (f64, f64, f64)) -> Self {
        let (dx, dy) = (q.0 - p.0, q.1 - p.1);
        Self { x: p.0, y: p.1, dx, dy, closed: dy < 0.0 || (dy == 0.0 && dx > 0.0) }
    }

    /// Twice the area of the triangle over the edge with its corner here. Exact, since corners and centres are
    /// multiples of a power of two.
    fn at(self, x: f64, y: f64) -> f64 {
        self.dx * (y - self.y) - self.dy * (x - self.x)
    }

    fn holds(self, at: f64) -> bool {
        at > 0.0 || (at == 0.0 && self.closed)
    }
}
