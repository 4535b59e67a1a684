//! How soft one border is, from the grey levels across it: the 10–90 % rise that a step would have there.
//!
//! A wall is a step, an end plate seen edge-on a line. From its foot to its peak a line blurred as much as a step rises
//! in two thirds of the length, so that the rise of its flank says less than the picture's blur. Hence first the steepest flank is
//! followed to where it flattens; then step, line and slope of the ground together are fitted to the grey levels with a
//! blur between that of a step and that of a line with this flank.

use crate::geom::linear;
use crate::stats::normal::p_below;

/// How many times the grain a border's contrast must be to count as an edge.
const GRAINS: f64 = 3.0;
/// How far off the mark its edge may lie, in millimetres.
const OFF_MM: f64 = 1.5;
/// Blur across the border before slopes are taken, in millimetres; it is taken off the rise again.
const BLUR_MM: f64 = 0.25;
/// From 10 to 90 % of a step blurred by a normal distribution, in its standard deviations.
pub(crate) const RISE_OF_SIGMA: f64 = 2.563_103;
/// An edge ends where its slope has fallen to this share of its steepest; a blurred step cut off there rises from 10
/// to 90 % over 2.4260 standard deviations, of which [`CUT`] makes the whole again.
const SHARE: f64 = 0.1;
const CUT: f64 = RISE_OF_SIGMA / 2.426_0;
/// The flank of a line blurred by a normal distribution rises from 10 to 90 % over `√(2 ln 10) − √(2 ln 10/9)` = 1.6869
/// standard deviations: a step as soft rises over 1.5194 times as much.
const OF_LINE: f64 = 1.519_4;
/// Blurs that are tried, and the places of the border about the steepest slope: reach and step in standard deviations.
const BLURS: u32 = 8;
const PLACES: (i32, f64) = (5, 0.24);
/// Grey levels farther from the steepest slope count less, by a normal distribution with this standard deviation, in
/// millimetres.
const NEAR_MM: f64 = 2.5;
/// Below this a flank tells no blur, in millimetres.
const LEAST_MM: f64 = 0.3;

/// Why there is no rise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoRise {
    /// No edge that stands out of the grain.
    NoEdge,
    /// Metal or the picture's end in the way.
    Unseen,
}

/// The rise in millimetres at the middle of a profile with these steps in millimetres; `grain` is of its values.
pub(crate) fn rise(profile: &[Option<f64>], step: f64, grain: f64) -> Result<f64, NoRise> {
    let flank = flank(profile, step, grain)?;
    Ok(fitted(profile, step, &flank).unwrap_or(flank.rise))
}

/// The steepest flank: where it is steepest, as an index, and its rise in millimetres.
struct Flank {
    top: usize,
    rise: f64,
}

/// The steepest flank near the middle of a profile, followed to where it flattens.
fn flank(profile: &[Option<f64>], step: f64, grain: f64) -> Result<Flank, NoRise> {
    let smooth = blurred(profile, BLUR_MM / step);
    let slope = |i: usize| Some(smooth.get(i + 1)?.as_ref()? - smooth.get(i.checked_sub(1)?)?.as_ref()?);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some dozens")]
    let off = (OFF_MM / step) as usize;
    let middle = profile.len() / 2;
    let near = (middle.saturating_sub(off)..=middle + off).filter_map(|i| Some((i, slope(i)?)));
    let Some((top, steepest)) = near.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return Err(NoRise::Unseen);
    };
    let goes_on = |i: usize| slope(i).map(|s| s * steepest > 0.0 && s.abs() >= SHARE * steepest.abs());
    // A slope that goes on beyond what is looked at is no edge; what metal or the picture's end hides is not known.
    let follow = |way: isize| -> Result<usize, NoRise> {
        let mut here = top;
        loop {
            let next =
                here.checked_add_signed(way).filter(|next| *next < profile.len()).ok_or(NoRise::NoEdge)?;
            match goes_on(next) {
                Some(true) => here = next,
                Some(false) => return Ok(here),
                None if next == 0 || next + 1 == profile.len() => return Err(NoRise::NoEdge),
                None => return Err(NoRise::Unseen),
            }
        }
    };
    let (from, to) = (follow(-1)?, follow(1)?);
    let levels: Option<Vec<f64>> = smooth[from..=to].iter().copied().collect();
    let levels = levels.filter(|levels| levels.len() > 1).ok_or(NoRise::NoEdge)?;
    let (low, high) = (levels[0], levels[levels.len() - 1]);
    if (high - low).abs() < GRAINS * grain {
        return Err(NoRise::NoEdge);
    }
    let crossing = |share: f64| {
        let wanted = low + (high - low) * share;
        let i =
            levels.windows(2).position(|pair| (pair[0] - wanted) * (pair[1] - wanted) <= 0.0).unwrap_or(0);
        #[expect(clippy::cast_precision_loss, reason = "some dozens")]
        let i_mm = i as f64;
        (i_mm + (wanted - levels[i]) / (levels[i + 1] - levels[i])) * step
    };
    let rise = CUT * (crossing(0.9) - crossing(0.1));
    let own = RISE_OF_SIGMA * BLUR_MM;
    Ok(Flank { top, rise: (rise * rise - own * own).max(0.0).sqrt() })
}

