//! Which result files this program has written: digests only, no names, so that a result can be replaced by the next one
//! while a file of somebody else's is never replaced without being asked for.

use std::path::Path;

use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::home::{self, data_dir, write_own};
use crate::io::store::save::{Over, write_file};

/// How many results are remembered; of older ones the program asks.
const REMEMBERED: usize = 5_000;
/// The largest result whose bytes are compared, in bytes.
const MAX_BYTES: u64 = 1_000_000_000;

/// What a result may replace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Replacing {
    /// A free name, an empty file, or a result that this program wrote and nobody has changed since.
    OwnResults,
    /// Whatever is there: the user has said so.
    Anything,
}

/// Writes a result into a file, which appears whole or not at all.
///
/// # Errors
/// Says why nothing was written; [`ErrorKind::Conflict`] where the file is not one that may be replaced.
pub fn write(file: &Path, bytes: &[u8], replacing: Replacing) -> Result<(), Error> {
    if replacing == Replacing::OwnResults && !may_be_replaced(file, bytes) {
        let text =
            "this file is there already and was not written by this program; use another name, or --force";
        return Err(Error::new(ErrorKind::Conflict, file, text));
    }
    write_file(file, bytes, &Over::Anything)?;
    remember(&files::digest(bytes));
    Ok(())
}

/// What is not a regular file is left to the writing itself, which refuses it in its own words.
fn may_be_replaced(file: &Path, new: &[u8]) -> bool {
    match std::fs::metadata(file) {
        Ok(about) if about.is_file() && about.len() > 0 => files::read(file, MAX_BYTES)
            .is_ok_and(|old| old == new || stored().contains(&files::digest(&old))),
        _ => true,
    }
}

fn stored() -> Vec<String> {
    let Some(folder) = data_dir() else { return Vec::new() };
    let bytes = files::read(&folder.join(home::WRITTEN), 1_000_000).unwrap_or_default();
    String::from_utf8_lossy(&bytes).lines().map(str::to_owned).collect()
}

/// A list that cannot be written costs a question in the next run, nothing else.
fn remember(digest: &str) {
    let Some(folder) = data_dir() else { return };
    // Two programs that write at the same time must not lose each other's line. Without a lock it is tried all the same.
    let turn = home::own_file(&folder.join(home::WRITTEN_LOCK));
    if let Ok(turn) = &turn {
        let _ = turn.lock();
    }
    let mut all = stored();
    all.retain(|one| one != digest);
    all.push(digest.to_owned());
    let from = all.len().saturating_sub(REMEMBERED);
    let _ = write_own(&folder.join(home::WRITTEN), (all[from..].join("\n") + "\n").as_bytes());
}
