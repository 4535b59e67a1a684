//! Case files of whole folders, at any depth, as rows of treated bodies. Broken and foreign files are listed and passed
//! over; nothing stops the rest.
//!
//! Reading order: this file, [`cache`] (what is remembered between runs).

mod cache;

use std::fs::FileType;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::series::cache::{Cache, Stamp};
use crate::study::series::{Treated, treated};

/// How deep folders are followed, against loops of mounts.
const DEEPEST: usize = 64;
/// What stands in the name of an autosave, which is no case of its own.
const AUTOSAVE: &str = ".autosave-";

/// A file or folder that was passed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SkippedFile {
    /// Which, as it was named; `None` where it is not to be named, or where the sentence is of none.
    pub file: Option<PathBuf>,
    /// Why, and what to do.
    pub why: String,
}

impl SkippedFile {
    /// One sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        match &self.file {
            Some(file) => Error::new(ErrorKind::Other, file, self.why.as_str()).to_string(),
            None => self.why.clone(),
        }
    }
}

impl From<Error> for SkippedFile {
    fn from(error: Error) -> Self {
        Self { file: Some(error.file), why: error.text }
    }
}

/// What was found below some folders.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FoundFiles {
    /// Every body treated, in the order of the folders and of the files' names.
    pub bodies: Vec<Treated>,
    /// For each body, in which of the files it stands.
    pub origins: Vec<usize>,
    /// The case files that were read.
    pub files: Vec<PathBuf>,
    /// Files and folders that were passed over.
    pub skipped: Vec<SkippedFile>,
}

impl FoundFiles {
    /// The same without names of folders and files, which may be a person's: each case file by its number, in their order.
    #[must_use]
    pub fn without_paths(mut self) -> Self {
        // All as long as the last one, so that their order as words is that of the files.
        let digits = self.files.len().to_string().len();
        for (body, file) in self.bodies.iter_mut().zip(&self.origins) {
            body.file = format!("{:0digits$}", file + 1);
        }
        for one in &mut self.skipped {
            one.file = None;
        }
        self
    }

    /// What was passed over, one sentence each.
    #[must_use]
    pub fn skipped_sentences(&self) -> Vec<String> {
        self.skipped.iter().map(SkippedFile::sentence).collect()
    }
}

/// One file: its rows, or why it was passed over.
type FileRows = Result<Vec<Treated>, String>;

/// How many files are read between two reports of how far it has come.
const STEP: usize = 128;

/// Reads every case file below these folders; a file may be named too. `remember` keeps what was read in the
/// application's own folder, so that a next run reads only files that changed since.
///
/// # Errors
/// One sentence, if a folder cannot be looked into at all.
pub fn read_series(folders: &[PathBuf], remember: bool) -> Result<FoundFiles, Error> {
    read_series_watched(folders, remember, &mut |_, _| true)
}

/// The same, saying every now and then how many files of how many have been read; where the answer is `false`, the rest
/// is left unread, and that is said among what was passed over.
///
/// # Errors
/// As [`read_series`].
pub fn read_series_watched(
    folders: &[PathBuf],
    remember: bool,
    watch: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<FoundFiles, Error> {
    let mut found = FoundFiles::default();
    let recall = || if remember { Cache::load() } else { Cache::default() };
    let (listed, old) = rayon::join(|| list(folders, &mut found.skipped), recall);
    let files = listed?;
    let of = files.len();
    let mut read: Vec<(String, Option<Stamp>, FileRows)> = Vec::with_capacity(of);
    for some in files.chunks(STEP) {
        if !watch(read.len(), of) {
            let why = format!("Stopped: {} of {of} files were read and are shown", read.len());
            found.skipped.push(SkippedFile { file: None, why });
            break;
        }
        read.par_extend(some.par_iter().map(|(path, name)| read_or_recall(path, name, &old)));
    }
    if remember {
        Cache::keep(old, &read);
    }
    for ((path, _), (_, _, row)) in files.into_iter().zip(read) {
        match row {
            Ok(rows) => {
                found.origins.extend(std::iter::repeat_n(found.files.len(), rows.len()));
                found.files.push(path);
                found.bodies.extend(rows);
            }
            Err(why) => found.skipped.push(SkippedFile { file: Some(path), why }),
        }
    }
    Ok(found)
}

/// The case files of these folders with the names they are shown by, each once.
fn list(folders: &[PathBuf], skipped: &mut Vec<SkippedFile>) -> Result<Vec<(PathBuf, String)>, Error> {
    let mut files: Vec<(PathBuf, String)> = Vec::new();
    for folder in folders {
        let asked = std::fs::metadata(folder).map_err(|e| Error::reading(folder, &e))?;
        if asked.is_dir() {
            // Looked into here first, so that a folder that was named and cannot be read is an error.
            std::fs::read_dir(folder).map_err(|e| Error::reading(folder, &e))?;
            collect(folder, folder, 0, &mut files, skipped);
        } else {
            files.push((folder.clone(), folder.to_string_lossy().into_owned()));
        }
    }
    let mut seen = std::collections::BTreeSet::new();
    files.retain(|(path, _)| seen.insert(path.clone()));
    Ok(files)
}

/// The rows of a file as they are remembered, if it has not changed since, else read anew.
fn read_or_recall(path: &Path, name: &str, old: &Cache) -> (String, Option<Stamp>, FileRows) {
    let full = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let key = full.to_string_lossy().into_owned();
    let stamp = Stamp::of(path);
    let row = match stamp.and_then(|stamp| old.rows(&key, stamp)) {
        Some(rows) => rows.map(|rows| named(rows, name)),
        None => read_file(path, name),
    };
    (key, stamp, row)
}

/// Remembered rows under the name that the file has in this run.
fn named(mut rows: Vec<Treated>, name: &str) -> Vec<Treated> {
    for row in &mut rows {
        name.clone_into(&mut row.file);
    }
    rows
}

fn read_file(path: &Path, name: &str) -> FileRows {
    let case = files::read(path, case_file::MAX_BYTES)
        .and_then(|bytes| case_file::from_bytes(path, &bytes))
        .map_err(|error| error.text)?;
    Ok(treated(&case, name))
}

/// Files whose names end in `.json`, sorted within each folder; links to folders are not followed.
fn collect(
    root: &Path,
    folder: &Path,
    depth: usize,
    files: &mut Vec<(PathBuf, String)>,
    skipped: &mut Vec<SkippedFile>,
) {
    if depth > DEEPEST {
        let why = format!("it lies more than {DEEPEST} folders deep and was skipped");
        skipped.push(SkippedFile { file: Some(folder.to_path_buf()), why });
        return;
    }
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) => {
            skipped.push(Error::reading(folder, &e).into());
            return;
        }
    };
    // What an entry is, its folder mostly says; a link is not followed here.
    let mut entries: Vec<(PathBuf, Option<FileType>)> =
        entries.filter_map(Result::ok).map(|entry| (entry.path(), entry.file_type().ok())).collect();
    entries.sort_by(|a, b| a.0.cmp(&b.0));
    for (path, kind) in entries {
        let name = path.file_name().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
        let is_file = || kind.is_some_and(|kind| kind.is_file()) || !path.is_dir();
        if kind.is_some_and(|kind| kind.is_dir()) {
            collect(root, &path, depth + 1, files, skipped);
        } else if name.ends_with(".json") && !name.contains(AUTOSAVE) && is_file() {
            let shown = path.strip_prefix(root).unwrap_or(&path);
            let shown = shown.to_string_lossy().into_owned();
            files.push((path, shown));
        }
    }
}
