//! From the detector's signal to stored greys: logarithm, balancing of large bright and dark parts, edge
//! enhancement, and a curve.
//!
//! As on a fluoroscopy screen that shows absorption dark: bone is darker than what surrounds it, metal darkest,
//! and what the beam does not reach is black.

use crate::phantom::imaging::plane::Plane;

/// How the screen is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// Darker, with steep middle greys.
    Dark,
    /// Brighter, with softer greys.
    Bright,
}

impl Setting {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Dark, Self::Bright];
}

/// Part of what is spread over more than this part of the picture's side that is taken away.
const BALANCE: f64 = 0.78;
const BALANCE_WIDTH: f64 = 0.095;
/// Edge enhancement: how much of what is finer than this many pixels is added again.
const EDGE: f32 = 0.35;
const EDGE_PX: f64 = 4.0;

/// Greys from 0 to 1 of a signal in quanta; `quanta` is a pixel's of middling brightness. Where `open` is 0 the
/// picture is black.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "storage as f32; a side in pixels"
)]
pub fn greys(signal: &Plane, open: &Plane, quanta: f64, setting: Setting) -> Plane {
    let least = (0.002 * quanta) as f32;
    let log = signal.map(|s| libm::logf(s.max(least) / quanta as f32));
    let wide = BALANCE_WIDTH * signal.side as f64;
    // Only what is inside the field is balanced.
    let masked = log.with(open, |y, o| y * o).blurred(wide);
    let weight = open.blurred(wide);
    let base = masked.with(&weight, |y, w| if w > 1e-3 { y / w } else { 0.0 });
    let level = log.with(&base, |y, b| y - BALANCE as f32 * b);
    let soft = level.blurred(EDGE_PX);
    let sharp = level.with(&soft, |y, s| y + EDGE * (y - s));
    let (steep, middle) = match setting {
        Setting::Dark => (4.4, 0.16),
        Setting::Bright => (3.6, -0.06),
    };
    let curve = |y: f32| 1.0 / (1.0 + libm::expf(-steep * (y - middle)));
    sharp.map(curve).with(open, |g, o| g * o)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_signal_is_brighter_and_bright_is_brighter_than_dark() {
        let side = 64;
        let signal = Plane::of(side, |x, _| if x < 32 { 50.0 } else { 150.0 });
        let open = Plane::of(side, |_, y| if y < 4 { 0.0 } else { 1.0 });
        let [dark, bright] = Setting::ALL.map(|setting| greys(&signal, &open, 100.0, setting));
        let at = |p: &Plane, x: usize, y: usize| p.values[y * side + x];
        assert!(at(&dark, 10, 30) < at(&dark, 54, 30) && at(&dark, 10, 30) < at(&bright, 10, 30));
        assert!(at(&dark, 10, 1).abs() < 1e-9);
        assert!(bright.values.iter().all(|g| (0.0..=1.0).contains(g)));
    }
}
