//! Unsaved work on disk, so that a crash costs at most the last moments.
//!
//! Each window writes its own file beside the case (or into the application's folder, for a case without a file
//! or in a folder that cannot be written to) and holds it (`hold`). The hold goes with the process, however it ends: a
//! file that nobody holds was left behind by a crash and is offered at the next start; one that is held belongs to a
//! window that is still open and is left alone.

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::SystemTime;

use serde::{Deserialize, Serialize};
use tempfile::Builder;

use crate::case::document::Case;
use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::disk::{Disk as _, RealDisk};
use crate::io::store::hold::{Hold, HoldAsked, put_in_place};
use crate::io::store::home;
use crate::io::store::save::Seen;

/// The key under which an autosave says what it belongs to; it is no part of the case.
const KEY: &str = "autosave";
/// Held while one autosave is looked at, for the start page and an opened case may look at the same one at the same time,
/// and each would take it for another window's.
static LOOKING: Mutex<()> = Mutex::new(());
/// What stands in every autosave's name.
const INFIX: &str = ".autosave-";

/// One window's autosave.
#[derive(Debug, Default)]
pub struct Autosave {
    /// Where it is, once it has been written.
    path: Option<PathBuf>,
    /// The hold on it.
    held: Option<Hold>,
}

/// Unsaved work that a crash left behind.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// The autosave.
    pub path: PathBuf,
    /// The case file it belongs to; `None` for a case that never had one.
    pub case_file: Option<PathBuf>,
    /// What that file held when the work began; for saving with [`Over::Seen`](super::save::Over::Seen).
    pub seen: Option<Seen>,
    /// The case with the unsaved work. Its pictures are named relative to `case_file`.
    pub case: Case,
    /// When it was written.
    pub written: Option<SystemTime>,
    /// Whether the case file on disk is still the one the work began from. If not, someone has saved since, and
    /// the user must choose.
    pub case_file_unchanged: bool,
    /// Whether it was written after the case file was.
    pub newer_than_case_file: bool,
}

/// What an autosave belongs to.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(default)]
struct AutosaveOrigin {
    file: Option<PathBuf>,
    digest: Option<String>,
}

impl Autosave {
    /// An autosave that has not been written yet.
    #[must_use]
    pub const fn new() -> Self {
        Self { path: None, held: None }
    }

    /// Takes a leftover over: from now on it is this window's autosave, and it stays on disk until the work is
    /// saved or thrown away.
    #[must_use]
    pub fn adopt(leftover: &Leftover) -> Self {
        Self { path: Some(leftover.path.clone()), held: HoldAsked::of(&leftover.path).here() }
    }

    /// Where the autosave is, once it has been written.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Writes the work as it is now, atomically. `case_file` and `seen` say what it belongs to; both are `None`
    /// for a case that was never saved.
    ///
    /// # Errors
    /// Says why it could not be written; an earlier autosave is then still there.
    pub fn write(&mut self, case: &Case, case_file: Option<&Path>, seen: Option<&Seen>) -> Result<(), Error> {
        self.write_or(case, case_file, seen, unsaved_folder())
    }

    /// The same, with `home` for a case that has no folder which can be written to.
    fn write_or(
        &mut self,
        case: &Case,
        case_file: Option<&Path>,
        seen: Option<&Seen>,
        home: Option<PathBuf>,
    ) -> Result<(), Error> {
        let file = case_file.map(|file| std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf()));
        let origin = AutosaveOrigin { file: file.clone(), digest: seen.map(|seen| seen.digest().to_owned()) };
        let mut marked = case.clone();
        let origin = serde_json::to_string(&origin).unwrap_or_else(|_| "{}".to_owned());
        marked.extra.0.insert(KEY.to_owned(), origin);
        let text = case_file::to_text(file.as_deref().unwrap_or_else(|| Path::new("the new case")), &marked)?;

