//! What blind readings say, in words and plots: the same for the window, the command line and paper.

use crate::case::document::Case;
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::scene::drawing::shape::Scene;
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::scene::page::Page;
use crate::scene::page::paper::{Column, Paper};
use crate::scene::plot::agreement::{AxisWords, agreement_plot};
use crate::scene::repeatability::adopting::{Adopting, adopting};
use crate::scene::repeatability::reliability::{ReliabilityTable, details, source_lines, summary, tables};
use crate::study::mark_spread::{Scatter, SpreadEstimate};
use crate::study::places::{MarkPart, PlaceKey};
use crate::study::repeatability::{RaterComparison, Reading, paired, report};
use crate::study::rereading::{FIRST_MARKS, Measured, Study, table};

/// The title on paper.
const TITLE: &str = "Repeatability of the readings";
/// Shares of the width that the columns of the marks' table have on paper.
const WIDTHS: [f64; 8] = [4.2, 1.0, 2.0, 1.0, 0.7, 1.2, 1.4, 1.3];
/// The most plots of one quantity.
const PLOTS: usize = 2;
/// Size of a plot in points.
pub const PLOT: (f64, f64) = (460.0, 280.0);

/// A part of the results.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Its heading.
    pub title: String,
    /// What it says, line by line.
    pub lines: Vec<String>,
    /// Tables below that.
    pub tables: Vec<ReliabilityTable>,
    /// Its plots, if there is something to plot.
    pub plots: Vec<Scene>,
    /// What stands in the notes at the end: every digit in words.
    pub notes: Vec<String>,
}

/// Everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Results {
    /// The parts, in their order.
    pub sections: Vec<Section>,
    /// What the action that adopts the measured figures would do, if anything.
    pub adopting: Option<Adopting>,
    /// The same against the first marks, which were not blinded, where blinded readings alone tell nothing yet.
    pub against_first: Option<Adopting>,
}

impl Results {
    /// What can be adopted, the blinded readings before the first marks.
    #[must_use]
    pub fn offer(&self) -> Option<&Adopting> {
        self.adopting.as_ref().or(self.against_first.as_ref())
    }
}

/// The results of a study, beside the settings that hold now in a case. `first` is the study with the first marks, for where
/// no mark was read blind twice.
#[must_use]
pub fn results(study: &Study<'_>, first: Option<&Study<'_>>, case: &Case) -> Results {
    let mut sections = vec![overview(study), marks(study)];
    sections.extend(study.reports.iter().map(|(what, _)| quantity(study, *what)));
    let measured = study.adopted(&case.settings);
    let against_first = first
        .filter(|_| measured.is_none())
        .and_then(|first| adopting(case, first.adopted(&case.settings)))
        .map(|offer| Adopting { words: format!("{AGAINST_FIRST} {}", offer.words), ..offer });
    Results { sections, adopting: adopting(case, measured), against_first }
}

/// What is said before figures that come from the first marks.
const AGAINST_FIRST: &str = "Compared with the first marks, which were not blinded:";

/// The results on paper.
#[must_use]
pub fn pages(results: &Results) -> Vec<Page> {
    let mut paper = Paper::new(TITLE);
    paper.title(TITLE);
    for section in &results.sections {
        paper.heading(&section.title);
        for line in &section.lines {
            if line.is_empty() {
                paper.gap(space::S2);
            } else {
                paper.line(line);
            }
        }
        for (heads, rows) in &section.tables {
            paper.gap(space::S2);
            let columns: Vec<Column> = heads
                .iter()
                .zip(WIDTHS)
                .enumerate()
                .map(|(i, (head, share))| match i {
                    0 => Column::words(head, share),
                    _ => Column::numbers(head, share),
                })
                .collect();
            paper.table(&columns, rows);
        }
        for plot in &section.plots {
            paper.gap(space::S2);
            paper.drawing(plot.clone());
        }
    }
    if let Some(adopting) = results.offer() {
        paper.heading("Marking error");
        paper.paragraph(&format!("As measured: {}", adopting.words));
    }
    for section in results.sections.iter().filter(|section| !section.notes.is_empty()) {
        paper.heading(&format!("Notes: {}", section.title));
        section.notes.iter().for_each(|line| paper.weak_line(line));
    }
    paper.heading("Sources");
    for line in source_lines() {
        paper.weak_line(&line);
    }
    paper.finish()
}

