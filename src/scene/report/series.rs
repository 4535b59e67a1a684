//! A series of bodies on paper: what it says in plots and tables, and every body; or one of the plots by itself.

use crate::measure::settings::Rule;
use crate::scene::drawing::shape::{Role, Scene, TextSize};
use crate::scene::drawing::theme::space;
use crate::scene::format;
use crate::scene::page::Page;
use crate::scene::page::paper::{self, Paper};
use crate::scene::page::sheet::Sheet;
use crate::scene::page::table::LaidTable;
use crate::scene::plot::{Chart, audit as charts, shares, tips};
use crate::scene::words::audit::{
    NOT_INDEPENDENT, THREE_WAYS, difference_cells, error_cells, group, limits, share,
};
use crate::scene::words::caution;
use crate::scene::words::series_table::{cell, filter_words, heading, short, short_aside};
use crate::stats::cusum::Rates;
use crate::study::audit::Audit;
use crate::study::selection::{Filter, SeriesColumn};
use crate::study::series::Treated;

/// A series with what it says.
#[derive(Clone, Copy, Debug)]
pub struct SeriesReport<'a> {
    /// The bodies, in the order of the table.
    pub bodies: &'a [&'a Treated],
    /// What they say.
    pub audit: &'a Audit,
    /// The rates of the cumulative sums.
    pub rates: &'a Rates,
    /// Which bodies were let through.
    pub filter: &'a Filter,
    /// How many case files were read.
    pub files: usize,
    /// Files that were passed over, a sentence each.
    pub skipped: &'a [String],
}

/// One of the plots, or the table as an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Plot {
    /// All tips in a typical body.
    Tips,
    /// Shares in the target.
    Shares,
    /// The tip's error over time.
    Errors,
    /// Cumulative sums.
    Sums,
    /// The table of the bodies.
    Bodies,
}

/// Room for a heading on paper.
const HEADING: f64 = 48.0;
/// Height of a chart on paper.
const CHART: f64 = 220.0;
/// Size of a plot by itself: width, and height of each of its charts.
const ALONE: (f64, f64) = (960.0, 300.0);
/// Room around a plot by itself.
const MARGIN: f64 = 24.0;
/// Rows of the table where it is one image.
const MOST_ROWS: usize = 120;
/// What stands below the table.
const INTERVALS: &str = "Depth, height and midline offset with their 95 % intervals (±); an offset lies short of or past the midline, seen from the entry side.";
/// Groups in one drawing of shares; more go on in another.
const GROUPS: usize = 24;
/// Columns of the table on paper, with their shares of the width; level and side stand in one.
const COLUMNS: [(SeriesColumn, f64); 10] = [
    (SeriesColumn::Date, 78.0),
    (SeriesColumn::Operator, 62.0),
    (SeriesColumn::Level, 62.0),
    (SeriesColumn::Outcome, 106.0),
    (SeriesColumn::Depth, 66.0),
    (SeriesColumn::Height, 66.0),
    (SeriesColumn::Midline, 76.0),
    (SeriesColumn::Lesion, 56.0),
    (SeriesColumn::Issues, 100.0),
    (SeriesColumn::Case, 84.0),
];

impl Plot {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Tips, Self::Shares, Self::Errors, Self::Sums, Self::Bodies];

    /// Those that are drawn; the other one is a table.
    const DRAWN: [Self; 4] = [Self::Tips, Self::Shares, Self::Errors, Self::Sums];

    /// The key on the command line.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Tips => "tips",
            Self::Shares => "shares",
            Self::Errors => "errors",
            Self::Sums => "sums",
            Self::Bodies => "bodies",
        }
    }

    /// Its heading.
    const fn title(self) -> &'static str {
        match self {
            Self::Tips => "All tips in a typical body",
            Self::Shares => "Proportions in the target",
            Self::Errors => "Tip error over time",
            Self::Sums => "Cumulative sums",
            Self::Bodies => "Every body",
        }
    }

    /// What must be said below it.
    fn notes(self, told: &SeriesReport<'_>) -> Vec<String> {
        match self {
            Self::Tips => vec![tips::KEY.to_owned()],
            Self::Shares => vec![THREE_WAYS.to_owned(), NOT_INDEPENDENT.to_owned()],
            Self::Errors => vec![errors_note(told)],
            Self::Sums => limits(told.rates).into_iter().chain([THREE_WAYS.to_owned()]).collect(),
            Self::Bodies => vec![INTERVALS.to_owned()],
        }
    }
}