        let folders = [file.as_deref().and_then(Path::parent).map(Path::to_path_buf), home];
        let mut failed = None;
        for folder in folders.into_iter().flatten() {
            // The same file as last time, unless the case has moved to another folder or got another name.
            let prefix = name_prefix(file.as_deref());
            let old = self.path.clone();
            let stays = old
                .as_ref()
                .is_some_and(|p| p.parent() == Some(&folder) && file_name(p).starts_with(&prefix));
            match self.put(&folder, &prefix, if stays { old.as_deref() } else { None }, text.as_bytes()) {
                Ok(()) => {
                    if let Some(old) = old.filter(|old| self.path.as_ref() != Some(old)) {
                        remove(&old)?;
                    }
                    return Ok(());
                }
                Err(error) => failed = failed.or(Some(error)),
            }
        }
        Err(failed.unwrap_or_else(|| {
            let text = "there is no folder for autosave; save the case yourself";
            Error::new(ErrorKind::Missing, file.as_deref().unwrap_or_else(|| Path::new("the new case")), text)
        }))
    }

    /// Takes the autosave away, after a clean save or when the user throws the work away.
    ///
    /// # Errors
    /// Says why the file could not be removed.
    pub fn discard(&mut self) -> Result<(), Error> {
        // Held until the file is gone, so that nobody takes it for one left behind.
        let removed = self.path.take().map_or(Ok(()), |path| remove(&path));
        self.held = None;
        removed
    }

    fn put(&mut self, folder: &Path, prefix: &str, name: Option<&Path>, bytes: &[u8]) -> Result<(), Error> {
        let shown = name.unwrap_or(folder).to_path_buf();
        let writing = |e: std::io::Error| Error::writing(&shown, &e);
        let mut under_way =
            Builder::new().prefix(".autosave.").suffix(".part").tempfile_in(folder).map_err(writing)?;
        under_way.write_all(bytes).map_err(writing)?;
        under_way.as_file().sync_all().map_err(writing)?;
        let (held, path) = match name {
            Some(path) => {
                let held = Hold::on_new(&under_way, path, self.held.as_ref());
                put_in_place(under_way, path).map_err(writing)?;
                (held, path.to_path_buf())
            }
            None => loop {
                let path = folder.join(format!("{prefix}{}.json", fresh_id()));
                let held = Hold::on_new(&under_way, &path, None);
                match under_way.persist_noclobber(&path) {
                    Ok(_) => break (held, path),
                    Err(e) if e.error.kind() == std::io::ErrorKind::AlreadyExists => under_way = e.file,
                    Err(e) => return Err(writing(e.error)),
                }
            },
        };
        RealDisk.sync_folder(folder);
        self.held = held;
        self.path = Some(path);
        Ok(())
    }
}

/// Work left behind by a crash that belongs to this case file, latest first.
#[must_use]
pub fn leftovers_of(case_file: &Path) -> Vec<Leftover> {
    let case_file = std::path::absolute(case_file).unwrap_or_else(|_| case_file.to_path_buf());
    let beside = case_file.parent().map(Path::to_path_buf);
    let mut found = Vec::new();
    for folder in [beside, unsaved_folder()].into_iter().flatten() {
        let prefix = name_prefix(Some(&case_file));
        found.extend(autosaves_in(&folder, &prefix).filter_map(|path| leftover(&path, Some(&case_file))));
    }
    sorted(found)
}

/// Everything left behind that can be found at start: cases that never had a file, and the work on the cases
/// opened lately; latest first.
#[must_use]
pub fn leftovers_at_start() -> Vec<Leftover> {
    let mut found = Vec::new();
    if let Some(folder) = unsaved_folder() {
        found.extend(autosaves_in(&folder, "").filter_map(|path| leftover(&path, None)));
    }
    for case in home::recent_cases() {
        found.extend(leftovers_of(&case));
    }
    let mut seen = BTreeSet::new();
    found.retain(|leftover| seen.insert(leftover.path.clone()));
    sorted(found)
}

/// Autosaves of this case file that no window holds and that cannot be read, each as the error that says where
/// it lies and why.
#[must_use]
pub fn unreadable_of(case_file: &Path) -> Vec<Error> {
    let case_file = std::path::absolute(case_file).unwrap_or_else(|_| case_file.to_path_buf());
    let prefix = name_prefix(Some(&case_file));
    case_file
        .parent()
        .into_iter()
        .flat_map(|folder| autosaves_in(folder, &prefix))
        .filter_map(unreadable)
        .collect()
}

/// Autosaves that cannot be read among all that can be found at start.
#[must_use]
pub fn unreadable_at_start() -> Vec<Error> {
    let home = unsaved_folder().into_iter().flat_map(|folder| autosaves_in(&folder, ""));
    let beside = home::recent_cases().into_iter().flat_map(|case| unreadable_of(&case));
    home.filter_map(unreadable).chain(beside).collect()
}

#[expect(clippy::needless_pass_by_value, reason = "an item of an iterator of paths")]
fn unreadable(path: PathBuf) -> Option<Error> {
    let _alone = LOOKING.lock().unwrap_or_else(PoisonError::into_inner);
    let held = HoldAsked::of(&path);
    if matches!(held, HoldAsked::Elsewhere) {
        return None;
    }
    let bytes = match files::read(&path, case_file::MAX_BYTES) {
        Ok(bytes) => bytes,
        // Taken away meanwhile.
        Err(error) if error.kind == ErrorKind::Missing => return None,
        Err(error) => return Some(error),
    };
    case_file::from_bytes(&path, &bytes).err()
}

