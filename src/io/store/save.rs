//! Saving that is atomic and durable, and does not write over what someone else wrote.
//!
//! The new content goes into a file beside the old one, is synced, and is renamed over it; then the folder is
//! synced. Whenever the program or the machine stops, the name holds the whole old or the whole new content.
//! Two savers on one file take turns (`hold`), so that the second sees what the first wrote.

use std::fs::Metadata;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use crate::case::document::Case;
use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::names;
use crate::io::store::disk::{Disk, RealDisk};
use crate::io::store::hold::{Hold, HoldAsked};

/// How long a saver waits for another one of the same file.
const PATIENCE: Duration = Duration::from_secs(5);
/// Ending of a file under way.
const UNDER_WAY: &str = ".part";
/// Files under way that are older belong to a process that is gone.
const ABANDONED: Duration = Duration::from_secs(60);

/// A case with the file it came from.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// The case file.
    pub path: PathBuf,
    /// The case.
    pub case: Case,
    /// The file's content as it was opened, for [`Over::Seen`].
    pub seen: Seen,
}

/// The content of a file on disk as it was last read or written here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    digest: String,
}

/// What a save may write over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Over {
    /// Nothing: the name must be free.
    Nothing,
    /// The file as it was last seen, and nothing else.
    Seen(Seen),
    /// Whatever is there; only after the user has said so.
    Anything,
}

impl Seen {
    /// What was seen in a file with these bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self { digest: files::digest(bytes) }
    }

    /// The digest of the content, `sha256:` and 64 hexadecimal digits.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// The content with this digest.
    #[must_use]
    pub fn with_digest(digest: &str) -> Self {
        Self { digest: digest.to_owned() }
    }
}

/// Opens a case file of any version.
///
/// # Errors
/// One sentence that names the file, the field and the remedy.
pub fn open_case(path: &Path) -> Result<Opened, Error> {
    let bytes = files::read(path, case_file::MAX_BYTES)?;
    let case = case_file::from_bytes(path, &bytes)?;
    Ok(Opened { path: path.to_path_buf(), case, seen: Seen::of(&bytes) })
}

/// Saves a case; the file's permission bits are kept and a link's target is written.
///
/// # Errors
/// One sentence; the file on disk is then as it was. [`ErrorKind::Conflict`] says that it is not the one
/// `over` allows: ask, then save with [`Over::Anything`] or under another name.
pub fn save_case(path: &Path, case: &Case, over: &Over) -> Result<Seen, Error> {
    let text = case_file::to_text(path, case)?;
    write_file(path, text.as_bytes(), over)
}

/// The same for any file.
///
/// # Errors
/// As [`save_case`].
pub fn write_file(path: &Path, bytes: &[u8], over: &Over) -> Result<Seen, Error> {
    let target = link_target(path);
    // Held until the end of the save, on the file that is about to be replaced.
    let _turn = take_turn(path, &target)?;
    let old = check_old(path, &target, bytes, over)?;
    let mode = old.map_or(WriteMode::AsTheUserHasIt, |old| WriteMode::As(old.permissions()));
    sweep(&target);
    replace(&RealDisk, path, &target, bytes, (mode, over))?;
    Ok(Seen::of(bytes))
}

/// The same over whatever is there, in a file that only its owner can read.
///
/// # Errors
/// As [`save_case`].
pub(super) fn write_private(path: &Path, bytes: &[u8]) -> Result<Seen, Error> {
    let target = link_target(path);
    let _turn = take_turn(path, &target)?;
    check_old(path, &target, bytes, &Over::Anything)?;
    sweep(&target);
    replace(&RealDisk, path, &target, bytes, (WriteMode::OwnersOnly, &Over::Anything))?;
    Ok(Seen::of(bytes))
}

/// Who may read the file that is written.
pub(super) enum WriteMode {
    /// What the user's mask leaves.
    AsTheUserHasIt,
    /// As the file before it.
    As(std::fs::Permissions),
    /// Its owner.
    OwnersOnly,
}

/// The file that a name stands for, through any links; the name itself where there is none.
fn link_target(path: &Path) -> PathBuf {
    if let Ok(full) = std::fs::canonicalize(path) {
        return full;
    }
    // A link to a file that does not exist yet: the file is made where the link points.
    let mut target = path.to_path_buf();
    for _ in 0..40 {
        let Ok(next) = std::fs::read_link(&target) else { break };
        target = target.parent().unwrap_or_else(|| Path::new("")).join(next);
    }
    target
}

