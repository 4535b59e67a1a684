//! Runs effects through `io`. Nothing else in the window touches a file.

use std::fmt::Debug;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use crate::app::files::export_form::ExportForm;
use crate::app::files::questions::Purpose;
use crate::app::files::received_image::ReceivedImage;
use crate::app::files::saving::is_case_name;
use crate::app::marking::guide::capital;
use crate::app::pages;
use crate::app::work::cancel::Cancel;
use crate::app::work::effect::{Effect, FoundImage, Outcome};
use crate::app::work::found::decoded;
use crate::app::work::picture_store::PictureKey;
use crate::case::document::Case;
use crate::case::image::frame::Frame;
use crate::case::image::straighten::straightened;
use crate::case::image::taken;
use crate::io::clock;
use crate::io::error::{Error, ErrorKind};
use crate::io::export::case_folder::{Keep, NotExported, export_case};
use crate::io::export::dicom::export_dicom;
use crate::io::files::written;
use crate::io::import;
use crate::io::import::open_files::OpenFiles;
use crate::io::keypoints;
use crate::io::store::autosave::{self, Autosave};
use crate::io::store::home;
use crate::io::store::kept;
use crate::io::store::outside;
use crate::io::store::received::{self, ReceivedAt};
use crate::io::store::save;

/// How many pictures of one folder are taken in at once.
const MANY: usize = 500;
/// Up to so many pictures are decoded before they are taken in.
const FEW: usize = 12;

/// Carries effects out, one after the other.
pub trait Perform: Debug + Send {
    /// Carries an effect out; `say` hears how far long work has come, which heeds `cancel`.
    fn perform(
        &mut self,
        effect: Effect,
        cancel: &Cancel,
        say: &mut (dyn FnMut(Outcome) + Send),
    ) -> Vec<Outcome>;
}

/// What file work needs to remember from one effect to the next.
#[derive(Debug, Default)]
pub struct Performer {
    autosave: Autosave,
    files: Arc<OpenFiles>,
}

impl Performer {
    /// One that shares the open files with others.
    #[must_use]
    pub(crate) fn sharing(files: Arc<OpenFiles>) -> Self {
        Self { files, ..Self::default() }
    }
}

impl Perform for Performer {
    /// Dialogs and the program's end are the window's own; they give nothing here.
    fn perform(
        &mut self,
        effect: Effect,
        cancel: &Cancel,
        say: &mut (dyn FnMut(Outcome) + Send),
    ) -> Vec<Outcome> {
        match effect {
            Effect::Open { paths, purpose } => {
                let outcomes = open(&self.files, &paths, purpose, cancel, say);
                self.with_news(outcomes)
            }
            Effect::OpenDemonstration => demonstration(),
            Effect::LookAround => look_around(),
            Effect::Save { case, file, over } => {
                vec![match save::save_case(&file, &case, &over) {
                    Ok(seen) => {
                        // A list of recent cases that cannot be written is no reason to trouble anyone.
                        let _ = home::remember_case(&file);
                        Outcome::Saved { case, file, seen, at: clock::time_of_day() }
                    }
                    Err(error) if error.kind == ErrorKind::Conflict => {
                        Outcome::Changed { file, text: format!("{}.", capital(&error.text)) }
                    }
                    Err(error) => Outcome::NotSaved(sentence(&error)),
                }]
            }
            Effect::Export { case, file, folder, form, as_is } => {
                let mut watch = |done, of| {
                    say(Outcome::Exporting { done, of });
                    !cancel.is_cancelled()
                };
                vec![export(&case, file.as_deref(), folder, form, (as_is, &mut watch))]
            }
            Effect::Receive { image, path, is_folder } => {
                let kept = receive(&self.files, &image, &path, is_folder).map_err(|error| sentence(&error));
                vec![Outcome::Received(kept)]
            }
            Effect::ReadKeypoints { table, case } => {
                let found = keypoints::found_for(&table, None, &case).map(Box::new);
                vec![Outcome::Keypoints(found.map_err(|error| sentence(&error)))]
            }
            Effect::Keep { case, file, seen } => {
                match self.autosave.write(&case, file.as_deref(), seen.as_ref()) {
                    Ok(()) => Vec::new(),
                    Err(error) => {
                        let text = format!("Autosave does not work: {}", sentence(&error));
                        vec![Outcome::NotKept(text)]
                    }
                }
            }
            Effect::Drop => {
                // What is left over is offered at the next start; that is no harm.
                let _ = self.autosave.discard();
                Vec::new()
            }
            Effect::Adopt(leftover) => {
                self.autosave = Autosave::adopt(&leftover);
                Vec::new()
            }
            Effect::Forget(leftover) => match autosave::discard_leftover(&leftover) {
                Ok(()) => Vec::new(),
                Err(error) => vec![Outcome::NotOpened(sentence(&error))],
            },
            Effect::Allow { file, folders } => {
                outside::allow(&file, &folders);
                vec![Outcome::Allowed]
            }
            Effect::ForgetKept => vec![match kept::forget() {
                Ok(files) => {
                    Outcome::Told(format!("Deleted: {files} files that the program kept for itself."))
                }
                Err(error) => Outcome::NotOpened(sentence(&error)),
            }],
            Effect::Decode { key, samples, .. } => {
                let frame = self.files.frame(&key.path, key.frame);
                let outcome = decode(key, frame, samples);
                self.with_news(vec![outcome])
            }
            Effect::Read(due) => {
                vec![Outcome::Readings(Box::new(due.make(|| !cancel.is_cancelled())))]
            }
            Effect::Propose(order) => vec![Outcome::Proposed(Box::new(order.perform(cancel)))],
            Effect::Page(work) => vec![Outcome::Page(pages::perform(work, cancel, say))],
            Effect::Ask { .. } | Effect::Stop(_) | Effect::KeepOpen(_) | Effect::Quit => Vec::new(),
        }
    }
}

