//! Which result files this program has written: digests only, no names, so that a result can be replaced by the next one
//! while a file of somebody else's is never replaced without being asked for.

use std::path::Path;

use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::digest_list::DigestList;
use crate::io::store::home::{WRITTEN, WRITTEN_LOCK};
use crate::io::store::save::{Over, write_file};

/// The results that are remembered; of older ones the program asks.
const LIST: DigestList = DigestList { file: WRITTEN, lock: WRITTEN_LOCK, most: 5_000 };
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
    LIST.add(&[files::digest(bytes)]);
    Ok(())
}

/// What is not a regular file is left to the writing itself, which refuses it in its own words.
fn may_be_replaced(file: &Path, new: &[u8]) -> bool {
    match std::fs::metadata(file) {
        Ok(about) if about.is_file() && about.len() > 0 => files::read(file, MAX_BYTES)
            .is_ok_and(|old| old == new || LIST.stored().contains(&files::digest(&old))),
        _ => true,
    }
}
