//! What the page with the case series remembers.

use crate::app::pages::series::content::{SeriesClip, SeriesContent};
use crate::io::export::audit_tables::AuditTable;
use crate::io::series::FoundFiles;
use crate::measure::mark::Level;
use crate::measure::mark::Side;
use crate::scene::plot::Chart;
use crate::scene::plot::audit as plot;
use crate::scene::report::series::Plot;
use crate::scene::words::audit;
use crate::study::audit::Audit;
use crate::study::audit::USUAL_RATES;
use crate::study::audit::audit;
use crate::study::audit::rates;
use crate::study::selection::Filter;
use crate::study::selection::Sorting;
use crate::study::selection::selected;
use crate::study::series::Treated;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// What the page remembers.
#[derive(Debug)]
pub struct SeriesState {
    /// The folders that were chosen.
    pub folders: Vec<PathBuf>,
    /// How far reading has come: files read, and how many there are.
    pub reading: Option<(usize, usize)>,
    /// What was found in them.
    pub found: Option<Arc<FoundFiles>>,
    /// Which bodies are listed.
    pub filter: Filter,
    /// In which order.
    pub sorting: Sorting,
    /// What is shown of them.
    pub part: SeriesSection,
    /// Whether the files that were passed over are listed.
    pub skipped: bool,
    /// The acceptable and the unacceptable rate of tips outside the target.
    pub rates: (f64, f64),
    /// The places of the listed bodies, in the order of the table.
    pub listed: Vec<usize>,
    /// What there is to choose from in the filters.
    pub choices: Choices,
    /// What the listed bodies say.
    pub audit: Option<Audit>,
    /// What the limits of the cumulative sums mean at these rates.
    pub limits: Vec<String>,
    /// Changes whenever what the listed bodies say may have changed.
    pub version: u64,
    /// What is on its way to the clipboard.
    pub copying: Option<SeriesClip>,
    /// What a file is being asked for.
    pub(super) wanted: SeriesContent,
    pub(super) opening: Option<Opening>,
}

/// What there is to choose from in the filters.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// Levels.
    pub levels: Vec<Level>,
    /// Operators; an empty text where some are not said.
    pub operators: Vec<String>,
    /// Half-years; an empty text where some have no date.
    pub half_years: Vec<String>,
}

/// The body of a row whose case is being opened.
#[derive(Clone, Debug)]
pub(super) struct Opening {
    pub(super) file: PathBuf,
    pub(super) level: Level,
    pub(super) side: Side,
}

impl Default for SeriesState {
    fn default() -> Self {
        Self {
            folders: Vec::new(),
            reading: None,
            found: None,
            filter: Filter::default(),
            sorting: Sorting::default(),
            part: SeriesSection::default(),
            skipped: false,
            rates: USUAL_RATES,
            listed: Vec::new(),
            choices: Choices::default(),
            audit: None,
            limits: Vec::new(),
            version: 0,
            copying: None,
            wanted: SeriesContent::Paper,
            opening: None,
        }
    }
}

impl SeriesState {
    /// The bodies that were found, listed or not.
    #[must_use]
    pub fn bodies(&self) -> &[Treated] {
        self.found.as_ref().map_or(&[], |found| &found.bodies)
    }

    /// The bodies that the filter lets through, in the order of the files.
    #[must_use]
    pub fn taken(&self) -> Vec<&Treated> {
        self.bodies().iter().filter(|body| self.filter.takes(body)).collect()
    }

    /// The charts of the listed bodies: errors over time, and cumulative sums.
    #[must_use]
    pub fn charts(&self) -> (Vec<Chart>, Vec<Chart>) {
        let Some(audit) = &self.audit else { return (Vec::new(), Vec::new()) };
        let sums = rates(self.rates.0, self.rates.1).map(|rates| plot::sums(audit, &rates));
        (plot::errors(&self.taken(), audit), sums.unwrap_or_default())
    }

    /// The file that the body at this place stands in.
    #[must_use]
    pub fn file_of(&self, place: usize) -> Option<&Path> {
        let found = self.found.as_ref()?;
        found.files.get(*found.origins.get(place)?).map(PathBuf::as_path)
    }

    /// Lists and counts anew what the filter lets through.
    pub(super) fn look(&mut self) {
        self.version += 1;
        self.listed = selected(self.bodies(), &self.filter, self.sorting);
        self.audit = rates(self.rates.0, self.rates.1).ok().map(|rates| audit(&self.taken(), &rates));
    }

    pub(super) fn sort(&mut self) {
        self.listed = selected(self.bodies(), &self.filter, self.sorting);
    }

    pub(super) fn explain(&mut self) {
        self.limits = rates(self.rates.0, self.rates.1)
            .map_or_else(|_| Vec::new(), |rates| audit::limits(&rates).to_vec());
    }
}

/// What is shown of the listed bodies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum SeriesSection {
    /// The table.
    #[default]
    Table,
    /// All tips in a typical body.
    Tips,
    /// Shares in the target.
    Shares,
    /// How far tips lay from the middle of the band, over time.
    Errors,
    /// Cumulative sums.
    Sums,
}

impl SeriesSection {
    /// All parts, in the order of the tabs.
    pub const ALL: [Self; 5] = [Self::Table, Self::Tips, Self::Shares, Self::Errors, Self::Sums];

    /// What is saved and copied of it as an image.
    #[must_use]
    pub const fn plot(self) -> Plot {
        match self {
            Self::Table => Plot::Bodies,
            Self::Tips => Plot::Tips,
            Self::Shares => Plot::Shares,
            Self::Errors => Plot::Errors,
            Self::Sums => Plot::Sums,
        }
    }

    /// The numbers that it shows.
    #[must_use]
    pub const fn data(self) -> &'static [AuditTable] {
        match self {
            // The table of the bodies can be saved from every part.
            Self::Table | Self::Tips => &[],
            Self::Shares => &[AuditTable::Shares, AuditTable::Differences],
            Self::Errors => &[AuditTable::Errors],
            Self::Sums => &[AuditTable::Sums],
        }
    }
}
