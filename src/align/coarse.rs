//! Where the surroundings of a body in one picture lie in another one, without a start: rotations, zooms and shifts are tried
//! coarsely over the whole second picture, and the best are improved at a finer size. Both pictures are evened out first
//! and what is metal or outside the field is left out.

use crate::align::plane::{NumberPlane, mean_nearby};
use crate::geom::affine::Affine;
use crate::geom::point::{Point, Vec2};

/// Samples of the fine and of the coarse size in millimetres.
const FINE_MM: f64 = 0.8;
const COARSER: usize = 3;
/// Half the size of what is looked for, about the body's middle, in millimetres: neighbours included.
const HALF_MM: Vec2 = Vec2::new(38.0, 36.0);
/// Rotations in degrees and zooms that are tried.
const ROTATIONS_DEG: [f64; 5] = [-8.0, -4.0, 0.0, 4.0, 8.0];
const ZOOMS: [f64; 3] = [0.87, 1.0, 1.15];
/// Places that are improved, and how far apart two of them are at least, in millimetres.
const KEPT: usize = 6;
const APART_MM: f64 = 8.0;
/// Another place this good against the best is perhaps the right one, and one this good is told.
const NEARLY: f64 = 0.93;
const LEAST_OF_BEST: f64 = 0.6;
/// What is near for the mean and for the spread, and the spread that counts as none.
const MEAN_MM: f64 = 5.0;
const SPREAD_MM: f64 = 8.0;
const LEAST_SPREAD: f32 = 0.3;
/// At least this share of what is looked for must be seen in both.
const LEAST_SHARE: f32 = 0.5;
/// Steps of the improvement: millimetres, degrees, log zoom; each halved until small.
const STEPS: [f64; 4] = [1.2, 1.2, 2.0, 0.04];
const HALVINGS: u32 = 5;

/// A picture evened out at the fine size.
#[derive(Clone, Debug)]
pub(crate) struct Evened {
    /// Local contrast, 0 where nothing counts.
    contrast: NumberPlane,
    /// 1 where the picture counts.
    counts: NumberPlane,
    /// Samples a pixel of the frame.
    scale: f64,
}

/// Where the first picture lies in the second.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Match {
    /// From pixels of the first picture to pixels of the second.
    pub(crate) map: Affine,
    /// Correlation there.
    pub(crate) peak: f64,
    /// Whether it is the best or nearly as good.
    pub(crate) likely: bool,
}

impl Evened {
    /// A picture of `mm_per_px` with what of it counts, both of one size, bone dark.
    pub(crate) fn new(grey: &NumberPlane, counts: &[bool], mm_per_px: f64) -> Self {
        let side = |n: usize| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss,
                reason = "a side in samples"
            )]
            let scaled = (n as f64 * mm_per_px / FINE_MM).round().max(4.0) as usize;
            scaled
        };
        let (columns, rows) = (side(grey.columns), side(grey.rows));
        let seen = NumberPlane {
            values: counts.iter().map(|&c| f32::from(u8::from(c))).collect(),
            ..grey.map(|v| v)
        };
        let share = seen.resampled(columns, rows);
        let sums = grey.zip(&seen, |v, w| v * w).resampled(columns, rows);
        let counts = share.map(|s| if s > 0.98 { 1.0 } else { 0.0 });
        let grey = sums.zip(&share, |v, w| if w > 0.5 { v / w } else { 0.0 });
        let mean = mean_nearby(&grey, &counts, MEAN_MM / FINE_MM, 2);
        let rest = grey.zip(&mean, |v, m| v - m);
        let squares = rest.map(|d| d * d);
        let spread = mean_nearby(&squares, &counts, SPREAD_MM / FINE_MM, 2);
        let (sum, n) = squares
            .values
            .iter()
            .zip(&counts.values)
            .fold((0.0_f64, 0.0_f64), |(s, n), (&d, &w)| (s + f64::from(d * w), n + f64::from(w)));
        #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
        let whole = (sum / n.max(1.0)).max(1e-12).sqrt() as f32;
        let contrast = rest.zip(&spread, |d, s| d / (s.max(0.0).sqrt() + LEAST_SPREAD * whole));
        let contrast = contrast.zip(&counts, |v, w| v * w);
        #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
        let scale = columns as f64 / seen.columns as f64;
        Self { contrast, counts, scale }
    }

    fn coarser(&self) -> Self {
        let (columns, rows) =
            ((self.contrast.columns / COARSER).max(2), (self.contrast.rows / COARSER).max(2));
        let counts = self.counts.resampled(columns, rows);
        let contrast =
            self.contrast.resampled(columns, rows).zip(&counts, |v, w| if w > 0.3 { v / w } else { 0.0 });
        #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
        let scale = self.scale * columns as f64 / self.contrast.columns as f64;
        Self { contrast, counts: counts.map(|w| if w > 0.3 { 1.0 } else { 0.0 }), scale }
    }
}

