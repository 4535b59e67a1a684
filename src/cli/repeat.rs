//! `repeat`: reliability statistics from a table of repeated readings.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::export::reliability;
use crate::io::readings_table::open_readings;
use crate::scene::caution;
use crate::scene::reliability::lines;
use crate::study::repeatability::report;

/// Arguments of `repeat`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Table of readings: CSV with the columns subject, rater, round (optional) and value.
    #[arg(value_name = "TABLE.csv")]
    table: PathBuf,
    /// Everything, as JSON.
    #[arg(long)]
    json: bool,
    /// Write the result into this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Reads the table and delivers what it says.
///
/// # Errors
/// One sentence that names the line and the column.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Done, Refused> {
    let report = report(&open_readings(&args.table)?);
    let text = if args.json {
        reliability::text(&report)
    } else {
        let mut lines = lines(&report);
        lines.push(String::new());
        lines.push(caution::SHORT.to_owned());
        lines.push(String::new());
        lines.join("\n")
    };
    output::deliver(&text, args.out.as_deref(), &[Path::new(&args.table)], out)?;
    Ok(Done::Fully)
}
