//! The similarity that lays two pictures of one body best on each other, one way round.
//!
//! Both pictures are brought to the same grid over the body and made alike by local contrast (mean and spread within
//! 5 mm), which also takes away what screens and exposures did to them; an inverted picture has the other sign, which the
//! coarsest level tells. From coarse to fine, Gauss–Newton steps then lower the sum of squared differences, large ones
//! counting less (Huber 1964), with the mean of both pictures' slopes (Malis, *IROS* 2004: from memory). The four
//! unknowns are a shift, a turn and a zoom: the middle plane of a body, seen twice with a few degrees between, is carried by
//! a similarity within a thousandth.

use crate::align::patch::{Grid, Patch};
use crate::align::region::BodyRegion;
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::geom::linear;
use crate::geom::point::{Point, Vec2};

/// One of the two shots.
#[derive(Clone, Copy)]
pub(crate) struct SeenShot<'a> {
    pub(crate) frame: &'a Frame,
    /// Whether a place is covered by an instrument, or shows nothing.
    pub(crate) covered: &'a (dyn Fn(Point) -> bool + Sync),
    pub(crate) mm_per_px: f64,
}

/// What was found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WarpEstimate {
    /// From the fixed picture into the moving one.
    pub(crate) map: Affine,
    /// Correlation of local contrast over the body, at the start and at the end; 1 where both are the same.
    pub(crate) similarity: [f64; 2],
    /// How unequally the four unknowns are told: 1 alike, large where one is hardly told at all.
    pub(crate) imbalance: f64,
    /// Share of the body that both show beside the instruments.
    pub(crate) share: f64,
}

/// Pixel of the grid in millimetres.
const STEP_MM: f64 = 0.5;
/// Blurs from coarse to fine, and what counts as near by, in millimetres.
const LEVELS_MM: [f64; 3] = [1.5, 0.8, 0.5];
const NEAR_MM: f64 = 5.0;
/// Spread that counts as none, over that of the whole.
const LEAST_SPREAD: f32 = 0.15;
/// How far round the body pictures are compared, in fractions of it, and over what further part that fades.
const MARGIN: f64 = 0.15;
const FADES: f64 = 0.08;
/// Bone whose contrast is worked out goes on further, in millimetres.
const BEYOND_MM: f64 = 12.0;
/// Differences above this many times their usual size count less.
const HUBER: f32 = 2.0;
/// The median of the sizes of normal draws is this many standard deviations.
const MEDIAN_OF_NORMAL: f32 = 0.674_49;
/// A usual difference below this is none.
const ALIKE: f32 = 1e-3;
/// Steps a level, and the step in grid pixels that ends them.
const STEPS: u32 = 20;
const SMALL: f64 = 0.002;
/// A grid may have this many pixels.
const LARGEST: f64 = 400_000.0;

