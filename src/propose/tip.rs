//! The blunt end of an instrument: where its shaft stops being metal, found in two ways that must agree.

use crate::align::plane::{NumberPlane, quantile};
use crate::case::image::frame::Frame;
use crate::geom::point::{Point, Vec2};
use crate::propose::local::Local;
use crate::propose::metal::{Instrument, SmallImage, place};
use crate::propose::raster::widened;
use crate::propose::shaft::{Shaft, follow};
use crate::propose::small::picked;
use crate::propose::still::Still;

/// A clear end: slope over the shaft's darkness per millimetre, and contrast over it.
const LEAST_SLOPE: f64 = 0.45;
const LEAST_CONTRAST: f64 = 0.5;
/// How far the two ways may differ.
const APART_MM: f64 = 1.2;
/// The outline of a rod's end lies beyond the end of its axis by its radius times the sine of the angle at which it leaves
/// the picture's plane. That angle is not seen, any sine from 0 to 1 may be: on average half a radius.
const AXIS_SHARE: f64 = 0.5;
/// An end broader than what lies behind it, by these factors, points along the ray: then it is less sure; and a bend that is seen from
/// its end hides where it ends. Its outline was no farther beyond the axis than that of other ends: taken back by a whole radius, the
/// tip lay 0.35 mm too far behind (the mean of twelve simulated ones), and two readers took its front for the tip and were right.
const SWOLLEN: f64 = 1.6;
const HIDDEN: f64 = 1.9;
/// An end that is darker than what lies behind it by this factor, but hardly broader, is metal on metal: it turns toward or
/// away from the eye, and where it ends lies somewhere behind its outline.
const ON_ITSELF: f64 = 1.36;
const HARDLY_BROADER: f64 = 1.35;
/// Steps of the path behind its end where such an end and the part behind it are looked at: 0.8–2.4 and 3.2–4.8 mm.
const DARK_STEPS: [usize; 3] = [2, 4, 6];
const DARK_BEHIND_STEPS: [usize; 3] = [8, 10, 12];
/// Steps of the path behind its end where the end and the part behind it are looked at: 0.4–1.6 and 2.4–5.6 mm.
const END_STEPS: std::ops::RangeInclusive<usize> = 1..=4;
const BEHIND_STEPS: std::ops::RangeInclusive<usize> = 6..=14;
/// An end that is narrower than what lies right behind it comes out of a cannula there: what is seen of it may be folded over itself
/// in front of the cannula's tip, and where it ends is hidden. By this factor and more; the one of 49 simulated ends that were
/// looked at whose tip lay 3.6 mm off had 1.28, no other more than 1.0. Steps of the path: 0.8–2.0 and 3.2–5.2 mm behind the end.
const OUT_OF_CANNULA: f64 = 1.15;
const WIRE_STEPS: std::ops::RangeInclusive<usize> = 2..=5;
const CANNULA_STEPS: std::ops::RangeInclusive<usize> = 8..=13;
/// Where behind the end the rod's half width is taken, in millimetres, and its largest.
const WIDTH_AT_MM: [f64; 3] = [0.8, 1.2, 1.6];
const WIDEST_HALF_MM: f64 = 1.8;
/// An end narrower than this share of what lies so far behind it, in millimetres, is a point: a trocar's.
const TAPERED: f64 = 0.6;
const TAPER_AT_MM: f64 = 3.2;
/// Uncertainty along and across.
const SD_MM: [f64; 2] = [0.6, 0.4];
const SWOLLEN_SD_MM: [f64; 2] = [0.9, 0.7];
/// The end's profile: from before to behind the path's last place, its step, its parallel lines and their weights.
const BEFORE_MM: f64 = 3.0;
const BEHIND_MM: f64 = 4.0;
const STEP_MM: f64 = 0.05;
const LINES_MM: [f64; 3] = [-0.3, 0.0, 0.3];
/// Samples of the mask that count as metal are at least this dark over the shaft.
const DARK: f32 = 0.45;
/// An instrument this long is surely one.
const SURE_MM: f64 = 15.0;
/// Borders of bones that look like an instrument were up to 43 mm long in stills without one (a hundred simulated ones); one that
/// comes nowhere near the field's edge is longer.
const LONGER_THAN_BONE_MM: f64 = 50.0;
/// The least darkness of a shaft against its sides, over what lies between the picture's middle gray and its darkest twentieth:
/// 1.1 and more in 79 simulated instruments, 0.4 where a shadow was taken for one.
const LEAST_DARKNESS: f64 = 0.8;
const DARKEST_SHARE: f64 = 0.05;
/// The shortest path that has an end.
const SHORTEST: usize = 8;
/// Path steps over which its direction is taken: 1.6 mm.
const DIRECTION: usize = 4;

