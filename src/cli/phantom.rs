//! `phantom`: simulated shots with their true position.

use std::io::Write;
use std::path::PathBuf;

use crate::cli::output;
use crate::cli::{Done, Refused};
use crate::io::simulated::write_series;
use crate::measure::mark::{Level, Side, Stage, View};
use crate::phantom::series::{Wanted, drawn};
use crate::phantom::size::LUMBAR;

/// Arguments of `phantom`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Seed of the simulation; the same seed gives the same files.
    #[arg(long, value_name = "N")]
    seed: u64,
    /// Only this view: lateral, ap or pedicle.
    #[arg(long, value_name = "VIEW", value_parser = view)]
    view: Option<View>,
    /// The level, L1 to L5; drawn from the seed if it is not given.
    #[arg(long, value_name = "LEVEL", value_parser = level)]
    level: Option<Level>,
    /// Only this stage: docking, pedicle, posterior_wall, stylet or final.
    #[arg(long, value_name = "STAGE", value_parser = stage)]
    stage: Option<Stage>,
    /// The entry side, left or right; drawn from the seed if it is not given.
    #[arg(long, value_name = "SIDE", value_parser = side)]
    side: Option<Side>,
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
    let wanted = Wanted { level: args.level, side: args.side, stage: args.stage, view: args.view };
    let series = drawn(args.seed, wanted);
    if series.shots.is_empty() {
        return Err(Refused(vec!["A view down the pedicle is simulated at the stage docking only; leave out --stage or name docking.".to_owned()]));
    }
    let paths = write_series(&args.out, &series, &format!("simulated-{}", args.seed), threads)?;
    let names: String = paths.iter().map(|path| format!("{}\n", path.display())).collect();
    output::show(&names, out)?;
    Ok(Done::Fully)
}

fn view(name: &str) -> Result<View, String> {
    View::ALL
        .into_iter()
        .find(|view| view.key() == name)
        .ok_or_else(|| "name lateral, ap or pedicle".to_owned())
}

fn level(name: &str) -> Result<Level, String> {
    LUMBAR
        .into_iter()
        .find(|level| level.name() == name)
        .ok_or_else(|| "name L1, L2, L3, L4 or L5".to_owned())
}

fn stage(name: &str) -> Result<Stage, String> {
    let known = Stage::ALL.into_iter().find(|stage| stage.key() == name);
    known.ok_or_else(|| "name docking, pedicle, posterior_wall, stylet or final".to_owned())
}

fn side(name: &str) -> Result<Side, String> {
    Side::ALL.into_iter().find(|side| side.key() == name).ok_or_else(|| "name left or right".to_owned())
}