impl SeriesReport<'_> {
    /// The drawings of a plot, each no wider than `width`; `height` is that of a chart. Drawings of a body stand beside
    /// each other, all else one below the other.
    fn drawings(&self, plot: Plot, width: f64, height: f64) -> Vec<Scene> {
        let chart = |chart: &Chart| chart.drawn((width, height)).scene;
        match plot {
            Plot::Tips => {
                let third = (width - 2.0 * space::S3) / 3.0;
                tips::drawn(self.bodies, self.audit, (third, 0.9 * third)).map(|drawn| drawn.scene).to_vec()
            }
            Plot::Shares => {
                self.audit.shares.chunks(GROUPS).map(|some| shares::rows(some, width).scene).collect()
            }
            Plot::Errors => charts::errors(self.bodies, self.audit).iter().map(chart).collect(),
            Plot::Sums => charts::sums(self.audit, self.rates).iter().map(chart).collect(),
            Plot::Bodies => Vec::new(),
        }
    }

    /// How many there are, in a line.
    fn count(&self) -> String {
        let without = self.bodies.iter().filter(|body| body.outcome.is_err()).count();
        let mut words = format!(
            "{}, {}, {without} without an outcome.",
            format::count(self.files, "case file", "case files"),
            format::count(self.bodies.len(), "body", "bodies"),
        );
        if let Some(only) = filter_words(self.filter) {
            words.push_str(&format!(" Only {only}."));
        }
        if !self.skipped.is_empty() {
            words.push_str(&format!(" Skipped: {}.", format::count(self.skipped.len(), "file", "files")));
        }
        words
    }
}

fn errors_note(told: &SeriesReport<'_>) -> String {
    let without = told.bodies.iter().filter(|body| body.time().is_none()).count();
    let mut words = "Squares are half-year means with 95 % t intervals.".to_owned();
    if without > 0 {
        let count = format::count(without, "body has", "bodies have");
        words.push_str(&format!(" {count} no readable date and are in no half-year."));
    }
    words
}

/// One plot or the table by itself, the caution below it.
#[must_use]
pub fn plot_page(told: &SeriesReport<'_>, plot: Plot) -> Page {
    let inner = ALONE.0 - 2.0 * MARGIN;
    let mut sheet = Sheet::new(MARGIN, MARGIN, inner, 2.0);
    sheet.paragraph(plot.title(), Role::Text, TextSize::Body);
    sheet.paragraph(&told.count(), Role::WeakText, TextSize::Small);
    sheet.y += space::S3;
    if plot == Plot::Bodies {
        table_alone(&mut sheet, told);
    } else {
        let drawings = told.drawings(plot, inner, ALONE.1);
        if drawings.is_empty() {
            sheet.paragraph("Nothing to plot: no body has an outcome.", Role::Text, TextSize::Small);
        }
        lay(&mut sheet, plot, drawings);
    }
    for note in plot.notes(told) {
        sheet.paragraph(&note, Role::WeakText, TextSize::Small);
        sheet.y += space::S1;
    }
    sheet.rule();
    sheet.paragraph(caution::SHORT, Role::WeakText, TextSize::Small);
    let height = sheet.y + MARGIN;
    sheet.finish((ALONE.0, height), 1.0)
}

/// The first rows of the table, and how many more there are.
fn table_alone(sheet: &mut Sheet, told: &SeriesReport<'_>) {
    let shown = told.bodies.get(..MOST_ROWS).unwrap_or(told.bodies);
    let (columns, rows) = table_of(shown);
    let table = LaidTable::of((sheet.left, sheet.inner), &columns, &rows);
    table.head(sheet);
    (0..rows.len()).for_each(|row| table.row(sheet, row));
    sheet.y += space::S2;
    let more = told.bodies.len() - shown.len();
    if more > 0 {
        let count = format::count(more, "more body is", "more bodies are");
        let words = format!("{count} not shown; save the table (CSV) or the document (PDF) for all of them.");
        sheet.paragraph(&words, Role::Text, TextSize::Small);
        sheet.y += space::S1;
    }
}

