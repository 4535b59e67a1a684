//! A case with all that its report says of it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::plan::Plan;
use crate::case::readings::CaseReadings;
use crate::measure::mark::{Level, Side};

/// What stands over a report whose case has no title.
pub(super) const UNTITLED: &str = "Untitled case";

/// A case with all that a report says of it.
pub(super) struct CaseReport<'a> {
    pub(super) case: &'a Case,
    pub(super) readings: &'a CaseReadings,
    /// The shots' frames, in the case's order.
    pub(super) frames: &'a [Option<Arc<Frame>>],
    /// The shots with everything covered that may be words, in the case's order.
    pub(super) shown: Vec<Shot>,
    pub(super) plan: Plan,
}

impl CaseReport<'_> {
    /// The levels that have a page, down the spine, each with the sides there is something of.
    pub(super) fn levels(&self) -> BTreeMap<Level, BTreeSet<Side>> {
        let mut levels: BTreeMap<Level, BTreeSet<Side>> = BTreeMap::new();
        for body in &self.plan.bodies {
            if !body.sides.is_empty() || !body.without_side.is_empty() {
                levels.entry(body.level).or_default().extend(body.sides.iter().map(|plan| plan.side));
            }
        }
        for record in &self.case.bodies {
            levels.entry(record.level).or_default().insert(record.side);
        }
        levels
    }
}
