//! `dicom`: a case as DICOM objects for an archive, or a case out of a report of ours.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::cli::aside::Aside;
use crate::cli::ending::{Done, Refused, not_exported};
use crate::cli::figure::chosen;
use crate::cli::output::{Replace, show, write_result};
use crate::io::export::dicom::{WantedObjects, code_fault, export_dicom};
use crate::io::export::report_back::{ReportBack, read_back};
use crate::io::store::save::open_case;

/// Arguments of `dicom`.
#[derive(Debug, clap::Args)]
pub struct DicomArgs {
    /// Case file; with --back, a structured report that was written here.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// The folder to write, which must not exist yet or be empty. Without --figure, --report and --overlay, all of them
    /// are written for every shot that has marks.
    #[arg(long, value_name = "FOLDER", required_unless_present = "back")]
    out: Option<PathBuf>,
    /// A figure of each of these shots, as a Secondary Capture.
    #[arg(long, value_name = "SHOT", num_args = 1..)]
    figure: Vec<String>,
    /// All readings of the case as a structured report (TID 1500).
    #[arg(long)]
    report: bool,
    /// The overlay of each of these shots as a presentation state over its image.
    #[arg(long, value_name = "SHOT", num_args = 1..)]
    overlay: Vec<String>,
    /// File them with the patient and study of the DICOM images that were marked: these elements are copied as they are.
    /// Without it nothing says whose they are.
    #[arg(long)]
    beside_source: bool,
    /// What stands in the place of the patient's name and ID.
    #[arg(long, value_name = "CODE", default_value = "ANONYMOUS", conflicts_with = "beside_source")]
    code: String,
    /// Write even though images may contain readable text; use it once you have checked them.
    #[arg(long)]
    as_is: bool,
    /// Make a case out of a report: its marks, settings and images; and compare its values with a new reading.
    #[arg(long, value_name = "OUT.case.json", conflicts_with_all = ["out", "figure", "report", "overlay", "beside_source", "as_is"])]
    back: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Writes the objects and lists them, or reads a report back.
///
/// # Errors
/// One sentence for each thing that stands in the way; nothing is written.
pub fn run(args: &DicomArgs, out: &mut dyn Write, aside: &mut Aside<'_>) -> Result<Done, Refused> {
    match (&args.out, &args.back) {
        (_, Some(back)) => case_of_report(&args.case, back, args.replace, out),
        (Some(folder), None) => write_objects(args, folder, out, aside),
        (None, None) => Err(Refused(vec!["--out: name a new folder for the files".to_owned()])),
    }
}

fn write_objects(
    args: &DicomArgs,
    folder: &Path,
    out: &mut dyn Write,
    aside: &mut Aside<'_>,
) -> Result<Done, Refused> {
    if let Some(fault) = code_fault(&args.code) {
        return Err(Refused(vec![format!("--code: {fault}")]));
    }
    let opened = open_case(&args.case)?;
    let mut wanted = WantedObjects {
        figures: chosen(&opened, &args.figure)?,
        report: args.report,
        overlays: chosen(&opened, &args.overlay)?,
        beside_source: args.beside_source,
        code: args.code.clone(),
        as_is: args.as_is,
    };
    if wanted.figures.is_empty() && !wanted.report && wanted.overlays.is_empty() {
        let WantedObjects { figures, report, overlays, .. } = WantedObjects::of_marked(&opened.case);
        wanted = WantedObjects { figures, report, overlays, ..wanted };
    }
    let written = {
        let mut progress = aside.progress("Making objects");
        export_dicom(&opened.path, &opened.case, folder, &wanted, &mut |done, of| {
            progress.at(done, of);
            true
        })
    };
    match written {
        Ok(names) => {
            let mut text = String::new();
            for name in names {
                text.push_str(&folder.join(name).display().to_string());
                text.push('\n');
            }
            let whose = if args.beside_source {
                "The patient and study of the source images were copied into every file."
            } else {
                "No file names a patient, a source image or its study."
            };
            text.push_str(whose);
            text.push('\n');
            show(&text, out)?;
            Ok(Done::Fully)
        }
        Err(why) => Err(not_exported(
            why,
            "Nothing was written. Redact the text, or use --as-is once you have checked the images.",
        )),
    }
}

fn case_of_report(
    report: &Path,
    back: &Path,
    replace: Replace,
    out: &mut dyn Write,
) -> Result<Done, Refused> {
    let ReportBack { text, compared, largest, without_image } = read_back(report, back)?;
    write_result(text.as_bytes(), back, &[report], replace)?;
    let mut said = format!(
        "{}\n{compared} values of the report were read again; the largest difference is {largest:.1e} of a fraction.\n",
        back.display()
    );
    for shot in without_image {
        said.push_str(&format!("{shot}: its image is not beside the report; locate it in the window.\n"));
    }
    show(&said, out)?;
    Ok(Done::Fully)
}
