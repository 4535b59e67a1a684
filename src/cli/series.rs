//! `series`: the audit over many case files.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Paths, Replace};
use crate::io::export::PageFormat;
use crate::io::export::audit::{json_text, pdf_bytes, plot_bytes};
use crate::io::export::audit_tables::{AuditTable, csv_text};
use crate::io::series::read_series_watched;
use crate::measure::mark::{Level, Side};
use crate::scene::drawing::theme::Theme;
use crate::scene::format;
use crate::scene::report::series::{Plot, SeriesReport};
use crate::scene::words::audit;
use crate::scene::words::caution;
use crate::scene::words::series_table::filter_words;
use crate::study::audit::{USUAL_RATES, audit, rates};
use crate::study::selection::{BodyStanding, Filter, SeriesColumn, Sorting, selected};
use crate::study::series::Treated;

/// Arguments of `series`.
#[derive(Debug, clap::Args)]
pub struct SeriesArgs {
    /// Folders with case files, including subfolders.
    #[arg(required = true, value_name = "FOLDER")]
    folders: Vec<PathBuf>,
    /// Everything, as JSON; the bodies in the order of the files.
    #[arg(long, conflicts_with_all = ["csv", "plot"])]
    json: bool,
    /// A table: bodies (as --csv alone), shares (proportions), differences, errors or sums.
    #[arg(long, value_name = "TABLE", num_args = 0..=1, require_equals = true, default_missing_value = "bodies",
          value_parser = of_key(AuditTable::ALL, AuditTable::key), conflicts_with = "plot")]
    csv: Option<String>,
    /// One plot: tips, shares (proportions), errors or sums; or bodies, the table as an image. --out names a .png, .svg
    /// or .pdf.
    #[arg(long, value_name = "PLOT", value_parser = of_key(Plot::ALL, Plot::key), requires = "out")]
    plot: Option<String>,
    /// Colors of a plot for dark rooms instead of paper.
    #[arg(long, requires = "plot")]
    dark: bool,
    #[command(flatten)]
    only: Only,
    /// Sort the table of bodies by this column.
    #[arg(long, value_name = "COLUMN", value_parser = of_key(SeriesColumn::ALL, SeriesColumn::key))]
    sort: Option<String>,
    /// In descending order.
    #[arg(long)]
    falling: bool,
    /// Acceptable rate of tips outside the target.
    #[arg(long, value_name = "RATE", default_value_t = USUAL_RATES.0)]
    acceptable: f64,
    /// Unacceptable rate of tips outside the target.
    #[arg(long, value_name = "RATE", default_value_t = USUAL_RATES.1)]
    unacceptable: f64,
    /// Read every file again and keep no cache.
    #[arg(long)]
    fresh: bool,
    /// Write the result to this file; a name ending in .pdf makes a PDF summary.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    paths: Paths,
    #[command(flatten)]
    replace: Replace,
}

/// Which bodies; everything else is worked out for these.
#[derive(Debug, clap::Args)]
struct Only {
    /// Only this level.
    #[arg(long, value_name = "LEVEL")]
    level: Option<String>,
    /// Only entered from this side.
    #[arg(long, value_parser = of_key(Side::ALL, Side::key))]
    side: Option<String>,
    /// Only this operator; "" for bodies without one.
    #[arg(long, value_name = "CODE")]
    operator: Option<String>,
    /// Only this half-year, such as "2026 H1"; "" for bodies without a date.
    #[arg(long, value_name = "HALF-YEAR")]
    half_year: Option<String>,
    /// Only bodies with this verdict.
    #[arg(long, value_parser = of_key(BodyStanding::ALL, BodyStanding::key))]
    target: Option<String>,
    /// Only bodies whose table row contains all of these words.
    #[arg(long, value_name = "WORDS", default_value = "")]
    find: String,
}

/// One of some keys.
fn of_key<T: Copy, const N: usize>(
    all: [T; N],
    key: impl Fn(T) -> &'static str,
) -> clap::builder::PossibleValuesParser {
    clap::builder::PossibleValuesParser::new(all.map(key))
}

/// What a key stands for; the keys were looked at before.
fn by_key<T: Copy, const N: usize>(
    said: Option<&String>,
    all: [T; N],
    key: impl Fn(T) -> &'static str,
) -> Option<T> {
    all.into_iter().find(|one| said.is_some_and(|said| said == key(*one)))
}

impl Only {
    fn filter(&self) -> Result<Filter, Refused> {
        let level = match &self.level {
            None => None,
            Some(name) => Some(Level::from_name(name).ok_or_else(|| {
                Refused(vec![format!("--level: “{name}” is not a level; use one such as L4, S1 or T12")])
            })?),
        };
        Ok(Filter {
            level,
            side: by_key(self.side.as_ref(), Side::ALL, Side::key),
            operator: self.operator.clone(),
            half_year: self.half_year.clone(),
            standing: by_key(self.target.as_ref(), BodyStanding::ALL, BodyStanding::key),
            text: self.find.clone(),
        })
    }
}

