//! How soft a picture is at each bone mark: the 10–90 % rise of the grey levels across the border there (method,
//! section 10).

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::align::edge_rise::{self, NoRise};
use crate::align::metal::Metal;
use crate::align::patch::joined;
use crate::case::document::Shot;
use crate::case::document::redaction::Cover;
use crate::case::image::frame::Frame;
use crate::case::readings::SoftMarks;
use crate::geom::point::{Point, Vec2};
use crate::measure::border_line::{border_line, scale_of};
use crate::measure::mark::{MarkKind, MarkRef, Marks, Material};
use crate::measure::mark_error::Softness;

/// A rise in millimetres up to which the setting's standard deviation is meant.
pub const SHARP_MM: f64 = 1.0;
/// Standard deviation added for each millimetre of rise beyond that.
pub const FACTOR: f64 = 0.3;
/// A grain below this, in grey levels, is rounding: even a picture of 8 bits has more.
const NO_GRAIN: f64 = 0.01;
/// How far along the border it is looked at to either side of a mark, and in what steps, in millimetres.
const ALONG_MM: (f64, f64) = (1.5, 0.5);
/// How far across the border to either side, and in what steps, in millimetres.
const ACROSS_MM: (f64, f64) = (6.0, 0.125);
/// So many marks must have been seen before they lend their rise to one that was not.
const LEND: usize = 2;
/// From a corner inward along its end plate, where the border is looked at in its stead, in millimetres.
const INWARD_MM: f64 = 2.5;

/// What was found at a mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rise {
    /// The 10–90 % rise in millimetres of a step as soft as this border.
    Mm(f64),
    /// No edge that stands out of the grain.
    NoEdge,
    /// Metal, a cover or the picture's end in the way: nothing can be said of this place.
    Unseen,
}

impl Rise {
    /// The rise in millimetres, where one was found.
    fn mm(self) -> Option<f64> {
        match self {
            Self::Mm(mm) => Some(mm),
            Self::NoEdge | Self::Unseen => None,
        }
    }

    /// What it means for the mark's standard deviation.
    #[must_use]
    pub fn softness(self) -> Softness {
        match self {
            Self::Mm(rise) if rise > SHARP_MM => Softness::Adds(FACTOR * (rise - SHARP_MM)),
            Self::Mm(_) | Self::Unseen => Softness::Sharp,
            Self::NoEdge => Softness::NoEdge,
        }
    }
}

/// How soft one picture is at the bone marks of one shot; a mark is looked at again only where what it depends on
/// changed: its place, its border's direction, the scale, or an instrument in the way.
#[derive(Clone, Debug, Default)]
pub struct Softnesses {
    seen: BTreeMap<MarkRef, SeenMark>,
    metal: Vec<Point>,
    covers: Vec<Cover>,
    found: SoftMarks,
}

/// Where and how a mark was looked at, and what was found.
#[derive(Clone, Copy, Debug, PartialEq)]
struct SeenMark {
    middle: Point,
    across: Vec2,
    mm_per_px: f64,
    rise: Rise,
}

impl Softnesses {
    /// Looks again at the marks that changed since the last time; all of them the first time.
    ///
    /// Without a calibration the typical size gives the millimetres; a shot without both end plates has none.
    pub fn follow(&mut self, frame: &Frame, shot: &Shot) {
        let Some(mm_per_px) = scale_of(shot.view, &shot.marks, shot.mm_per_px) else {
            *self = Self::default();
            return;
        };
        let instruments = [MarkKind::Cannula, MarkKind::Electrodes, MarkKind::Tip];
        let metal: Vec<Point> =
            instruments.iter().flat_map(|&kind| shot.marks.slots(kind).iter().copied().flatten()).collect();
        if metal != self.metal || shot.covers != self.covers {
            self.seen.clear();
            self.metal = metal;
            self.covers.clone_from(&shot.covers);
        }
        let old = std::mem::take(&mut self.seen);
        let mut again = false;
        for (at, _) in shot.marks.placed().filter(|(at, _)| at.kind.material() == Material::Bone) {
            let Some((middle, across)) = place(&shot.marks, at, mm_per_px) else { continue };
            let same =
                |seen: &&SeenMark| (seen.middle, seen.across, seen.mm_per_px) == (middle, across, mm_per_px);
            let seen = old.get(&at).filter(same).copied().unwrap_or_else(|| {
                again = true;
                let rise = rise_at(frame, shot, middle, across, mm_per_px);
                SeenMark { middle, across, mm_per_px, rise }
            });
            self.seen.insert(at, seen);
        }
        if again || old.len() != self.seen.len() {
            self.found = Arc::new(
                self.seen.iter().map(|(&at, seen)| (at, self.taken(at, seen.rise).softness())).collect(),
            );
        }
    }

