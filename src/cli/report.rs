//! `report`: a case on paper.

use std::path::PathBuf;

use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused};
use crate::cli::figure::one_of;
use crate::cli::output::{self, Replace};
use crate::io::export::report::{OpenedCase, bytes};
use crate::io::export::{PageFormat, only_pdf};
use crate::io::store::pictures::picture_paths;
use crate::io::store::save::open_case;
use crate::scene::page::paper::PaperSize;

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
    let mut progress = aside.progress("Opening images");
    let read = OpenedCase::watched(&opened.path, &opened.case, &mut |done, of| progress.at(done, of));
    progress.then("Drawing the pages");
    let bytes = bytes(&opened.case, &read, paper).map_err(|e| refused(e.to_string()))?;
    let pictures = picture_paths(&opened.path, &opened.case);
    let inputs: Vec<_> = std::iter::once(&args.case).chain(&pictures).map(PathBuf::as_path).collect();
    output::write_result(&bytes, &args.out, &inputs, args.replace)?;
    Ok(if read.is_read() { Done::Fully } else { Done::WithoutSomeReading })
}
