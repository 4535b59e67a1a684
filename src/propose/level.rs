//! Where exactly a border lies, once it has been found.
//!
//! Two things draw a found border outward, and both are mended for a reason that holds on other pictures, too.
//!
//! The template that finds a border answers best with the dark line under its inner tap, so that a thin line is told too
//! far out and a broad one too far in. Here the border is where the picture, averaged along the found path, passes half way
//! between the dark line and what lies outside it: the place that a blur does not move.
//!
//! And what stops the light is the outer one of a border's two contours, near and far side of the body, while the border
//! that is wanted is their middle. An end plate seen obliquely is a dark band from the one contour to the other, broader than
//! the line of a plate seen edge on; the middle of the band is the middle of its contours. A wall has no such band: where
//! its contours are too near each other to show, the ray is turned by less than the least that shows (1.4°, method,
//! section 4), any angle as likely as another, and the outer contour lies on average `a · sin 0.7°` outside the
//! middle, a being the contours' distance from the middle plane. That is taken away. A border that shows twice is put
//! half way between its lines, where the reading wants it, and said to show twice. The far line of an end plate ends its band:
//! the ray runs longest in the plate there, so that the band is darkest in it.

use crate::propose::edge::{CLEAR, Found, find, value_at};
use crate::propose::model::{Edge, OnEdge, shares};
use crate::propose::patch::Patch;

/// Distance of a border's two contours from the middle plane, in millimetres, in the order of [`Edge::ALL`] (method, section
/// 4).
const LEVERS_MM: [f64; 4] = [20.0, 20.0, 12.0, 4.0];
/// Mean size of an angle that is anywhere within ± 1.4°, in degrees.
const MEAN_DEG: f64 = 0.7;
/// How far inside an end plate's path its band is looked at, in millimetres.
const BAND_MM: f64 = 6.0;
/// Width of the line of a plate seen edge on, over the rise of its outer flank: both are what blurs the picture (1.45 ± 0.05
/// on simulated stills; a Gaussian line has 1.4 or more).
const LINE_OVER_RISE: f64 = 1.45;
/// The part of the band's width that is its own: inside, the bone's own shade goes on getting lighter (simulated stills).
const BAND_SHARE: f64 = 0.75;
/// Farther in than this the band's middle is never taken to lie, in millimetres: beyond, both lines show.
const MOST_BAND_MM: f64 = 1.5;
/// The profile's step and reach, in millimetres.
const STEP_MM: f64 = 0.05;
const REACH_MM: f64 = 2.0;
/// Where the dark line and the light outside are looked for.
const LINE_MM: (f64, f64) = (-1.6, 0.3);
const OUTSIDE_MM: (f64, f64) = (0.8, 1.6);
/// Bone inside is lighter than the dark line by at least this share of what the outside is.
const LEAST_INSIDE: f64 = 0.1;
/// More than this the template does not err.
const MOST_MM: f64 = 0.6;
/// Samples near the ends of a border are left out.
const END: f64 = 0.12;
/// The fewest samples that tell a profile.
const FEWEST: usize = 8;
/// The far line of an end plate: how far inside it is looked for, farther and nearer where metal hides what is farther; how far
/// in it lies at least, in millimetres and over the rise of the outer flank; and how much darker it is than the near line, over
/// the step from it to the light outside. Plates whose contours lie less than 2 mm apart were lighter there, never darker (60
/// simulated ones).
const FAR_MM: [f64; 2] = [7.0, 5.0];
const FAR_FROM_MM: f64 = 1.6;
const FAR_FROM_RISES: f64 = 1.3;
const FAR_DARKER: f64 = 0.03;
/// The second line of a wall: how far off the first one it is looked for, in steps of how many millimetres; half the width of a
/// step; and how large it is at least over the border's own.
const SECOND_MM: (f64, f64) = (1.3, 4.5);
const SECOND_STEP_MM: f64 = 0.2;
const STEP_WIDTH_MM: f64 = 0.6;
const SECOND_SHARE: f64 = 0.25;
/// How the outer line is looked for where it is known to lie: reach, blur and stiffness.
const OUTER_REACH_MM: f64 = 0.8;
const FINEST: usize = 4;
const OUTER_STIFFNESS: f32 = 0.06;