    /// The rise that counts at a mark: what was found there or, where it could not be seen, the median of what was found at
    /// the marks of its own border, else at all of the shot. A picture is soft as a whole; an instrument over a wall
    /// does not make the wall sharp.
    fn taken(&self, at: MarkRef, own: Rise) -> Rise {
        if own != Rise::Unseen {
            return own;
        }
        let of = |same: &dyn Fn(MarkKind) -> bool| {
            let mut rises: Vec<f64> = self
                .seen
                .iter()
                .filter(|(other, _)| same(other.kind))
                .filter_map(|(_, seen)| seen.rise.mm())
                .collect();
            rises.sort_by(f64::total_cmp);
            (rises.len() >= LEND).then(|| rises[(rises.len() - 1) / 2])
        };
        let lent = of(&|kind| kind == at.kind).or_else(|| of(&|_| true));
        lent.map_or(Rise::Unseen, Rise::Mm)
    }

    /// How soft the picture is at each bone mark.
    #[must_use]
    pub fn marks(&self) -> SoftMarks {
        Arc::clone(&self.found)
    }

    /// The rise at a mark itself, where it was looked at.
    #[must_use]
    pub fn rise(&self, at: MarkRef) -> Option<Rise> {
        self.seen.get(&at).map(|seen| seen.rise)
    }
}

/// How soft a picture is at the bone marks of a shot.
#[must_use]
pub fn soft_marks(frame: &Frame, shot: &Shot) -> SoftMarks {
    let mut softnesses = Softnesses::default();
    softnesses.follow(frame, shot);
    softnesses.marks()
}

/// How soft the picture is at one mark.
#[must_use]
pub fn rise(frame: &Frame, shot: &Shot, at: MarkRef, mm_per_px: f64) -> Rise {
    match place(&shot.marks, at, mm_per_px) {
        Some((middle, across)) => rise_at(frame, shot, middle, across, mm_per_px),
        None => Rise::Unseen,
    }
}

fn rise_at(frame: &Frame, shot: &Shot, middle: Point, across: Vec2, mm_per_px: f64) -> Rise {
    let metal = Metal::of(&shot.marks, mm_per_px);
    // What lies beneath a cover, or a pixel beside it, must not show in any number.
    let beneath = |p: Point| {
        let near = Vec2::new(1.5, 1.5);
        shot.covers.iter().any(|cover| Cover { min: cover.min - near, max: cover.max + near }.contains(p))
    };
    let (along, px) = (across.perpendicular(), |mm: f64| mm / mm_per_px);
    let columns: Vec<Vec<Option<f64>>> = steps(ALONG_MM)
        .map(|t| {
            let foot = middle + along * px(t);
            let value = |d: f64| {
                let p = foot + across * px(d);
                if metal.covers(p) || beneath(p) { None } else { joined(frame, p).map(f64::from) }
            };
            steps(ACROSS_MM).map(value).collect()
        })
        .collect();
    let Some((profile, grain)) = averaged(&columns) else { return Rise::Unseen };
    // One value everywhere is no picture of anything: a box filled in, or the ground beside the field.
    let mut seen = profile.iter().flatten();
    let first = seen.next();
    if seen.all(|value| first == Some(value)) {
        return Rise::Unseen;
    }
    match edge_rise::rise(&profile, ACROSS_MM.1, grain) {
        Ok(mm) => Rise::Mm(mm),
        // Every X-ray has grain. Of a picture without any, which was drawn, the lack of an edge says nothing.
        Err(NoRise::NoEdge) if grain >= NO_GRAIN => Rise::NoEdge,
        Err(_) => Rise::Unseen,
    }
}

/// Offsets from minus to plus a reach.
fn steps((reach, step): (f64, f64)) -> impl Iterator<Item = f64> {
    #[expect(clippy::cast_possible_truncation, reason = "some dozens")]
    let n = (reach / step).round() as i32;
    (-n..=n).map(move |i| f64::from(i) * step)
}

/// The mean of the columns where at least half of them are seen, the rest `None`, and the grain of that mean; `None`
/// where the mark itself is not seen.
fn averaged(columns: &[Vec<Option<f64>>]) -> Option<(Vec<Option<f64>>, f64)> {
    let rows = columns.first()?.len();
    let (mut uneven, mut seen) = (Vec::new(), 0.0);
    let profile: Vec<Option<f64>> = (0..rows)
        .map(|row| {
            let values: Vec<f64> = columns.iter().filter_map(|column| column[row]).collect();
            uneven.extend(values.windows(3).map(|three| (three[0] - 2.0 * three[1] + three[2]).abs()));
            #[expect(clippy::cast_precision_loss, reason = "some columns")]
            let n = values.len() as f64;
            seen += n;
            (2 * values.len() >= columns.len()).then(|| values.iter().sum::<f64>() / n)
        })
        .collect();
    profile[rows / 2]?;
    #[expect(clippy::cast_precision_loss, reason = "some rows")]
    let each = seen / rows as f64;
    uneven.sort_by(f64::total_cmp);
    let middle = uneven.get(uneven.len() / 2).copied().unwrap_or(0.0);
    // A second difference of columns has √6 times the grain of one, and half of them are below 0.6745 of that (normal
    // distribution); the mean of all columns has less of it.
    Some((profile, middle / (0.674_490 * 6.0_f64.sqrt()) / each.sqrt()))
}

