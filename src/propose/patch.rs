//! The picture around a body, turned upright: posterior on the left, superior at the top, bone dark, local contrast
//! evened out, what is missing or metal left out.

use std::cell::OnceCell;

use crate::align::plane::{NumberPlane, Window, mean_nearby};
use crate::case::image::frame::Frame;
use crate::geom::affine::Affine;
use crate::geom::point::Point;
use crate::propose::metal::{Polarity, SmallImage};

/// Half the patch's size in millimetres, and a sample of it.
pub(crate) const HALF_WIDTH_MM: f64 = 46.0;
pub(crate) const HALF_HEIGHT_MM: f64 = 40.0;
pub(crate) const STEP_MM: f64 = 0.25;
/// Blur of the picture before it is sampled.
const FINE_MM: f64 = 0.20;
/// What is near for the mean and for the spread, and the spread that counts as none over that of the patch.
const MEAN_MM: f64 = 6.0;
const SPREAD_MM: f64 = 9.0;
const LEAST_SPREAD: f32 = 0.25;
/// Blurs at which borders are looked for, coarse to fine, in millimetres.
pub(crate) const BLURS_MM: [f64; 5] = [0.8, 0.6, 0.5, 0.4, 0.35];
/// Samples of the plane on which wide means are taken, in samples of the patch.
const WIDE_BY: usize = 4;

/// The picture around a body.
#[derive(Clone, Debug)]
pub(crate) struct Patch {
    /// From patch millimetres to pixels of the frame.
    pub(crate) to_image: Affine,
    /// Local contrast, 0 where nothing is seen.
    pub(crate) contrast: NumberPlane,
    /// 1 where bone is seen, 0 outside the field and on metal.
    pub(crate) seen: NumberPlane,
    /// Stored grey before it was evened out, bone dark.
    pub(crate) grey: NumberPlane,
    levels: [OnceCell<NumberPlane>; BLURS_MM.len()],
}

/// What is needed to cut patches out of a frame.
#[derive(Clone, Copy)]
pub(crate) struct Cutting<'a> {
    pub(crate) frame: &'a Frame,
    pub(crate) scene: &'a SmallImage,
    /// Samples of the scene that are metal or close to it.
    pub(crate) metal: &'a [bool],
    pub(crate) polarity: Polarity,
}

impl Patch {
    /// The patch that `to_image` carries onto the frame.
    pub(crate) fn cut(from: Cutting<'_>, to_image: Affine) -> Option<Self> {
        let mm_per_px = 1.0 / to_image.across.cross(to_image.down).abs().sqrt();
        let (columns, rows) = sides();
        let places: Vec<Point> = (0..columns * rows).map(|i| to_image.apply(place(i, columns))).collect();
        let window = window_around(from.frame, &places, (4.0 * FINE_MM / mm_per_px).ceil() + 2.0)?;
        let sign = from.polarity.sign();
        let local = NumberPlane::of_frame(from.frame, window).map(|v| v * sign);
        let blur = FINE_MM / mm_per_px;
        let local = if blur > 0.4 { local.blurred(blur) } else { local };
        let metal = NumberPlane {
            columns: from.scene.grey.columns,
            rows: from.scene.grey.rows,
            values: from.metal.iter().map(|&m| f32::from(u8::from(m))).collect(),
        };
        let mut patch = [0, 1, 2].map(|_| NumberPlane::filled(columns, rows, 0.0));
        #[expect(clippy::cast_precision_loss, reason = "a place in a picture")]
        let (left, top) = (window.left as f64 + 0.5, window.top as f64 + 0.5);
        let (wide, high) = (f64::from(from.frame.width), f64::from(from.frame.height));
        for (i, p) in places.iter().enumerate() {
            let in_frame = p.x >= 0.5 && p.y >= 0.5 && p.x <= wide - 0.5 && p.y <= high - 0.5;
            patch[0].values[i] = local.between(p.x - left, p.y - top);
            if in_frame {
                let q = from.scene.of_frame(*p);
                patch[1].values[i] = f32::from(u8::from(inside_at(from.scene, q)));
                patch[2].values[i] = f32::from(u8::from(metal.between(q.x, q.y) < 0.5));
            }
        }
        let [grey, field, clear] = patch;
        let seen = field.zip(&clear, |a, b| a * b);
        let contrast = evened(&grey, &seen);
        Some(Self { to_image, contrast, seen, grey, levels: Default::default() })
    }

