//! `completions` and `manual`: what a shell and a system's manual want of the command line, made from its definition.

use std::io::Write;
use std::path::PathBuf;

use clap_complete::Shell;

use crate::cli::args;
use crate::cli::ending::{Done, Refused};
use crate::cli::output;
use crate::io::error::Error;

/// The command line's name, as it is typed.
const NAME: &str = "stillmark-cli";

/// Arguments of `completions`.
#[derive(Debug, clap::Args)]
pub struct CompletionsArgs {
    /// The shell.
    #[arg(value_enum)]
    shell: Shell,
}

/// Arguments of `manual`.
#[derive(Debug, clap::Args)]
pub struct ManualArgs {
    /// The folder; made if it is not there.
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
}

/// Prints the completions.
///
/// # Errors
/// Standard output that cannot be written to.
pub fn completions(args: &CompletionsArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut args::whole(), NAME, &mut text);
    output::show(&String::from_utf8_lossy(&text), out)?;
    Ok(Done::Fully)
}

/// Writes a page for the program and one for each subcommand, and says where.
///
/// # Errors
/// A folder that cannot be written to.
pub fn manual(args: &ManualArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let writing = |e: &std::io::Error| Refused::from(Error::writing(&args.out, e));
    std::fs::create_dir_all(&args.out).map_err(|e| writing(&e))?;
    clap_mangen::generate_to(args::whole(), &args.out).map_err(|e| writing(&e))?;
    output::show(&format!("Wrote the manual pages to {}\n", args.out.display()), out)?;
    Ok(Done::Fully)
}
