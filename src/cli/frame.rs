//! `frame`: one frame of a picture's file, its samples and what the file says of them.

use std::io::Write;
use std::path::PathBuf;

use crate::cli::ending::{Done, Refused};
use crate::cli::output::{self, Replace};
use crate::io::export::frame::{facts_text, png};
use crate::io::import::source::Source;

/// Arguments of `frame`.
#[derive(Debug, clap::Args)]
pub struct FrameArgs {
    /// Image file: PNG, JPEG, TIFF, BMP, WebP, GIF, PNM, AVI or DICOM.
    file: PathBuf,
    /// Frame number, from 0.
    #[arg(long, value_name = "N", default_value_t = 0)]
    frame: u32,
    /// Write the stored samples to this PNG, 8 or 16 bits, and print nothing.
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    #[command(flatten)]
    replace: Replace,
}

/// Prints what the file says of a frame as JSON, or writes its samples.
///
/// # Errors
/// One sentence, if the file or the frame cannot be read, or the result cannot be written.
pub fn run(args: &FrameArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let source = Source::open(&args.file)?;
    let frame = source.frame(args.frame)?;
    match &args.out {
        Some(file) => {
            let bytes = png(&frame).map_err(|e| Refused(vec![e.to_string()]))?;
            output::write_result(&bytes, file, &[&args.file], args.replace)?;
        }
        None => output::show(&facts_text(&frame, args.frame, &source.coding()), out)?,
    }
    Ok(Done::Fully)
}
