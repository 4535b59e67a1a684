//! Where exactly a border lies, once it has been found.
//!
//! Two things draw a found border outward, and both are mended for a reason that holds on other pictures, too.
//!
//! The template that finds a border answers best with the dark line under its inner tap, so that a thin line is told too
//! far out and a broad one too far in. Here the border is where the picture, averaged along the found path, passes half way
//! between the dark line and what lies outside it: the place that a blur does not move.
//!
//! And what stops the light is the outer one of a border's two contours, near and far side of the body, while the border
//! that is wanted is their middle. Where they are too near each other to show, the ray is turned by less than the
//! least that shows (1.4°, method, section 4), any angle as likely as another, and the outer contour lies on average
//! `a · sin 0.7°` outside the middle, a being the contours' distance from the middle plane. That is taken away. A
//! border that shows twice is left on its outer line: there the reader marks the other one.

use crate::propose::edge::{CLEAR, Found, value_at};
use crate::propose::model::{Edge, shares};
use crate::propose::patch::Patch;

/// Distance of a border's two contours from the middle plane, in millimetres, in the order of [`Edge::ALL`] (method, section
/// 4).
const LEVERS_MM: [f64; 4] = [20.0, 20.0, 12.0, 4.0];
/// Mean size of an angle that is anywhere within ± 1.4°, in degrees.
const MEAN_DEG: f64 = 0.7;
/// The profile's step and reach, in millimetres.
const STEP_MM: f64 = 0.05;
const REACH_MM: f64 = 2.0;
/// Where the dark line and the light outside are looked for.
const LINE_MM: (f64, f64) = (-1.6, 0.3);
const OUTSIDE_MM: (f64, f64) = (0.8, 1.6);
/// More than this the template does not err.
const MOST_MM: f64 = 0.6;
/// Samples near the ends of a border are left out.
const END: f64 = 0.12;
/// The fewest samples that tell a profile.
const FEWEST: usize = 8;
/// The second line: how far off the first one it is looked for, in steps of how many millimetres; half the width of a
/// step; and how large it is at least over the border's own,
const SECOND_MM: (f64, f64) = (1.3, 4.5);
const SECOND_STEP_MM: f64 = 0.2;
const STEP_WIDTH_MM: f64 = 0.6;
/// in the order of [`Edge::ALL`]; end plates of true views stayed below 0.06, their second lines are faint.
const SECOND_SHARE: [f64; 4] = [0.10, 0.10, 0.25, 0.25];

/// How far outward of its found path a border's exact place lies, in millimetres (inward is negative).
pub(crate) fn correction(patch: &Patch, found: &Found, edge: Edge, shows_twice: bool) -> f64 {
    let turn = if shows_twice { 0.0 } else { LEVERS_MM[edge.index()] * MEAN_DEG.to_radians().sin() };
    half_way(patch, found, edge).unwrap_or(0.0) - turn
}

/// Where the mean profile along the path passes half way from the dark line to the light outside.
fn half_way(patch: &Patch, found: &Found, edge: Edge) -> Option<f64> {
    #[expect(clippy::cast_possible_truncation, reason = "some dozen steps")]
    let half = (REACH_MM / STEP_MM).round() as i32;
    let offsets: Vec<f64> = (-half..=half).map(|i| f64::from(i) * STEP_MM).collect();
    let mut profile = vec![0.0; offsets.len()];
    let mut weight = 0.0;
    let mut used = 0;
    for (((sample, off), response), t) in
        found.samples.iter().zip(&found.off).zip(&found.response).zip(shares(edge))
    {
        if !(END..=1.0 - END).contains(&t) || *response < 0.3 * CLEAR {
            continue;
        }
        let values: Option<Vec<f32>> = offsets
            .iter()
            .map(|o| value_at(patch, &patch.grey, sample.at + sample.out * (off + o)))
            .collect();
        let Some(values) = values else { continue };
        let w = f64::from((response / CLEAR).min(1.0));
        for (sum, v) in profile.iter_mut().zip(values) {
            *sum += w * f64::from(v);
        }
        weight += w;
        used += 1;
    }
    if used < FEWEST {
        return None;
    }
    profile.iter_mut().for_each(|v| *v /= weight);
    let within = |(from, to): (f64, f64)| {
        (0..offsets.len())
            .filter(|&i| offsets[i] >= from - 1e-9 && offsets[i] <= to + 1e-9)
            .collect::<Vec<_>>()
    };
    let darkest = within(LINE_MM).into_iter().min_by(|&a, &b| profile[a].total_cmp(&profile[b]))?;
    let outside = within(OUTSIDE_MM);
    #[expect(clippy::cast_precision_loss, reason = "some dozen steps")]
    let light = outside.iter().map(|&i| profile[i]).sum::<f64>() / outside.len() as f64;
    let level = 0.5 * (profile[darkest] + light);
    if light <= profile[darkest] {
        return None;
    }
    let at = (darkest..offsets.len() - 1).find(|&i| profile[i] <= level && profile[i + 1] > level)?;
    let share = (level - profile[at]) / (profile[at + 1] - profile[at]);
    Some((offsets[at] + share * STEP_MM).clamp(-MOST_MM, MOST_MM))
}

