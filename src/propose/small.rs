//! A picture brought to the size at which instruments are looked for.

use crate::align::plane::{NumberPlane, quantile};
use crate::geom::point::Point;
use crate::propose::raster::distance_to;

/// Sample of the search, and what is left out along the field's edge, in millimetres.
const STEP_MM: f64 = 0.35;
pub(crate) const EDGE_MM: f64 = 1.2;

/// The picture brought to the size at which instruments are looked for.
#[derive(Clone, Debug)]
pub(crate) struct SmallImage {
    /// Grey, outside the field at the field's median.
    pub(crate) grey: NumberPlane,
    /// Whether a sample lies well inside the field.
    pub(crate) inside: Vec<bool>,
    /// Samples a pixel of the frame, across and down.
    pub(crate) scale: [f64; 2],
    /// Millimetres a sample.
    pub(crate) mm: f64,
    /// Distance to what is outside, in samples.
    to_edge: Vec<f32>,
}

impl SmallImage {
    /// The number of the sample at a place, if there is one.
    pub(crate) fn index_of(&self, p: Point) -> Option<usize> {
        if p.x < 0.0 || p.y < 0.0 {
            return None;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative")]
        let (x, y) = (p.x.round() as usize, p.y.round() as usize);
        (x < self.grey.columns && y < self.grey.rows).then_some(y * self.grey.columns + x)
    }

    /// The frame's plane and field at the search's size; `mm` is the size of its pixels.
    pub(crate) fn new(whole: &NumberPlane, recorded: &[bool], mm: f64) -> Self {
        let q = (mm / STEP_MM).min(1.0);
        let side = |n: usize| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                clippy::cast_precision_loss,
                reason = "a side in samples"
            )]
            let scaled = (n as f64 * q).round().max(2.0) as usize;
            scaled
        };
        let (columns, rows) = (side(whole.columns), side(whole.rows));
        #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
        let scale = [columns as f64 / whole.columns as f64, rows as f64 / whole.rows as f64];
        let mm = mm / scale[0];
        let field = NumberPlane {
            columns: whole.columns,
            rows: whole.rows,
            values: recorded.iter().map(|&r| f32::from(u8::from(r))).collect(),
        };
        let share = field.resampled(columns, rows);
        let sums = whole.zip(&field, |v, w| v * w).resampled(columns, rows);
        let outside: Vec<bool> = share.values.iter().map(|&s| s < 0.99).collect();
        let to_outside = distance_to(&outside, columns);
        #[expect(clippy::cast_possible_truncation, reason = "a few samples")]
        let edge = (EDGE_MM / mm) as f32;
        let inside: Vec<bool> = to_outside.iter().map(|&d| d > edge).collect();
        let to_edge = with_frame_edge(to_outside, columns);
        let mut grey = sums.zip(&share, |v, w| if w > 0.5 { v / w } else { 0.0 });
        let median = quantile(picked(&grey.values, &inside, 5), 0.5);
        for (v, &inside) in grey.values.iter_mut().zip(&inside) {
            if !inside {
                *v = median;
            }
        }
        let grey = grey.blurred((0.25 / mm).max(0.5));
        Self { grey, inside, scale, mm, to_edge }
    }

    /// A place of the scene, in samples, as a place of the frame.
    pub(crate) fn to_frame(&self, p: Point) -> Point {
        Point::new((p.x + 0.5) / self.scale[0], (p.y + 0.5) / self.scale[1])
    }

    /// A place of the frame in samples of the scene.
    pub(crate) fn of_frame(&self, p: Point) -> Point {
        Point::new(p.x * self.scale[0] - 0.5, p.y * self.scale[1] - 0.5)
    }

    /// How far a sample lies from the field's edge, in millimetres.
    pub(crate) fn edge_mm(&self, index: usize) -> f64 {
        self.to_edge.get(index).map_or(0.0, |&d| f64::from(d) * self.mm)
    }
}

/// The edge of the picture ends the field, too.
fn with_frame_edge(mut to_outside: Vec<f32>, columns: usize) -> Vec<f32> {
    let rows = to_outside.len() / columns.max(1);
    for (y, row) in to_outside.chunks_mut(columns.max(1)).enumerate() {
        for (x, d) in row.iter_mut().enumerate() {
            let nearest = (x + 1).min(columns - x).min(y + 1).min(rows - y);
            #[expect(clippy::cast_precision_loss, reason = "a side in samples")]
            let nearest = nearest as f32;
            *d = d.min(nearest);
        }
    }
    to_outside
}

/// Every `by`-th value that is inside.
pub(crate) fn picked(values: &[f32], inside: &[bool], by: usize) -> Vec<f32> {
    values.iter().zip(inside).filter(|(_, inside)| **inside).map(|(v, _)| *v).step_by(by).collect()
}
