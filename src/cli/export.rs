//! `export`: a case as a folder that can be given away.

use std::io::Write;
use std::path::PathBuf;

use crate::cli::ending::{Done, Refused, not_exported};
use crate::io::export::case_folder::{CASE_NAME, Keep, Words, export_case};
use crate::io::store::save::open_case;

/// Arguments of `export`.
#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    /// Case file.
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// The folder to write, which must not exist yet or be empty.
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Text to keep, separated by commas: title, operator, date, taken (acquisition times), names (shot names), labels
    /// (annotations). Without this option all of them are left out.
    #[arg(long, value_name = "WORDS")]
    keep: Option<String>,
    /// Export even though images may contain readable text; use it once you have checked them.
    #[arg(long)]
    as_is: bool,
}

/// Exports the case and says where it is.
///
/// # Errors
/// One sentence for each thing that stands in the way; nothing is written.
pub fn run(args: &ExportArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let keep = Keep::from_keys(args.keep.as_deref().unwrap_or_default()).map_err(|unknown| {
        let known = Words::ALL.map(Words::key).join(", ");
        Refused(vec![format!("--keep: “{unknown}” is not known; use one of {known}")])
    })?;
    let opened = open_case(&args.case)?;
    match export_case(&args.case, &opened.case, &args.out, keep, args.as_is) {
        Ok(()) => {
            let text = format!("{}\n", args.out.join(CASE_NAME).display());
            crate::cli::output::show(&text, out)?;
            Ok(Done::Fully)
        }
        Err(why) => Err(not_exported(
            why,
            "Nothing was exported. Redact the text, or use --as-is once you have checked the images.",
        )),
    }
}
