//! Morphology on planes: closings by a disc, pieces that hang together, distances.

use crate::align::plane::NumberPlane;

/// The largest value within a disc of this radius in samples; outside the plane there is nothing.
///
/// A disc is a stack of runs. The run maxima of growing half width are made once, two comparisons each, and combined row
/// by row, so that a disc of radius r costs about 4r comparisons a sample instead of 3r².
pub(crate) fn dilated(plane: &NumberPlane, radius: usize) -> NumberPlane {
    let (columns, rows) = (plane.columns, plane.rows);
    let mut out = plane.map(|_| f32::NEG_INFINITY);
    let mut run = plane.clone();
    let half_widths = half_widths(radius);
    for half in 0..=radius {
        if half > 0 {
            run = grown(&run, plane, half);
        }
        for (dy, _) in half_widths.iter().enumerate().filter(|(_, w)| **w == half) {
            for y in 0..rows {
                let target = &mut out.values[y * columns..(y + 1) * columns];
                for other in [y.checked_sub(dy), Some(y + dy).filter(|&r| r < rows)].into_iter().flatten() {
                    for (out, &v) in
                        target.iter_mut().zip(&run.values[other * columns..(other + 1) * columns])
                    {
                        *out = if v > *out { v } else { *out };
                    }
                }
            }
        }
    }
    out
}

/// Half width of the disc's row at each distance from its middle row.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a radius of some dozen samples"
)]
fn half_widths(radius: usize) -> Vec<usize> {
    let r = radius as f64;
    (0..=radius).map(|dy| (r * r - (dy * dy) as f64).max(0.0).sqrt().round() as usize).collect()
}

/// Maxima over runs of half width `half` from those of the half width before.
fn grown(run: &NumberPlane, plane: &NumberPlane, half: usize) -> NumberPlane {
    let columns = plane.columns;
    let mut next = run.clone();
    if half >= columns {
        return next;
    }
    for (out, row) in next.values.chunks_mut(columns).zip(plane.values.chunks(columns)) {
        for (out, &v) in out[half..].iter_mut().zip(row) {
            *out = if v > *out { v } else { *out };
        }
        for (out, &v) in out.iter_mut().zip(&row[half..]) {
            *out = if v > *out { v } else { *out };
        }
    }
    next
}

/// A closing by a disc, less the plane itself: how much darker a narrow dark thing is than what lies around it.
pub(crate) fn darkness_of_narrow(plane: &NumberPlane, radius: usize) -> NumberPlane {
    let wide = dilated(plane, radius);
    let closed = dilated(&wide.map(|v| -v), radius);
    closed.zip(plane, |c, v| (-c - v).max(0.0))
}

/// Whether each sample lies within `radius` of one that is set.
pub(crate) fn widened(mask: &[bool], columns: usize, radius: f64) -> Vec<bool> {
    distance_to(mask, columns).into_iter().map(|d| f64::from(d) <= radius).collect()
}

/// Distance in samples of each sample to the nearest one that is set, by two sweeps (steps of 1 and √2: at most 8 % too
/// long); outside the plane nothing is set.
pub(crate) fn distance_to(mask: &[bool], columns: usize) -> Vec<f32> {
    const DIAGONAL: f32 = std::f32::consts::SQRT_2;
    let rows = mask.len().checked_div(columns).unwrap_or(0);
    let mut d: Vec<f32> = mask.iter().map(|&m| if m { 0.0 } else { 1e9 }).collect();
    let mut relax = |at: usize, other: usize, step: f32| {
        let v = d[other] + step;
        if v < d[at] {
            d[at] = v;
        }
    };
    for y in 0..rows {
        for x in 0..columns {
            let at = y * columns + x;
            if x > 0 {
                relax(at, at - 1, 1.0);
            }
            if y > 0 {
                relax(at, at - columns, 1.0);
                if x > 0 {
                    relax(at, at - columns - 1, DIAGONAL);
                }
                if x + 1 < columns {
                    relax(at, at - columns + 1, DIAGONAL);
                }
            }
        }
    }
    for y in (0..rows).rev() {
        for x in (0..columns).rev() {
            let at = y * columns + x;
            if x + 1 < columns {
                relax(at, at + 1, 1.0);
            }
            if y + 1 < rows {
                relax(at, at + columns, 1.0);
                if x > 0 {
                    relax(at, at + columns - 1, DIAGONAL);
                }
                if x + 1 < columns {
                    relax(at, at + columns + 1, DIAGONAL);
                }
            }
        }
    }
    d
}

/// Samples that hang together, corners included.
#[derive(Clone, Debug, Default)]
pub(crate) struct Piece {
    /// Their indices.
    pub(crate) samples: Vec<usize>,
    /// Columns and rows of the box around them.
    pub(crate) size: (usize, usize),
}

/// The pieces of a mask, in the order of their first samples.
pub(crate) fn pieces(mask: &[bool], columns: usize) -> Vec<Piece> {
    let mut seen = vec![false; mask.len()];
    let mut found = Vec::new();
    let rows = mask.len().checked_div(columns).unwrap_or(0);
    for start in 0..mask.len() {
        if !mask[start] || seen[start] {
            continue;
        }
        let (mut low, mut high) = ((usize::MAX, usize::MAX), (0, 0));
        let mut samples = vec![start];
        seen[start] = true;
        let mut next = 0;
        while let Some(&at) = samples.get(next) {
            next += 1;
            let (x, y) = (at % columns, at / columns);
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
            for ny in y.saturating_sub(1)..(y + 2).min(rows) {
                for nx in x.saturating_sub(1)..(x + 2).min(columns) {
                    let other = ny * columns + nx;
                    if mask[other] && !seen[other] {
                        seen[other] = true;
                        samples.push(other);
                    }
                }
            }
        }
        found.push(Piece { samples, size: (high.0 - low.0 + 1, high.1 - low.1 + 1) });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One bright sample becomes a disc, whose half widths are rounded (√7 to 3 in the row of 13); a dark line narrower than the disc is found and a wide one is not.
    #[test]
    fn discs_and_narrow_things() {
        let mut p = NumberPlane::filled(21, 21, 0.0);
        p.values[10 * 21 + 10] = 1.0;
        let disc = dilated(&p, 4);
        for (x, y, inside) in
            [(14, 10, true), (15, 10, false), (13, 13, true), (14, 13, false), (10, 6, true)]
        {
            assert_eq!(disc.at(x, y) > 0.5, inside, "{x} {y}");
        }
        let mut lines = NumberPlane::filled(60, 40, 1.0);
        for y in 0..40 {
            lines.values[y * 60 + 10..y * 60 + 13].fill(0.2);
            lines.values[y * 60 + 30..y * 60 + 50].fill(0.2);
        }
        let dark = darkness_of_narrow(&lines, 4);
        assert!((dark.at(11, 20) - 0.8).abs() < 1e-5 && dark.at(40, 20).abs() < 1e-5);
    }

    #[test]
    fn pieces_and_distances() {
        let mut mask = vec![false; 100];
        for at in [11, 22, 33, 77, 78] {
            mask[at] = true;
        }
        let found = pieces(&mask, 10);
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].samples.len(), found[0].size), (3, (3, 3)));
        let d = distance_to(&mask, 10);
        // From (5, 1) the nearest is (3, 3).
        assert!((f64::from(d[15]) - 8.0_f64.sqrt()).abs() < 1e-5 && d[11].abs() < 1e-6);
        assert!(widened(&mask, 10, 1.0)[12] && !widened(&mask, 10, 1.0)[14]);
        assert!(pieces(&[], 0).is_empty());
    }
}
