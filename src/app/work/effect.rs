//! File work as values: what is to be done, and what came of it.

use std::path::PathBuf;
use std::time::SystemTime;

use crate::app::files::export_form::ExportForm;
use crate::app::files::questions::{Leave, Purpose};
use crate::app::files::received_image::ReceivedImage;
use crate::app::marking::proposal::order::{ProposeDone, ProposeOrder};
use crate::app::pages::work::{PageDone, PageWork};
pub use crate::app::work::found::{Decoded, FoundImage};
use crate::app::work::picture_store::PictureKey;
use crate::case::document::Case;
use crate::case::readings::due::{DueReadings, MadeReadings};
use crate::io::keypoints::FoundMarks;
use crate::io::store::autosave::Leftover;
use crate::io::store::save::{Over, Seen};

/// Work that the user can stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stoppable {
    /// Pictures are being read that are to be opened.
    Opening,
    /// Case files are being read for the series.
    Series,
    /// Marks are being proposed.
    Proposing,
    /// Questions and answers of a whole case are being written.
    Questions,
    /// The case is being written as DICOM.
    Exporting,
}

/// Something to be done at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Ask the user for a path with the system's dialog.
    Ask {
        /// What for.
        purpose: Purpose,
        /// Where to begin, and the name to propose.
        suggestion: Option<PathBuf>,
        /// What to do after saving.
        leave: Leave,
    },
    /// Open whatever these paths are: a case file, pictures, folders.
    Open {
        /// The paths.
        paths: Vec<PathBuf>,
        /// For a case of their own, for the one that is open, or for a shot of it.
        purpose: Purpose,
    },
    /// Open the demonstration.
    OpenDemonstration,
    /// Find recent cases and unsaved work.
    LookAround,
    /// Write the case.
    Save {
        /// The case.
        case: Box<Case>,
        /// Where to.
        file: PathBuf,
        /// What it may write over.
        over: Over,
    },
    /// Write an image that came without a file.
    Receive {
        /// The image.
        image: ReceivedImage,
        /// The file, or the folder it goes into.
        path: PathBuf,
        /// Whether that is a folder.
        is_folder: bool,
    },
    /// Take marks from a table of keypoints into the case.
    ReadKeypoints {
        /// The table.
        table: PathBuf,
        /// The case whose shots they are for.
        case: Box<Case>,
    },
    /// Export the case into a new folder.
    Export {
        /// The case.
        case: Box<Case>,
        /// The file its pictures are named from, if it has one.
        file: Option<PathBuf>,
        /// Where to.
        folder: PathBuf,
        /// As what.
        form: ExportForm,
        /// Although words may be readable in pictures.
        as_is: bool,
    },
    /// Keep the unsaved work beside the case.
    Keep {
        /// The case.
        case: Box<Case>,
        /// Its file, if it has one.
        file: Option<PathBuf>,
        /// What the file held when the work began.
        seen: Option<Seen>,
    },
    /// The unsaved work that is kept is no longer needed.
    Drop,
    /// From now on this unsaved work is the window's own.
    Adopt(Box<Leftover>),
    /// Delete unsaved work that was found.
    Forget(Box<Leftover>),
    /// From now on images in these folders may be opened for the case in this file.
    Allow {
        /// The case's file.
        file: PathBuf,
        /// The folders, outside the case's own.
        folders: Vec<PathBuf>,
    },
    /// Delete what the program keeps for itself, but for unsaved work.
    ForgetKept,
    /// Decode a picture.
    Decode {
        /// Which.
        key: PictureKey,
        /// Before others.
        first: bool,
        /// Whether its samples are wanted, and not only what is known of it and a small picture.
        samples: bool,
    },
    /// Leave the rest of such work undone, whether it waits or is under way; other work goes on.
    Stop(Stoppable),
    /// Let at most so many bytes of pictures' files stay open.
    KeepOpen(usize),
    /// Propose marks from images.
    Propose(Box<ProposeOrder>),
    /// Read the shots of the open case that are too many for the drawing thread.
    Read(Box<DueReadings>),
    /// Work for a page.
    Page(PageWork),
    /// End the program.
    Quit,
}