/// What a quantity is called, with its unit.
#[must_use]
pub const fn measured(what: Measured) -> &'static str {
    match what {
        Measured::Depth => "Depth, % of the body depth",
        Measured::Height => "Height, % of the body height",
        Measured::Across => "Mediolateral position, % of the body width",
    }
}

fn overview(study: &Study<'_>) -> Section {
    let mut subjects: Vec<&str> = study.reads.iter().map(|read| read.subject.as_str()).collect();
    subjects.dedup();
    let mut readers: Vec<String> = Vec::new();
    for read in &study.reads {
        if !readers.contains(&read.rater) {
            readers.push(read.rater.clone());
        }
    }
    let mut lines = vec![format!(
        "{}, {} by {} ({}).",
        format::count(subjects.len(), "shot", "shots"),
        format::count(study.reads.len(), "reading", "readings"),
        format::count(readers.len(), "reader", "readers"),
        readers.join(", "),
    )];
    if study.reads.iter().any(|read| read.first) {
        let who = if readers.iter().any(|reader| reader == FIRST_MARKS) {
            "a separate reader, because the case names no operator"
        } else {
            "the first session of the operator; blinded sessions of the same operator follow as the second and so on"
        };
        lines.push(format!("The first marks count as {who}. They were not blinded."));
    }
    if study.assumed_scale > 0 {
        lines.push(format!(
            "{} not calibrated: millimeters assume a body of typical size.",
            format::count(study.assumed_scale, "shot is", "shots are"),
        ));
    }
    for (subject, reader, round) in &study.unread {
        lines.push(format!(
            "{subject}, {reader}, session {round}: its marks give no reading, so its cells are empty."
        ));
    }
    Section { title: "Readings".to_owned(), lines, tables: Vec::new(), plots: Vec::new(), notes: Vec::new() }
}

fn marks(study: &Study<'_>) -> Section {
    let mut lines = vec![
        "SD of a mark in each direction, with its 95 % interval. Borders are compared at their midpoint, perpendicular to the border; as lines through several points, they are not counted among all marks on bone."
            .to_owned(),
    ];
    let spread = &study.marks;
    if spread.places.is_empty() {
        lines.push("No mark was placed twice on the same image, so there is no spread yet.".to_owned());
    }
    let several = study.raters > 1;
    let mut heads = vec!["place", "SD, mm", "95 % interval, mm", "SD, px", "df", "largest, px"];
    if several {
        heads.extend(["own sessions, mm", "own sessions, px"]);
        lines.push(
            "The first columns combine all readers, the last are within each reader's own sessions; largest is the greatest distance of a reading from the mean of its image."
                .to_owned(),
        );
    }
    let mut rows: Vec<Vec<String>> =
        spread.places.iter().map(|(key, scatter)| row(&place(*key), scatter, several)).collect();
    for (name, scatter) in [("all marks on bone", &spread.bone), ("all marks on metal", &spread.metal)] {
        if scatter.all_px.is_some() {
            rows.push(row(name, scatter, several));
        }
    }
    let heads = heads.into_iter().map(str::to_owned).collect();
    let tables = if rows.is_empty() { Vec::new() } else { vec![(heads, rows)] };
    Section { title: "Marks".to_owned(), lines, tables, plots: Vec::new(), notes: Vec::new() }
}

fn row(name: &str, scatter: &Scatter, several: bool) -> Vec<String> {
    let said = |number: Option<f64>| number.map_or_else(|| "–".to_owned(), format::measured_briefly);
    let sd = |spread: Option<SpreadEstimate>| said(spread.map(|spread| spread.sd));
    let interval = scatter.all_mm.map_or_else(
        || "–".to_owned(),
        |s| format!("{} to {}", format::measured_briefly(s.low), format::measured_briefly(s.high)),
    );
    let mut cells = vec![
        name.to_owned(),
        sd(scatter.all_mm),
        interval,
        sd(scatter.all_px),
        scatter.all_px.map_or_else(String::new, |s| format::rounded(s.df)),
        format::one_decimal(scatter.largest_px),
    ];
    if several {
        cells.extend([sd(scatter.own_mm), sd(scatter.own_px)]);
    }
    cells
}