impl Performer {
    /// The same outcomes and how many bytes of files are open, where that has changed.
    fn with_news(&self, mut outcomes: Vec<Outcome>) -> Vec<Outcome> {
        outcomes.extend(self.files.news().map(Outcome::HeldOpen));
        outcomes
    }
}

fn receive(files: &OpenFiles, image: &ReceivedImage, path: &Path, is_folder: bool) -> Result<PathBuf, Error> {
    let at = if is_folder { ReceivedAt::In(path, image.name()) } else { ReceivedAt::File(path) };
    match image {
        ReceivedImage::Pixels { size, rgba } => received::keep_pixels(&at, *size, rgba),
        ReceivedImage::Bytes { bytes, .. } => received::keep_bytes(&at, bytes),
        ReceivedImage::Straightened(of) => {
            let photo = files.frame(&of.photo, of.frame)?;
            let straight = straightened(&photo, &of.outline)
                .map_err(|why| Error::new(ErrorKind::Unsupported, &of.photo, why))?;
            received::keep_frame(&at, &straight)
        }
    }
}

fn export(
    case: &Case,
    file: Option<&Path>,
    folder: PathBuf,
    form: ExportForm,
    (as_is, watch): (bool, &mut dyn FnMut(usize, usize) -> bool),
) -> Outcome {
    let file = file.unwrap_or_else(|| Path::new(""));
    let done = match &form {
        ExportForm::Copy => export_case(file, case, &folder, Keep::default(), as_is),
        ExportForm::Dicom(choice) => {
            export_dicom(file, case, &folder, &choice.wanted(case, as_is), watch).map(drop)
        }
        ExportForm::Keypoints => keypoints::export_folder(file, case, &folder),
    };
    match done {
        Ok(()) => Outcome::Exported(folder),
        Err(NotExported::InDoubt(sentences)) => Outcome::InDoubt { folder, form, sentences },
        Err(NotExported::Impossible(sentences)) => Outcome::NotExported(sentences.join(" ")),
        Err(NotExported::Stopped) => Outcome::NotExported("Stopped: nothing was exported.".to_owned()),
    }
}

/// An error as one sentence that names the file.
fn sentence(error: &Error) -> String {
    let text = error.to_string();
    let text = text.trim_end_matches('.');
    format!("{text}.")
}

