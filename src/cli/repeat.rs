//! `repeat`: reliability statistics from a table of repeated readings, or from the blind readings of case files.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::case::document::Case;
use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::io::export::{PageFormat, reliability, rereading};
use crate::io::readings_table::open_readings;
use crate::io::store::practice::exercises;
use crate::io::store::save::open_case;
use crate::scene::format;
use crate::scene::repeatability::adopting::of_exercises as adopting_exercises;
use crate::scene::repeatability::reliability::{lines, source_lines};
use crate::scene::repeatability::rereading::{Results, results};
use crate::scene::words::caution;
use crate::study::practice::{ENOUGH, own_error};
use crate::study::repeatability::report;
use crate::study::rereading::{Named, Study, study};

/// Arguments of `repeat`.
#[derive(Debug, clap::Args)]
pub struct RepeatArgs {
    /// A table of readings (CSV with the columns subject, rater, round (optional) and value), or case files with
    /// blinded re-readings.
    #[arg(required = true, value_name = "TABLE.csv|CASE")]
    inputs: Vec<PathBuf>,
    /// Everything, as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// For case files: the readings as a table, one line each.
    #[arg(long)]
    csv: bool,
    /// For case files: include the first marks as a reading by the case's operator; they were not blinded.
    #[arg(long)]
    with_first_marks: bool,
    /// For case files: leave out the first marks; this is so unless --with-first-marks is given.
    #[arg(long, hide = true, conflicts_with = "with_first_marks")]
    blind_only: bool,
    /// Your own marking error in the exercises of Practice, and what it would change in each of these case files, instead of
    /// their re-readings.
    #[arg(long, conflicts_with_all = ["csv", "json", "with_first_marks", "blind_only"])]
    exercises: bool,
    /// Write the result to this file; for case files, a name ending in .pdf makes a PDF summary.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Reads the table or the cases and delivers what they say.
///
/// # Errors
/// One sentence that names the file and the place in it.
pub fn run(args: &RepeatArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let is_case = |path: &Path| path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"));
    let inputs: Vec<&Path> = args.inputs.iter().map(PathBuf::as_path).collect();
    let done = match inputs.as_slice() {
        all if args.exercises => of_exercises(all)?,
        all if all.iter().all(|path| is_case(path)) => return of_cases(args, &inputs, out),
        [table] => of_table(args, table)?,
        _ => return Err(Refused(vec!["give one table of readings, or case files only".to_owned()])),
    };
    output::deliver(&done, args.out.as_deref(), &inputs, args.replace, out)?;
    Ok(Done::Fully)
}

/// What one's own exercises say, and what that would change in each case.
fn of_exercises(inputs: &[&Path]) -> Result<String, Refused> {
    let scores = exercises()?;
    let mut lines = vec![format!("Exercises so far: {}.", scores.len())];
    if scores.len() < ENOUGH {
        lines.push(format!(
            "Your own marking error is worked out after {ENOUGH} exercises; do more in the window (Practice)."
        ));
        return Ok(for_people(lines));
    }
    let own = own_error(&scores);
    for (name, spread) in [("bone", own.bone), ("metal", own.metal)] {
        if let Some(spread) = spread {
            let [sd, low, high] = [spread.sd, spread.low, spread.high].map(format::measured_briefly);
            lines.push(format!("  Marking error on {name}: SD {sd} mm (95 % interval {low} to {high})"));
        }
    }
    for path in inputs {
        let case = open_case(path)?.case;
        let offer = adopting_exercises(&case, &scores);
        let words = offer.map_or_else(|| "it uses this already.".to_owned(), |offer| offer.words);
        lines.push(format!("  {}: {words}", path.display()));
    }
    lines.push("Take it with one click in the window: Practice, “Use as marking error”.".to_owned());
    Ok(for_people(lines))
}

fn of_table(args: &RepeatArgs, table: &Path) -> Result<String, Refused> {
    if args.csv || args.blind_only || args.with_first_marks {
        let sentence =
            "--csv, --with-first-marks and --blind-only are for case files; omit them with a table"
                .to_owned();
        return Err(Refused(vec![sentence]));
    }
    let report = report(&open_readings(table)?);
    Ok(if args.json { reliability::text(&report) } else { for_people(lines(&report)) })
}

fn of_cases(args: &RepeatArgs, inputs: &[&Path], out: &mut dyn Write) -> Result<Done, Refused> {
    let full: Vec<PathBuf> = inputs.iter().filter_map(|path| std::fs::canonicalize(path).ok()).collect();
    if let Some(twice) = full.iter().enumerate().find(|(i, path)| full[..*i].contains(path)) {
        return Err(Refused(vec![format!("{}: given twice; give it once", twice.1.display())]));
    }
    let cases: Vec<Case> =
        inputs.iter().map(|path| Ok(open_case(path)?.case)).collect::<Result<_, Refused>>()?;
    let names = names(inputs);
    let named: Vec<Named<'_>> = names.iter().zip(&cases).map(|(name, case)| Named { name, case }).collect();
    let study = study(&named, args.with_first_marks);
    if study.reads.is_empty() {
        let files: Vec<String> = inputs.iter().map(|path| path.display().to_string()).collect();
        return Err(Refused(vec![format!(
            "{}: no shot has been re-read; re-read some in the window (Blinded re-reading), or use other case files",
            files.join(", ")
        )]));
    }
    let settings = cases.first().map(|case| case.settings.clone()).unwrap_or_default();
    let first = (!args.with_first_marks).then(|| crate::study::rereading::study(&named, true));
    let bare = Case::default();
    let results = results(&study, first.as_ref(), cases.first().unwrap_or(&bare));
    let paper = args.out.as_deref().filter(|file| matches!(PageFormat::of_name(file), Ok(PageFormat::Pdf)));
    if let Some(file) = paper {
        if args.json || args.csv {
            return Err(Refused(vec![
                "--json and --csv need a file of their own; use another file name".to_owned(),
            ]));
        }
        let bytes = rereading::pdf_bytes(&results).map_err(|e| Refused(vec![e.to_string()]))?;
        output::write_result(&bytes, file, inputs, args.replace)?;
    } else {
        let text = if args.json {
            rereading::json_text(&study, &settings)
        } else if args.csv {
            rereading::csv_text(&study)
        } else {
            for_people(result_lines(&results))
        };
        output::deliver(&text, args.out.as_deref(), inputs, args.replace, out)?;
    }
    Ok(done(&study))
}

const fn done(study: &Study<'_>) -> Done {
    if study.unread.is_empty() { Done::Fully } else { Done::WithoutSomeReading }
}

/// What tells the shots of several cases apart: the file's name, with its folder where two have the same.
fn names(inputs: &[&Path]) -> Vec<String> {
    if inputs.len() < 2 {
        return vec![String::new()];
    }
    let name =
        |path: &Path| path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let short = |path: &Path| name(path).trim_end_matches(".json").trim_end_matches(".case").to_owned();
    let all: Vec<String> = inputs.iter().map(|path| short(path)).collect();
    let twice = |one: &String| all.iter().filter(|other| *other == one).count() > 1;
    let of = |(path, short): (&&Path, &String)| {
        if twice(short) { path.display().to_string() } else { short.clone() }
    };
    inputs.iter().zip(&all).map(of).collect()
}

fn result_lines(results: &Results) -> Vec<String> {
    let mut lines = Vec::new();
    for section in &results.sections {
        lines.push(section.title.clone());
        lines.extend(
            section.lines.iter().map(
                |line| {
                    if line.is_empty() { String::new() } else { format!("  {line}") }
                },
            ),
        );
        for (heads, rows) in &section.tables {
            lines.push(String::new());
            lines.extend(output::columns(heads, rows));
        }
        lines.extend(section.notes.iter().map(|line| format!("  {line}")));
        lines.push(String::new());
    }
    if let Some(adopting) = results.offer() {
        lines.push(format!("As measured: {}", adopting.words));
        lines.push(String::new());
    }
    lines.extend(source_lines());
    lines
}

fn for_people(mut lines: Vec<String>) -> String {
    lines.push(String::new());
    lines.push(caution::SHORT.to_owned());
    lines.push(String::new());
    lines.join("\n")
}