/// Throws a leftover away, after the user has said so.
///
/// # Errors
/// Says why the file could not be removed.
pub fn discard_leftover(leftover: &Leftover) -> Result<(), Error> {
    remove(&leftover.path)
}

/// The autosave as a leftover, if no window holds it and it says something the case file does not. One that says
/// the same is the trace of a crash after saving, and is taken away.
fn leftover(path: &Path, beside: Option<&Path>) -> Option<Leftover> {
    let _alone = LOOKING.lock().unwrap_or_else(PoisonError::into_inner);
    // Kept to the end, so that nobody else looks at it meanwhile.
    let held = HoldAsked::of(path);
    if matches!(held, HoldAsked::Elsewhere) {
        return None;
    }
    let bytes = files::read(path, case_file::MAX_BYTES).ok()?;
    let mut case = case_file::from_bytes(path, &bytes).ok()?;
    let origin: AutosaveOrigin =
        case.extra.0.remove(KEY).and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default();
    // A folder that was moved as a whole takes its autosaves along: the name beside decides, then the path inside.
    let is_beside = beside.is_some_and(|case_file| case_file.parent() == path.parent());
    let case_file = if is_beside { beside.map(Path::to_path_buf) } else { origin.file };
    if !is_beside && beside.is_some() && beside != case_file.as_deref() {
        return None;
    }
    let on_disk = case_file.as_deref().and_then(|file| files::read(file, case_file::MAX_BYTES).ok());
    if let (Some(file), Some(bytes)) = (case_file.as_deref(), on_disk.as_deref())
        && case_file::from_bytes(file, bytes).is_ok_and(|saved| saved == case)
    {
        let _ = std::fs::remove_file(path);
        return None;
    }
    let modified = |path: &Path| path.metadata().and_then(|found| found.modified()).ok();
    let written = modified(path);
    let case_written = case_file.as_deref().and_then(modified);
    let seen = origin.digest.as_deref().map(Seen::with_digest);
    Some(Leftover {
        path: path.to_path_buf(),
        case_file_unchanged: on_disk.as_deref().map(Seen::of) == seen,
        newer_than_case_file: written >= case_written,
        case_file,
        seen,
        case,
        written,
    })
}

fn sorted(mut found: Vec<Leftover>) -> Vec<Leftover> {
    found.sort_by(|a, b| b.written.cmp(&a.written).then_with(|| a.path.cmp(&b.path)));
    found
}

fn autosaves_in(folder: &Path, prefix: &str) -> impl Iterator<Item = PathBuf> + use<> {
    let prefix = prefix.to_owned();
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.map(|entry| entry.path()).filter(move |path| {
        let name = file_name(path);
        name.contains(INFIX) && name.starts_with(&prefix) && name.ends_with(".json")
    })
}

/// `a.case.json` → `a.case.autosave-`; a case without a file → `new.case.autosave-`.
fn name_prefix(case_file: Option<&Path>) -> String {
    let name = case_file.map_or_else(|| "new.case.json".to_owned(), file_name);
    format!("{}{INFIX}", name.strip_suffix(".json").unwrap_or(&name))
}

fn file_name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

fn unsaved_folder() -> Option<PathBuf> {
    let folder = home::data_dir()?.join(home::UNSAVED);
    std::fs::create_dir_all(&folder).ok()?;
    Some(folder)
}

/// An ending that no other window uses: the process and a number of its own.
fn fresh_id() -> String {
    use std::sync::atomic::{AtomicU64, Ordering};
    static NEXT: AtomicU64 = AtomicU64::new(1);
    format!("{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed))
}

fn remove(path: &Path) -> Result<(), Error> {
    match std::fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
            let text = "the autosave could not be deleted; delete it yourself once the case is saved";
            Err(Error { text: text.to_owned(), ..Error::writing(path, &e) })
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_who_look_at_the_same_time_both_find_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.case.json");
        let mut autosave = Autosave::new();
        autosave.write_or(&Case::default(), Some(&path), None, None).unwrap();
        // As a crash leaves it: there, and held by nobody.
        autosave.held = None;
        let look = || (0..200).filter(|_| leftovers_of(&path).is_empty()).count();
        let missed: usize = std::thread::scope(|scope| {
            let both = [scope.spawn(look), scope.spawn(look)];
            both.into_iter().map(|one| one.join().unwrap()).sum()
        });
        assert_eq!(missed, 0, "looks that found nothing");
    }

    #[test]
    fn without_any_folder_it_says_that_nothing_is_kept() {
        let mut autosave = Autosave::new();
        let error = autosave.write_or(&Case::default(), None, None, None).unwrap_err();
        assert!(error.text.contains("no folder"), "{error}");
        assert!(autosave.path().is_none());
    }
}
