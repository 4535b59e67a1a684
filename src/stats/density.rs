//! Where points of a plane crowd: a kernel density with the lines that enclose a share of it.
//!
//! Product of normal kernels, a bandwidth for each axis by Scott's rule, sd · n^(−1/6) (Scott 1992, *Multivariate Density
//! Estimation*, from memory). Points are shared out among the four corners of their cell of a grid, and each axis is
//! smoothed by itself (Wand 1994, "linear binning", from memory). The line of a share is that of the highest densities
//! that together hold it (Hyndman 1996, *The American Statistician* 50:120–126, from memory).

use std::collections::BTreeMap;

use crate::stats::summary::sd;

/// Steps of the grid along each axis.
const STEPS: usize = 96;
/// How far the grid reaches beyond the outermost points, and the kernel from its middle, in bandwidths.
const REACH: f64 = 4.0;
/// With fewer points no density is drawn from them.
pub const FEWEST: usize = 10;

/// A density on a grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Density {
    /// The lowest corner.
    low: (f64, f64),
    /// From corner to corner.
    step: (f64, f64),
    /// Density at the corners, row by row, (STEPS + 1) in each.
    values: Vec<f64>,
}

/// An edge between two corners of the grid: the first corner, and whether it runs along x.
type GridEdge = (usize, usize, bool);

/// The density of these points; `None` for fewer than [`FEWEST`], or where they do not differ in both coordinates.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "samples are far smaller than 2^52")]
pub fn density(points: &[(f64, f64)]) -> Option<Density> {
    let points: Vec<(f64, f64)> =
        points.iter().copied().filter(|(x, y)| x.is_finite() && y.is_finite()).collect();
    if points.len() < FEWEST {
        return None;
    }
    let factor = (points.len() as f64).powf(-1.0 / 6.0);
    let axis = |values: &[f64]| {
        let width = sd(values) * factor;
        let low = values.iter().copied().fold(f64::INFINITY, f64::min) - REACH * width;
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max) + REACH * width;
        (width > 1e-12).then_some((low, (high - low) / STEPS as f64, width))
    };
    let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let ((x0, dx, hx), (y0, dy, hy)) = (axis(&xs)?, axis(&ys)?);
    let side = STEPS + 1;
    let mut values = vec![0.0; side * side];
    let weight = 1.0 / (points.len() as f64 * dx * dy);
    for (x, y) in points {
        let ((i, across), (j, up)) = (cell((x - x0) / dx), cell((y - y0) / dy));
        for (at, share) in [
            (j * side + i, (1.0 - across) * (1.0 - up)),
            (j * side + i + 1, across * (1.0 - up)),
            ((j + 1) * side + i, (1.0 - across) * up),
            ((j + 1) * side + i + 1, across * up),
        ] {
            values[at] += weight * share;
        }
    }
    let values = smoothed(&values, (1, side), &kernel(hx / dx));
    let values = smoothed(&values, (side, 1), &kernel(hy / dy));
    Some(Density { low: (x0, y0), step: (dx, dy), values })
}

/// The cell of a place in steps, and how far into it.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "between 0 and STEPS"
)]
fn cell(place: f64) -> (usize, f64) {
    let i = place.floor().clamp(0.0, (STEPS - 1) as f64);
    (i as usize, (place - i).clamp(0.0, 1.0))
}

/// Weights of a normal kernel at whole steps from its middle, which sum to 1; `width` is its sd in steps.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a few dozen steps"
)]
fn kernel(width: f64) -> Vec<f64> {
    let reach = (REACH * width).ceil().clamp(1.0, STEPS as f64) as usize;
    let raw: Vec<f64> = (0..=reach).map(|i| (-0.5 * (i as f64 / width).powi(2)).exp()).collect();
    let sum = raw[0] + 2.0 * raw[1..].iter().sum::<f64>();
    raw.into_iter().map(|w| w / sum).collect()
}

/// Values smoothed along the axis whose neighbours stand `along` places apart.
fn smoothed(values: &[f64], (along, across): (usize, usize), kernel: &[f64]) -> Vec<f64> {
    let side = STEPS + 1;
    let mut out = vec![0.0; values.len()];
    for line in 0..side {
        for i in 0..side {
            let value = values[line * across + i * along];
            if value > 0.0 {
                for (far, w) in kernel.iter().enumerate() {
                    if i + far < side {
                        out[line * across + (i + far) * along] += w * value;
                    }
                    if far > 0 && i >= far {
                        out[line * across + (i - far) * along] += w * value;
                    }
                }
            }
        }
    }
    out
}

impl Density {
    /// The density of whose line the inside holds this share of all, 0 to 1.
    #[must_use]
    pub fn level(&self, share: f64) -> f64 {
        let mut sorted = self.values.clone();
        sorted.sort_by(|a, b| b.total_cmp(a));
        let wanted = share * sorted.iter().sum::<f64>();
        let mut sum = 0.0;
        for value in sorted {
            sum += value;
            if sum >= wanted {
                return value;
            }
        }
        0.0
    }

    fn value(&self, i: usize, j: usize) -> f64 {
        self.values[j * (STEPS + 1) + i]
    }

