//! How far each mark of one shot may be off, in its own pixels.

use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::geom::point::{Point, Vec2};
use crate::measure::border_line::{border_line, wall_ends};
use crate::measure::mark::{MarkKind, MarkRef, Marks, Material};
use crate::measure::mark_error::MarkErrors;
use crate::measure::settings::Settings;

/// The settings' placement errors and those of single marks, to be made pixels by a scale.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placing<'a> {
    pub(crate) settings: &'a Settings,
    pub(crate) errors: Option<&'a MarkErrors>,
    /// The marks that the errors are of: a border's direction follows from them.
    pub(crate) marks: &'a Marks,
}

/// Standard deviations of placement in pixels.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Placement {
    bone: f64,
    metal: f64,
    /// Marks that are not as the settings say, in order.
    own: Vec<(MarkRef, Own)>,
    common: Vec<Common>,
}

/// The error of one mark: along and across a direction, all together and without softness.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Own {
    along: Vec2,
    all: [f64; 2],
    sharp: [f64; 2],
    proposed: bool,
}

/// One error that the proposed points of a border have in common.
#[derive(Clone, Debug, PartialEq)]
struct Common {
    sd: f64,
    across: Vec2,
    marks: Vec<MarkRef>,
}

/// Variances of a value by part, in its own unit.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Variances {
    pub(crate) bone: f64,
    pub(crate) metal: f64,
    pub(crate) softness: f64,
    pub(crate) proposal: f64,
}

impl Placing<'_> {
    /// The standard deviation of each placed mark in millimetres: across its border, what its proposed points have in common
    /// included.
    pub(crate) fn each(&self) -> Vec<(MarkRef, f64)> {
        let none = MarkErrors::new();
        let errors = self.errors.unwrap_or(&none);
        let of = |at: MarkRef| {
            let setting = match at.kind.material() {
                Material::Bone => self.settings.bone_sd_mm,
                Material::Metal => self.settings.metal_sd_mm,
            };
            let error = errors.of(at);
            let [_, across] = error.spread(setting).all;
            let common = errors.common().find(|(kind, _)| *kind == at.kind && error.proposed.is_some());
            across.hypot(common.map_or(0.0, |(_, sd)| sd))
        };
        self.marks.placed().map(|(at, _)| (at, of(at))).collect()
    }

    /// The errors in pixels of a shot at this scale.
    pub(crate) fn at(&self, mm_per_px: f64) -> Placement {
        let px = |mm: f64| mm / mm_per_px;
        let mut placement = Placement {
            bone: px(self.settings.bone_sd_mm),
            metal: px(self.settings.metal_sd_mm),
            own: Vec::new(),
            common: Vec::new(),
        };
        let Some(errors) = self.errors.filter(|errors| !errors.is_empty()) else { return placement };
        for (at, error) in errors.marks().filter(|(at, _)| self.marks.point(*at).is_some()) {
            let setting = match at.kind.material() {
                Material::Bone => self.settings.bone_sd_mm,
                Material::Metal => self.settings.metal_sd_mm,
            };
            let spread = error.spread(setting);
            let along = error.proposed.and_then(|proposed| proposed.along).and_then(Vec2::normalized);
            let along = along.or_else(|| direction(self.marks, at)).unwrap_or(Vec2::new(1.0, 0.0));
            let proposed = error.proposed.is_some();
            placement
                .own
                .push((at, Own { along, all: spread.all.map(px), sharp: spread.sharp.map(px), proposed }));
        }
        for (kind, sd) in errors.common() {
            let ends = wall_ends(self.marks, kind);
            let own = |at: MarkRef| at.kind == kind || ends.iter().flatten().any(|(end, _)| *end == at);
            let marks: Vec<MarkRef> = placement
                .own
                .iter()
                .filter(|(at, own_error)| own_error.proposed && own(*at))
                .map(|(at, _)| *at)
                .collect();
            if let Some(along) = chord(self.marks, kind).filter(|_| !marks.is_empty()) {
                placement.common.push(Common { sd: px(sd), across: along.perpendicular(), marks });
            }
        }
        placement
    }
}