/// The name of a place.
#[must_use]
pub fn place(key: PlaceKey) -> String {
    let seen = match key.view {
        View::Lateral => "lateral",
        View::Ap => "AP",
        View::Pedicle => "en face pedicle",
    };
    let plate = matches!(key.kind, MarkKind::SuperiorEndPlate | MarkKind::InferiorEndPlate);
    let name = match key.part {
        MarkPart::Middle => format!("{}, middle", format::mark(key.kind)),
        MarkPart::First if plate && key.view == View::Ap => {
            format!("{}, left end as displayed", format::mark(key.kind))
        }
        MarkPart::Last if plate && key.view == View::Ap => {
            format!("{}, right end as displayed", format::mark(key.kind))
        }
        MarkPart::First => format::mark_point(MarkRef { kind: key.kind, index: 0 }, key.view, 2),
        MarkPart::Last => {
            let index = key.kind.count().0.max(2) - 1;
            format::mark_point(MarkRef { kind: key.kind, index }, key.view, index + 1)
        }
        MarkPart::Nth(index) => {
            format::mark_point(MarkRef { kind: key.kind, index }, key.view, key.kind.count().0)
        }
    };
    format!("{seen}, {name}")
}

fn quantity(study: &Study<'_>, what: Measured) -> Section {
    // In percent, so that numbers are those of the readings.
    let percent = |reading: Reading| Reading { value: reading.value.map(|value| 100.0 * value), ..reading };
    let readings: Vec<Reading> = table(&study.reads, what).into_iter().map(percent).collect();
    let report = report(&readings);
    let plot = |comparison: &RaterComparison| {
        let pair = comparison.pairs.first()?;
        let words = AxisWords {
            what: measured(what).to_owned(),
            first: format::shortened(&pair.first, 24),
            second: format::shortened(&pair.second, 24),
        };
        let values = paired(&readings, &comparison.of, &pair.first, &pair.second);
        Some(agreement_plot(&values, pair.agreement.as_ref()?, &words, PLOT))
    };
    // The first comparison of readers and the first of sessions: more would be the same again.
    let plots = report.comparisons.iter().filter_map(plot).take(PLOTS).collect();
    let tables = tables(&report).into_iter().filter(|(_, rows)| !rows.is_empty()).collect();
    let title = measured(what).to_owned();
    Section { title, lines: summary(&report), tables, plots, notes: details(&report) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_have_names() {
        let key = |view, kind, part| PlaceKey { view, kind, part };
        for (key, name) in [
            (
                key(View::Lateral, MarkKind::SuperiorEndPlate, MarkPart::First),
                "lateral, posterior-superior corner",
            ),
            (
                key(View::Lateral, MarkKind::InferiorEndPlate, MarkPart::Last),
                "lateral, anterior-inferior corner",
            ),
            (key(View::Ap, MarkKind::SuperiorEndPlate, MarkPart::Last), "right end as displayed"),
            (
                key(View::Lateral, MarkKind::PosteriorWall, MarkPart::Middle),
                "lateral, posterior wall, middle",
            ),
            (key(View::Lateral, MarkKind::Tip, MarkPart::First), "lateral, tip"),
            (key(View::Lateral, MarkKind::Cannula, MarkPart::Last), "lateral, cannula tip (distal opening)"),
            (key(View::Ap, MarkKind::LeftPedicle, MarkPart::Last), "AP, left pedicle, medial border"),
            (key(View::Pedicle, MarkKind::Pedicle, MarkPart::Nth(3)), "pedicle, lateral border"),
        ] {
            assert!(place(key).ends_with(name), "{}", place(key));
        }
    }
}