/// What came of an effect.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// The user chose paths; `None` when they thought better of it.
    Chosen {
        /// What for.
        purpose: Purpose,
        /// The paths.
        paths: Option<Vec<PathBuf>>,
        /// What to do after saving.
        leave: Leave,
    },
    /// There is no dialog of the system.
    NoDialog {
        /// What for.
        purpose: Purpose,
        /// Where to begin, and the name to propose.
        suggestion: Option<PathBuf>,
        /// What to do after saving.
        leave: Leave,
    },
    /// A case was opened.
    Opened {
        /// The case.
        case: Box<Case>,
        /// Its file.
        file: PathBuf,
        /// What the file holds.
        seen: Seen,
        /// Unsaved work on it.
        leftover: Option<Box<Leftover>>,
    },
    /// Pictures were found.
    Pictures {
        /// For a case of their own, or for the one that is open.
        purpose: Purpose,
        /// The pictures.
        found: Vec<FoundImage>,
        /// Sentences about what could not be used.
        trouble: Vec<String>,
    },
    /// Pictures are being read.
    Progress {
        /// How many have been.
        done: usize,
        /// How many there are.
        of: usize,
    },
    /// Something could not be opened.
    NotOpened(String),
    /// What lies around.
    Around {
        /// Recent cases.
        recent: Vec<PathBuf>,
        /// Unsaved work.
        leftovers: Vec<Leftover>,
        /// When it was looked.
        now: SystemTime,
    },
    /// The case was written.
    Saved {
        /// The case as it was written.
        case: Box<Case>,
        /// Where.
        file: PathBuf,
        /// What the file holds now.
        seen: Seen,
        /// The time of day.
        at: String,
    },
    /// The file is not the one that may be written over; nothing was written.
    Changed {
        /// Which.
        file: PathBuf,
        /// One sentence.
        text: String,
    },
    /// An image that came without a file is in this file now, or one sentence says why not.
    Received(Result<PathBuf, String>),
    /// Marks were found in a table, or one sentence says why not.
    Keypoints(Result<Box<FoundMarks>, String>),
    /// The case could not be written.
    NotSaved(String),
    /// The case is being exported.
    Exporting {
        /// How many steps are done.
        done: usize,
        /// How many there are.
        of: usize,
    },
    /// The case could not be exported.
    NotExported(String),
    /// The case was exported into this folder.
    Exported(PathBuf),
    /// Words may be readable in pictures; nothing was exported.
    InDoubt {
        /// Where it was to go.
        folder: PathBuf,
        /// As what.
        form: ExportForm,
        /// One sentence for each shot.
        sentences: Vec<String>,
    },
    /// Images outside the case's folder may be opened now.
    Allowed,
    /// The unsaved work could not be kept.
    NotKept(String),
    /// Something the user should know, in a sentence; whatever is under way goes on.
    Told(String),
    /// The program failed at something, in a sentence that names it; whatever else is under way goes on.
    Failed(String),
    /// So many bytes of pictures' files are open.
    HeldOpen(usize),
    /// Marks are proposed, or a sentence says why not.
    Proposed(Box<ProposeDone>),
    /// Shots of the open case are read.
    Readings(Box<MadeReadings>),
    /// Work for a page is done.
    Page(PageDone),
    /// A picture is there, or one sentence says why not.
    Picture {
        /// Which.
        key: PictureKey,
        /// What came of it.
        result: Result<Box<Decoded>, String>,
    },
}

impl Stoppable {
    /// What an effect is called where it can be stopped.
    #[must_use]
    pub const fn of(effect: &Effect) -> Option<Self> {
        match effect {
            Effect::Open { .. } => Some(Self::Opening),
            Effect::Export { form: ExportForm::Dicom(_), .. } => Some(Self::Exporting),
            Effect::Propose(_) => Some(Self::Proposing),
            Effect::Page(PageWork::Series(work)) if work.is_reading() => Some(Self::Series),
            Effect::Page(PageWork::Figure(work)) if work.can_stop() => Some(Self::Questions),
            _ => None,
        }
    }
}

impl Effect {
    /// Whether what this one gives takes the place of what an earlier one that still waits would give: a newer figure or
    /// overlay for the window. Whoever asked for the earlier one looks only for the newer.
    #[must_use]
    pub fn replaces(&self, earlier: &Self) -> bool {
        use crate::app::pages::compare::work::CompareWork;
        match (self, earlier) {
            (Self::Page(PageWork::Figure(new)), Self::Page(PageWork::Figure(old))) => {
                new.is_seen() && old.is_seen()
            }
            (
                Self::Page(PageWork::Compare(CompareWork::Lay(_))),
                Self::Page(PageWork::Compare(CompareWork::Lay(_))),
            ) => true,
            _ => false,
        }
    }
}

impl Outcome {
    /// Of which work it only says how far it has come; a later word takes the place of an earlier one.
    #[must_use]
    pub const fn progress_of(&self) -> Option<Stoppable> {
        match self {
            Self::Progress { .. } => Some(Stoppable::Opening),
            Self::Exporting { .. } => Some(Stoppable::Exporting),
            Self::Page(PageDone::Series(done)) if done.is_progress() => Some(Stoppable::Series),
            Self::Page(PageDone::Figure(done)) if done.is_progress() => Some(Stoppable::Questions),
            _ => None,
        }
    }

    /// Lets the samples of a decoded picture go where nobody wants them.
    pub(crate) fn let_samples_go(&mut self) {
        if let Self::Picture { result: Ok(decoded), .. } = self {
            decoded.frame = None;
        }
    }
}