/// The rise whose blur, laid over a step and a line at one place on a ground that slopes, comes nearest to the grey levels.
fn fitted(profile: &[Option<f64>], step: f64, flank: &Flank) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "some dozens")]
    let off = |i: usize| (i as f64 - flank.top as f64) * step;
    // Distance from the steepest slope, weight and grey level, less a level near to all of them.
    let level = profile.get(flank.top).copied().flatten()?;
    let seen: Vec<(f64, f64, f64)> = profile
        .iter()
        .enumerate()
        .filter_map(|(i, value)| {
            let d = off(i);
            Some((d, (-(d / NEAR_MM).powi(2)).exp(), value.as_ref()? - level))
        })
        .collect();
    let least = flank.rise.max(LEAST_MM);
    let blurs = (0..BLURS).map(|n| least * OF_LINE.powf(f64::from(n) / f64::from(BLURS - 1)));
    let tried = blurs.flat_map(|rise| {
        let places = (-PLACES.0..=PLACES.0).map(|k| f64::from(k) * PLACES.1);
        places.map(move |place| (rise, place * rise / RISE_OF_SIGMA))
    });
    tried
        .filter_map(|(rise, place)| Some((rise, left(&seen, rise / RISE_OF_SIGMA, place)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(rise, _)| rise)
}

/// What a step and a line at `place`, blurred by `sigma`, and a straight ground leave of the weighted squares; less their
/// sum, which is common to all.
fn left(seen: &[(f64, f64, f64)], sigma: f64, place: f64) -> Option<f64> {
    let (mut matrix, mut right) = ([[0.0; 4]; 4], [0.0; 4]);
    for &(d, weight, value) in seen {
        let z = (d - place) / sigma;
        let row = [1.0, d, p_below(d, place, sigma), (-0.5 * z * z).exp()];
        for (a, x) in row.into_iter().enumerate() {
            for (sum, y) in matrix[a].iter_mut().zip(row) {
                *sum += weight * x * y;
            }
            right[a] += weight * x * value;
        }
    }
    let trace: f64 = (0..4).map(|i| matrix[i][i]).sum();
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] += 1e-9 * trace;
    }
    let solved = linear::solve(matrix, right)?;
    Some(-solved.iter().zip(right).map(|(x, b)| x * b).sum::<f64>())
}

/// The profile blurred by a normal distribution of so many steps, over what is seen of it.
fn blurred(profile: &[Option<f64>], sigma: f64) -> Vec<Option<f64>> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_possible_wrap, reason = "some dozens")]
    let (reach, n) = ((3.0 * sigma).ceil() as isize, profile.len() as isize);
    (0..n)
        .map(|i| {
            profile[usize::try_from(i).ok()?]?;
            let (mut sum, mut weights) = (0.0, 0.0);
            for j in (i - reach).max(0)..=(i + reach).min(n - 1) {
                #[expect(clippy::cast_precision_loss, reason = "some dozens")]
                let d = (j - i) as f64 / sigma;
                if let Some(value) = profile[usize::try_from(j).ok()?] {
                    let weight = (-0.5 * d * d).exp();
                    sum += weight * value;
                    weights += weight;
                }
            }
            Some(sum / weights)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP: f64 = 0.125;

    /// Grey levels across a border with this step and this line, blurred to a 10–90 % rise, on a ground that slopes.
    fn profile(step: f64, line: f64, rise: f64) -> Vec<Option<f64>> {
        let sigma = rise / RISE_OF_SIGMA;
        (-48..=48)
            .map(|i| {
                let d = f64::from(i) * STEP - 0.2;
                let z = d / sigma;
                // The area of a line stays as it is blurred.
                let value = step * p_below(d, 0.0, sigma) + line / sigma * (-0.5 * z * z).exp();
                Some(8_000.0 + 60.0 * d + value)
            })
            .collect()
    }

    /// Steps, lines, and lines on steps of either sign: from 2 mm on the blur is found within a tenth, and up to 1 mm it is
    /// found to be no more, where nothing hangs on it.
    #[test]
    fn the_blur_of_steps_and_of_lines_is_found() {
        for (step, line) in
            [(4_000.0, 0.0), (0.0, 3_000.0), (4_000.0, 3_000.0), (-2_000.0, 3_000.0), (0.0, -3_000.0)]
        {
            for wanted in [0.75, 1.0, 2.0, 3.0, 4.0] {
                let found = rise(&profile(step, line, wanted), STEP, 1.0).unwrap();
                let good = if wanted < 2.0 { found < 1.1 } else { (found / wanted - 1.0).abs() < 0.1 };
                assert!(good, "{step} {line} {wanted}: {found}");
            }
        }
    }

    /// The flank of a line alone says two thirds: 1.6869 of 2.5631.
    #[test]
    fn the_flank_of_a_line_says_two_thirds() {
        let found = flank(&profile(0.0, 3_000.0, 3.0), STEP, 1.0).ok().unwrap().rise;
        assert!((found / 3.0 - 1.686_9 / 2.563_1).abs() < 0.04, "{found}");
    }
}
