//! What the page with the bodies of many cases can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{Refusal, unless};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::series::memory::SeriesSection;
use crate::app::session::state::State;
use crate::io::export::audit_tables::AuditTable;
use crate::study::selection::{Filter, SeriesColumn};

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum SeriesCommand {
    /// Choose a folder and read it with those chosen before.
    AddFolder,
    /// Read the folders again.
    ReadAgain,
    /// Leave the case files unread that have not been read yet.
    StopReading,
    /// Forget the folders and what was read.
    StartOver,
    /// Show this of the listed bodies.
    Show(SeriesSection),
    /// Show or hide the files that were passed over.
    ShowSkipped,
    /// Sort by this column, or turn the order round where it is the one.
    SortBy(SeriesColumn),
    /// List only these.
    Filter(Filter),
    /// List all.
    ShowAll,
    /// Set the acceptable and the unacceptable rate of tips outside the target, as they were typed in percent.
    Rates(String, String),
    /// Ask for a file and put the listed bodies and what they say on paper.
    SavePaper,
    /// Ask for a file and write the plot that is shown, or the table as an image.
    SavePlot,
    /// Put it on the clipboard.
    CopyPlot,
    /// Ask for a file and write this table.
    SaveData(AuditTable),
    /// Put it on the clipboard.
    CopyData(AuditTable),
    /// It is there.
    Copied,
    /// Open the case of the body at this place.
    Open(usize),
}

impl CommandOfPage for SeriesCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::AddFolder => ("Add folder", "Select a folder of case files; subfolders are included."),
            Self::ReadAgain => ("Reload", "Reload the folders; only changed files are read."),
            Self::StopReading => ("Stop", "Stop reading; the files already read are shown."),
            Self::StartOver => ("Start over", "Clear the list of folders; no file is changed."),
            Self::SavePaper => ("Save as PDF", "Save plots and tables of the listed bodies as a PDF."),
            Self::SavePlot => {
                ("Save image", "Save this plot or table as PNG, SVG or PDF, by the ending of the file name.")
            }
            Self::CopyPlot => ("Copy image", "Copy this plot or table to the clipboard as an image."),
            Self::SaveData(table) => {
                (saved(*table), "Save these numbers as a table (CSV) with unrounded values.")
            }
            Self::CopyData(table) => {
                (copied(*table), "Copy these numbers to the clipboard as a table with unrounded values.")
            }
            Self::ShowSkipped => ("Skipped", "List the skipped files and why."),
            Self::ShowAll => ("Show all", "List every body again."),
            Self::Show(SeriesSection::Table) => ("Table", "Every listed body with its final reading."),
            Self::Show(SeriesSection::Tips) => {
                ("Tips in the body", "All tips in a typical body, their density and mean.")
            }
            Self::Show(SeriesSection::Shares) => {
                ("Proportions", "Proportions in the target by group with intervals, and their differences.")
            }
            Self::Show(SeriesSection::Errors) => {
                ("Errors over time", "Distance of tips from the center of the target range, by half-year.")
            }
            Self::Show(SeriesSection::Sums) => {
                ("Cumulative sums", "Outcomes in chronological order: is the miss rate acceptable?")
            }
            Self::Open(_) => ("Open", "Open this case; unsaved work is asked about first."),
            Self::SortBy(_) | Self::Filter(_) | Self::Rates(..) | Self::Copied => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        const READING: &str = "The folders are being read. Wait until that is done, or stop it.";
        const NONE_YET: &str = "No folder has been read yet. Add one first.";
        let series = &state.pages.series;
        let reading = series.reading.is_some();
        match self {
            Self::AddFolder
            | Self::ReadAgain
            | Self::StartOver
            | Self::SavePaper
            | Self::SavePlot
            | Self::CopyPlot
            | Self::SaveData(_)
            | Self::CopyData(_)
                if reading =>
            {
                unless(false, READING)
            }
            Self::AddFolder => None,
            Self::StopReading => unless(reading, "No case files are being read."),
            Self::ReadAgain => unless(!series.folders.is_empty(), NONE_YET),
            Self::StartOver | Self::Show(_) | Self::SortBy(_) | Self::Filter(_) | Self::Rates(..) => {
                unless(series.found.is_some(), NONE_YET)
            }
            Self::ShowSkipped => unless(
                series.found.as_ref().is_some_and(|found| !found.skipped.is_empty()),
                "No file was skipped.",
            ),
            Self::ShowAll => unless(!series.filter.is_open(), "Every body is listed already."),
            Self::SavePaper | Self::SavePlot | Self::CopyPlot | Self::SaveData(_) | Self::CopyData(_) => {
                unless(!series.listed.is_empty(), "No body is listed.")
            }
            Self::Copied => unless(series.copying.is_some(), "Nothing is being copied."),
            Self::Open(place) => unless(*place < series.bodies().len(), "That body is no longer listed."),
        }
    }
}

/// The word of a button that saves a table; each table has its own, since several may be shown.
const fn saved(table: AuditTable) -> &'static str {
    match table {
        AuditTable::Bodies => "Save table",
        AuditTable::Shares => "Save proportions",
        AuditTable::Differences => "Save differences",
        AuditTable::Errors => "Save errors",
        AuditTable::Sums => "Save sums",
    }
}

/// The same for a button that copies it.
const fn copied(table: AuditTable) -> &'static str {
    match table {
        AuditTable::Bodies => "Copy table",
        AuditTable::Shares => "Copy proportions",
        AuditTable::Differences => "Copy differences",
        AuditTable::Errors => "Copy errors",
        AuditTable::Sums => "Copy sums",
    }
}