/// Puts drawings on a sheet, those of a body beside each other.
fn lay(sheet: &mut Sheet, plot: Plot, drawings: Vec<Scene>) {
    if plot == Plot::Tips {
        let height = drawings.iter().map(|scene| scene.bounds.height()).fold(0.0, f64::max);
        let mut x = sheet.left;
        for scene in drawings {
            let wide = scene.bounds.width();
            sheet.drawing(x, scene);
            x += wide + space::S3;
        }
        sheet.y += height + space::S3;
    } else {
        for scene in drawings {
            let height = scene.bounds.height();
            sheet.drawing(sheet.left, scene);
            sheet.y += height + space::S3;
        }
    }
}

/// The series on paper: plots with their tables, then every body, then what was passed over.
#[must_use]
pub fn pages(told: &SeriesReport<'_>) -> Vec<Page> {
    let mut paper = Paper::new("Case series");
    paper.title("Case series");
    paper.paragraph(&told.count());
    for plot in Plot::DRAWN {
        part(&mut paper, told, plot);
    }
    bodies(&mut paper, told);
    if !told.skipped.is_empty() {
        paper.heading("Skipped");
        for sentence in told.skipped {
            paper.line(sentence);
        }
    }
    paper.finish()
}

fn part(paper: &mut Paper, told: &SeriesReport<'_>, plot: Plot) {
    let drawings = told.drawings(plot, paper.inner(), CHART);
    // A heading stands with its first drawing.
    let first = drawings.first().map_or(0.0, |scene| scene.bounds.height());
    paper.need(HEADING + first.min(0.7 * paper.height()));
    paper.heading(plot.title());
    if drawings.is_empty() {
        paper.paragraph("Nothing to plot: no body has an outcome.");
        return;
    }
    if plot == Plot::Tips {
        let height = drawings.iter().map(|scene| scene.bounds.height()).fold(0.0, f64::max);
        paper.need(height + space::S3);
        lay(&mut paper.sheet, plot, drawings);
    } else {
        for scene in drawings {
            paper.drawing(scene);
        }
    }
    match plot {
        Plot::Shares => share_tables(paper, told.audit),
        Plot::Errors => errors(paper, told.audit),
        Plot::Tips | Plot::Sums | Plot::Bodies => {}
    }
    for note in plot.notes(told) {
        paper.note(&note);
    }
}

fn share_tables(paper: &mut Paper, audit: &Audit) {
    let mut columns = vec![paper::Column::words("group", 1.6)];
    columns.extend(["n", "in", "out", "?"].map(|name| paper::Column::numbers(name, 0.5)));
    columns.extend(
        ["undecided as hits", "as misses", "by probability"].map(|name| paper::Column::words(name, 1.7)),
    );
    let rows: Vec<Vec<String>> = audit
        .shares
        .iter()
        .map(|one| {
            let counts = [one.n, one.inside, one.outside, one.undecided].map(|n| n.to_string());
            let own = one.share.each_ref().map(share);
            std::iter::once(group(one.by, &one.group)).chain(counts).chain(own).collect()
        })
        .collect();
    paper.table(&columns, &rows);
    if !audit.differences.is_empty() {
        let columns = [
            paper::Column::words("difference, undecided by probability", 1.6),
            paper::Column::words("Newcombe 95 % interval", 1.0),
        ];
        let rows: Vec<Vec<String>> =
            audit.differences.iter().map(|one| difference_cells(one).to_vec()).collect();
        paper.table(&columns, &rows);
    }
}