/// A proposed tip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tip {
    /// In pixels of the frame.
    pub point: Point,
    /// Standard deviations along and across the instrument, in millimetres.
    pub sd_mm: [f64; 2],
    /// The direction the instrument points in.
    pub along: Vec2,
    /// Whether the end is broader than what lies behind it, since it points toward or away from the eye.
    pub end_on: bool,
}

/// Why no tip is proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TipRefusal {
    /// No instrument is seen.
    NoInstrument,
    /// There is more than one.
    Two,
    /// The end is sharp, or fades.
    NotBlunt,
    /// Two ways of finding it say different places.
    TwoEnds,
    /// It ends far from the body.
    Elsewhere,
}

impl TipRefusal {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::NoInstrument => "no_instrument",
            Self::Two => "two_instruments",
            Self::NotBlunt => "not_blunt",
            Self::TwoEnds => "two_ends",
            Self::Elsewhere => "elsewhere",
        }
    }

    /// One sentence that says why, and what to do.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::NoInstrument => "No instrument was found in the image; mark the tip by hand.",
            Self::Two => "Two instruments were found; mark the tip of the one to be measured.",
            Self::NotBlunt => "The end of the instrument is not sharply seen; mark the tip by hand.",
            Self::TwoEnds => "The end of the instrument is not clear; mark the tip by hand.",
            Self::Elsewhere => "The instrument ends outside this body; mark the tip by hand.",
        }
    }
}

/// The tip of the instrument that comes toward `body`, the middle of the body in pixels of the frame.
///
/// # Errors
/// Why none is proposed.
pub(crate) fn tip(
    frame: &Frame,
    scene: &SmallImage,
    instrument: &Instrument,
    body: Point,
) -> Result<Tip, TipRefusal> {
    if instrument.score <= 0.0 || instrument.length_mm < 10.0 {
        return Err(TipRefusal::NoInstrument);
    }
    if instrument.second {
        return Err(TipRefusal::Two);
    }
    // What comes nowhere near the field's edge, or is no darker than bone, is a border of a bone.
    if !instrument.from_edge && instrument.length_mm < LONGER_THAN_BONE_MM {
        return Err(TipRefusal::NoInstrument);
    }
    let shaft = follow(scene, instrument, scene.of_frame(body)).ok_or(TipRefusal::NoInstrument)?;
    if shaft.core < LEAST_DARKNESS * darkest_bone(scene, instrument) {
        return Err(TipRefusal::NoInstrument);
    }
    let end = End::of(frame, scene, instrument, &shaft).ok_or(TipRefusal::NotBlunt)?;
    if end.slope < LEAST_SLOPE || end.contrast < LEAST_CONTRAST {
        return Err(TipRefusal::NotBlunt);
    }
    if end.half_width_mm < TAPERED * end.behind_mm {
        return Err(TipRefusal::NotBlunt);
    }
    let far = far_end(scene, instrument, &shaft).ok_or(TipRefusal::TwoEnds)?;
    let apart = scene.of_frame(end.at).distance(far) * scene.mm;
    if apart > APART_MM + 0.5 {
        return Err(TipRefusal::TwoEnds);
    }
    let on_itself = end.swelling < HARDLY_BROADER && end.darkening > ON_ITSELF;
    if end.swelling > HIDDEN || on_itself || end.broadening > OUT_OF_CANNULA {
        return Err(TipRefusal::TwoEnds);
    }
    let end_on = end.swelling > SWOLLEN;
    let sd_mm = if end_on { SWOLLEN_SD_MM } else { SD_MM };
    let back = AXIS_SHARE * end.half_width_mm;
    Ok(Tip { point: end.at - end.along * (back * end.px_per_mm), sd_mm, along: end.along, end_on })
}

