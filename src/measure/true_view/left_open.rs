//! What the models of section 9 leave open: rims, walls and arches of real bodies lie elsewhere than the method takes, and what
//! that does to a reading grows with the turn and the tilt of the view.
//!
//! These variances widen intervals and what a verdict goes by; values and the standard uncertainties that the method
//! states stay as they are. Each constant is the smallest of a coarse list with which the first family of simulated bodies is held
//! in 93 % or more up to 8°; the second family was not looked at for that (docs/coverage-angle.md). This project's own;
//! no source.

use crate::measure::mark::Level;
use crate::measure::unknown_view::UNKNOWN_TURN_DEG;

/// Of a depth, for each radian of the turn that both contours of the posterior wall tell, and of the tilt.
const DEPTH_BY_TURN: f64 = 0.15;
const DEPTH_BY_TILT: f64 = 0.05;
/// Of a height, for each radian of the tilt that both contours of the end plates tell.
const HEIGHT_BY_TILT: f64 = 0.10;
/// Of a place across and an offset from the midline, for each radian of the turn found.
const ACROSS_BY_TURN: f64 = 0.10;
/// Of what is still to go to the medial border.
const BORDER_BY_TURN: f64 = 0.12;
/// A direction of which the reader cannot tell is stated as turned by 4°, and held up to this.
const HELD_TO_DEG: f64 = 8.0;

/// How many times the variance of an untold direction its interval has beyond the one stated.
pub(crate) fn untold_excess() -> f64 {
    (HELD_TO_DEG / UNKNOWN_TURN_DEG).powi(2) - 1.0
}

/// Whether the posterior wall of a level may show once however the view is turned: at L4 it is flat and at L5 convex (Larsen
/// 1985), so that one contour says nothing of the turn, and a tip off the middle plane is left a turn of which nothing is
/// known.
pub(crate) fn wall_shows_once(level: Level) -> bool {
    matches!(level, Level::L4 | Level::L5)
}

/// Variance of a depth in a view turned and tilted by these, in radians.
pub(crate) fn of_depth(turn: f64, tilt: f64) -> f64 {
    (DEPTH_BY_TURN * turn).powi(2) + (DEPTH_BY_TILT * tilt).powi(2)
}

/// Variance of a height in a view tilted by this.
pub(crate) fn of_height(tilt: f64) -> f64 {
    (HEIGHT_BY_TILT * tilt).powi(2)
}

/// Variance of a place across in a view turned by this.
pub(crate) fn of_across(turn: f64) -> f64 {
    (ACROSS_BY_TURN * turn).powi(2)
}

/// Variance of the distance to a medial border in a view turned by this.
pub(crate) fn of_border(turn: f64) -> f64 {
    (BORDER_BY_TURN * turn).powi(2)
}

/// The tilt, in radians and without its sign, that separations of contours tell over a lever: the mean of the borders with
/// both contours marked.
pub(crate) fn seen(apart: &[Option<f64>], lever_mm: f64) -> Option<f64> {
    let slopes: Vec<f64> = apart.iter().flatten().map(|mm| mm / (2.0 * lever_mm)).collect();
    #[expect(clippy::cast_precision_loss, reason = "one or two")]
    let n = slopes.len() as f64;
    (!slopes.is_empty()).then(|| slopes.iter().sum::<f64>() / n)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: contours 4 mm and 2 mm apart over a lever of 20 mm tell slopes of 0.1 and 0.05; a tilt of 0.075 leaves
    /// 0.0075 of a height open. A turn of 0.1 leaves 0.015 of a depth open, and a tilt of 0.1 another 0.005.
    #[test]
    fn what_is_left_open_by_hand() {
        let tilt = seen(&[Some(4.0), Some(2.0)], 20.0).unwrap();
        assert!((tilt - 0.075).abs() < 1e-12 && (of_height(tilt).sqrt() - 0.0075).abs() < 1e-12);
        assert!((of_depth(0.1, 0.1) - (0.015_f64.powi(2) + 0.005_f64.powi(2))).abs() < 1e-15);
        assert_eq!(seen(&[None, None], 20.0), None);
        assert!((untold_excess() - 3.0).abs() < 1e-12);
    }
}