/// How far outward of its found path a border's exact place lies, in millimetres (inward is negative).
pub(crate) fn correction(patch: &Patch, found: &Found, edge: Edge, second: Option<Second>) -> f64 {
    let flank = Profile::along(patch, found, edge, REACH_MM).and_then(|profile| profile.outer_flank());
    let outer = flank.unwrap_or(0.0).clamp(-MOST_MM, MOST_MM);
    match second {
        Some(Second { apart, sure: true }) => return outer - 0.5 * apart,
        Some(Second { sure: false, .. }) => return outer,
        None => {}
    }
    let usual = LEVERS_MM[edge.index()] * MEAN_DEG.to_radians().sin();
    match edge {
        Edge::Superior | Edge::Inferior => outer - band(patch, found, edge).unwrap_or(usual),
        Edge::Posterior | Edge::Anterior => outer - usual,
    }
}

/// How far the middle of an end plate's dark band lies inside its outer flank, as far as the band is broader than the line of a
/// plate seen edge on; `None` where its inner flank does not show.
fn band(patch: &Patch, found: &Found, edge: Edge) -> Option<f64> {
    let profile = Profile::along(patch, found, edge, BAND_MM)?;
    let width = profile.outer_flank()? - profile.inner_flank()?;
    let line = LINE_OVER_RISE * profile.rise()?;
    Some((BAND_SHARE * 0.5 * (width * width - line * line).max(0.0).sqrt()).min(MOST_BAND_MM))
}

/// The mean profile across a found border, in stored grey, bone dark.
struct Profile {
    /// Outward of the found path, in millimetres, from inside to outside.
    offsets: Vec<f64>,
    values: Vec<f64>,
}

impl Profile {
    /// Over the samples all of which is seen from `inward` millimetres inside the path on.
    fn along(patch: &Patch, found: &Found, edge: Edge, inward: f64) -> Option<Self> {
        #[expect(clippy::cast_possible_truncation, reason = "some dozen steps")]
        let [inward, outward] = [inward, REACH_MM].map(|reach| (reach / STEP_MM).round() as i32);
        let offsets: Vec<f64> = (-inward..=outward).map(|i| f64::from(i) * STEP_MM).collect();
        let mut values = vec![0.0; offsets.len()];
        let (mut weight, mut used) = (0.0, 0);
        for (((sample, off), response), t) in
            found.samples.iter().zip(&found.off).zip(&found.response).zip(shares(edge))
        {
            if !(END..=1.0 - END).contains(&t) || *response < 0.3 * CLEAR {
                continue;
            }
            let seen: Option<Vec<f32>> = offsets
                .iter()
                .map(|o| value_at(patch, &patch.grey, sample.at + sample.out * (off + o)))
                .collect();
            let Some(seen) = seen else { continue };
            let w = f64::from((response / CLEAR).min(1.0));
            for (sum, v) in values.iter_mut().zip(seen) {
                *sum += w * f64::from(v);
            }
            weight += w;
            used += 1;
        }
        values.iter_mut().for_each(|v| *v /= weight);
        (used >= FEWEST).then_some(Self { offsets, values })
    }

    /// The places whose offsets lie within these.
    fn within(&self, (from, to): (f64, f64)) -> impl DoubleEndedIterator<Item = usize> {
        let inside = move |offset: f64| offset >= from - 1e-9 && offset <= to + 1e-9;
        (0..self.offsets.len()).filter(move |&i| inside(self.offsets[i]))
    }

    /// Where the dark line is darkest.
    fn darkest(&self) -> Option<usize> {
        self.within(LINE_MM).min_by(|&a, &b| self.values[a].total_cmp(&self.values[b]))
    }

    /// Where it passes half way from the dark line to the light outside.
    fn outer_flank(&self) -> Option<f64> {
        let darkest = self.darkest()?;
        let outside: Vec<f64> = self.within(OUTSIDE_MM).map(|i| self.values[i]).collect();
        #[expect(clippy::cast_precision_loss, reason = "some dozen steps")]
        let light = outside.iter().sum::<f64>() / outside.len().max(1) as f64;
        let level = 0.5 * (self.values[darkest] + light);
        if light <= self.values[darkest] {
            return None;
        }
        let at = (darkest..self.offsets.len() - 1)
            .find(|&i| self.values[i] <= level && self.values[i + 1] > level)?;
        let share = (level - self.values[at]) / (self.values[at + 1] - self.values[at]);
        Some(self.offsets[at] + share * STEP_MM)
    }