    /// Where an edge reaches a level.
    #[expect(clippy::cast_precision_loss, reason = "a grid of a hundred steps")]
    fn crossing(&self, (i, j, along_x): GridEdge, level: f64) -> (f64, f64) {
        let (k, l) = if along_x { (i + 1, j) } else { (i, j + 1) };
        let (a, b) = (self.value(i, j), self.value(k, l));
        let t = ((level - a) / (b - a)).clamp(0.0, 1.0);
        let x = i as f64 + if along_x { t } else { 0.0 };
        let y = j as f64 + if along_x { 0.0 } else { t };
        (self.low.0 + x * self.step.0, self.low.1 + y * self.step.1)
    }

    /// The lines along which the density has this level, each closed where its ends are the same point (marching squares;
    /// a saddle is cut by the mean of its corners).
    #[must_use]
    pub fn lines(&self, level: f64) -> Vec<Vec<(f64, f64)>> {
        let mut next: BTreeMap<GridEdge, Vec<GridEdge>> = BTreeMap::new();
        for j in 0..STEPS {
            for i in 0..STEPS {
                for (a, b) in self.cuts(i, j, level) {
                    next.entry(a).or_default().push(b);
                    next.entry(b).or_default().push(a);
                }
            }
        }
        let mut lines = Vec::new();
        // Open lines first, from one of their ends; then only closed ones are left.
        let ends: Vec<GridEdge> =
            next.iter().filter(|(_, to)| to.len() == 1).map(|(edge, _)| *edge).collect();
        let rest: Vec<GridEdge> = next.keys().copied().collect();
        for start in ends.into_iter().chain(rest) {
            let mut line = Vec::new();
            let mut at = Some(start);
            while let Some(edge) = at {
                line.push(self.crossing(edge, level));
                // Each step is taken away from both of its ends, so that no line is walked twice.
                at = next.get_mut(&edge).and_then(Vec::pop);
                if let Some(to) = at
                    && let Some(back) = next.get_mut(&to)
                    && let Some(place) = back.iter().position(|e| *e == edge)
                {
                    back.remove(place);
                }
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }

    /// The edges of a cell that a level cuts, two and two.
    fn cuts(&self, i: usize, j: usize, level: f64) -> Vec<(GridEdge, GridEdge)> {
        let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| self.value(i, j));
        let above = corners.map(|value| value > level);
        let edges: [GridEdge; 4] = [(i, j, true), (i + 1, j, false), (i, j + 1, true), (i, j, false)];
        let cut: Vec<GridEdge> =
            (0..4).filter(|&k| above[k] != above[(k + 1) % 4]).map(|k| edges[k]).collect();
        match cut.as_slice() {
            [a, b] => vec![(*a, *b)],
            [a, b, c, d] => {
                let middle = corners.iter().sum::<f64>() / 4.0 > level;
                if middle == above[0] { vec![(*a, *b), (*c, *d)] } else { vec![(*a, *d), (*b, *c)] }
            }
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::quantile;

    /// 40 × 40 points whose coordinates are quantiles of a standard normal, so that the density is the normal one
    /// widened by the bandwidth: the line that holds a share is a circle with radius √(−2 ln(1 − share)) widened so.
    #[test]
    fn a_round_cloud_has_round_lines() {
        let quantile = |i: i32| quantile::t((f64::from(i) + 0.5) / 40.0, 1e7);
        let points: Vec<(f64, f64)> =
            (0..40).flat_map(|i| (0..40).map(move |j| (quantile(i), quantile(j)))).collect();
        let density = density(&points).unwrap();
        let xs: Vec<f64> = points.iter().map(|p| p.0).collect();
        let spread = sd(&xs) * (1.0 + 1600.0_f64.powf(-1.0 / 3.0)).sqrt();
        for share in [0.5, 0.9] {
            let lines = density.lines(density.level(share));
            assert_eq!(lines.len(), 1);
            let radius = spread * (-2.0 * (1.0_f64 - share).ln()).sqrt();
            assert_eq!(lines[0].first(), lines[0].last(), "closed");
            for (x, y) in &lines[0] {
                assert!((x.hypot(*y) / radius - 1.0).abs() < 0.05, "{share}: {} {radius}", x.hypot(*y));
            }
        }
        let sum: f64 = density.values.iter().sum::<f64>() * density.step.0 * density.step.1;
        assert!((sum - 1.0).abs() < 1e-5, "{sum}");
    }

    #[test]
    fn two_clouds_have_two_lines() {
        let cloud = |x: f64| {
            (0..60).map(move |i| {
                let turn = f64::from(i) * 2.4;
                (x + 0.1 * turn.cos(), 0.1 * turn.sin())
            })
        };
        let points: Vec<(f64, f64)> = cloud(0.0).chain(cloud(5.0)).collect();
        let density = density(&points).unwrap();
        assert_eq!(density.lines(density.level(0.5)).len(), 2);
    }

    #[test]
    fn few_points_and_points_on_a_line_have_no_density() {
        assert!(density(&[(0.0, 0.0); 9]).is_none());
        assert!(density(&[(0.0, 0.0); 50]).is_none());
        let line: Vec<(f64, f64)> = (0..50).map(|i| (f64::from(i), 1.0)).collect();
        assert!(density(&line).is_none());
    }
}
