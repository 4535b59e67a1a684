//! The system's file dialogs, behind a trait so that tests can answer for the user.

use std::path::{Path, PathBuf};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use crate::app::files::questions::{Leave, Purpose};
use crate::app::pages::{PathKind, Wish};
use crate::app::work::effect::Outcome;

/// Nobody puts a dialog away faster than this: an answer that comes sooner means that there was none to be seen.
const TOO_SOON: Duration = Duration::from_millis(300);
/// Endings of the files that can be opened.
const PICTURES: [&str; 16] = [
    "png", "jpg", "jpeg", "tif", "tiff", "bmp", "dib", "webp", "gif", "pgm", "ppm", "pbm", "pnm", "pam",
    "avi", "dcm",
];

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// What for.
    pub purpose: Purpose,
    /// Where to begin; for saving with the name to propose.
    pub suggestion: Option<PathBuf>,
    /// What to do after saving.
    pub leave: Leave,
}

/// Where the answer goes.
pub struct Reply {
    sender: Sender<Outcome>,
    wake: Box<dyn Fn() + Send>,
}

/// Asks the user for paths.
pub trait Dialogs {
    /// Asks, and sends the answer when there is one; the window goes on meanwhile.
    fn ask(&mut self, request: Request, reply: Reply);
}

impl Reply {
    /// An answer that goes to `sender`; `wake` is called after it has been sent.
    #[must_use]
    pub fn new(sender: Sender<Outcome>, wake: impl Fn() + Send + 'static) -> Self {
        Self { sender, wake: Box::new(wake) }
    }

    /// Sends the answer.
    pub fn send(self, outcome: Outcome) {
        if self.sender.send(outcome).is_ok() {
            (self.wake)();
        }
    }
}

impl Request {
    /// The answer that these paths were chosen, or none.
    #[must_use]
    pub fn chosen(self, paths: Option<Vec<PathBuf>>) -> Outcome {
        Outcome::Chosen { purpose: self.purpose, paths, leave: self.leave }
    }

    /// The answer that there is no dialog.
    #[must_use]
    pub fn no_dialog(self) -> Outcome {
        Outcome::NoDialog { purpose: self.purpose, suggestion: self.suggestion, leave: self.leave }
    }
}

/// The system's own dialogs.
#[derive(Debug, Default)]
pub struct SystemDialogs;

impl Dialogs for SystemDialogs {
    fn ask(&mut self, request: Request, reply: Reply) {
        // Whoever takes the reply answers: without an answer the window would wait for one for ever.
        let reply = Arc::new(Mutex::new(Some(reply)));
        let answer = |reply: &Mutex<Option<Reply>>, outcome: Outcome| {
            let reply = reply.lock().ok().and_then(|mut reply| reply.take());
            if let Some(reply) = reply {
                reply.send(outcome);
            }
        };
        let (asked, own) = (request.clone(), Arc::clone(&reply));
        let work = move || {
            let start = Instant::now();
            let paths = show(&asked);
            let unseen = paths.is_none() && start.elapsed() < TOO_SOON;
            answer(&own, if unseen { asked.no_dialog() } else { asked.chosen(paths) });
        };
        if std::thread::Builder::new().name("dialog".to_owned()).spawn(work).is_err() {
            answer(&reply, request.no_dialog());
        }
    }
}

fn show(request: &Request) -> Option<Vec<PathBuf>> {
    let mut dialog = rfd::FileDialog::new();
    // Where a file or folder is to be written, the suggestion names it; where one is opened, it is the folder to begin in.
    let names_a_file = match request.purpose {
        Purpose::Save
        | Purpose::Export(_)
        | Purpose::Received(_)
        | Purpose::Page(Wish { what: PathKind::File(_), .. }) => true,
        Purpose::Open
        | Purpose::Folder
        | Purpose::Add
        | Purpose::Relink(_)
        | Purpose::Keypoints
        | Purpose::Page(Wish { what: PathKind::Folder, .. }) => false,
    };
    let suggestion = request.suggestion.as_deref();
    let folder = if names_a_file { suggestion.and_then(Path::parent) } else { suggestion };
    if let Some(name) = suggestion.filter(|_| names_a_file).and_then(Path::file_name) {
        dialog = dialog.set_file_name(name.to_string_lossy());
    }
    if let Some(folder) = folder.filter(|folder| folder.is_dir()) {
        dialog = dialog.set_directory(folder);
    }
    match request.purpose {
        Purpose::Open => {
            let mut endings = vec!["json"];
            endings.extend(PICTURES);
            dialog.set_title("Open case or images").add_filter("Cases and images", &endings).pick_files()
        }
        Purpose::Folder => {
            dialog.set_title("Open a folder of images").pick_folder().map(|folder| vec![folder])
        }
        Purpose::Add => dialog.set_title("Add images").add_filter("Images", &PICTURES).pick_files(),
        Purpose::Relink(_) => dialog
            .set_title("Locate the image of this shot")
            .add_filter("Images", &PICTURES)
            .pick_file()
            .map(|file| vec![file]),
        Purpose::Page(wish) => {
            dialog = dialog.set_title(wish.title);
            match wish.what {
                PathKind::Folder => dialog.pick_folder().map(|folder| vec![folder]),
                PathKind::File(endings) => {
                    dialog.add_filter("Files of this kind", endings).save_file().map(|file| vec![file])
                }
            }
        }
        Purpose::Received(_) => dialog.set_title("Save the image").save_file().map(|file| vec![file]),
        Purpose::Keypoints => dialog
            .set_title("Open a table of keypoints")
            .add_filter("Tables and keypoints", &["csv", "json"])
            .pick_file()
            .map(|file| vec![file]),
        Purpose::Export(_) => {
            dialog.set_title("Enter a new folder for the export").save_file().map(|file| vec![file])
        }
        Purpose::Save => {
            dialog.set_title("Save the case").add_filter("Case", &["json"]).save_file().map(|file| vec![file])
        }
    }
}
