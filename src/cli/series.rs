//! `series`: the audit over many case files.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::export::audit::{csv_text, json_text};
use crate::io::series::{Found, read_series};
use crate::scene::audit_lines;
use crate::scene::caution;
use crate::scene::format;
use crate::stats::cusum::Rates;
use crate::study::audit::{Audit, USUAL_RATES, audit, rates};

/// Arguments of `series`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Folders with case files, at any depth.
    #[arg(required = true, value_name = "FOLDER")]
    folders: Vec<PathBuf>,
    /// Everything, as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// A table of bodies, one line for each.
    #[arg(long)]
    csv: bool,
    /// The rate of tips outside the target that is acceptable.
    #[arg(long, value_name = "RATE", default_value_t = USUAL_RATES.0)]
    acceptable: f64,
    /// The rate that is not.
    #[arg(long, value_name = "RATE", default_value_t = USUAL_RATES.1)]
    unacceptable: f64,
    /// Read every file anew and remember nothing.
    #[arg(long)]
    fresh: bool,
    /// Write the result into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Reads the folders and delivers the audit.
///
/// # Errors
/// One sentence, if a folder cannot be looked into, holds no case file, or the rates cannot be meant.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Done, Refused> {
    let rates = rates(args.acceptable, args.unacceptable)
        .map_err(|why| Refused(vec![format!("--acceptable, --unacceptable: {why}")]))?;
    let found = read_series(&args.folders, !args.fresh)?;
    if found.files.is_empty() {
        let names: Vec<String> = args.folders.iter().map(|folder| folder.display().to_string()).collect();
        let mut wrong = vec![format!(
            "{}: there is no case file that can be read below it; name a folder that holds some",
            names.join(", ")
        )];
        wrong.extend(found.skipped);
        return Err(Refused(wrong));
    }
    let audit = audit(&found.bodies.iter().collect::<Vec<_>>(), &rates);
    let text = if args.json {
        json_text(&found, &audit, &rates)
    } else if args.csv {
        csv_text(&found.bodies)
    } else {
        for_people(&found, &audit, &rates)
    };
    let inputs: Vec<&Path> = found.files.iter().map(PathBuf::as_path).collect();
    output::deliver(&text, args.out.as_deref(), &inputs, out)?;
    let all = found.skipped.is_empty() && found.bodies.iter().all(|body| body.outcome.is_ok());
    Ok(if all { Done::Fully } else { Done::WithoutSomeReading })
}

fn for_people(found: &Found, audit: &Audit, rates: &Rates) -> String {
    let without = found.bodies.iter().filter(|body| body.outcome.is_err()).count();
    let mut lines = vec![format!(
        "{}, {}, {} without a final reading in both views",
        format::count(found.files.len(), "case file", "case files"),
        format::count(found.bodies.len(), "body treated", "bodies treated"),
        without
    )];
    lines.push(String::new());
    lines.extend(audit_lines::lines(audit, rates));
    if !found.skipped.is_empty() {
        lines.push(String::new());
        lines.push(format!("Passed over: {}", format::count(found.skipped.len(), "file", "files")));
        lines.extend(found.skipped.iter().map(|sentence| format!("  {sentence}")));
    }
    lines.push(String::new());
    lines.push(caution::SHORT.to_owned());
    lines.push(String::new());
    lines.join("\n")
}
