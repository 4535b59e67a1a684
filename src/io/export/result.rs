//! What goes into a result file.

use crate::case::document::Case;
use crate::case::readings::CaseReadings;

/// A case with its readings.
#[derive(Clone, Copy, Debug)]
pub struct CaseResult<'a> {
    /// What stands for the case file: its path, its name or a number.
    pub file: &'a str,
    /// The case.
    pub case: &'a Case,
    /// Its readings, one for each shot of the case.
    pub readings: &'a CaseReadings,
    /// What there is to say about the picture's file, for each shot of the case.
    pub said: &'a [Vec<String>],
}