/// Where a mark's border is looked at, and the unit vector across it; `None` where no direction follows from the marks.
fn place(marks: &Marks, at: MarkRef, mm_per_px: f64) -> Option<(Point, Vec2)> {
    let p = marks.point(at)?;
    let slots = marks.slots(at.kind);
    match at.kind {
        // The borders of a pedicle or a spinous process face each other.
        MarkKind::RightPedicle | MarkKind::LeftPedicle | MarkKind::SpinousProcess => {
            let other = slots.iter().copied().flatten().find(|q| *q != p)?;
            Some((p, (other - p).normalized()?))
        }
        // The outline of a pedicle seen on face lies round its middle.
        MarkKind::Pedicle => {
            let all: Vec<Point> = slots.iter().copied().flatten().collect();
            #[expect(clippy::cast_precision_loss, reason = "four points")]
            let middle = all.iter().fold(Vec2::default(), |sum, q| sum + q.to_vec()) / all.len() as f64;
            Some((p, (p.to_vec() - middle).normalized()?))
        }
        _ => {
            let line = border_line(marks, at.kind);
            let here = line.iter().position(|q| *q == p)?;
            let (before, after) = (line[here.saturating_sub(1)], line[(here + 1).min(line.len() - 1)]);
            let along = (after - before).normalized()?;
            let inward = if here == 0 {
                1.0
            } else if here + 1 == line.len() {
                -1.0
            } else {
                0.0
            };
            Some((p + along * (inward * INWARD_MM / mm_per_px), along.perpendicular()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::align::edge_rise::RISE_OF_SIGMA;
    use crate::case::image::frame::Samples;
    use crate::measure::mark::View;
    use crate::stats::normal::p_below;

    /// A picture of 0.25 mm a pixel in which bone (dark) begins below y = 60 mm·4, its edge blurred to a 10–90 % rise.
    fn still(rise_mm: f64, contrast: f64, grain: f64) -> Frame {
        let (width, height) = (400_u32, 400_u32);
        let sigma = rise_mm / RISE_OF_SIGMA;
        let mut noise = 12_345_u32;
        let mut values = Vec::new();
        for y in 0..height {
            for _ in 0..width {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let jitter = f64::from(noise >> 8) / f64::from(1 << 24) - 0.5;
                let mm = (f64::from(y) + 0.5 - 200.0) * 0.25;
                // A rectangular distribution of this width has this standard deviation.
                let value = 30_000.0 - contrast * p_below(0.0, -mm, sigma) + jitter * grain * 12.0_f64.sqrt();
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a grey level")]
                values.push(value.round() as u16);
            }
        }
        Frame {
            width,
            height,
            samples: Samples::Gray16(values),
            was_colour: false,
            digest: String::new().into(),
            warnings: Vec::new(),
            taken: None,
            facts: Default::default(),
        }
    }

    fn shot() -> Shot {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.mm_per_px = Some(0.25);
        shot.marks = shot
            .marks
            .with(MarkKind::SuperiorEndPlate, &[(120.0, 200.0), (190.0, 201.0), (260.0, 200.0)])
            .with(MarkKind::InferiorEndPlate, &[(120.0, 310.0), (260.0, 310.0)]);
        shot
    }

    fn at(index: usize) -> MarkRef {
        MarkRef { kind: MarkKind::SuperiorEndPlate, index }
    }

    /// An edge of known rise is found within a tenth of it and a tenth of a millimetre, corner or not.
    #[test]
    fn the_rise_of_a_blurred_step_is_found() {
        for wanted in [0.5, 1.0, 2.0, 3.0, 4.0] {
            let frame = still(wanted, 8_000.0, 100.0);
            for index in 0..3 {
                let Rise::Mm(found) = rise(&frame, &shot(), at(index), 0.25) else { panic!("{wanted}") };
                // A pixel of 0.25 mm has a rise of its own.
                assert!((found - wanted).abs() < 0.1 * wanted + 0.1, "{wanted}: {found}");
            }
        }
    }

    #[test]
    fn a_flat_picture_has_no_edge_and_beyond_it_nothing_is_seen() {
        let flat = still(1.0, 0.0, 100.0);
        assert_eq!(rise(&flat, &shot(), at(1), 0.25), Rise::NoEdge);
        let mut beyond = shot();
        beyond.marks = Marks::new().with(MarkKind::SuperiorEndPlate, &[(900.0, 200.0), (990.0, 200.0)]);
        assert_eq!(rise(&flat, &beyond, at(0), 0.25), Rise::Unseen);
        assert_eq!(rise(&still(1.0, 0.0, 0.0), &shot(), at(1), 0.25), Rise::Unseen, "one value everywhere");
    }

    #[test]
    fn metal_over_the_mark_leaves_it_unseen() {
        let frame = still(2.0, 8_000.0, 100.0);
        let mut with_cannula = shot();
        with_cannula.marks = shot().marks.with(MarkKind::Cannula, &[(190.0, 100.0), (190.0, 260.0)]);
        assert_eq!(rise(&frame, &with_cannula, at(1), 0.25), Rise::Unseen);
        assert!(matches!(rise(&frame, &with_cannula, at(0), 0.25), Rise::Mm(_)));
    }

    /// On a soft picture the mark beneath the cannula is taken to be as soft as its neighbors; with one neighbor only nothing
    /// is lent.
    #[test]
    fn metal_over_a_soft_border_leaves_it_as_soft_as_its_neighbors() {
        let frame = still(3.0, 8_000.0, 100.0);
        let mut with_cannula = shot();
        with_cannula.marks = shot().marks.with(MarkKind::Cannula, &[(190.0, 100.0), (190.0, 260.0)]);
        let found = soft_marks(&frame, &with_cannula);
        let of = |index| found.iter().find(|(mark, _)| *mark == at(index)).map(|(_, soft)| *soft);
        let Some(Softness::Adds(more)) = of(1) else { panic!("{found:?}") };
        assert!((more - 0.6).abs() < 0.15, "{more}");
        let beside: Vec<f64> = [of(0), of(2)]
            .into_iter()
            .filter_map(|soft| if let Some(Softness::Adds(more)) = soft { Some(more) } else { None })
            .collect();
        assert!(beside.len() == 2 && beside.contains(&more), "{beside:?} {more}");
        with_cannula.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(120.0, 200.0), (190.0, 201.0)])
            .with(MarkKind::Cannula, &[(190.0, 100.0), (190.0, 260.0)]);
        let found = soft_marks(&frame, &with_cannula);
        assert!(found.iter().any(|(mark, soft)| *mark == at(1) && *soft == Softness::Sharp), "{found:?}");
    }

    /// What lies beneath a cover shows in no number.
    #[test]
    fn a_cover_hides_what_is_beneath_it() {
        let mut covered = shot();
        covered.covers.extend(Cover::between(Point::new(150.0, 150.0), Point::new(230.0, 250.0)));
        for contrast in [0.0, 8_000.0] {
            let frame = still(2.0, contrast, 100.0);
            assert_eq!(rise(&frame, &covered, at(1), 0.25), Rise::Unseen);
        }
    }

    /// By hand: a rise of 3 mm adds 0.3 · (3 − 1) = 0.6 mm.
    #[test]
    fn what_a_rise_means_by_hand() {
        let Softness::Adds(more) = Rise::Mm(3.0).softness() else { panic!("nothing added") };
        assert!((more - 0.6).abs() < 1e-12);
        assert_eq!(Rise::Mm(0.8).softness(), Softness::Sharp);
        assert_eq!(Rise::NoEdge.softness(), Softness::NoEdge);
    }

    #[test]
    fn every_bone_mark_of_a_shot_is_looked_at() {
        let found = soft_marks(&still(2.0, 8_000.0, 100.0), &shot());
        assert_eq!(found.len(), 5);
        assert!(found[..3].iter().all(|(_, soft)| matches!(soft, Softness::Adds(_))), "{found:?}");
        assert!(found[3..].iter().all(|(_, soft)| *soft == Softness::NoEdge), "{found:?}");
    }

    /// Only what moved is looked at again, and what comes out is as if all had been.
    #[test]
    fn following_is_the_same_as_looking_at_all() {
        let frame = still(2.0, 8_000.0, 100.0);
        let mut shot = shot();
        let mut followed = Softnesses::default();
        for step in [0.0, 1.0, -2.0] {
            let p = Point::new(190.0 + step, 201.0 + step);
            shot.marks.set(
                MarkKind::SuperiorEndPlate,
                vec![Some(Point::new(120.0, 200.0)), Some(p), Some(Point::new(260.0, 200.0))],
            );
            followed.follow(&frame, &shot);
            assert_eq!(followed.marks(), soft_marks(&frame, &shot));
        }
        shot.marks = Marks::new();
        followed.follow(&frame, &shot);
        assert!(followed.marks().is_empty());
    }
}
