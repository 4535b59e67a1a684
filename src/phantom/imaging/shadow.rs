//! How far rays run inside closed surfaces.
//!
//! Every triangle adds the depth of its plane along the ray of each pixel it covers, with the sign of its side:
//! where rays leave minus where they enter is the way inside. The reciprocal of the depth along the beam's axis
//! is linear in the picture, so that no ray need be set up, and pixels on a common edge belong to exactly one of
//! its triangles, so that no ray slips through.

use std::ops::Range;

use fearless_simd::{Level, Simd, dispatch, f64x4, mask64x4};
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

/// The same on those rows only that something reaches.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenWays {
    /// The rows.
    pub rows: Range<usize>,
    /// As many entries a row as the picture has columns.
    pub millimetres: Vec<[f32; MATERIALS]>,
}

/// Rows that are worked on together.
const BAND: usize = 32;
/// Columns that are worked on together.
const LANES: usize = 4;
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
    let millimetres = cast(&seen(parts, beam, side), 0..side, beam, side, grain);
    Ways { side, millimetres }
}

/// The same on the rows that the parts reach, and a few around them.
#[must_use]
pub fn ways_where_seen(parts: &[Part], beam: &Beam, side: usize, grain: &Grain) -> SeenWays {
    let seen = seen(parts, beam, side);
    let first = seen.iter().map(|surface| surface.rows.start).min().unwrap_or(0);
    let end = seen.iter().map(|surface| surface.rows.end).max().unwrap_or(0);
    let rows = first / BAND * BAND..end.next_multiple_of(BAND).min(side);
    SeenWays { millimetres: cast(&seen, rows.clone(), beam, side, grain), rows }
}

fn seen<'a>(parts: &'a [Part], beam: &Beam, side: usize) -> Vec<SeenSurface<'a>> {
    parts.par_iter().filter_map(|part| SeenSurface::new(part, beam, side)).collect()
}