fn errors(paper: &mut Paper, audit: &Audit) {
    let columns = [
        paper::Column::words("half-year", 0.9),
        paper::Column::words("coordinate", 0.9),
        paper::Column::numbers("n", 0.5),
        paper::Column::words("mean", 2.2),
        paper::Column::words("direction", 1.6),
        paper::Column::numbers("SD", 0.6),
    ];
    let rows: Vec<Vec<String>> = audit.errors.iter().map(|one| error_cells(one).to_vec()).collect();
    paper.table(&columns, &rows);
}

fn bodies(paper: &mut Paper, told: &SeriesReport<'_>) {
    paper.new_page();
    paper.heading(Plot::Bodies.title());
    let (columns, rows) = table_of(told.bodies);
    paper.table(&columns, &rows);
    paper.note(INTERVALS);
}

/// The table of these bodies: its columns, and a row for each.
fn table_of(bodies: &[&Treated]) -> (Vec<paper::Column>, Vec<Vec<String>>) {
    let name = |column| if column == SeriesColumn::Level { "Body" } else { heading(column) };
    let columns = COLUMNS.iter().map(|(column, wide)| paper::Column::words(name(*column), *wide)).collect();
    let row = |body: &&Treated| COLUMNS.iter().map(|(column, _)| on_paper(body, *column)).collect();
    (columns, bodies.iter().map(row).collect())
}

/// A cell that fits into a narrow column.
fn on_paper(body: &Treated, column: SeriesColumn) -> String {
    match column {
        SeriesColumn::Level => {
            format!("{} {}", cell(body, SeriesColumn::Level), cell(body, SeriesColumn::Side))
        }
        SeriesColumn::Depth => body.used(Rule::Depth).map(short).unwrap_or_default(),
        SeriesColumn::Height => body.used(Rule::Height).map(short).unwrap_or_default(),
        SeriesColumn::Midline => body.used(Rule::Midline).map(short_aside).unwrap_or_default(),
        other => cell(body, other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::words::series_table::tests::body;
    use crate::study::audit::{audit, rates};

    fn told(of: &[&Treated], look: impl FnOnce(&SeriesReport<'_>)) {
        let rates = rates(0.1, 0.2).unwrap();
        let filter = Filter { operator: Some("R1".to_owned()), ..Filter::default() };
        let skipped = ["x.json: it is no case file".to_owned()];
        let audit = audit(of, &rates);
        look(&SeriesReport {
            bodies: of,
            audit: &audit,
            rates: &rates,
            filter: &filter,
            files: 7,
            skipped: &skipped,
        });
    }

    fn words<'a>(pages: impl IntoIterator<Item = &'a Page>) -> String {
        pages.into_iter().flat_map(Page::words).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn the_pages_hold_every_body_and_what_was_passed_over() {
        let bodies: Vec<Treated> = (0..90)
            .map(|i| {
                let mut one = body();
                one.title = format!("Number {i}");
                one
            })
            .collect();
        told(&bodies.iter().collect::<Vec<_>>(), |told| {
            let pages = pages(told);
            let said = words(&pages);
            for i in 0..90 {
                assert!(said.contains(&format!("Number {i}")), "{i}");
            }
            for part in [
                "7 case files, 90 bodies",
                "Only operator R1.",
                "x.json: it is no case file",
                "Not a medical device",
                "Likelihood ratio chart:",
                "patient are",
                "900 s",
            ] {
                assert!(said.contains(part), "{part}");
            }
            assert!(pages.len() >= 4);
        });
    }

    #[test]
    fn every_plot_stands_by_itself_with_the_caution() {
        let one = body();
        told(&[&one, &one], |told| {
            for plot in Plot::ALL {
                let page = plot_page(told, plot);
                assert!(words([&page]).contains("Not a medical device"), "{plot:?}");
                let bottom = page.parts.iter().map(|part| part.room.max.y).fold(0.0, f64::max);
                assert!(bottom <= page.size.1 + 1e-9, "{plot:?}");
            }
        });
    }

    #[test]
    fn nothing_at_all_is_said() {
        told(&[], |told| {
            assert!(words(&pages(told)).contains("Nothing to plot"));
            assert!(words([&plot_page(told, Plot::Sums)]).contains("Nothing to plot"));
        });
    }
}
