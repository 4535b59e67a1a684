//! The turn of an AP view from where tip, pedicles and spinous process appear between the walls.
//!
//! In millimetres from the middle between the walls, from the patient's right to the left. A place `x` mm in front of the
//! plane in which the walls are grazed appears at `y − x·ψ` when the view is turned by ψ. Five unknowns: the tip's own
//! place τ, the pedicles' midpoint against the walls α, the spinous process against the walls δ, the turn ψ, and the twist
//! κ of the arch against the body.

use crate::measure::true_view::levers::Levers;
use crate::measure::true_view::normal::{Normal, Solution};

/// What is taken beforehand, each normal about zero with this standard deviation: radians and millimetres.
const TURN: f64 = 5.0;
const PEDICLES_MM: f64 = 1.2;
const SPINOUS_PROCESS_MM: f64 = 3.0;
const TWIST: f64 = 1.5;
/// Standard deviation with which each is marked, in millimetres.
const PEDICLES_SEEN_MM: f64 = 0.4;
const SPINOUS_PROCESS_SEEN_MM: f64 = 0.45;

/// Index of each unknown.
pub(crate) const TAU: usize = 0;
pub(crate) const ALPHA: usize = 1;
pub(crate) const DELTA: usize = 2;
pub(crate) const PSI: usize = 3;
pub(crate) const KAPPA: usize = 4;

/// Where things appear, in millimetres from the middle between the walls.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SeenPlaces {
    /// The tip.
    pub(crate) tip: f64,
    /// Standard deviation of the tip from the placement of marks.
    pub(crate) tip_sd: f64,
    /// The tip's distance in front of the walls' plane.
    pub(crate) tip_lever: f64,
    /// The pedicles' midpoint.
    pub(crate) pedicles: f64,
    /// The middle of the spinous process.
    pub(crate) spinous_process: Option<f64>,
}

/// Solves for the five unknowns.
pub(crate) fn solve(seen: &SeenPlaces, levers: &Levers) -> Option<Solution<5>> {
    let (pedicles, spinous) = (levers.pedicles.mm, levers.spinous_process.mm);
    let mut normal = Normal::<5>::new();
    normal.observe([1.0, 0.0, 0.0, -seen.tip_lever, 0.0], seen.tip, seen.tip_sd.max(1e-6));
    normal.observe([0.0, 1.0, 0.0, -pedicles, -pedicles], seen.pedicles, PEDICLES_SEEN_MM);
    if let Some(process) = seen.spinous_process {
        normal.observe([0.0, 0.0, 1.0, -spinous, -spinous], process, SPINOUS_PROCESS_SEEN_MM);
    }
    let beforehand = [
        (ALPHA, PEDICLES_MM),
        (DELTA, SPINOUS_PROCESS_MM),
        (PSI, TURN.to_radians()),
        (KAPPA, TWIST.to_radians()),
    ];
    for (unknown, sd) in beforehand {
        let mut row = [0.0; 5];
        row[unknown] = 1.0;
        normal.observe(row, 0.0, sd);
    }
    normal.solve()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::true_view::levers::LEVERS;

    /// A symmetric body turned by 5°: everything appears where `−x·ψ` puts it, and the turn is found, drawn a little toward
    /// none by what is taken beforehand.
    #[test]
    fn a_turned_body_is_found() {
        let psi = 5.0_f64.to_radians();
        let seen = SeenPlaces {
            tip: 3.0 * psi,
            tip_sd: 0.4,
            tip_lever: -3.0,
            pedicles: 20.0 * psi,
            spinous_process: Some(60.0 * psi),
        };
        let s = solve(&seen, &LEVERS).unwrap();
        let (found, sd) = (s.x[PSI].to_degrees(), s.c[PSI][PSI].sqrt().to_degrees());
        assert!((3.8..5.0).contains(&found) && (1.5..2.6).contains(&sd), "{found} {sd}");
        assert!(s.x[TAU].abs() < 0.1, "{:?}", s.x);
        let without = solve(&SeenPlaces { spinous_process: None, ..seen }, &LEVERS).unwrap();
        assert!(without.x[PSI] < s.x[PSI] && without.c[PSI][PSI] > s.c[PSI][PSI]);
    }
}
