//! How a subcommand ended: done, done with a reservation, or refused in sentences.

use crate::io::error::Error;

/// How a subcommand ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// All was done.
    Fully,
    /// All was done, but at least one shot has no reading.
    WithoutSomeReading,
}

/// Why a subcommand did nothing: one sentence for each thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub Vec<String>);

impl From<Error> for Refused {
    fn from(error: Error) -> Self {
        Self(vec![error.to_string()])
    }
}