/// How much darker the darkest twentieth of a picture is than its middle gray.
fn darkest_bone(scene: &SmallImage, instrument: &Instrument) -> f64 {
    let sign = instrument.polarity.sign();
    let values: Vec<f32> =
        picked(&scene.grey.values, &scene.inside, 3).into_iter().map(|v| v * sign).collect();
    f64::from(quantile(values.clone(), 0.5) - quantile(values, DARKEST_SHARE))
}

/// Where the one instrument that comes in from the edge ends, roughly, in pixels of the frame, be its end blunt or not; `None`
/// where no instrument is surely seen, or more than one.
pub(crate) fn rough_end(still: &Still<'_>, body: Point) -> Option<Point> {
    let Still { scene, instrument, .. } = still;
    let sure = instrument.score > 0.0 && instrument.length_mm >= SURE_MM && instrument.from_edge;
    if !sure || instrument.second {
        return None;
    }
    let shaft = follow(scene, instrument, scene.of_frame(body))?;
    shaft.path.last().map(|last| scene.to_frame(*last))
}

/// The same in an AP view, whose instrument is seen along its length, its other end in the field as well: the end toward the line
/// through `middle` along `down`, both in pixels of the frame. `None` where no instrument is surely seen, or more than one.
pub(crate) fn rough_end_in_front(still: &Still<'_>, middle: Point, down: Vec2) -> Option<Point> {
    let Still { scene, instrument, .. } = still;
    if instrument.score <= 0.0 || instrument.length_mm < SURE_MM || instrument.second {
        return None;
    }
    let metal: Vec<Point> = metal_of(still).collect();
    #[expect(clippy::cast_precision_loss, reason = "some thousand samples")]
    let n = metal.len().max(1) as f64;
    let at = metal.iter().fold(Point::default(), |sum, p| sum + p.to_vec() / n);
    let down = down.normalized()?;
    let beside = middle + down * (at - middle).dot(down);
    let shaft = follow(scene, instrument, scene.of_frame(beside))?;
    let dark = shaft.core >= LEAST_DARKNESS * darkest_bone(scene, instrument);
    shaft.path.last().filter(|_| dark).map(|last| scene.to_frame(*last))
}

/// What of the one instrument lies nearest to a place, both in pixels of the frame; `None` where no instrument is seen, or more than
/// one.
pub(crate) fn nearest_metal(still: &Still<'_>, to: Point) -> Option<Point> {
    if still.instrument.score <= 0.0 || still.instrument.second {
        return None;
    }
    metal_of(still).min_by(|a, b| a.distance(to).total_cmp(&b.distance(to)))
}

/// The instrument's samples, in pixels of the frame.
fn metal_of<'a>(Still { scene, instrument, .. }: &'a Still<'_>) -> impl Iterator<Item = Point> + 'a {
    let samples = (0..instrument.mask.len()).filter(|&i| instrument.mask[i]);
    samples.map(|i| scene.to_frame(place(i, scene.grey.columns)))
}

/// The end as its profile has it.
struct End {
    /// In pixels of the frame.
    at: Point,
    along: Vec2,
    /// Over the shaft's darkness.
    contrast: f64,
    /// Over the shaft's darkness, per millimetre.
    slope: f64,
    half_width_mm: f64,
    /// Half the width farther back.
    behind_mm: f64,
    /// The end's width over that of the thinnest part behind it.
    swelling: f64,
    /// The width of what lies right behind the end over the end's: more than 1 at a cannula's tip.
    broadening: f64,
    /// The end's darkness against the picture's middle gray, over that of what lies behind it.
    darkening: f64,
    px_per_mm: f64,
}