/// The map from the fixed picture, in which `region` lies, into the moving one, from `start` on. `None`
/// where too little is seen or the steps lead nowhere.
pub(crate) fn estimate(
    region: &BodyRegion<'_>,
    [moving, fixed]: [&SeenShot<'_>; 2],
    start: Affine,
) -> Option<WarpEstimate> {
    let (grid, about) = grid_over(region, fixed.mm_per_px)?;
    let clear = |seen: &SeenShot<'_>, p: Point| f32::from(u8::from(!(seen.covered)(p)));
    let still = Patch::of(fixed.frame, grid, |q| q, |q| clear(fixed, q));
    let other = Patch::of(moving.frame, grid, |q| start.apply(q), |q| clear(moving, start.apply(q)));
    #[expect(clippy::cast_possible_truncation, reason = "a share")]
    let counted: Vec<f32> = grid
        .places()
        .map(|q| ((MARGIN - (region.outside)(q)) / FADES + 1.0).clamp(0.0, 1.0) as f32)
        .collect();
    let middle = about.fold_middle();
    let mut search =
        Search { grid, region: counted, middle, radius: about.radius(middle), sign: 1.0, at: [0.0; 4] };
    let mut normal = None;
    let mut similarity = [0.0; 2];
    for (n, blur) in LEVELS_MM.into_iter().enumerate() {
        let alike = |patch: &Patch| patch.normalised(blur / STEP_MM, NEAR_MM / STEP_MM, LEAST_SPREAD);
        let level = PyramidLevel::new(alike(&still), alike(&other));
        if n == 0 {
            search.sign = if search.correlation(&level, [0.0; 4])? < 0.0 { -1.0 } else { 1.0 };
        }
        normal = Some(search.descend(&level)?);
        similarity = [search.correlation(&level, [0.0; 4])?, search.correlation(&level, search.at)?];
    }
    let (matrix, share) = normal?;
    let inverse = linear::inverse(matrix)?;
    let trace = |m: &[[f64; 4]; 4]| (0..4).map(|i| m[i][i]).sum::<f64>();
    let sign = f64::from(search.sign);
    Some(WarpEstimate {
        map: search.map().then(start),
        similarity: similarity.map(|s| s * sign),
        imbalance: trace(&matrix) * trace(&inverse) / 16.0,
        share,
    })
}

/// Places over the body.
struct About(Vec<Point>);

impl About {
    fn fold_middle(&self) -> Point {
        #[expect(clippy::cast_precision_loss, reason = "some dozen places")]
        let n = self.0.len().max(1) as f64;
        self.0.iter().fold(Point::default(), |sum, p| sum + p.to_vec() / n)
    }

    /// Root mean square of the distances from the middle.
    fn radius(&self, middle: Point) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "some dozen places")]
        let n = self.0.len().max(1) as f64;
        (self.0.iter().map(|p| (*p - middle).dot(*p - middle)).sum::<f64>() / n).sqrt()
    }
}

