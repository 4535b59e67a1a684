//! What the user may set: placement errors, the view's half-width, and the target.

use std::collections::BTreeMap;

use crate::measure::mark::Stage;

/// What a band is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Depth fraction, posterior wall to anterior wall.
    Depth,
    /// Height fraction, superior to inferior end plate.
    Height,
    /// Offset from the midline, as a fraction of the body's width.
    Midline,
}

/// A closed interval of a fraction, `low ≤ high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The bands of each stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Targets {
    /// For each stage, the bands by what they are about. A stage without an entry has no verdict.
    pub stages: BTreeMap<Stage, BTreeMap<Rule, Band>>,
}

/// Settings of a case; the defaults are the method's.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Standard deviation of a bone mark, per axis, in millimetres at the plane of the body.
    pub bone_sd_mm: f64,
    /// Standard deviation of a mark on an instrument, per axis, in millimetres.
    pub metal_sd_mm: f64,
    /// Half-width of the rectangular distribution of the ray's turn, in degrees.
    pub view_half_width_deg: f64,
    /// The smallest change of a fraction that matters.
    pub change_that_matters: f64,
    /// The target.
    pub targets: Targets,
}

/// Why a scale in millimetres to a pixel cannot be meant, if it cannot: it must be positive, and between a
/// thousandth of and a thousand times a millimetre.
#[must_use]
pub fn scale_fault(mm_per_px: f64) -> Option<&'static str> {
    let good = (0.001..=1000.0).contains(&mm_per_px);
    (!good).then_some("the scale must be a number of millimeters per pixel from 0.001 to 1000")
}

impl Settings {
    /// Why the settings cannot be meant, if they cannot; what is checked here is what a case file can hold.
    #[must_use]
    pub fn fault(&self) -> Option<&'static str> {
        let within = |value: f64, most: f64| (0.0..=most).contains(&value);
        if !within(self.bone_sd_mm, 100.0) || !within(self.metal_sd_mm, 100.0) {
            return Some("a marking error must be between 0 and 100 mm");
        }
        if !within(self.view_half_width_deg, 45.0) {
            return Some("the undetected rotation must be between 0 and 45°");
        }
        if !within(self.change_that_matters, 10.0) {
            return Some("the smallest relevant change must be between 0 and 10 as a fraction");
        }
        let band_good = |band: &Band| band.low <= band.high && band.low >= -100.0 && band.high <= 100.0;
        if !self.targets.stages.values().flat_map(BTreeMap::values).all(band_good) {
            return Some(
                "the low end of a target range must not exceed its high end, and both must be between −100 and 100 as fractions",
            );
        }
        None
    }
}

impl Rule {
    /// The key in the case file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Height => "height",
            Self::Midline => "midline",
        }
    }

    /// All rules.
    pub const ALL: [Self; 3] = [Self::Depth, Self::Height, Self::Midline];
}

impl Band {
    /// The interval from `low` to `high`.
    #[must_use]
    pub const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// Its middle.
    #[must_use]
    pub fn middle(self) -> f64 {
        0.5 * (self.low + self.high)
    }
}

impl Targets {
    /// The band of `rule` at `stage`, if there is one.
    #[must_use]
    pub fn band(&self, stage: Option<Stage>, rule: Rule) -> Option<Band> {
        self.stages.get(&stage?)?.get(&rule).copied()
    }
}

impl Default for Targets {
    /// Depth 0.30–0.50 and mid height at the midline are common practice (no source); the widths about mid
    /// height and the midline, and the band of the posterior-wall stage, are this project's starting values.
    fn default() -> Self {
        let last = [
            (Rule::Depth, Band::new(0.30, 0.50)),
            (Rule::Height, Band::new(0.40, 0.60)),
            (Rule::Midline, Band::new(-0.10, 0.10)),
        ];
        let wall = [(Rule::Depth, Band::new(-0.05, 0.15))];
        let stages =
            [(Stage::Final, last.into_iter().collect()), (Stage::PosteriorWall, wall.into_iter().collect())];
        Self { stages: stages.into_iter().collect() }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            bone_sd_mm: 0.5,
            metal_sd_mm: 0.25,
            view_half_width_deg: 1.4,
            change_that_matters: 0.08,
            targets: Targets::default(),
        }
    }
}
