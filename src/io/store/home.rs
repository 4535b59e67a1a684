//! The application's own folder, and the cases opened lately.

use std::path::{Path, PathBuf};

use directories::ProjectDirs;

use crate::io::error::Error;
use crate::io::files;
use crate::io::store::save::write_private;

/// The environment variable that names another folder for the application's own files.
pub const DATA_DIR_VARIABLE: &str = "STILLMARK_DATA_DIR";
/// The list of recent cases.
const RECENT: &str = "recent.json";
/// Practice exercises.
pub(super) const PRACTICE: &str = "practice.json";
/// The cache of series.
pub(crate) const SERIES: &str = "series.json";
/// Digests of results that were written, and the lock of that list.
pub(super) const WRITTEN: &str = "written.txt";
pub(super) const WRITTEN_LOCK: &str = "written.lock";
/// Digests of folders outside their case from which images may be opened, and the lock of that list.
pub(super) const ALLOWED: &str = "allowed.txt";
pub(super) const ALLOWED_LOCK: &str = "allowed.lock";
/// How the window was left.
pub const WINDOW: &str = "app.ron";
/// The files that the program keeps in its folder; unsaved work has a folder of its own in it.
pub(super) const FILES: [&str; 8] =
    [RECENT, PRACTICE, SERIES, WRITTEN, WRITTEN_LOCK, ALLOWED, ALLOWED_LOCK, WINDOW];
/// The folder of unsaved work.
pub(super) const UNSAVED: &str = "unsaved";
/// How many cases are remembered.
const REMEMBERED: usize = 20;

/// The application's own folder, made if it is not there; `None` on a system that has no place for one.
#[must_use]
pub fn data_dir() -> Option<PathBuf> {
    let named = std::env::var_os(DATA_DIR_VARIABLE).filter(|name| !name.is_empty()).map(PathBuf::from);
    let folder = named.or_else(|| Some(ProjectDirs::from("", "", "stillmark")?.data_dir().to_path_buf()))?;
    if !folder.is_dir() {
        std::fs::create_dir_all(&folder).ok()?;
        // Whoever shares the machine need not see it. What cannot be hidden still works.
        #[cfg(unix)]
        let _ = std::fs::set_permissions(&folder, std::os::unix::fs::PermissionsExt::from_mode(0o700));
    }
    Some(folder)
}

/// Opens one of the application's own files, made if it is not there, and keeps it readable by its owner only; what is in it
/// stays.
///
/// # Errors
/// As the system says.
pub(crate) fn own_file(path: &Path) -> std::io::Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.create(true).truncate(false).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let file = options.open(path)?;
    #[cfg(unix)]
    file.set_permissions(std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    Ok(file)
}

/// Writes one of the application's own files, readable by its owner only.
///
/// # Errors
/// Says why it could not be written; what was there is then as it was.
pub fn write_own(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    write_private(path, bytes).map(drop)
}

/// The cases opened lately, latest first; those that are gone are left out. A list that cannot be read is an
/// empty one: it holds no work.
#[must_use]
pub fn recent_cases() -> Vec<PathBuf> {
    stored().into_iter().filter(|path| path.is_file()).collect()
}

/// Puts a case at the head of the list.
///
/// # Errors
/// Says why the list could not be written.
pub fn remember_case(path: &Path) -> Result<(), Error> {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let mut list = stored();
    list.retain(|other| *other != path);
    list.insert(0, path);
    list.truncate(REMEMBERED);
    store(&list)
}

/// Takes a case off the list.
///
/// # Errors
/// Says why the list could not be written.
pub fn forget_case(path: &Path) -> Result<(), Error> {
    let mut list = stored();
    list.retain(|other| other != path);
    store(&list)
}

fn list_file() -> Option<PathBuf> {
    Some(data_dir()?.join(RECENT))
}

fn stored() -> Vec<PathBuf> {
    let Some(path) = list_file() else { return Vec::new() };
    let Ok(bytes) = files::read(&path, 1_000_000) else { return Vec::new() };
    let names: Vec<String> = serde_json::from_slice(&bytes).unwrap_or_default();
    names.into_iter().map(PathBuf::from).collect()
}

fn store(list: &[PathBuf]) -> Result<(), Error> {
    let Some(path) = list_file() else { return Ok(()) };
    // A name that is not text cannot be written; such a case is not remembered.
    let names: Vec<&str> = list.iter().filter_map(|path| path.to_str()).collect();
    let text = serde_json::to_string_pretty(&names).unwrap_or_default();
    write_own(&path, text.as_bytes())
}
