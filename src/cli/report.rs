//! `report`: a case on paper.

use std::path::PathBuf;

use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused};
use crate::cli::figure::{chosen, one_of};
use crate::cli::output::{self, Replace};
use crate::io::export::report::{OpenedCase, bytes};
use crate::io::export::{PageFormat, only_pdf};
use crate::io::store::pictures::picture_paths;
use crate::io::store::save::{Opened, open_case};
use crate::measure::compare::Position;
use crate::scene::comparison::comparable;
use crate::scene::comparison::page::ShownAs;
use crate::scene::page::paper::PaperSize;
use crate::scene::report::ReportPart;
use crate::scene::tip_path::bodies;

/// Arguments of `report`.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// The file to write; its name ends in .pdf.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Paper: a4 or letter (US Letter).
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    paper: String,
    /// Put the comparison of these two shots into the report; may be given several times.
    #[arg(long, num_args = 2, value_names = ["FROM", "TO"], action = clap::ArgAction::Append)]
    compare: Vec<String>,
    /// Put a page with the tip path of each body into the report.
    #[arg(long)]
    tip_path: bool,
    #[command(flatten)]
    replace: Replace,
}

/// Makes the report and writes it.
///
/// # Errors
/// One sentence for each thing that is wrong; nothing is written.
pub fn run(args: &ReportArgs, aside: &mut Aside<'_>) -> Result<Done, Refused> {
    let refused = |sentence: String| Refused(vec![sentence]);
    let format = PageFormat::of_name(&args.out).map_err(|e| refused(e.to_string()))?;
    only_pdf(format, &args.out).map_err(|e| refused(e.to_string()))?;
    let paper = one_of("--paper", &args.paper, PaperSize::ALL, PaperSize::key)?;
    let opened = open_case(&args.case)?;
    let parts = parts(args, &opened)?;
    let mut progress = aside.progress("Opening images");
    let read = OpenedCase::watched(&opened.path, &opened.case, &mut |done, of| progress.at(done, of));
    progress.then("Drawing the pages");
    let bytes = bytes(&opened.case, &read, paper, &parts).map_err(|e| refused(e.to_string()))?;
    let pictures = picture_paths(&opened.path, &opened.case);
    let inputs: Vec<_> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    output::write_result(&bytes, &args.out, &inputs, args.replace)?;
    Ok(if read.is_read() { Done::Fully } else { Done::WithoutSomeReading })
}

/// What is put into the report beside the bodies.
fn parts(args: &ReportArgs, opened: &Opened) -> Result<Vec<ReportPart>, Refused> {
    let mut parts = Vec::new();
    if args.tip_path {
        parts.extend(bodies(&opened.case).into_iter().map(|(level, side)| ReportPart::TipPath(level, side)));
    }
    for pair in args.compare.chunks(2) {
        let [from, to] = pair else { continue };
        let places = chosen(opened, pair)?;
        let [a, b] = places.as_slice() else { continue };
        comparable(&opened.case, [*a, *b])
            .map_err(|why| Refused(vec![format!("{}: {from} and {to}: {why}", args.case.display())]))?;
        parts.push(ReportPart::Comparison([*a, *b], Position::Own, ShownAs::SideBySide));
    }
    Ok(parts)
}
