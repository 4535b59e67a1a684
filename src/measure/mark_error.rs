//! Placement errors of single marks, where they are not the setting's: soft borders and proposed points.

use std::collections::BTreeMap;

use crate::geom::point::Vec2;
use crate::measure::mark::{MarkKind, MarkRef};

/// Standard deviation of a mark on a border that has no edge there, per axis, in millimetres (method, section 10).
pub const NO_EDGE_SD_MM: f64 = 1.5;
/// How much of what softness adds to a mark placed by hand it adds to one that the program proposed: 0.1 mm for each
/// millimetre of rise instead of 0.3 (docs/softness.md; their own standard deviation is of stills that were soft already).
const OF_PROPOSED: f64 = 1.0 / 3.0;

/// How soft the picture is at a mark.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Softness {
    /// As sharp as the setting's standard deviation is meant for, or not known.
    #[default]
    Sharp,
    /// Softer: this many millimetres, 0 or more, are added to the standard deviation in quadrature; to that of a
    /// proposed point a third of it.
    Adds(f64),
    /// There is no edge: the standard deviation is [`NO_EDGE_SD_MM`], or the setting's where that is larger.
    NoEdge,
}

/// A point as the program proposed it; its errors replace the setting's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proposed {
    /// Standard deviation across, in millimetres.
    pub across_mm: f64,
    /// Standard deviation along, in millimetres.
    pub along_mm: f64,
    /// Which way *along* is in the picture; `None` where it is the direction of the border at this point.
    pub along: Option<Vec2>,
}

/// What is known of one mark's error beyond the setting's.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MarkError {
    /// How soft the picture is there.
    pub softness: Softness,
    /// Its own errors, if the program proposed it and nobody moved it.
    pub proposed: Option<Proposed>,
}

/// The placement errors of a shot's marks where they are not the setting's.
///
/// A mark that is not named has the standard deviation of the settings. All of it counts as the uncertainty's bone part
/// (metal for instruments); the budget names what softness and proposals bring of it. Softness and the errors of
/// a proposed point add in quadrature.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MarkErrors {
    marks: BTreeMap<MarkRef, MarkError>,
    common: BTreeMap<MarkKind, f64>,
}

impl MarkErrors {
    /// Every mark as the settings say.
    #[must_use]
    pub const fn new() -> Self {
        Self { marks: BTreeMap::new(), common: BTreeMap::new() }
    }

    /// Whether every mark is as the settings say.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.marks.is_empty() && self.common.is_empty()
    }

    /// Says how soft the picture is at a mark.
    pub fn soften(&mut self, at: MarkRef, softness: Softness) {
        self.marks.entry(at).or_default().softness = softness;
    }

    /// Says that a point is as it was proposed, and how well.
    pub fn propose(&mut self, at: MarkRef, proposed: Proposed) {
        self.marks.entry(at).or_default().proposed = Some(proposed);
    }

    /// Says that all proposed points of a border are off by one error in common, across the border: its standard
    /// deviation in millimetres. A wall takes the proposed corners at its ends with it.
    pub fn share(&mut self, kind: MarkKind, common_mm: f64) {
        self.common.insert(kind, common_mm);
    }

    /// What is known of a mark.
    #[must_use]
    pub fn of(&self, at: MarkRef) -> MarkError {
        self.marks.get(&at).copied().unwrap_or_default()
    }

    /// The marks of which something is known, in the order of [`MarkKind::ALL`].
    pub fn marks(&self) -> impl Iterator<Item = (MarkRef, MarkError)> + '_ {
        self.marks.iter().map(|(&at, &error)| (at, error))
    }

    /// The borders with an error in common, and its standard deviation in millimetres.
    pub fn common(&self) -> impl Iterator<Item = (MarkKind, f64)> + '_ {
        self.common.iter().map(|(&kind, &sd)| (kind, sd))
    }
}

/// Standard deviations in millimetres of one mark, along and across some direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spread {
    /// All together: along, across.
    pub(crate) all: [f64; 2],
    /// Without softness: along, across.
    pub(crate) sharp: [f64; 2],
}

impl MarkError {
    /// The standard deviations of a mark for which the settings say `setting` millimetres.
    pub(crate) fn spread(self, setting: f64) -> Spread {
        let sharp = self.proposed.map_or([setting; 2], |proposed| [proposed.along_mm, proposed.across_mm]);
        let all = sharp.map(|sd| match self.softness {
            Softness::Sharp => sd,
            Softness::Adds(more) => sd.hypot(if self.proposed.is_some() { OF_PROPOSED * more } else { more }),
            Softness::NoEdge => sd.max(NO_EDGE_SD_MM),
        });
        Spread { all, sharp }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.5 mm and 0.3 · (5 − 1) = 1.2 mm of softness give √(0.25 + 1.44) = 1.3 mm; without an edge 1.5 mm.
    #[test]
    fn softness_adds_in_quadrature_and_no_edge_is_one_and_a_half() {
        let soft = |softness| MarkError { softness, proposed: None }.spread(0.5);
        assert!((soft(Softness::Adds(1.2)).all[0] - 1.3).abs() < 1e-12);
        let close = |[a, b]: [f64; 2], sd: f64| (a - sd).abs() < 1e-12 && (b - sd).abs() < 1e-12;
        assert!(close(soft(Softness::NoEdge).all, 1.5) && close(soft(Softness::NoEdge).sharp, 0.5));
        let wide = MarkError { softness: Softness::NoEdge, proposed: None }.spread(2.0);
        assert!(close(wide.all, 2.0));
    }

    /// By hand: 1.2 mm of softness are 0.4 mm for a proposed point, and √(0.3² + 0.4²) = 0.5.
    #[test]
    fn softness_costs_a_proposed_point_a_third() {
        let proposed = Some(Proposed { across_mm: 0.3, along_mm: 0.3, along: None });
        let soft = MarkError { softness: Softness::Adds(1.2), proposed }.spread(0.5);
        assert!((soft.all[1] - 0.5).abs() < 1e-12 && (soft.sharp[1] - 0.3).abs() < 1e-12);
    }

    #[test]
    fn a_proposed_point_has_its_own_errors() {
        let proposed = Some(Proposed { across_mm: 0.6, along_mm: 1.5, along: None });
        let spread = MarkError { softness: Softness::Sharp, proposed }.spread(0.5);
        for [along, across] in [spread.all, spread.sharp] {
            assert!((along - 1.5).abs() < 1e-12 && (across - 0.6).abs() < 1e-12);
        }
    }
}