/// How far apart the two lines of a border lie that seems to show twice, in millimetres: the mean profile along it falls inward a second time, a good way off. Where the
/// lines of a wall stand apart, either may be the one that was found, so that both sides are looked at.
pub(crate) fn shows_twice(patch: &Patch, found: &Found, edge: Edge) -> Option<f64> {
    let (share, off) = second_step(patch, found, edge)?;
    (share > SECOND_SHARE[edge.index()]).then_some(off.abs())
}

/// The largest second step over the border's own, and how far outward it lies, in millimetres.
fn second_step(patch: &Patch, found: &Found, edge: Edge) -> Option<(f64, f64)> {
    let level = patch.level(3);
    let reach = SECOND_MM.1 + STEP_WIDTH_MM;
    #[expect(clippy::cast_possible_truncation, reason = "some dozen steps")]
    let half = (reach / SECOND_STEP_MM).round() as i32;
    let offsets: Vec<f64> = (-half..=half).map(|i| f64::from(i) * SECOND_STEP_MM).collect();
    let profile: Vec<Option<f64>> = offsets
        .iter()
        .map(|o| {
            let values: Vec<f64> = found
                .samples
                .iter()
                .zip(&found.off)
                .zip(shares(edge))
                .filter(|(_, t)| (END..=1.0 - END).contains(t))
                .filter_map(|((s, off), _)| value_at(patch, level, s.at + s.out * (off + o)))
                .map(f64::from)
                .collect();
            #[expect(clippy::cast_precision_loss, reason = "some dozen samples")]
            let n = values.len() as f64;
            (values.len() >= FEWEST).then(|| values.iter().sum::<f64>() / n)
        })
        .collect();
    #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
    let width = (STEP_WIDTH_MM / SECOND_STEP_MM).round() as i32;
    let at = |i: i32| usize::try_from(i + half).ok().and_then(|i| profile.get(i).copied().flatten());
    let step = |i: i32| Some(at(i + width)? - at(i - width)?);
    let own = (-2..=2).filter_map(step).fold(f64::NEG_INFINITY, f64::max);
    if own <= 0.0 {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "some dozen steps")]
    let [from, to] = [SECOND_MM.0, SECOND_MM.1].map(|mm| (mm / SECOND_STEP_MM).round() as i32);
    let inward = (-to..=-from).collect::<Vec<i32>>();
    let outward = match edge {
        Edge::Posterior | Edge::Anterior => (from..=to).collect::<Vec<i32>>(),
        Edge::Superior | Edge::Inferior => Vec::new(),
    };
    let summits = inward.into_iter().chain(outward).filter_map(|i| {
        let (before, here, after) = (step(i - 1)?, step(i)?, step(i + 1)?);
        (here >= before && here >= after).then_some((here / own, f64::from(i) * SECOND_STEP_MM))
    });
    summits.max_by(|a, b| a.0.total_cmp(&b.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 20 mm · sin 0.7° = 0.244 mm for an end plate.
    #[test]
    fn the_mean_lever_by_hand() {
        assert!((LEVERS_MM[0] * MEAN_DEG.to_radians().sin() - 0.2443).abs() < 1e-4);
    }
}
