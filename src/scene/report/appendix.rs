//! All shots of the case as small pictures, body by body.

use std::collections::{BTreeMap, BTreeSet};

use crate::measure::mark::{Level, Side};
use crate::scene::format;
use crate::scene::page::paper::Paper;
use crate::scene::report::contact;
use crate::scene::report::told::CaseReport;
use crate::scene::words::plan;

/// Writes the appendix; nothing where no shot has a level.
pub(super) fn write(paper: &mut Paper, told: &CaseReport<'_>, levels: &BTreeMap<Level, BTreeSet<Side>>) {
    let mut begun = false;
    for (&level, sides) in levels {
        for &side in sides {
            let shots = contact::shots_of(told, level, side);
            if !shots.is_empty() {
                begin(paper, &mut begun);
                paper.heading(&format::body(level, side));
                contact::write(paper, told, &shots);
                if let Some(plan) = told.plan.body(level).and_then(|body| body.side(side)) {
                    paper.paragraph(&format!("{}.", plan::stages(plan).join(". ")));
                }
            }
        }
        let without_side = told.plan.body(level).map(|body| body.without_side.as_slice()).unwrap_or_default();
        if !without_side.is_empty() {
            begin(paper, &mut begun);
            paper.heading(&format!("{}, shots whose side is not set", level.name()));
            contact::write(paper, told, without_side);
        }
    }
}

fn begin(paper: &mut Paper, begun: &mut bool) {
    if !*begun {
        paper.new_page();
        paper.title("Appendix: all shots");
        *begun = true;
    }
}
