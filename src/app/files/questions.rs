//! What the window asks before it leaves unsaved work, writes over a file, exports, or opens
//! images outside a case's folder, the answers, and where it goes then. The
//! words of the questions are in `ui::panels::question`.

use std::path::PathBuf;

use crate::app::files::export_form::{DicomChoice, ExportForm};
use crate::app::files::received_image::ReceivedImage;
use crate::app::pages::page::Wish;
use crate::app::work::found::FoundImage;
use crate::case::document::Case;
use crate::case::image::frame_choice::FrameChoice;
use crate::io::store::autosave::Leftover;
use crate::io::store::save::Seen;

/// What has been read and waits to take the place of the open case.
#[derive(Clone, Debug, PartialEq)]
pub enum Arrival {
    /// A case.
    Case {
        /// The case.
        case: Box<Case>,
        /// Its file.
        file: PathBuf,
        /// What the file holds.
        seen: Seen,
        /// Unsaved work on it.
        leftover: Option<Box<Leftover>>,
    },
    /// Pictures for a case of their own.
    Pictures(Vec<FoundImage>),
}

/// Where the user was going when a question came up.
#[derive(Clone, Debug, PartialEq)]
pub enum Leave {
    /// Nowhere; only saving.
    Stay,
    /// Back to the start.
    Start,
    /// Out of the program.
    Quit,
    /// To other files.
    Open(Vec<PathBuf>),
    /// To the demonstration.
    Demonstration,
    /// To unsaved work that was found.
    Recover(usize),
    /// To what was read while the open case was being worked on.
    Arrived(Box<Arrival>),
}

/// What a path is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Purpose {
    /// To open a case, pictures or a folder.
    Open,
    /// To open a folder of pictures.
    Folder,
    /// To add pictures to the case.
    Add,
    /// To save the case.
    Save,
    /// To export the case into a new folder in this form.
    Export(ExportForm),
    /// To write an image that came without a file.
    Received(ReceivedImage),
    /// To take marks from a table of keypoints.
    Keypoints,
    /// To take another picture for the shot with this id.
    Relink(String),
    /// For a page.
    Page(Wish),
}

/// What the window asks before it goes on.
#[derive(Clone, Debug, PartialEq)]
pub enum WindowQuestion {
    /// The case has unsaved changes.
    Unsaved(Leave),
    /// The file has changed on disk since it was opened, or there is one already.
    Changed {
        /// Which.
        file: PathBuf,
        /// What has happened, in a sentence.
        text: String,
        /// Where to go after saving.
        leave: Leave,
    },
    /// Words may be readable in pictures that are to be exported.
    InDoubt {
        /// Where to.
        folder: PathBuf,
        /// One sentence for each shot.
        sentences: Vec<String>,
        /// As what.
        form: ExportForm,
    },
    /// What is to be written as DICOM, and whose it is said to be.
    Dicom,
    /// Which frames of the shown shot's file become shots.
    Frames {
        /// How many it has.
        frames: u32,
    },
    /// There is unsaved work on the case that was just opened.
    Recovered(Box<Leftover>),
    /// The case that was just opened names images outside its folder.
    Outside {
        /// The case's file.
        file: PathBuf,
        /// The folders they are in.
        folders: Vec<PathBuf>,
    },
    /// No dialog of the system is at hand: a path is to be typed.
    Path {
        /// What for.
        purpose: Purpose,
        /// What stands in the field at first.
        suggestion: String,
        /// What to do after saving.
        leave: Leave,
    },
}

/// The answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Save, then go on.
    Save,
    /// Go on without saving.
    Discard,
    /// Do nothing and go on editing.
    KeepEditing,
    /// Write over the changed file.
    Overwrite,
    /// Save in a new file instead.
    SaveAs,
    /// Export although words may be readable.
    AsIs,
    /// Take unsaved work back.
    TakeBack,
    /// Throw unsaved work away.
    ThrowAway,
    /// Write this as DICOM.
    Dicom(DicomChoice),
    /// Make shots of these frames.
    Frames(FrameChoice),
    /// Open the images outside the case's folder, now and later.
    OpenOutside,
    /// This path.
    Path(PathBuf),
}
