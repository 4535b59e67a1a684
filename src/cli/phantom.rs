//! `phantom`: simulated shots with their true position.

use std::io::Write;
use std::path::PathBuf;

use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::simulated::write_series;
use crate::phantom::series;

/// Arguments of `phantom`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Seed of the simulation; the same seed gives the same files.
    #[arg(long, value_name = "N")]
    seed: u64,
    /// A new or empty folder for the pictures, the case file and the truth.
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
}

/// Writes the series and names its files.
///
/// # Errors
/// One sentence, if the folder already holds something or cannot be written to.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Done, Refused> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let paths =
        write_series(&args.out, &series::drawn(args.seed), &format!("simulated-{}", args.seed), threads)?;
    let names: String = paths.iter().map(|path| format!("{}\n", path.display())).collect();
    output::show(&names, out)?;
    Ok(Done::Fully)
}