/// A similarity about the body's middle: where the middle goes in the second picture (samples), rotation, log zoom.
#[derive(Clone, Copy, Debug)]
struct BodySimilarity {
    at: Vec2,
    rotation: f64,
    zoom: f64,
}

/// The places of the surroundings of `middle` (a place of the first picture, in pixels) in the second picture: the best
/// first, then those that are less good; `mirrored` where the second picture shows the body from the other side.
pub(crate) fn locate(first: &Evened, second: &Evened, middle: Point, mirrored: bool) -> Option<Vec<Match>> {
    let (coarse_first, coarse_second) = (first.coarser(), second.coarser());
    let mut found = Vec::new();
    for rotation in ROTATIONS_DEG {
        for zoom in ZOOMS {
            let pose =
                BodySimilarity { at: Vec2::default(), rotation: rotation.to_radians(), zoom: zoom.ln() };
            scan(&coarse_first, &coarse_second, middle, mirrored, pose, &mut found);
        }
    }
    found.sort_by(|a: &(f64, BodySimilarity), b| b.0.total_cmp(&a.0));
    let coarse_mm = FINE_MM * first.scale / coarse_first.scale;
    let mut kept: Vec<BodySimilarity> = Vec::new();
    for (_, pose) in found {
        if kept.iter().all(|other| (other.at - pose.at).length() * coarse_mm > APART_MM) {
            kept.push(pose);
        }
        if kept.len() == KEPT {
            break;
        }
    }
    let ratio = second.scale / coarse_second.scale;
    let template = Template::new(first, middle, 3);
    let mut better: Vec<(f64, BodySimilarity)> = kept
        .into_iter()
        .map(|pose| template.improved(second, mirrored, BodySimilarity { at: pose.at * ratio, ..pose }, 0))
        .collect();
    better.sort_by(|a, b| b.0.total_cmp(&a.0));
    let whole = Template::new(first, middle, 1);
    let best = better.first()?.0;
    let (near, rest): (Vec<_>, Vec<_>) = better.into_iter().partition(|(value, _)| *value >= NEARLY * best);
    let mut exact: Vec<(f64, BodySimilarity)> =
        near.into_iter().map(|(_, pose)| whole.improved(second, mirrored, pose, 2)).collect();
    exact.sort_by(|a, b| b.0.total_cmp(&a.0));
    let least = NEARLY * exact.first()?.0;
    let exact = exact.into_iter().map(|(value, pose)| (value, pose, value >= least));
    // The less likely ones are left as they are.
    let rest = rest.into_iter().filter(|(value, _)| *value >= LEAST_OF_BEST * best);
    // Several starts may end in one place.
    let mut places: Vec<(f64, BodySimilarity, bool)> = Vec::new();
    for place in exact.chain(rest.map(|(value, pose)| (value, pose, false))) {
        if places.iter().all(|other| (other.1.at - place.1.at).length() * FINE_MM > APART_MM) {
            places.push(place);
        }
    }
    let scales = [first.scale, second.scale];
    let matched = |(peak, pose, likely): (f64, BodySimilarity, bool)| Match {
        map: pose.map(middle, scales, mirrored),
        peak,
        likely,
    };
    Some(places.into_iter().map(matched).collect())
}

impl BodySimilarity {
    /// From pixels of the first picture to pixels of the second; `scales` are samples a pixel.
    fn map(self, middle: Point, scales: [f64; 2], mirrored: bool) -> Affine {
        let linear = turning(self, mirrored);
        let zoom = scales[0] / scales[1];
        let linear = Affine { across: linear.across * zoom, down: linear.down * zoom, ..linear };
        let to = (self.at / scales[1]).to_point();
        Affine { origin: to - linear.turned(middle.to_vec()), ..linear }
    }
}

