//! Opening all the cases that a subcommand names.

use std::path::PathBuf;

use crate::cli::ending::Refused;
use crate::io::store::save::{Opened, open_case};

/// The cases, in order.
///
/// # Errors
/// One sentence for each that cannot be opened.
pub fn open_cases(paths: &[PathBuf]) -> Result<Vec<Opened>, Refused> {
    let mut opened = Vec::new();
    let mut wrong = Vec::new();
    for path in paths {
        match open_case(path) {
            Ok(case) => opened.push(case),
            Err(error) => wrong.push(error.to_string()),
        }
    }
    if wrong.is_empty() { Ok(opened) } else { Err(Refused(wrong)) }
}
