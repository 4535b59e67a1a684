//! What the pictures say of a comparison: the refined registration, whether to trust it, and the change by it.

use crate::align::refine::{Refinement, refine};
use crate::align::refined_change::refined_change;
use crate::align::registration::Registration;
use crate::case::document::Case;
use crate::case::image::frame::Frame;
use crate::case::readings::ShotReading;
use crate::geom::point::Point;
use crate::measure::compare::ShotChange;
use crate::scene::comparison::words::line;
use crate::scene::comparison::{Comparison, arrow};
use crate::scene::format;
use crate::scene::words::reading::ReadingLine;
use crate::scene::words::tip_path::MovedAlong;

/// What is said where the change by the refined registration stands in the place of that by the marks.
pub const ACCEPTED: &str = "applied: the change above uses the refined registration; the readings of the shots remain those of the marks";

/// What is said of the change by a trusted refinement.
const PREFERRED: &str = "prefer its change to that of the marks, because it registers the bone itself, wherever the C-arm moved between the shots";

/// A refinement with what follows from it.
#[derive(Clone, Debug)]
pub struct Refined {
    /// What the pictures say.
    pub refinement: Refinement,
    /// The change by the refined registration, where it is trusted and both tips can be read.
    pub change: Option<ShotChange>,
    /// The first shot's tip carried by it into the second picture, and the tip there.
    pub arrow: Option<[Point; 2]>,
}

impl Refined {
    /// Refines the registration of the compared shots by their pictures; `second` is the later shot's reading.
    ///
    /// # Errors
    /// A sentence that says why the shots cannot be laid on each other at all.
    pub fn of(
        case: &Case,
        compared: &Comparison,
        frames: [&Frame; 2],
        second: &ShotReading,
    ) -> Result<Self, String> {
        let [Some(from), Some(to)] = compared.shots.map(|at| case.shots.get(at)) else {
            return Err("One of the shots is not in the case.".to_owned());
        };
        let registration = Registration::of_shots(case, [from, to])?;
        let refinement = refine(&registration, [from, to], frames, case.settings.bone_sd_mm);
        let sizes = match second {
            ShotReading::Lateral(reading) => reading.lengths.as_ref(),
            ShotReading::Ap(_) | ShotReading::Pedicle(_) => None,
        };
        let trusted = refinement.trusted();
        let change = trusted.and_then(|laid| refined_change(case, [from, to], laid, &compared.change, sizes));
        let arrow = trusted.and_then(|laid| arrow(laid, from, to));
        Ok(Self { refinement, change, arrow })
    }

    /// The comparison with the change by the refined registration in the place of that by the marks; `None` where the refinement
    /// is not trusted. Matched pairs keep the change between their readings.
    #[must_use]
    pub fn accepted(&self, compared: &Comparison) -> Option<Comparison> {
        let change = self.change.clone()?;
        Some(Comparison { change, arrow: self.arrow, ..compared.clone() })
    }

    /// What was found, in sentences.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let found = &self.refinement;
        let mut lines = Vec::new();
        if let Some(moved) = found.moved {
            lines.push(format!(
                "the images shift the body by {} ({}), at most {} ({})",
                format::px(moved.median_px),
                format::mm(moved.median_mm),
                format::px(moved.farthest_px),
                format::mm(moved.farthest_mm)
            ));
        }
        if let Some([before, after]) = found.similarity {
            let (before, after) = (format::correlation(before), format::correlation(after));
            lines.push(format!("similarity over the body: {before} by marks, {after} refined"));
        }
        lines.push(match found.refusal {
            None if self.change.is_some() => format!("the refinement is reliable; {PREFERRED}"),
            None => "the refinement is reliable".to_owned(),
            Some(why) => format!("the refinement is rejected: {}", why.text()),
        });
        lines
    }

    /// The change by the refined registration, line by line; none where it is not trusted.
    #[must_use]
    pub fn lines(&self) -> Vec<ReadingLine> {
        let Some(change) = &self.change else { return Vec::new() };
        let both = [(MovedAlong::Depth, change.along.as_ref()), (MovedAlong::Height, change.height.as_ref())];
        both.into_iter().filter_map(|(name, change)| Some(line(name, change?))).collect()
    }
}
