//! How a subcommand ended: done, done with a reservation, or refused in sentences.

use crate::io::error::Error;
use crate::io::export::case_folder::NotExported;

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

/// Why nothing was exported; where words may be readable, `check` says what to do.
pub(super) fn not_exported(why: NotExported, check: &str) -> Refused {
    Refused(match why {
        NotExported::Impossible(sentences) => sentences,
        NotExported::Stopped => vec!["stopped; nothing was written".to_owned()],
        NotExported::InDoubt(mut sentences) => {
            sentences.push(check.to_owned());
            sentences
        }
    })
}

impl From<Error> for Refused {
    fn from(error: Error) -> Self {
        Self(vec![error.to_string()])
    }
}