/// All shifts of one rotation and zoom, coarsely; those with a good correlation are added to `found`.
fn scan(
    first: &Evened,
    second: &Evened,
    middle: Point,
    mirrored: bool,
    pose: BodySimilarity,
    found: &mut Vec<(f64, BodySimilarity)>,
) {
    let step = FINE_MM * f64::from(u32::try_from(COARSER).unwrap_or(1));
    #[expect(clippy::cast_possible_truncation, reason = "some dozen samples")]
    let (half_x, half_y) =
        ((HALF_MM.x * pose.zoom.exp() / step) as i32, (HALF_MM.y * pose.zoom.exp() / step) as i32);
    let turn = turning(pose, mirrored).inverse();
    let Some(turn) = turn else { return };
    let from = middle.to_vec() * first.scale;
    let (mut values, mut squares) = (Vec::new(), 0.0_f32);
    for y in -half_y..=half_y {
        for x in -half_x..=half_x {
            let p = from + turn.turned(Vec2::new(f64::from(x), f64::from(y))) - Vec2::new(0.5, 0.5);
            let counts = inside(&first.counts, p) && first.counts.between(p.x, p.y) > 0.7;
            let v = if counts { first.contrast.between(p.x, p.y) } else { 0.0 };
            squares += v * v;
            values.push(v);
        }
    }
    let (columns, rows) = (2 * half_x + 1, 2 * half_y + 1);
    let energy = BoxSums::new(&second.contrast.map(|v| v * v));
    let seen = BoxSums::new(&second.counts);
    let (wide, high) = (second.contrast.columns, second.contrast.rows);
    let (wide_i, high_i) = (i32::try_from(wide).unwrap_or(0), i32::try_from(high).unwrap_or(0));
    #[expect(clippy::cast_precision_loss, reason = "some hundred samples")]
    let least = LEAST_SHARE * values.len() as f32;
    for cy in half_y / 2..high_i - half_y / 2 {
        for cx in half_x / 2..wide_i - half_x / 2 {
            let window = (cx - half_x, cy - half_y, cx + half_x + 1, cy + half_y + 1);
            if seen.over(window) < least {
                continue;
            }
            let mut sum = 0.0_f32;
            for y in 0..rows {
                let row = cy - half_y + y;
                let (Ok(row), Ok(y)) = (usize::try_from(row), usize::try_from(y)) else { continue };
                if row >= high {
                    continue;
                }
                let skip = usize::try_from((half_x - cx).max(0)).unwrap_or(0);
                let left = usize::try_from((cx - half_x).max(0)).unwrap_or(0);
                let n = usize::try_from(columns).unwrap_or(0);
                let right = (left + n - skip).min(wide);
                let there = &second.contrast.values[row * wide + left..row * wide + right];
                let here = &values[y * n + skip..];
                sum += dot(here, there);
            }
            let norm = (squares * energy.over(window)).sqrt();
            if norm > 0.0 && sum > 0.15 * norm {
                let at = Vec2::new(f64::from(cx) + 0.5, f64::from(cy) + 0.5);
                found.push((f64::from(sum / norm), BodySimilarity { at, ..pose }));
            }
        }
    }
}

/// The sum of products, in eight lanes.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 8];
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    let (mut left, mut right) = (a.chunks_exact(8), b.chunks_exact(8));
    for (x, y) in (&mut left).zip(&mut right) {
        for (lane, (x, y)) in lanes.iter_mut().zip(x.iter().zip(y)) {
            *lane += x * y;
        }
    }
    let rest: f32 = left.remainder().iter().zip(right.remainder()).map(|(x, y)| x * y).sum();
    lanes.iter().sum::<f32>() + rest
}

/// The nearest sample's value; the place must lie inside.
fn nearest(plane: &NumberPlane, p: Vec2) -> f32 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the plane")]
    let (x, y) = ((p.x + 0.5) as usize, (p.y + 0.5) as usize);
    plane.at(x, y)
}

fn inside(plane: &NumberPlane, p: Vec2) -> bool {
    #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
    let (wide, high) = (plane.columns as f64 - 1.0, plane.rows as f64 - 1.0);
    p.x >= 0.0 && p.y >= 0.0 && p.x <= wide && p.y <= high
}

/// The linear part of a pose: what a step in the first picture's samples becomes in the second's.
fn turning(pose: BodySimilarity, mirrored: bool) -> Affine {
    let across = Vec2::new(pose.rotation.cos(), pose.rotation.sin()) * pose.zoom.exp();
    let down = across.perpendicular();
    Affine { origin: Point::default(), across: if mirrored { -across } else { across }, down }
}

/// The surroundings of the body in the first picture, as samples about its middle.
struct Template {
    places: Vec<Vec2>,
    values: Vec<f32>,
}