    /// The lightest place outside.
    fn light(&self) -> f64 {
        self.within(OUTSIDE_MM).map(|i| self.values[i]).fold(f64::NEG_INFINITY, f64::max)
    }

    /// How far the outer flank would take from the dark line to the light outside, were it as steep as in its middle, in
    /// millimetres: what blurs the picture.
    fn rise(&self) -> Option<f64> {
        let darkest = self.darkest()?;
        let light = self.light();
        let step = 3;
        let steepest = (darkest..self.values.len().saturating_sub(step))
            .filter(|&i| self.offsets[i] < OUTSIDE_MM.1)
            .map(|i| (self.values[i + step] - self.values[i]) / (3.0 * STEP_MM))
            .fold(0.0, f64::max);
        (steepest > 0.0).then(|| (light - self.values[darkest]) / steepest)
    }

    /// Where, going inward, it passes half way from the dark line to the bone inside; `None` where it hardly gets lighter.
    fn inner_flank(&self) -> Option<f64> {
        let darkest = self.darkest()?;
        let dark = self.values[darkest];
        let bone = self.values[..=darkest].iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let light = self.light();
        if bone - dark < LEAST_INSIDE * (light - dark) {
            return None;
        }
        let level = 0.5 * (dark + bone);
        let at = (1..=darkest).rev().find(|&i| self.values[i] <= level && self.values[i - 1] > level)?;
        let share = (level - self.values[at]) / (self.values[at - 1] - self.values[at]);
        Some(self.offsets[at] - share * STEP_MM)
    }
}

/// A border's other line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Second {
    /// How far from the first, in millimetres.
    pub(crate) apart: f64,
    /// Whether it is surely the border's own: other bones draw lines inside a wall.
    pub(crate) sure: bool,
}

/// A border as it was found, or, where its outer line lies beside it, that one: what stops the light is the outer line, and of
/// two lines the same one is wanted in every picture. And its other line: where the band of an end plate is darkest, or where the
/// mean profile of a wall falls inward a second time, a good way off.
pub(crate) fn outermost(patch: &Patch, found: &Found, edge: Edge) -> (Found, Option<Second>) {
    if matches!(edge, Edge::Superior | Edge::Inferior) {
        return (found.clone(), far_line(patch, found, edge).map(|apart| Second { apart, sure: true }));
    }
    let second = second_step(patch, found, edge).filter(|(share, _)| *share > SECOND_SHARE);
    let Some((_, off)) = second else { return (found.clone(), None) };
    if off <= 0.0 {
        return (found.clone(), Some(Second { apart: -off, sure: false }));
    }
    let aside = |sample: &OnEdge| OnEdge { at: sample.at + sample.out * off, ..*sample };
    let beside =
        find(patch, found.samples.iter().map(aside).collect(), OUTER_REACH_MM, FINEST, OUTER_STIFFNESS);
    let outer = Found {
        samples: found.samples.clone(),
        off: beside.off.iter().map(|more| off + more).collect(),
        ..beside
    };
    (outer, Some(Second { apart: off, sure: true }))
}

/// How far inside its outer flank the far line of an end plate lies, in millimetres, if it shows.
fn far_line(patch: &Patch, found: &Found, edge: Edge) -> Option<f64> {
    let profile = FAR_MM.into_iter().find_map(|reach| Profile::along(patch, found, edge, reach))?;
    let (outer, near) = (profile.outer_flank()?, profile.values[profile.darkest()?]);
    let least = FAR_FROM_MM.max(FAR_FROM_RISES * profile.rise()?);
    let far = profile
        .within((f64::NEG_INFINITY, -least))
        .min_by(|&a, &b| profile.values[a].total_cmp(&profile.values[b]))?;
    let (dark, light) = (profile.values[far], profile.light());
    // Where it goes on getting darker inward, no line is seen.
    let inside = profile.values[..far].iter().any(|v| *v > dark + FAR_DARKER * (light - dark));
    (inside && near - dark >= FAR_DARKER * (light - dark)).then(|| outer - profile.offsets[far])
}

/// The largest second step over the wall's own, and how far outward it lies, in millimetres.
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
    let summits = (-to..=-from).chain(from..=to).filter_map(|i| {
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