impl End {
    fn of(frame: &Frame, scene: &SmallImage, instrument: &Instrument, shaft: &Shaft) -> Option<Self> {
        let path = &shaft.path;
        if path.len() < SHORTEST {
            return None;
        }
        let last = path.len() - 1;
        let ahead = (path[last] - path[last - DIRECTION]).normalized()?;
        let behind = (path[last - DIRECTION] - path[last.saturating_sub(2 * DIRECTION)]).normalized()?;
        let curve = behind.cross(ahead).atan2(behind.dot(ahead)) / 1.6;
        let base = scene.to_frame(path[last]);
        let px_per_mm = 1.0 / (scene.mm * scene.scale[0]);
        let angle = ahead.y.atan2(ahead.x) + curve * 0.8;
        let local = Local::around(frame, base, px_per_mm, instrument.polarity.sign())?;
        // The arc goes on as the path's last part bends.
        let arc = |t: f64| {
            let mean = angle + curve * t / 2.0;
            base + Vec2::new(mean.cos(), mean.sin()) * (t * px_per_mm)
        };
        let along = |t: f64| Vec2::new((angle + curve * t).cos(), (angle + curve * t).sin());
        #[expect(clippy::cast_possible_truncation, reason = "some hundred steps")]
        let steps = ((BEFORE_MM + BEHIND_MM) / STEP_MM).round() as i32;
        let ts: Vec<f64> = (0..=steps).map(|i| f64::from(i) * STEP_MM - BEFORE_MM).collect();
        let profile: Vec<f64> = ts
            .iter()
            .map(|&t| {
                let side = along(t).perpendicular() * px_per_mm;
                LINES_MM.iter().map(|&o| local.at(arc(t) + side * o)).sum::<f64>() / 3.0
            })
            .collect();
        let (at, contrast, slope) = half_level(&ts, &profile)?;
        let width = |behind: f64| {
            let t = at - behind;
            let side = along(t).perpendicular() * px_per_mm;
            half_width(|o| local.at(arc(t) + side * o))
        };
        let half_width_mm = WIDTH_AT_MM.map(width).iter().sum::<f64>() / 3.0;
        let behind_mm = width(TAPER_AT_MM);
        let (contrast, slope) = (contrast / shaft.core, slope / shaft.core);
        let width_of_path = |steps: usize| -> Option<f64> {
            let i = last.checked_sub(steps).filter(|&i| i >= 2)?;
            let side = (path[(i + 2).min(last)] - path[i - 2]).normalized()?.perpendicular() * px_per_mm;
            let p = scene.to_frame(path[i]);
            Some(half_width(|o| local.at(p + side * o)))
        };
        let broadest = END_STEPS.filter_map(width_of_path).fold(0.0, f64::max);
        let thinnest = BEHIND_STEPS.filter_map(width_of_path).fold(f64::INFINITY, f64::min);
        let swelling = broadest / thinnest.max(STEP_MM);
        let median = |steps: std::ops::RangeInclusive<usize>| {
            let mut widths: Vec<f64> = steps.filter_map(width_of_path).collect();
            widths.sort_by(f64::total_cmp);
            widths.get(widths.len() / 2).copied()
        };
        // A path that is too short to have a part behind its end tells nothing.
        let broadening = median(CANNULA_STEPS).zip(median(WIRE_STEPS));
        let broadening = broadening.map_or(1.0, |(behind, end)| behind / end.max(STEP_MM));
        let darkening = darkening(scene, instrument, path);
        let at_end = (arc(at), along(at));
        Some(Self {
            at: at_end.0,
            along: at_end.1,
            contrast,
            slope,
            half_width_mm,
            behind_mm,
            swelling,
            broadening,
            darkening,
            px_per_mm,
        })
    }
}