/// The grid over the fixed body, its margin and a little more.
fn grid_over(region: &BodyRegion<'_>, mm_per_px: f64) -> Option<(Grid, About)> {
    let about = region.places.clone();
    let (mut low, mut high) = (*about.first()?, *about.first()?);
    for p in &about {
        low = Point::new(low.x.min(p.x), low.y.min(p.y));
        high = Point::new(high.x.max(p.x), high.y.max(p.y));
    }
    let size = high - low;
    let more = size * MARGIN + Vec2::new(BEYOND_MM, BEYOND_MM) / mm_per_px;
    let (origin, step) = (low - more, STEP_MM / mm_per_px);
    let (columns, rows) = (((size.x + 2.0 * more.x) / step).ceil(), ((size.y + 2.0 * more.y) / step).ceil());
    if !(columns >= 8.0 && rows >= 8.0 && columns * rows <= LARGEST) {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked just above")]
    let (columns, rows) = (columns as usize, rows as usize);
    Some((Grid { origin, step, columns, rows }, About(about)))
}

/// Both pictures at one level, with the slopes of both.
struct PyramidLevel {
    still: Patch,
    other: Patch,
    still_slopes: [Patch; 2],
    other_slopes: [Patch; 2],
}

impl PyramidLevel {
    fn new(still: Patch, other: Patch) -> Self {
        Self { still_slopes: still.slopes(), other_slopes: other.slopes(), still, other }
    }
}

/// The unknowns, in pixels of the grid at the body's radius: shift to the right and down, zoom, turn.
struct Search {
    grid: Grid,
    region: Vec<f32>,
    middle: Point,
    radius: f64,
    sign: f32,
    at: [f64; 4],
}

/// One pixel where both pictures count.
struct Pixel {
    index: usize,
    weight: f32,
    difference: f32,
    slope: [f32; 2],
    /// Place about the middle, over the radius.
    about: Vec2,
}

impl Search {
    /// Where a pixel of the grid goes, and where it lies about the middle.
    #[expect(clippy::cast_precision_loss, reason = "a place in the grid")]
    fn moved(&self, index: usize, at: [f64; 4]) -> (f64, f64, Vec2) {
        let (x, y) = ((index % self.grid.columns) as f64, (index / self.grid.columns) as f64);
        let place = self.grid.origin + Vec2::new(x, y) * self.grid.step;
        let about = (place - self.middle) / self.radius;
        let [right, down, zoom, turn] = at;
        (x + right + zoom * about.x - turn * about.y, y + down + zoom * about.y + turn * about.x, about)
    }

    /// The present unknowns as a map of the fixed picture onto itself.
    fn map(&self) -> Affine {
        let [right, down, zoom, turn] = self.at.map(|v| v * self.grid.step);
        let (zoom, turn) = (zoom / self.radius, turn / self.radius);
        let across = Vec2::new(1.0 + zoom, turn);
        let linear = Affine { origin: Point::default(), across, down: across.perpendicular() };
        let origin = self.middle + Vec2::new(right, down) - linear.turned(self.middle.to_vec());
        Affine { origin, ..linear }
    }

    /// The pixels where both count.
    fn pixels(&self, level: &PyramidLevel, at: [f64; 4]) -> Vec<Pixel> {
        let counted = self.region.iter().zip(&level.still.weights).enumerate();
        let pixel = |(index, (region, still)): (usize, (&f32, &f32))| {
            let here = region * still;
            if here <= 0.0 {
                return None;
            }
            let (x, y, about) = self.moved(index, at);
            let between = level.other.between(x, y)?;
            let weight = here * between.of(&level.other.weights);
            let slope = [0, 1].map(|axis| {
                let (still, other) = (&level.still_slopes[axis], &level.other_slopes[axis]);
                0.5 * (between.of(&other.values) + self.sign * still.values[index])
            });
            let difference = self.sign * level.still.values[index] - between.of(&level.other.values);
            (weight > 0.0).then_some(Pixel { index, weight, difference, slope, about })
        };
        counted.filter_map(pixel).collect()
    }

    /// Steps down at one level; the last matrix of normal equations and the share of the region that was seen.
    fn descend(&mut self, level: &PyramidLevel) -> Option<([[f64; 4]; 4], f64)> {
        let all: f64 = self.region.iter().map(|&r| f64::from(r)).sum();
        for n in 0..STEPS {
            let pixels = self.pixels(level, self.at);
            let usual =
                median(pixels.iter().map(|p| p.difference.abs()).collect())?.max(ALIKE) / MEDIAN_OF_NORMAL;
            let (mut matrix, mut right) = ([[0.0; 4]; 4], [0.0; 4]);
            let mut seen = 0.0;
            for p in &pixels {
                let [gx, gy] = p.slope.map(f64::from);
                let j = [gx, gy, gx * p.about.x + gy * p.about.y, gy * p.about.x - gx * p.about.y];
                let weight = f64::from(p.weight * (HUBER * usual / p.difference.abs().max(1e-9)).min(1.0));
                for a in 0..4 {
                    for b in 0..4 {
                        matrix[a][b] += weight * j[a] * j[b];
                    }
                    right[a] += weight * j[a] * f64::from(p.difference);
                }
                seen += f64::from(p.weight);
            }
            // In units of the mean, so that the solver can tell what is small.
            let count = seen.max(1e-9);
            let matrix = matrix.map(|row| row.map(|v| v / count));
            let step = linear::solve(matrix, right.map(|v| v / count))?;
            self.at = std::array::from_fn(|i| self.at[i] + step[i]);
            if n + 1 == STEPS || step.iter().all(|s| s.abs() < SMALL) {
                return Some((matrix, seen / all.max(1e-9)));
            }
        }
        None
    }

    /// Weighted correlation of the two pictures; `None` where too little counts.
    fn correlation(&self, level: &PyramidLevel, at: [f64; 4]) -> Option<f64> {
        let (mut xy, mut xx, mut yy, mut count) = (0.0, 0.0, 0.0, 0_u32);
        for p in self.pixels(level, at) {
            let x = f64::from(level.still.values[p.index]);
            let y = f64::from(self.sign) * x - f64::from(p.difference);
            let w = f64::from(p.weight);
            xy += w * x * y;
            xx += w * x * x;
            yy += w * y * y;
            count += 1;
        }
        (count >= 64 && xx > 0.0 && yy > 0.0).then(|| xy / (xx * yy).sqrt())
    }
}

fn median(mut list: Vec<f32>) -> Option<f32> {
    if list.is_empty() {
        return None;
    }
    let middle = list.len() / 2;
    let (_, value, _) = list.select_nth_unstable_by(middle, f32::total_cmp);
    Some(*value)
}