/// Reads the folders and delivers the audit. Files that are passed over are named beside the results; they are no failure, for a
/// folder may hold others' files.
///
/// # Errors
/// One sentence, if a folder cannot be looked into, holds no case file, no body is left by the filters, or the rates cannot
/// be meant.
pub fn run(args: &SeriesArgs, out: &mut dyn Write, aside: &mut Aside<'_>) -> Result<Done, Refused> {
    let rates = rates(args.acceptable, args.unacceptable)
        .map_err(|why| Refused(vec![format!("--acceptable, --unacceptable: {why}")]))?;
    let filter = args.only.filter()?;
    let found = {
        let mut progress = aside.progress("Reading case files");
        let mut watch = |done: usize, of: usize| {
            progress.at(done, of);
            true
        };
        read_series_watched(&args.folders, !args.fresh, &mut watch)?
    };
    let names: Vec<String> = args.folders.iter().map(|folder| folder.display().to_string()).collect();
    if found.files.is_empty() {
        let mut wrong = vec![format!(
            "{}: no readable case file was found in it; use a folder that contains case files",
            names.join(", ")
        )];
        wrong.extend(found.skipped_sentences());
        return Err(Refused(wrong));
    }
    let passed_over = found.skipped_sentences();
    let found = if args.paths.are_told() { found } else { found.without_paths() };
    let bodies: Vec<&Treated> = found.bodies.iter().filter(|body| filter.takes(body)).collect();
    if let Some(only) = filter_words(&filter).filter(|_| bodies.is_empty()) {
        return Err(Refused(vec![format!("{}: no body matches: {only}", names.join(", "))]));
    }
    let audit = audit(&bodies, &rates);
    let sorting = Sorting {
        by: by_key(args.sort.as_ref(), SeriesColumn::ALL, SeriesColumn::key).unwrap_or_default(),
        falling: args.falling,
    };
    let listed: Vec<&Treated> = if args.sort.is_some() || args.falling {
        selected(&found.bodies, &filter, sorting).into_iter().map(|i| &found.bodies[i]).collect()
    } else {
        bodies.clone()
    };
    let skipped = found.skipped_sentences();
    let told = SeriesReport {
        bodies: &listed,
        audit: &audit,
        rates: &rates,
        filter: &filter,
        files: found.files.len(),
        skipped: &skipped,
    };
    let inputs: Vec<&Path> = found.files.iter().map(PathBuf::as_path).collect();
    match drawn(args, &told)? {
        Some((bytes, file)) => output::write_result(&bytes, file, &inputs, args.replace)?,
        None => {
            let text = if args.json {
                json_text(&found, &bodies, &audit, &rates)
            } else if let Some(table) = by_key(args.csv.as_ref(), AuditTable::ALL, AuditTable::key) {
                csv_text(table, &listed, &bodies, &audit)
            } else {
                for_people(&told)
            };
            output::deliver(&text, args.out.as_deref(), &inputs, args.replace, out)?;
        }
    }
    // In JSON they stand among the results.
    for skipped in passed_over.iter().filter(|_| !args.json) {
        aside.say(&format!("Skipped: {skipped}"));
    }
    let all = bodies.iter().all(|body| body.outcome.is_ok());
    Ok(if all { Done::Fully } else { Done::WithoutSomeReading })
}

/// A plot or the document on paper, where one is asked for, and the file it goes to.
fn drawn<'a>(args: &'a SeriesArgs, told: &SeriesReport<'_>) -> Result<Option<(Vec<u8>, &'a Path)>, Refused> {
    let Some(file) = args.out.as_deref() else { return Ok(None) };
    let refused = |sentence: String| Refused(vec![sentence]);
    let plot = by_key(args.plot.as_ref(), Plot::ALL, Plot::key);
    let format = PageFormat::of_name(file);
    let bytes = match (plot, format) {
        (Some(plot), format) => {
            let format = format.map_err(|e| refused(e.to_string()))?;
            let theme = if args.dark { Theme::dark() } else { Theme::light() };
            plot_bytes(told, plot, format, &theme)
        }
        (None, Ok(_)) if args.json || args.csv.is_some() => {
            return Err(refused(
                "--json and --csv need a file of their own; use another file name".to_owned(),
            ));
        }
        (None, Ok(PageFormat::Pdf)) => pdf_bytes(told),
        (None, Ok(PageFormat::Svg | PageFormat::Png)) => {
            let sentence =
                "the summary needs several pages; use a file name ending in .pdf, or one plot with --plot";
            return Err(refused(format!("{}: {sentence}", file.display())));
        }
        (None, Err(_)) => return Ok(None),
    };
    bytes.map(|bytes| Some((bytes, file))).map_err(|e| refused(e.to_string()))
}

fn for_people(told: &SeriesReport<'_>) -> String {
    let without = told.bodies.iter().filter(|body| body.outcome.is_err()).count();
    let mut lines = vec![format!(
        "{}, {}, {} without a final reading in both views",
        format::count(told.files, "case file", "case files"),
        format::count(told.bodies.len(), "body treated", "bodies treated"),
        without
    )];
    lines.extend(filter_words(told.filter).map(|only| format!("Only {only}")));
    lines.push(String::new());
    lines.extend(audit::lines(told.audit, told.rates));
    if !told.skipped.is_empty() {
        lines.push(String::new());
        lines.push(format!("Skipped: {}", format::count(told.skipped.len(), "file", "files")));
        lines.extend(told.skipped.iter().map(|sentence| format!("  {sentence}")));
    }
    lines.push(String::new());
    lines.push(caution::SHORT.to_owned());
    lines.push(String::new());
    lines.join("\n")
}
