//! The tilt of a view from how far the two contours of each end plate lie apart.
//!
//! φ is the slope of the ray against the mean end plate, ω the wedge between the end plates as the view sees it. The
//! contours of the superior plate part by `|φ − ω/2|` times twice their lever, those of the inferior by `|φ + ω/2|`. The
//! separations have no sign, so that each choice of signs is a candidate of its own, with a weight.

use crate::measure::true_view::levers::Lever;
use crate::measure::true_view::normal::Normal;

/// Standard deviation of a slope from the placement of both contours, in radians.
const SEEN: f64 = 0.02;
/// Standard deviation of the tilt beforehand where a second contour is marked, in radians (4°).
const MARKED: f64 = 4.0;

/// One choice of signs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SignChoice {
    /// The tilt in radians.
    pub(crate) phi: f64,
    /// Its variance.
    pub(crate) variance: f64,
    /// Natural logarithm of its weight, up to a constant common to all.
    pub(crate) ln_weight: f64,
}

/// What is known of a view's tilt.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plates {
    /// How far the contours of the superior and the inferior end plate lie apart, in millimetres, where both are marked.
    pub(crate) apart: [Option<f64>; 2],
    /// The rims' distance from the middle.
    pub(crate) lever: Lever,
    /// The wedge without the cone, and its standard deviation, in radians.
    pub(crate) wedge: f64,
    pub(crate) wedge_sd: f64,
    /// What the cone adds to it with the tube on the side of +1.
    pub(crate) cone: f64,
    /// The side of the tube, +1 or −1, if known.
    pub(crate) tube: Option<f64>,
    /// Standard deviation of the tilt where no second contour is marked, in radians.
    pub(crate) unseen: f64,
}

impl Plates {
    /// Whether a second contour is marked.
    pub(crate) fn marked(&self) -> bool {
        self.apart.iter().any(Option::is_some)
    }

    /// The candidates; never empty.
    pub(crate) fn candidates(&self) -> Vec<SignChoice> {
        let slopes = self.apart.map(|apart| apart.map(|mm| mm / (2.0 * self.lever.mm)));
        let signs = |slope: Option<f64>| if slope.is_some() { &[1.0, -1.0][..] } else { &[0.0][..] };
        let tubes = match &self.tube {
            Some(sign) => std::slice::from_ref(sign),
            None => &[1.0, -1.0][..],
        };
        let mut found = Vec::with_capacity(8);
        for tube in tubes {
            for superior in signs(slopes[0]) {
                for inferior in signs(slopes[1]) {
                    found.extend(self.candidate(slopes, [*superior, *inferior], *tube));
                }
            }
        }
        found
    }

    fn candidate(&self, slopes: [Option<f64>; 2], signs: [f64; 2], tube: f64) -> Option<SignChoice> {
        let mut normal = Normal::<2>::new();
        let prior = if self.marked() { MARKED.to_radians() } else { self.unseen };
        normal.observe([1.0, 0.0], 0.0, prior);
        normal.observe([0.0, 1.0], self.wedge + tube * self.cone, self.wedge_sd);
        for ((slope, sign), half) in slopes.into_iter().zip(signs).zip([-0.5, 0.5]) {
            if let Some(slope) = slope {
                let sd = SEEN.hypot(slope * self.lever.relative());
                normal.observe([1.0, half], sign * slope, sd);
            }
        }
        let s = normal.solve()?;
        Some(SignChoice {
            phi: s.x[0],
            variance: s.c[0][0],
            ln_weight: 0.5 * (-0.5 * s.misfit - 0.5 * s.ln_det),
        })
    }
}

/// Mean and variance of a mixture of values with variances and logarithms of weights.
pub(crate) fn mixture(parts: impl Iterator<Item = (f64, f64, f64)> + Clone) -> (f64, f64) {
    let most = parts.clone().map(|(.., ln)| ln).fold(f64::NEG_INFINITY, f64::max);
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    for (value, variance, ln) in parts {
        let weight = (ln - most).exp();
        sum += weight;
        first += weight * value;
        second += weight * (variance + value * value);
    }
    let mean = first / sum;
    (mean, (second / sum - mean * mean).max(0.0))
}

/// The tilt of candidates taken together: value and variance.
pub(crate) fn together(candidates: &[SignChoice]) -> (f64, f64) {
    mixture(candidates.iter().map(|c| (c.phi, c.variance, c.ln_weight)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::true_view::levers::LEVERS;

    fn plates(apart: [Option<f64>; 2], wedge: f64) -> Plates {
        Plates {
            apart,
            lever: LEVERS.ap_plate,
            wedge,
            wedge_sd: 0.025,
            cone: 0.04,
            tube: None,
            unseen: 0.9_f64.to_radians(),
        }
    }

    /// One contour: no tilt, with the spread of a view in which nothing shows twice.
    #[test]
    fn one_contour_says_little() {
        let (phi, variance) = together(&plates([None, None], 0.0).candidates());
        assert!(phi.abs() < 1e-12 && (variance.sqrt().to_degrees() - 0.9).abs() < 1e-9);
    }

    /// Both plates of a body without wedge equally far apart: a tilt of either direction, hence none on average and a large
    /// spread. A wedge gives the direction: the plate that shows edge-on lies along the ray.
    #[test]
    fn a_wedge_tells_the_direction() {
        let apart = |slope: f64| Some(2.0 * 15.0 * slope);
        let (phi, variance) = together(&plates([apart(0.08), apart(0.08)], 0.0).candidates());
        assert!(phi.abs() < 1e-9 && variance.sqrt() > 0.05);
        // Wedge 0.12, tilted by 0.06: the superior plate is edge-on, the inferior shows 0.12.
        let (phi, variance) = together(&plates([apart(0.0), apart(0.12)], 0.12).candidates());
        assert!((phi - 0.05).abs() < 0.015 && variance.sqrt() < 0.03, "{phi} {}", variance.sqrt());
    }

    /// By hand: values 1 and 3 with variance 1 and weights 3 : 1 make 1.5 and 1 + 0.75.
    #[test]
    fn mixtures_by_moments() {
        let parts = [(1.0, 1.0, 3.0_f64.ln()), (3.0, 1.0, 0.0)];
        let (mean, variance) = mixture(parts.into_iter());
        assert!((mean - 1.5).abs() < 1e-12 && (variance - 1.75).abs() < 1e-12);
    }
}