impl Template {
    /// Every `by`-th sample of the fine size.
    fn new(first: &Evened, middle: Point, by: usize) -> Self {
        let from = middle.to_vec() * first.scale - Vec2::new(0.5, 0.5);
        #[expect(clippy::cast_possible_truncation, reason = "some dozen samples")]
        let (half_x, half_y) = ((HALF_MM.x / FINE_MM) as i32, (HALF_MM.y / FINE_MM) as i32);
        let (mut places, mut values) = (Vec::new(), Vec::new());
        for y in (-half_y..=half_y).step_by(by) {
            for x in (-half_x..=half_x).step_by(by) {
                let d = Vec2::new(f64::from(x), f64::from(y));
                let p = from + d;
                if inside(&first.counts, p) && first.counts.between(p.x, p.y) > 0.7 {
                    places.push(d);
                    values.push(first.contrast.between(p.x, p.y));
                }
            }
        }
        Self { places, values }
    }

    /// Correlation with the second picture at a pose, over what both show; −1 where that is too little.
    fn correlation(&self, second: &Evened, mirrored: bool, pose: BodySimilarity) -> f64 {
        let turn = turning(pose, mirrored);
        let (mut xy, mut xx, mut yy, mut n) = (0.0_f64, 0.0_f64, 0.0_f64, 0_usize);
        for (d, &v) in self.places.iter().zip(&self.values) {
            let q = pose.at + turn.turned(*d) - Vec2::new(0.5, 0.5);
            if !inside(&second.counts, q) || nearest(&second.counts, q) < 0.7 {
                continue;
            }
            let w = f64::from(second.contrast.between(q.x, q.y));
            let v = f64::from(v);
            xy += v * w;
            xx += v * v;
            yy += w * w;
            n += 1;
        }
        #[expect(clippy::cast_precision_loss, reason = "some thousand samples")]
        let share = n as f64 / self.places.len().max(1) as f64;
        if share < f64::from(LEAST_SHARE) || n < 200 || xx <= 0.0 || yy <= 0.0 {
            -1.0
        } else {
            xy / (xx * yy).sqrt()
        }
    }

    /// The pose near this one with the best correlation: one unknown after the other, ever smaller steps.
    fn improved(
        &self,
        second: &Evened,
        mirrored: bool,
        start: BodySimilarity,
        from: u32,
    ) -> (f64, BodySimilarity) {
        let mut best = (self.correlation(second, mirrored, start), start);
        for halving in from..HALVINGS {
            let size = 0.5_f64.powi(i32::try_from(halving).unwrap_or(0));
            for _ in 0..4 {
                let before = best.0;
                for (unknown, step) in STEPS.into_iter().enumerate() {
                    for sign in [1.0, -1.0] {
                        let by = sign * step * size;
                        let mut pose = best.1;
                        match unknown {
                            0 => pose.at.x += by / FINE_MM,
                            1 => pose.at.y += by / FINE_MM,
                            2 => pose.rotation += by.to_radians(),
                            _ => pose.zoom += by,
                        }
                        let value = self.correlation(second, mirrored, pose);
                        if value > best.0 {
                            best = (value, pose);
                        }
                    }
                }
                if best.0 <= before {
                    break;
                }
            }
        }
        best
    }
}

/// Sums over rectangles of a plane.
struct BoxSums {
    columns: usize,
    rows: usize,
    sums: Vec<f32>,
}

impl BoxSums {
    fn new(plane: &NumberPlane) -> Self {
        let (columns, rows) = (plane.columns, plane.rows);
        let stride = columns + 1;
        let mut sums = vec![0.0_f32; stride * (rows + 1)];
        for y in 0..rows {
            let mut row = 0.0;
            for x in 0..columns {
                row += plane.values[y * columns + x];
                sums[(y + 1) * stride + x + 1] = sums[y * stride + x + 1] + row;
            }
        }
        Self { columns, rows, sums }
    }

    /// The sum from left and top up to right and bottom, these two excluded; what lies outside the plane is nothing.
    fn over(&self, (left, top, right, bottom): (i32, i32, i32, i32)) -> f32 {
        let clamp = |v: i32, most: usize| usize::try_from(v.max(0)).unwrap_or(0).min(most);
        let (l, r) = (clamp(left, self.columns), clamp(right, self.columns));
        let (t, b) = (clamp(top, self.rows), clamp(bottom, self.rows));
        let at = |x: usize, y: usize| self.sums[y * (self.columns + 1) + x];
        at(r, b) - at(l, b) - at(r, t) + at(l, t)
    }
}