/// How much darker the last millimetres of a path are than those behind them, against the picture's middle grey.
fn darkening(scene: &SmallImage, instrument: &Instrument, path: &[Point]) -> f64 {
    let sign = instrument.polarity.sign();
    let ground = f64::from(sign * quantile(scene.grey.values.clone(), 0.5));
    let dark = |steps: usize| {
        let at = path.len().checked_sub(1 + steps).map(|i| path[i]);
        at.map(|p| ground - f64::from(sign * scene.grey.between(p.x, p.y)))
    };
    let darkest = DARK_STEPS.into_iter().filter_map(dark).fold(0.0, f64::max);
    let lightest = DARK_BEHIND_STEPS.into_iter().filter_map(dark).fold(f64::INFINITY, f64::min);
    if lightest > 0.0 { darkest / lightest } else { 1.0 }
}

/// Half the width of a dark line at half its depth; `value` is asked for millimetres to its side.
fn half_width(value: impl Fn(f64) -> f64) -> f64 {
    let offsets: Vec<f64> = (-60..=60).map(|i| f64::from(i) * STEP_MM).collect();
    let profile: Vec<f64> = offsets.iter().map(|&o| value(o)).collect();
    let near = |i: &usize| offsets[*i].abs() < 0.8;
    let Some(middle) = (0..profile.len()).filter(near).min_by(|&a, &b| profile[a].total_cmp(&profile[b]))
    else {
        return 0.0;
    };
    let side = |range: &mut dyn Iterator<Item = usize>| -> f64 {
        let list: Vec<usize> = range.collect();
        let brightest = list.iter().map(|&i| profile[i]).fold(f64::NEG_INFINITY, f64::max);
        let level = 0.5 * (profile[middle] + brightest);
        list.iter()
            .find(|&&i| profile[i] > level)
            .map_or(WIDEST_HALF_MM, |&i| (offsets[i] - offsets[middle]).abs())
    };
    let (left, right) = (side(&mut (0..middle).rev()), side(&mut (middle..profile.len())));
    (0.5 * (left + right)).min(WIDEST_HALF_MM)
}

/// Where a rising profile passes half way between metal and what lies behind its steepest place; the rise and its slope.
fn half_level(ts: &[f64], profile: &[f64]) -> Option<(f64, f64, f64)> {
    let smooth = smoothed(profile, 4);
    let slope =
        |i: usize| (smooth[(i + 1).min(smooth.len() - 1)] - smooth[i.saturating_sub(1)]) / (2.0 * STEP_MM);
    let within = |from: f64, to: f64| (0..ts.len()).filter(move |&i| ts[i] > from && ts[i] < to);
    let steepest = within(-1.5, 2.5).max_by(|&a, &b| slope(a).total_cmp(&slope(b)))?;
    let median = |from: f64, to: f64| {
        let mut list: Vec<f64> = within(from, to).map(|i| profile[i]).collect();
        list.sort_by(f64::total_cmp);
        list.get(list.len() / 2).copied()
    };
    let metal = median(-2.4, -0.8)?;
    let ground = median(ts[steepest] + 0.8, ts[steepest] + 2.2)?;
    let level = 0.5 * (metal + ground);
    let mut i = steepest;
    while i > 0 && profile[i] > level {
        i -= 1;
    }
    while i + 1 < ts.len() && profile[i + 1] < level {
        i += 1;
    }
    let (a, b) = (profile[i], *profile.get(i + 1)?);
    let share = if b > a { ((level - a) / (b - a)).clamp(0.0, 1.0) } else { 0.5 };
    Some((ts[i] + share * STEP_MM, ground - metal, slope(steepest)))
}