fn folder_of(target: &Path) -> &Path {
    match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Waits until no other saver is at work on the file. Where files cannot be held, or none is there, the digest check
/// alone stands.
fn take_turn(path: &Path, target: &Path) -> Result<Option<Hold>, Error> {
    let start = Instant::now();
    loop {
        match HoldAsked::turn(target) {
            HoldAsked::Here(hold) => return Ok(Some(hold)),
            HoldAsked::Unknown => return Ok(None),
            HoldAsked::Elsewhere if start.elapsed() > PATIENCE => {
                let text = "not saved, because another program is saving it now; try again";
                return Err(Error::new(ErrorKind::Busy, path, text));
            }
            HoldAsked::Elsewhere => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// Looks at what is to be replaced; `None` where there is nothing.
fn check_old(path: &Path, target: &Path, new: &[u8], over: &Over) -> Result<Option<Metadata>, Error> {
    let conflict = |text: &str| Error::new(ErrorKind::Conflict, path, text);
    if names::is_device_here(target) {
        let text = "not saved, because Windows keeps this name for a device; use another name";
        return Err(Error::new(ErrorKind::NotAFile, path, text));
    }
    let old = match std::fs::metadata(target) {
        Ok(old) => old,
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            return match over {
                Over::Seen(_) if folder_of(target).is_dir() => Err(conflict(
                    "not saved, because the file has been moved or deleted since it was opened; save it again, or save as a new file",
                )),
                _ => Ok(None),
            };
        }
        Err(e) => return Err(Error::writing(path, &e)),
    };
    if !old.is_file() {
        let text = "not saved, because a folder, pipe or device has this name; use another name";
        return Err(Error::new(ErrorKind::NotAFile, path, text));
    }
    // Renaming over a file asks only the folder, but a file marked read-only is meant to stay as it is.
    if old.permissions().readonly() {
        let text = "not saved, because the file is read-only; save as a new file, or make this one writable";
        return Err(Error::new(ErrorKind::NotAllowed, path, text));
    }
    match over {
        Over::Nothing => Err(conflict(
            "not saved, because a file with this name exists; use another name, or overwrite it",
        )),
        Over::Seen(seen) => {
            let found = files::read(target, u64::MAX).map_err(|e| Error { file: path.to_path_buf(), ..e })?;
            let same = files::digest(&found) == seen.digest || found == new;
            if same {
                return Ok(Some(old));
            }
            Err(conflict(
                "not saved, because someone else has changed the file since it was opened; save as a new file, or overwrite it",
            ))
        }
        Over::Anything => Ok(Some(old)),
    }
}

/// Writes and syncs the content in a file beside the target, puts it in the target's place, and makes the new name durable.
pub(super) fn replace<D: Disk>(
    disk: &D,
    path: &Path,
    target: &Path,
    bytes: &[u8],
    (mode, over): (WriteMode, &Over),
) -> Result<(), Error> {
    let writing = |e: io::Error| Error::writing(path, &e);
    let prefix = under_way_prefix(target);
    let hidden = matches!(mode, WriteMode::OwnersOnly);
    let mut under_way = disk.begin(folder_of(target), (&prefix, UNDER_WAY), hidden).map_err(writing)?;
    let mut rest = bytes;
    while !rest.is_empty() {
        match disk.write(&mut under_way, rest) {
            Ok(0) => return Err(writing(io::ErrorKind::WriteZero.into())),
            Ok(n) => rest = rest.get(n..).unwrap_or(&[]),
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(writing(e)),
        }
    }
    if let WriteMode::As(permissions) = mode {
        disk.permit(&under_way, permissions).map_err(writing)?;
    }
    disk.sync(&under_way).map_err(writing)?;
    let over = !matches!(over, Over::Nothing);
    disk.place(under_way, target, over).map_err(|e| {
        if e.kind() == io::ErrorKind::AlreadyExists {
            let text =
                "not saved, because someone else has just created a file with this name; use another name";
            return Error::new(ErrorKind::Conflict, path, text);
        }
        Error::writing(path, &e)
    })?;
    disk.sync_folder(folder_of(target));
    Ok(())
}

fn under_way_prefix(target: &Path) -> String {
    let name = target.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    format!(".{name}.")
}

/// Takes away what savers of this file that were killed have left under way.
fn sweep(target: &Path) {
    let prefix = under_way_prefix(target);
    let Ok(entries) = std::fs::read_dir(folder_of(target)) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if !name.starts_with(&prefix) || !name.ends_with(UNDER_WAY) {
            continue;
        }
        let changed = entry.metadata().and_then(|found| found.modified()).ok();
        let age = changed.and_then(|changed| SystemTime::now().duration_since(changed).ok());
        if age.is_some_and(|age| age > ABANDONED) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn titled(title: &str) -> Case {
        Case { title: Some(title.to_owned()), ..Case::default() }
    }

    #[test]
    fn a_save_is_read_back_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.case.json");
        let seen = save_case(&path, &titled("one"), &Over::Nothing).unwrap();
        let seen = save_case(&path, &titled("two"), &Over::Seen(seen.clone())).unwrap();
        let opened = open_case(&path).unwrap();
        assert_eq!((opened.case, opened.seen), (titled("two"), seen));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn anothers_change_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.case.json");
        let seen = save_case(&path, &titled("mine"), &Over::Nothing).unwrap();
        save_case(&path, &titled("theirs"), &Over::Seen(seen.clone())).unwrap();
        let refused = save_case(&path, &titled("mine again"), &Over::Seen(seen.clone())).unwrap_err();
        assert_eq!(refused.kind, ErrorKind::Conflict);
        assert_eq!(save_case(&path, &titled("new"), &Over::Nothing).unwrap_err().kind, ErrorKind::Conflict);
        assert_eq!(open_case(&path).unwrap().case, titled("theirs"));
        save_case(&path, &titled("mine again"), &Over::Anything).unwrap();
        assert_eq!(open_case(&path).unwrap().case, titled("mine again"));
        std::fs::remove_file(&path).unwrap();
        assert_eq!(
            save_case(&path, &titled("x"), &Over::Seen(seen.clone())).unwrap_err().kind,
            ErrorKind::Conflict
        );
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real.json"), folder.path().join("link.json"));
        std::os::unix::fs::symlink("real.json", &link).unwrap();
        save_case(&link, &titled("one"), &Over::Nothing).unwrap();
        std::fs::set_permissions(&real, std::fs::Permissions::from_mode(0o640)).unwrap();
        save_case(&link, &titled("two"), &Over::Anything).unwrap();
        assert!(link.symlink_metadata().unwrap().is_symlink());
        assert_eq!(open_case(&real).unwrap().case, titled("two"));
        assert_eq!(real.metadata().unwrap().permissions().mode() & 0o777, 0o640);
        std::fs::set_permissions(&real, std::fs::Permissions::from_mode(0o440)).unwrap();
        assert_eq!(save_case(&link, &titled("x"), &Over::Anything).unwrap_err().kind, ErrorKind::NotAllowed);
    }
}
