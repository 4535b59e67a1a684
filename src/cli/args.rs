//! What can be asked on the command line.

use std::ffi::OsString;

use clap::error::ErrorKind;
use clap::{CommandFactory as _, Parser, Subcommand};

use crate::cli::aside::Terminals;
use crate::cli::compare;
use crate::cli::curve;
use crate::cli::dicom;
use crate::cli::export;
use crate::cli::figure;
use crate::cli::frame;
use crate::cli::kept;
use crate::cli::keypoints;
use crate::cli::phantom;
use crate::cli::propose;
use crate::cli::read;
use crate::cli::repeat;
use crate::cli::report;
use crate::cli::run;
use crate::cli::series;
use crate::cli::shell;
use crate::cli::straighten;
use crate::scene::words::caution;
use crate::scene::words::version::version;

#[derive(Debug, Parser)]
#[command(
    name = "stillmark-cli",
    version = version(),
    about = "Measures where a probe tip lies inside a vertebral body on saved fluoroscopy stills, after the procedure.",
    after_help = caution::SHORT,
    after_long_help = AFTER_LONG_HELP,
    subcommand_required = true
)]
struct Arguments {
    #[command(subcommand)]
    command: CliCommand,
    /// Open images outside a case's own folder too; only for cases whose source you know.
    #[arg(long, global = true)]
    outside_images: bool,
}

/// What was asked for.
#[derive(Debug)]
pub struct CliRequest {
    /// The subcommand.
    pub command: CliCommand,
    /// Whether images outside a case's folder are opened.
    pub outside_images: bool,
}

/// The subcommands.
#[derive(Debug, Subcommand)]
pub enum CliCommand {
    /// Readings, verdicts and issues of every shot.
    Read(read::ReadArgs),
    /// How far the tip moved between two shots of one level and view.
    Compare(compare::CompareArgs),
    /// Marks proposed from the image: a lateral's outline and tip from two clicks, or from a marked shot.
    Propose(propose::ProposeArgs),
    /// All shots of one body in order: the tip path, values by shot, each step in words.
    Run(run::RunArgs),
    /// Simulated shots with their true position.
    Phantom(phantom::PhantomArgs),
    /// A finished figure of one or more shots.
    Figure(figure::FigureArgs),
    /// The case report: a cover and a page for each level, as PDF.
    Report(report::ReportArgs),
    /// A de-identified copy in a new folder: redactions in the pixels, neutral names, no free text.
    Export(export::ExportArgs),
    /// DICOM objects for an archive: figures, the readings as a structured report, overlays; or a report read back.
    Dicom(dicom::DicomArgs),
    /// The marks of many cases as a table or COCO-style keypoints, or marks out of such a file.
    Keypoints(keypoints::KeypointsArgs),
    /// One frame of an image file: its properties as JSON, or its stored samples as PNG.
    Frame(frame::FrameArgs),
    /// A photo of a screen made straight by the four corners or the round field of the screen, as a new image.
    Straighten(straighten::StraightenArgs),
    /// Reliability statistics of repeated readings.
    Repeat(repeat::RepeatArgs),
    /// For teaching: the projected path of a curved stylet from the cannula tip.
    Curve(curve::CurveArgs),
    /// The case series: an audit over many case files.
    Series(series::SeriesArgs),
    /// What the program keeps for itself on this computer, listed or deleted.
    Kept(kept::KeptArgs),
    /// For your shell: completes subcommands, options and their values.
    Completions(shell::CompletionsArgs),
    /// The manual pages, written into a folder.
    Manual(shell::ManualArgs),
}

/// Why there is no command to run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoCommand {
    /// Help or the version was asked for: this text.
    Shown(String),
    /// The arguments are not understood: a sentence and the usage.
    Refused(String),
}

const AFTER_LONG_HELP: &str = "\
Exit status:
  0  done
  1  done, but at least one shot has no reading, or nothing was proposed
  2  bad input or usage: a sentence on standard error says what is wrong, and nothing was written

Examples:
  stillmark-cli read CASE.case.json
  stillmark-cli read --json CASE.case.json --out readings.json
  stillmark-cli figure CASE.case.json LATERAL AP --out pair.pdf
  stillmark-cli series FOLDER --csv --out bodies.csv

Results go to standard output, or to the file named by --out. A file that this program did not write is replaced only
with --force. Environment: STILLMARK_DATA_DIR names another folder for what the program keeps for itself.

It measures saved stills. It does not guide a needle and is not a medical device; local protocols and a licensed
clinician's judgment come first.";

/// The command line as a whole, for completions and manual pages.
#[must_use]
pub fn whole() -> clap::Command {
    Arguments::command()
}

/// Understands the arguments, the program's name first. What is said of them is in color where a terminal shows it.
///
/// # Errors
/// A text to show and stop.
pub fn parse(
    arguments: impl IntoIterator<Item = OsString>,
    terminals: Terminals,
) -> Result<CliRequest, NoCommand> {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let asked = |Arguments { command, outside_images }| CliRequest { command, outside_images };
    Arguments::try_parse_from(&arguments).map(asked).map_err(|error| {
        let text = error.render().to_string();
        let colored = |color: bool| if color { error.render().ansi().to_string() } else { text.clone() };
        match error.kind() {
            ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
                NoCommand::Shown(colored(terminals.color_out))
            }
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand | ErrorKind::MissingSubcommand => {
                NoCommand::Refused(format!("enter a subcommand\n\n{}", text.trim_start_matches("error: ")))
            }
            _ if text.contains("Usage: ") => NoCommand::Refused(colored(terminals.color_err)),
            _ => {
                let said = colored(terminals.color_err);
                NoCommand::Refused(format!("{}\n\n{}\n", said.trim_end(), usage(&arguments)))
            }
        }
    })
}

/// The usage of the subcommand that was named, or of the whole.
fn usage(arguments: &[OsString]) -> String {
    let mut whole = Arguments::command();
    whole.build();
    let named = arguments.iter().skip(1).find_map(|argument| argument.to_str());
    let usage = match named.and_then(|name| whole.find_subcommand_mut(name)) {
        Some(subcommand) => subcommand.render_usage(),
        None => whole.render_usage(),
    };
    usage.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(arguments: &[&str], terminals: Terminals) -> String {
        match parse(arguments.iter().map(OsString::from), terminals) {
            Err(NoCommand::Shown(text) | NoCommand::Refused(text)) => text,
            Ok(command) => panic!("{command:?}"),
        }
    }

    #[test]
    fn colors_are_only_where_a_terminal_shows_them() {
        let all = Terminals { color_out: true, color_err: true, progress: true };
        for arguments in [
            &["stillmark-cli", "--help"][..],
            &["stillmark-cli", "read", "--sideways"],
            &["stillmark-cli", "series", "--side", "up"],
        ] {
            assert!(!said(arguments, Terminals::default()).contains('\u{1b}'), "{arguments:?}");
            assert!(said(arguments, all).contains('\u{1b}'), "{arguments:?}");
        }
        // Each by its own output.
        let out = Terminals { color_err: false, ..all };
        assert!(said(&["stillmark-cli", "help"], out).contains('\u{1b}'));
        assert!(!said(&["stillmark-cli", "read"], out).contains('\u{1b}'));
    }
}