/// A Gaussian mean over some samples.
fn smoothed(values: &[f64], sd: i32) -> Vec<f64> {
    let n = i32::try_from(values.len()).unwrap_or(0);
    let tap = |k: i32| (-0.5 * (f64::from(k) / f64::from(sd)).powi(2)).exp();
    (0..n)
        .map(|i| {
            let (mut sum, mut all) = (0.0, 0.0);
            for k in -3 * sd..=3 * sd {
                let at = usize::try_from((i + k).clamp(0, n - 1)).unwrap_or(0);
                sum += tap(k) * values[at];
                all += tap(k);
            }
            sum / all
        })
        .collect()
}

/// The place of the metal that is farthest to walk to from where the path begins, on the path's side; in samples of the scene.
fn far_end(scene: &SmallImage, instrument: &Instrument, shaft: &Shaft) -> Option<Point> {
    let columns = scene.grey.columns;
    let sign = instrument.polarity.sign();
    let near = widened(&instrument.mask, columns, 0.8 / scene.mm);
    let along_path = path_mask(scene, &shaft.path);
    let grey = scene.grey.map(|v| v * sign);
    #[expect(clippy::cast_possible_truncation, reason = "a few samples")]
    #[expect(clippy::cast_sign_loss, reason = "positive")]
    let radius = (3.0 / scene.mm).round() as usize;
    let dark = local_darkness(&grey, radius);
    #[expect(clippy::cast_possible_truncation, reason = "a grey level")]
    let least = DARK * shaft.core as f32;
    let metal = |i: usize| (near[i] || along_path[i]) && dark(i) > least;
    let start = *shaft.path.first()?;
    let first = *shaft.path.get(1)?;
    let ahead = first - start;
    let origin = scene.index_of(start)?;
    // Breadth first, forward only.
    let mut steps = vec![u32::MAX; near.len()];
    let mut queue = vec![origin];
    steps[origin] = 0;
    let mut next = 0;
    while let Some(&at) = queue.get(next) {
        next += 1;
        let (x, y) = (at % columns, at / columns);
        for ny in y.saturating_sub(1)..(y + 2).min(scene.grey.rows) {
            for nx in x.saturating_sub(1)..(x + 2).min(columns) {
                let other = ny * columns + nx;
                let forward = (place(other, columns) - start).dot(ahead) >= 0.0;
                if steps[other] == u32::MAX && metal(other) && forward {
                    steps[other] = steps[at] + 1;
                    queue.push(other);
                }
            }
        }
    }
    let most = *queue.last()?;
    let farthest = steps[most];
    let last: Vec<Point> =
        queue.iter().filter(|&&i| steps[i] + 1 >= farthest).map(|&i| place(i, columns)).collect();
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    let n = last.len().max(1) as f64;
    Some(last.iter().fold(Point::default(), |sum, p| sum + p.to_vec() / n))
}

/// Samples within a millimetre and a half of the path or a little ahead of its end.
fn path_mask(scene: &SmallImage, path: &[Point]) -> Vec<bool> {
    let mut mask = vec![false; scene.inside.len()];
    let ahead = match path {
        [.., a, b] => (1..=4).map(|i| *b + (*b - *a) * f64::from(i)).collect(),
        _ => Vec::new(),
    };
    for p in path.iter().chain(&ahead) {
        if let Some(i) = scene.index_of(*p) {
            mask[i] = true;
        }
    }
    widened(&mask, scene.grey.columns, 1.5 / scene.mm)
}

/// How much darker a sample is than the brightest of eight around it at this distance.
fn local_darkness(grey: &NumberPlane, radius: usize) -> impl Fn(usize) -> f32 + '_ {
    move |i: usize| {
        let (x, y) = (i % grey.columns, i / grey.columns);
        let mut brightest = f32::NEG_INFINITY;
        let sides = [(radius, 0), (0, radius), (radius * 7 / 10, radius * 7 / 10)];
        for (dx, dy) in sides {
            let (l, r) = (x.saturating_sub(dx), x + dx);
            let (t, b) = (y.saturating_sub(dy), y + dy);
            for v in [grey.at(l, t), grey.at(r, b), grey.at(l, b), grey.at(r, t)] {
                brightest = brightest.max(v);
            }
        }
        brightest - grey.values[i]
    }
}
