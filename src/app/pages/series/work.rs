//! What is done at the edge for the page with the bodies of many cases: folders are read, and what is listed is written.

use std::path::PathBuf;
use std::sync::Arc;

use crate::app::marking::guide::capital;
use crate::app::pages::figure::drawing::as_pixels;
use crate::app::pages::series::content::{SeriesClip, SeriesContent};
use crate::app::pages::work::{PageDone, WorkOfPage};
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::Outcome;
use crate::io::export::PageFormat;
use crate::io::export::audit::{pdf_bytes, plot_bytes};
use crate::io::export::audit_tables::{csv_text, tabbed_text};
use crate::io::series::{FoundFiles, read_series_watched};
use crate::io::store::save::{Over, write_file};
use crate::scene::drawing::theme::Theme;
use crate::scene::report::series::{SeriesReport, plot_page};
use crate::study::audit::{audit, rates};
use crate::study::selection::{Filter, Sorting, selected};
use crate::study::series::Treated;

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum SeriesWork {
    /// Read every case below these folders.
    Read(Vec<PathBuf>),
    /// Write what is listed to this file.
    Save(Box<Saving>, PathBuf),
    /// Make the same for the clipboard.
    Copy(Box<Saving>),
}

/// What is listed, to be written or copied.
#[derive(Clone, Debug, PartialEq)]
pub struct Saving {
    /// What of it.
    pub content: SeriesContent,
    /// What was found.
    pub found: Arc<FoundFiles>,
    /// Which bodies are listed.
    pub filter: Filter,
    /// In which order.
    pub sorting: Sorting,
    /// The acceptable and the unacceptable rate.
    pub rates: (f64, f64),
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
    /// It is ready for the clipboard, or one sentence.
    Copied(Result<SeriesClip, String>),
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
            Self::Save(..) => "Writing the series",
            Self::Copy(_) => "Copying from the series",
        }
    }

    fn broken_off(&self, text: &str) -> (PageDone, bool) {
        let done = match self {
            Self::Read(_) => SeriesDone::Read(Err(text.to_owned())),
            Self::Save(..) => SeriesDone::Saved(Err(text.to_owned())),
            Self::Copy(_) => SeriesDone::Copied(Err(text.to_owned())),
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
        SeriesWork::Save(saving, file) => {
            SeriesDone::Saved(save(&saving, file).map_err(|why| sentence(&why)))
        }
        SeriesWork::Copy(saving) => SeriesDone::Copied(clip(&saving).map_err(|why| sentence(&why))),
    }
}

/// Writes what is listed.
fn save(saving: &Saving, file: PathBuf) -> Result<PathBuf, String> {
    let bytes = told(saving, |told, listed, taken| match saving.content {
        SeriesContent::Paper => pdf_bytes(told).map_err(|error| error.to_string()),
        SeriesContent::Table(table) => Ok(csv_text(table, listed, taken, told.audit).into_bytes()),
        // A file is for paper or a page, whatever the window looks like.
        SeriesContent::Plot(plot, _) => PageFormat::of_name(&file)
            .and_then(|format| plot_bytes(told, plot, format, &Theme::light()))
            .map_err(|error| error.to_string()),
    })?;
    write_file(&file, &bytes, &Over::Anything).map_err(|error| error.to_string())?;
    Ok(file)
}

/// What is put on the clipboard: a plot as an image, a table as text.
fn clip(saving: &Saving) -> Result<SeriesClip, String> {
    told(saving, |told, listed, taken| match saving.content {
        SeriesContent::Plot(plot, mode) => {
            let drawn = as_pixels(&plot_page(told, plot), &Theme::of(mode), f64::INFINITY);
            drawn.map(SeriesClip::Image).map_err(|error| error.to_string())
        }
        SeriesContent::Table(table) => Ok(SeriesClip::Text(tabbed_text(table, listed, taken, told.audit))),
        SeriesContent::Paper => Err("pages of paper cannot be copied; save them as PDF".to_owned()),
    })
}

/// Works out what is listed and hands it on, with the bodies in the order of the table and in that of the files.
fn told<T>(
    saving: &Saving,
    make: impl FnOnce(&SeriesReport<'_>, &[&Treated], &[&Treated]) -> Result<T, String>,
) -> Result<T, String> {
    let Saving { found, filter, sorting, rates: (acceptable, unacceptable), .. } = saving;
    let rates = rates(*acceptable, *unacceptable)?;
    let taken: Vec<&Treated> = found.bodies.iter().filter(|body| filter.takes(body)).collect();
    let listed: Vec<&Treated> =
        selected(&found.bodies, filter, *sorting).into_iter().map(|i| &found.bodies[i]).collect();
    let audit = audit(&taken, &rates);
    let skipped = found.skipped_sentences();
    let told = SeriesReport {
        bodies: &listed,
        audit: &audit,
        rates: &rates,
        filter,
        files: found.files.len(),
        skipped: &skipped,
    };
    make(&told, &listed, &taken)
}

fn sentence(text: &str) -> String {
    capital(&format!("{}.", text.trim_end_matches('.')))
}