    /// Local contrast blurred by one of [`BLURS_MM`].
    pub(crate) fn level(&self, blur: usize) -> &NumberPlane {
        let blur = blur.min(BLURS_MM.len() - 1);
        self.levels[blur].get_or_init(|| {
            let sd = BLURS_MM[blur] / STEP_MM;
            self.contrast.blurred(sd).zip(&self.seen.blurred(sd), |v, w| v / (w + 0.05))
        })
    }
}

fn inside_at(scene: &SmallImage, q: Point) -> bool {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "negative becomes 0")]
    let (x, y) = (q.x.round().max(0.0) as usize, q.y.round().max(0.0) as usize);
    let (x, y) = (x.min(scene.grey.columns - 1), y.min(scene.grey.rows - 1));
    scene.inside[y * scene.grey.columns + x]
}

/// Local contrast: less the mean near by, over the spread near by.
pub(crate) fn evened(grey: &NumberPlane, seen: &NumberPlane) -> NumberPlane {
    let mean = mean_nearby(grey, seen, MEAN_MM / STEP_MM, WIDE_BY);
    let rest = grey.zip(&mean, |v, m| v - m);
    let squares = rest.map(|d| d * d);
    let spread = mean_nearby(&squares, seen, SPREAD_MM / STEP_MM, WIDE_BY);
    let (sum, count) = squares
        .values
        .iter()
        .zip(&seen.values)
        .fold((0.0_f64, 0.0_f64), |(s, n), (&d, &w)| (s + f64::from(d * w), n + f64::from(w)));
    #[expect(clippy::cast_possible_truncation, reason = "storage as f32")]
    let whole = (sum / count.max(1.0)).max(1e-9).sqrt() as f32;
    let contrast = rest.zip(&spread, |d, s| d / (s.max(0.0).sqrt() + LEAST_SPREAD * whole));
    contrast.zip(seen, |v, w| v * w)
}

/// Columns and rows of a patch.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundred")]
pub(crate) fn sides() -> (usize, usize) {
    ((2.0 * HALF_WIDTH_MM / STEP_MM) as usize + 1, (2.0 * HALF_HEIGHT_MM / STEP_MM) as usize + 1)
}

/// The place of a sample in patch millimetres.
#[expect(clippy::cast_precision_loss, reason = "a place in a patch")]
pub(crate) fn place(index: usize, columns: usize) -> Point {
    let (x, y) = ((index % columns) as f64, (index / columns) as f64);
    Point::new(x * STEP_MM - HALF_WIDTH_MM, y * STEP_MM - HALF_HEIGHT_MM)
}

/// A place of the patch in samples.
pub(crate) fn sample_of(p: Point) -> (f64, f64) {
    ((p.x + HALF_WIDTH_MM) / STEP_MM, (p.y + HALF_HEIGHT_MM) / STEP_MM)
}

/// The part of a frame that holds these places with a margin; `None` where the frame shows none of them.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the frame")]
fn window_around(frame: &Frame, places: &[Point], margin: f64) -> Option<Window> {
    let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
    for p in places {
        low = Point::new(low.x.min(p.x), low.y.min(p.y));
        high = Point::new(high.x.max(p.x), high.y.max(p.y));
    }
    let span = |low: f64, high: f64, side: u32| {
        let from = (low - margin).floor().clamp(0.0, f64::from(side)) as usize;
        let to = (high + margin).ceil().clamp(0.0, f64::from(side)) as usize;
        (to > from + 2).then_some((from, to - from))
    };
    let (left, columns) = span(low.x, high.x, frame.width)?;
    let (top, rows) = span(low.y, high.y, frame.height)?;
    Some(Window { left, top, columns, rows })
}
