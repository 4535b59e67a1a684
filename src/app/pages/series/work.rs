//! What is done at the edge for the page with the bodies of many cases: folders are read, and what is listed is written.

use std::path::PathBuf;
use std::sync::Arc;

use crate::app::marking::guide::capital;
use crate::app::pages::work::{PageDone, WorkOfPage};
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::Outcome;
use crate::io::export::audit::pdf_bytes;
use crate::io::export::audit_tables::{AuditTable, csv_text};
use crate::io::series::{FoundFiles, read_series_watched};
use crate::io::store::save::{Over, write_file};
use crate::scene::report::series::SeriesReport;
use crate::study::audit::{audit, rates};
use crate::study::selection::{Filter, Sorting, selected};
use crate::study::series::Treated;

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum SeriesWork {
    /// Read every case below these folders.
    Read(Vec<PathBuf>),
    /// Write what is listed.
    Save(Box<Saving>),
}

/// What is listed, to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Saving {
    /// What was found.
    pub found: Arc<FoundFiles>,
    /// Which bodies are listed.
    pub filter: Filter,
    /// In which order.
    pub sorting: Sorting,
    /// The acceptable and the unacceptable rate.
    pub rates: (f64, f64),
    /// Where to: a table where the name ends in `.csv`, else on paper.
    pub file: PathBuf,
}

/// What came of that.
#[derive(Clone, Debug)]
pub enum SeriesDone {
    /// So many files of so many have been read.
    Progress(usize, usize),
    /// What was found, or one sentence.
    Read(Result<Arc<FoundFiles>, String>),
    /// The file was written, or one sentence.
    Saved(Result<PathBuf, String>),
}

impl SeriesWork {
    /// Whether it reads case files, which can be stopped.
    #[must_use]
    pub const fn is_reading(&self) -> bool {
        matches!(self, Self::Read(_))
    }
}

impl WorkOfPage for SeriesWork {
    fn named(&self) -> &'static str {
        match self {
            Self::Read(_) => "Reading the case files",
            Self::Save(_) => "Writing the series",
        }
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        let done = match self {
            Self::Read(_) => SeriesDone::Read(Err(text.to_owned())),
            Self::Save(_) => SeriesDone::Saved(Err(text.to_owned())),
        };
        (PageDone::Series(done), true)
    }
}

impl SeriesDone {
    /// Whether it only says how far reading has come.
    #[must_use]
    pub const fn is_progress(&self) -> bool {
        matches!(self, Self::Progress(..))
    }
}

/// Work at the edge: reads the folders, saying how far it has come; writes what is listed.
pub(in crate::app::pages) fn perform(
    work: SeriesWork,
    cancel: &Cancel,
    say: &mut (dyn FnMut(Outcome) + Send),
) -> SeriesDone {
    match work {
        SeriesWork::Read(folders) => {
            let found = read_series_watched(&folders, true, &mut |done, of| {
                say(Outcome::Page(PageDone::Series(SeriesDone::Progress(done, of))));
                !cancel.is_cancelled()
            });
            SeriesDone::Read(found.map(Arc::new).map_err(|error| sentence(&error.to_string())))
        }
        SeriesWork::Save(saving) => SeriesDone::Saved(save(&saving).map_err(|why| sentence(&why))),
    }
}

/// Writes what is listed: on paper, or as a table where the file is one.
fn save(saving: &Saving) -> Result<PathBuf, String> {
    let Saving { found, filter, sorting, rates: (acceptable, unacceptable), file } = saving;
    let rates = rates(*acceptable, *unacceptable)?;
    let taken: Vec<&Treated> = found.bodies.iter().filter(|body| filter.takes(body)).collect();
    let listed: Vec<&Treated> =
        selected(&found.bodies, filter, *sorting).into_iter().map(|i| &found.bodies[i]).collect();
    let audit = audit(&taken, &rates);
    let table = file.extension().is_some_and(|said| said.eq_ignore_ascii_case("csv"));
    let bytes = if table {
        csv_text(AuditTable::Bodies, &listed, &taken, &audit).into_bytes()
    } else {
        let told = SeriesReport {
            bodies: &listed,
            audit: &audit,
            rates: &rates,
            filter,
            files: found.files.len(),
            skipped: &found.skipped,
        };
        pdf_bytes(&told).map_err(|error| error.to_string())?
    };
    write_file(file, &bytes, &Over::Anything).map_err(|error| error.to_string())?;
    Ok(file.clone())
}

fn sentence(text: &str) -> String {
    capital(&format!("{}.", text.trim_end_matches('.')))
}
