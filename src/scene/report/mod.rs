//! The case on paper: a cover page, a page for each level and side with its final stills, then all shots as small pictures.
//!
//! Reading order: [`cover`], [`level`], `added` (comparisons, tip paths), [`appendix`], [`contact`] (shots as small pictures).

use std::sync::Arc;

use crate::case::document::Case;
use crate::case::image::frame::Frame;
use crate::case::plan::plan;
use crate::case::readings::CaseReadings;
use crate::scene::page::Page;
use crate::scene::page::paper::{Paper, PaperSize};

mod added;
mod appendix;
mod contact;
mod cover;
mod level;
pub mod series;
mod told;

pub use added::ReportPart;
use told::{CaseReport, UNTITLED};

/// The pages of a case's report. `frames` are the shots' pictures in the case's order, where they can be opened.
///
/// What may be words outside a picture's round field is covered, whether the case covers it or not; a whole picture
/// that its file says has words in it, and of which nothing is covered, is not shown.
/// `parts` are put between the bodies and the appendix.
#[must_use]
pub fn report(
    case: &Case,
    readings: &CaseReadings,
    frames: &[Option<Arc<Frame>>],
    (size, parts): (PaperSize, &[ReportPart]),
) -> Vec<Page> {
    let shown = case.shots.iter().enumerate();
    let shown = shown.map(|(i, shot)| contact::guarded(shot, frames.get(i).and_then(Option::as_deref)));
    let told = CaseReport { case, readings, frames, shown: shown.collect(), plan: plan(case, readings) };
    let title = case.title.as_deref().unwrap_or(UNTITLED);
    let name = match &case.reference {
        Some(reference) => format!("{title} · {reference}"),
        None => title.to_owned(),
    };
    let mut paper = Paper::on(size, &name);
    cover::write(&mut paper, &told);
    let levels = told.levels();
    for (level, sides) in &levels {
        sides.iter().for_each(|side| level::write(&mut paper, &told, *level, *side));
    }
    parts.iter().for_each(|part| added::write(&mut paper, &told, *part));
    appendix::write(&mut paper, &told, &levels);
    paper.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::record::BodyRecord;
    use crate::case::readings::{Picture, read_case};
    use crate::measure::mark::{Level, Side};

    fn words(case: &Case) -> String {
        let readings = read_case(case, |_| Picture::NotLookedAt, None);
        let frames = vec![None; case.shots.len()];
        let pages = report(case, &readings, &frames, (PaperSize::A4, &[]));
        pages.iter().flat_map(Page::words).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_case_with_nothing_in_it_still_has_a_cover() {
        let said = words(&Case::default());
        assert!(said.contains(UNTITLED) && said.contains("No affected disc is set"), "{said}");
        assert!(said.contains("page 1 of 1") && !said.contains("page 2"));
    }

    #[test]
    fn what_was_written_down_of_a_body_without_shots_has_a_page() {
        let mut case = Case { reference: Some("K-17".to_owned()), ..Case::default() };
        let mut record = BodyRecord::new(Level::L5, Side::Left);
        record.lesion_s = Some(900.0);
        record.remarks = Some("two attempts".to_owned());
        case.bodies.push(record);
        let said = words(&case);
        assert!(said.contains("L5, patient's left") && said.contains("900 s"), "{said}");
        assert!(said.contains("two attempts") && said.contains("K-17"));
    }
}