fn open(
    files: &OpenFiles,
    paths: &[PathBuf],
    purpose: Purpose,
    cancel: &Cancel,
    say: &mut (dyn FnMut(Outcome) + Send),
) -> Vec<Outcome> {
    let mut listed = import::Listed::default();
    let mut trouble = Vec::new();
    for path in paths {
        if path.is_dir() {
            let cases = cases_in(path);
            if let ([case], Purpose::Open, 1) = (cases.as_slice(), &purpose, paths.len()) {
                return open_case(case).unwrap_or_else(not_opened);
            }
            match import::pictures_in(path) {
                Ok(found) if found.pictures.is_empty() => {
                    trouble.push(format!("There is no image in the folder “{}”.", path.display()));
                }
                Ok(found) => listed.take(found),
                Err(error) => trouble.push(sentence(&error)),
            }
        } else if import::is_directory(path) {
            match import::listed_in(path) {
                Ok(found) => listed.take(found),
                Err(error) => trouble.push(sentence(&error)),
            }
        } else if is_case_name(path) {
            if purpose != Purpose::Open {
                trouble.push(format!("“{}” is a case, not an image; open it by itself.", path.display()));
                continue;
            }
            match open_case(path) {
                Ok(opened) => return with_others_left(opened, path, paths.len()),
                // One that cannot be read keeps no other file from being opened.
                Err(error) if paths.len() > 1 => trouble.push(sentence(&error)),
                Err(error) => return not_opened(error),
            }
        } else {
            listed.pictures.push(path.clone());
        }
    }
    let import::Listed { mut pictures, missing } = listed;
    if missing > 0 {
        trouble.push(format!("{missing} images listed in the DICOMDIR are missing; copy the whole medium."));
    }
    if pictures.len() > MANY {
        trouble.push(format!("Only the first {MANY} of {} images were added.", pictures.len()));
        pictures.truncate(MANY);
    }
    let of = pictures.len();
    let mut found = Vec::new();
    for (done, path) in pictures.into_iter().enumerate() {
        if cancel.is_cancelled() {
            trouble.push(format!("Stopped: {done} of {of} images were read and added."));
            break;
        }
        if of > 1 {
            say(Outcome::Progress { done, of });
        }
        // A few pictures are decoded, so that one that cannot be read is said at once; of many only the headers are
        // read, so that the window need not wait, and each says itself what is wrong with it.
        match files.look(&path, of <= FEW) {
            Ok(source) => {
                let taken = source.taken().or_else(|| written(&path).map(taken::of_file));
                let (digest, frames) = (Some(source.digest().to_owned()), source.frames());
                found.push(FoundImage { path, digest, taken, frames });
            }
            // One that cannot be read keeps no other from being read.
            Err(error) => trouble.push(sentence(&error)),
        }
    }
    vec![Outcome::Pictures { purpose, found, trouble }]
}

/// What an opened case says; of one that was named together with other files, that those were left aside.
fn with_others_left(mut outcomes: Vec<Outcome>, path: &Path, of: usize) -> Vec<Outcome> {
    if of > 1 {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let text = format!("Only the case “{name}” was opened; open the other files one after another.");
        outcomes.push(Outcome::Told(text));
    }
    outcomes
}

fn open_case(path: &Path) -> Result<Vec<Outcome>, Error> {
    let opened = save::open_case(path)?;
    let _ = home::remember_case(path);
    let file = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let leftover = autosave::leftovers_of(&file).into_iter().next().map(Box::new);
    let told = told_of(&autosave::unreadable_of(&file));
    let opened = Outcome::Opened { case: Box::new(opened.case), file, seen: opened.seen, leftover };
    Ok(std::iter::once(opened).chain(told).collect())
}

#[expect(clippy::needless_pass_by_value, reason = "what opening gave back")]
fn not_opened(error: Error) -> Vec<Outcome> {
    vec![Outcome::NotOpened(sentence(&error))]
}

fn cases_in(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let named = |path: &PathBuf| {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        name.ends_with(crate::app::files::saving::CASE_ENDING)
    };
    entries.map(|entry| entry.path()).filter(named).collect()
}

/// Unsaved work that cannot be offered is not passed over in silence.
fn told_of(unreadable: &[Error]) -> Vec<Outcome> {
    let told = |error: &Error| {
        let text = format!("Unsaved changes were found but cannot be restored: {}", sentence(error));
        Outcome::Told(text)
    };
    unreadable.iter().map(told).collect()
}

fn look_around() -> Vec<Outcome> {
    let around = Outcome::Around {
        recent: home::recent_cases(),
        leftovers: autosave::leftovers_at_start(),
        now: SystemTime::now(),
    };
    std::iter::once(around).chain(told_of(&autosave::unreadable_at_start())).collect()
}

fn demonstration() -> Vec<Outcome> {
    match demonstration_file() {
        Some(file) => open_case(&file).unwrap_or_else(not_opened),
        None => vec![Outcome::NotOpened(
            "The demonstration was not found next to the program; open the folder sample-images.".to_owned(),
        )],
    }
}

/// Where the samples are: beside the program in a checkout and on Windows, among the documents where it was installed, in the
/// bundle on a Mac.
const SAMPLES: [&str; 3] = ["sample-images", "share/doc/stillmark/sample-images", "Resources/sample-images"];

/// The demonstration beside the program or above it, else below the present folder.
fn demonstration_file() -> Option<PathBuf> {
    let program = std::env::current_exe().ok();
    let here = std::env::current_dir().ok();
    let near = program.iter().flat_map(|program| program.ancestors().skip(1).take(5));
    let places = near.chain(here.as_deref());
    let samples = places.flat_map(|folder| SAMPLES.map(|at| folder.join(at)));
    samples.flat_map(|folder| cases_in(&folder)).next()
}

fn decode(key: PictureKey, frame: Result<Frame, Error>, samples: bool) -> Outcome {
    let result = frame.map_err(|error| sentence(&error)).map(|frame| Box::new(decoded(frame, samples)));
    Outcome::Picture { key, result }
}