impl Placement {
    fn own(&self, at: MarkRef) -> Option<&Own> {
        let place = self.own.binary_search_by(|(other, _)| other.cmp(&at)).ok()?;
        Some(&self.own[place].1)
    }

    fn usual(&self, material: Material) -> f64 {
        match material {
            Material::Bone => self.bone,
            Material::Metal => self.metal,
        }
    }

    /// Covariance that one mark's own error brings to two values with these derivatives by it.
    pub(crate) fn covariance(&self, at: MarkRef, a: Vec2, b: Vec2) -> f64 {
        match self.own(at) {
            None => a.dot(b) * self.usual(at.kind.material()).powi(2),
            Some(own) => own.covariance(own.all, a, b),
        }
    }

    /// Adds what one mark's own error brings to a value with this derivative by it, and gives its variance.
    pub(crate) fn add(&self, at: MarkRef, by: Vec2, sum: &mut Variances) -> f64 {
        let all = self.covariance(at, by, by);
        if at.kind.material() == Material::Metal {
            sum.metal += all;
            return all;
        }
        sum.bone += all;
        if let Some(own) = self.own(at) {
            let sharp = own.covariance(own.sharp, by, by);
            sum.softness += all - sharp;
            sum.proposal += if own.proposed { sharp } else { 0.0 };
        }
        all
    }

    /// Whether marks have errors in common.
    pub(crate) fn has_common(&self) -> bool {
        !self.common.is_empty()
    }

    /// For each error in common its standard deviation, the marks it moves, and which way.
    pub(crate) fn common(&self) -> impl Iterator<Item = (f64, &[MarkRef], Vec2)> + '_ {
        self.common.iter().map(|common| (common.sd, common.marks.as_slice(), common.across))
    }

    /// The marks with each point displaced at random.
    pub(crate) fn displace(&self, marks: &Marks, random: &mut ChaCha8Rng) -> Marks {
        let mut displaced = marks.clone();
        let shared: Vec<(f64, &Common)> = self.common.iter().map(|common| (common.sd, common)).collect();
        for kind in marks.kinds() {
            let slots = marks.slots(kind).iter().enumerate();
            let slots =
                slots.map(|(index, slot)| slot.map(|p| self.jitter(MarkRef { kind, index }, p, random)));
            displaced.set(kind, slots.collect());
        }
        for (sd, common) in shared {
            let by = common.across * (sd * normal(random));
            for &at in &common.marks {
                let mut slots = displaced.slots(at.kind).to_vec();
                if let Some(Some(p)) = slots.get_mut(at.index) {
                    *p += by;
                }
                displaced.set(at.kind, slots);
            }
        }
        displaced
    }

    /// A point displaced by its own error.
    pub(crate) fn jitter(&self, at: MarkRef, p: Point, random: &mut ChaCha8Rng) -> Point {
        let (first, second) = (normal(random), normal(random));
        match self.own(at) {
            None => {
                let sd = self.usual(at.kind.material());
                p + Vec2::new(sd * first, sd * second)
            }
            Some(own) => {
                p + own.along * (own.all[0] * first) + own.along.perpendicular() * (own.all[1] * second)
            }
        }
    }
}

impl Own {
    fn covariance(&self, [along, across]: [f64; 2], a: Vec2, b: Vec2) -> f64 {
        let side = self.along.perpendicular();
        a.dot(self.along) * b.dot(self.along) * along * along + a.dot(side) * b.dot(side) * across * across
    }
}

pub(crate) fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Unit vector from the start of a border to its end.
fn chord(marks: &Marks, kind: MarkKind) -> Option<Vec2> {
    let line = border_line(marks, kind);
    (*line.last()? - *line.first()?).normalized()
}

/// The direction of a border at one of its points: from the point before to the point after.
fn direction(marks: &Marks, at: MarkRef) -> Option<Vec2> {
    let p = marks.point(at)?;
    let line = border_line(marks, at.kind);
    let here = line.iter().position(|q| *q == p)?;
    let (before, after) = (line[here.saturating_sub(1)], line[(here + 1).min(line.len() - 1)]);
    (after - before).normalized()
}
