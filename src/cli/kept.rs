//! `kept`: what the program keeps for itself, listed or deleted.

use std::io::Write;

use crate::cli::ending::{Done, Refused};
use crate::cli::output;
use crate::io::store::home::data_dir;
use crate::io::store::kept::{Kept, forget, kept};

/// Arguments of `kept`.
#[derive(Debug, clap::Args)]
pub struct KeptArgs {
    /// Delete it: recent cases, window settings, practice exercises, the cache of series. Unsaved work stays, and so do
    /// your own cases and images.
    #[arg(long)]
    forget: bool,
}

/// Lists what is kept, or deletes it.
///
/// # Errors
/// A file that cannot be deleted.
pub fn run(args: &KeptArgs, out: &mut dyn Write) -> Result<Done, Refused> {
    let Some(folder) = data_dir() else {
        output::show("This system has no place for the program's own files; nothing is kept.\n", out)?;
        return Ok(Done::Fully);
    };
    let text = if args.forget {
        let gone = forget()?;
        let left = kept().len();
        let left = if left == 0 { String::new() } else { format!(" Unsaved work stays: {left} files.") };
        format!("Deleted {gone} files in {}.{left}\n", folder.display())
    } else {
        listed(&folder.display().to_string(), &kept())
    };
    output::show(&text, out)?;
    Ok(Done::Fully)
}

fn listed(folder: &str, all: &[Kept]) -> String {
    let mut lines = vec![format!("Kept in {folder}, readable by you only:")];
    for one in all {
        let what = if one.unsaved { "  (unsaved work)" } else { "" };
        lines.push(format!("  {:>9} bytes  {}{what}", one.bytes, one.file.display()));
    }
    if all.is_empty() {
        lines.push("  nothing".to_owned());
    }
    lines.join("\n") + "\n"
}