/// The ways on some rows, of which the first begins a band.
fn cast(
    seen: &[SeenSurface<'_>],
    rows: Range<usize>,
    beam: &Beam,
    side: usize,
    grain: &Grain,
) -> Vec<[f32; MATERIALS]> {
    let processor = Level::new();
    let mut millimetres = vec![[0.0; MATERIALS]; side * rows.len()];
    let bands = millimetres.par_chunks_mut((BAND * side).max(1)).enumerate();
    bands.for_each_init(Lengths::default, |lengths, (n, band)| {
        let first = rows.start + n * BAND;
        dispatch!(processor, simd => lengths.of_band(simd, seen, first..(first + BAND).min(side), (beam, side, grain), band));
    });
    millimetres
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
    /// Rows of as many as there are columns, and a few more at the end that stand for nothing.
    inside: Vec<f64>,
    entry: Vec<f64>,
    /// How much longer than along the beam's axis a way is, for each pixel of the band.
    stretches: Vec<f64>,
}

impl Lengths {
    /// Adds what is seen on a band's rows to it.
    #[inline(always)]
    #[expect(clippy::cast_precision_loss, reason = "pixels of a picture")]
    fn of_band<S: Simd>(
        &mut self,
        simd: S,
        seen: &[SeenSurface<'_>],
        rows: Range<usize>,
        (beam, side, grain): (&Beam, usize, &Grain),
        band: &mut [[f32; MATERIALS]],
    ) {
        self.stretches.clear();
        for row in rows.clone() {
            let at = |column: usize| Point::new(column as f64 + 0.5, row as f64 + 0.5);
            self.stretches.extend((0..side).map(|column| beam.stretch(at(column))));
        }
        for surface in seen {
            self.of(simd, surface, beam, &rows);
            self.add_to(band, surface, beam, &rows, side, grain);
        }
    }

    #[inline(always)]
    fn of<S: Simd>(&mut self, simd: S, surface: &SeenSurface<'_>, beam: &Beam, band: &Range<usize>) {
        self.rows = surface.rows.start.max(band.start)..surface.rows.end.min(band.end);
        self.columns = surface.columns.clone();
        let n = self.rows.len() * self.columns.len();
        self.inside.clear();
        self.entry.clear();
        if n == 0 {
            return;
        }
        self.inside.resize(n + LANES, 0.0);
        self.entry.resize(if surface.part.grained { n + LANES } else { 0 }, f64::MAX);
        let handed = beam.handed();
        for triangle in surface.of_band(band.start / BAND) {
            let corners = triangle.map(|i| surface.points[i as usize]);
            self.add_triangle(simd, corners, handed);
        }
    }

    /// Adds the depth of one triangle to the pixels whose centres it covers.
    #[inline(always)]
    #[expect(clippy::cast_precision_loss, reason = "pixels of a picture")]
    fn add_triangle<S: Simd>(&mut self, simd: S, [a, mut b, mut c]: [(f64, f64, f64); 3], handed: f64) {
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
        let (edge_a, edge_b, edge_c) =
            (TriangleEdge::new(b, c), TriangleEdge::new(c, a), TriangleEdge::new(a, b));
        let number = |x: f64| simd.splat_f64x4(x);
        let (least, most) = (number(a.2.min(b.2).min(c.2)), number(a.2.max(b.2).max(c.2)));
        let (za, zb, zc) = (number(a.2), number(b.2), number(c.2));
        let (area, sign, one) = (number(area), number(sign), number(1.0));
        let (end, lane) = (number(columns.end as f64), simd.load_array_f64x4([0.5, 1.5, 2.5, 3.5]));
        for row in rows {
            let y = row as f64 + 0.5;
            let start = (row - self.rows.start) * self.columns.len();
            // Not by a list's `map`, which is compiled apart, without these instructions.
            let (on_a, on_b, on_c) = (edge_a.along(simd, y), edge_b.along(simd, y), edge_c.along(simd, y));
            for first in columns.clone().step_by(LANES) {
                let x = number(first as f64) + lane;
                let ((u, in_a), (v, in_b), (w, in_c)) =
                    (on_a.at(simd, x), on_b.at(simd, x), on_c.at(simd, x));
                let here = in_a & in_b & in_c & simd.simd_lt_f64x4(x, end);
                if !simd.any_true_mask64x4(here) {
                    continue;
                }
                // Rounding must not carry a sliver's plane beyond its corners.
                let reciprocal = (u * za + v * zb + w * zc) / area;
                let depth = one / simd.min_f64x4(simd.max_f64x4(reciprocal, least), most);
                let i = start + (first - self.columns.start);
                if let Some(sums) = self.inside.get_mut(i..).and_then(<[f64]>::first_chunk_mut::<LANES>) {
                    let more = simd.select_f64x4(here, sign * depth, number(0.0));
                    simd.store_array_f64x4(simd.load_array_f64x4(*sums) + more, sums);
                }
                if let Some(entries) = self.entry.get_mut(i..).and_then(<[f64]>::first_chunk_mut::<LANES>) {
                    let depth = simd.select_f64x4(here, depth, number(f64::MAX));
                    simd.store_array_f64x4(simd.min_f64x4(simd.load_array_f64x4(*entries), depth), entries);
                }
            }
        }
    }

    /// Adds what fills the surface to the pixels of a band.
    #[inline(always)]
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
        let width = self.columns.len();
        for row in self.rows.clone() {
            let (here, line) =
                ((row - rows.start) * side + self.columns.start, (row - self.rows.start) * width);
            let Some(inside) = self.inside.get(line..line + width) else { return };
            let pixels = band[here..here + width].iter_mut().zip(&self.stretches[here..here + width]);
            for (n, ((sums, stretch), &inside)) in pixels.zip(inside).enumerate() {
                // Less than this is what rounding leaves where a ray only touches.
                if inside.abs() < 1e-6 {
                    continue;
                }
                let length = inside * stretch;
                let mut weight = 1.0;
                if let Some(&entry) = self.entry.get(line + n) {
                    let column = self.columns.start + n;
                    let ray = beam.ray_to(Point::new(column as f64 + 0.5, row as f64 + 0.5));
                    let start = from_shot.transform_point3(beam.source() + ray * (entry * stretch));
                    weight += grain.along(start, from_shot.transform_vector3(ray), length);
                }
                for (sum, per_mm) in sums.iter_mut().zip(fill) {
                    *sum += (length * weight) as f32 * per_mm;
                }
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

    /// Its values along a row of centres.
    #[inline(always)]
    fn along<S: Simd>(self, simd: S, y: f64) -> EdgeAlongRow<S> {
        let number = |x: f64| simd.splat_f64x4(x);
        // Where nothing on the edge belongs to the triangle, the least number above nothing is the least that does.
        let least = if self.closed { 0.0 } else { f64::from_bits(1) };
        EdgeAlongRow {
            x: number(self.x),
            row: number(self.dx * (y - self.y)),
            dy: number(self.dy),
            least: number(least),
        }
    }
}

/// An edge's values along a row.
#[derive(Clone, Copy)]
struct EdgeAlongRow<S: Simd> {
    x: f64x4<S>,
    row: f64x4<S>,
    dy: f64x4<S>,
    least: f64x4<S>,
}

impl<S: Simd> EdgeAlongRow<S> {
    /// Twice the area of the triangle over the edge with its corner here, exact, since corners and centres are multiples of
    /// a power of two; and whether that is on the triangle's side.
    #[inline(always)]
    fn at(self, simd: S, x: f64x4<S>) -> (f64x4<S>, mask64x4<S>) {
        let at = self.row - self.dy * (x - self.x);
        (at, simd.simd_ge_f64x4(at, self.least))
    }
}
