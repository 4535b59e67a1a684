//! Holding a file so that no other window or program works on it, and putting a new file in an old one's place. A hold goes
//! with the process, however it ends.
//!
//! Where locks keep nobody from reading (Unix), the lock is on the file itself. On Windows a lock keeps others from
//! reading, and a file that is held open is not replaced; there the hold is an empty hidden file beside it, which nobody
//! else can open while it is held and which the system deletes with its holder.

use std::fs::File;
use std::io;
use std::path::Path;
use std::sync::Arc;

use tempfile::NamedTempFile;

/// A file held by this process until the last copy is dropped.
#[derive(Clone, Debug)]
pub(super) struct Hold {
    _file: Arc<File>,
}

/// The answer to asking for a hold.
#[derive(Debug)]
pub(super) enum HoldAsked {
    /// It is free, and from now on held here.
    Here(Hold),
    /// Somebody else holds it.
    Elsewhere,
    /// There is nothing to hold, or no hold can be had on this kind of disk.
    Unknown,
}

impl HoldAsked {
    /// The hold, if it is ours.
    pub(super) fn here(self) -> Option<Hold> {
        match self {
            Self::Here(hold) => Some(hold),
            Self::Elsewhere | Self::Unknown => None,
        }
    }
}

/// How the names of files that are holds on Windows end: on a file that is open, on one that is being saved.
const OPEN: &str = ".open";
const SAVING: &str = ".saving";

/// Whether a file is only there to hold another.
pub(super) fn is_hold(path: &Path) -> bool {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    name.starts_with('.') && (name.ends_with(OPEN) || name.ends_with(SAVING))
}

/// Puts a finished file in the place of another, or of none.
#[cfg(unix)]
pub(super) fn put_in_place(under_way: NamedTempFile, target: &Path) -> io::Result<()> {
    under_way.persist(target).map(drop).map_err(|e| e.error)
}

/// Puts a finished file in the place of another, or of none. Somebody who looks at the other one at this moment, such as a
/// scanner for viruses, keeps Windows from replacing it, and is waited for.
#[cfg(windows)]
pub(super) fn put_in_place(under_way: NamedTempFile, target: &Path) -> io::Result<()> {
    use std::time::{Duration, Instant};
    const PATIENCE: Duration = Duration::from_secs(2);
    /// `ERROR_SHARING_VIOLATION`.
    const IN_USE: i32 = 32;
    let (file, path) = under_way.keep().map_err(|e| e.error)?;
    drop(file);
    let start = Instant::now();
    loop {
        let Err(error) = std::fs::rename(&path, target) else { return Ok(()) };
        let may_pass =
            error.kind() == io::ErrorKind::PermissionDenied || error.raw_os_error() == Some(IN_USE);
        if !may_pass || start.elapsed() > PATIENCE {
            let _ = std::fs::remove_file(&path);
            return Err(error);
        }
        std::thread::sleep(Duration::from_millis(10));
    }
}

#[cfg(unix)]
mod system {
    use std::fs::TryLockError;
    use std::os::unix::fs::MetadataExt as _;

    use super::{Arc, File, Hold, HoldAsked, NamedTempFile, Path};

    impl HoldAsked {
        /// Asks for a file that is there.
        pub(in crate::io::store) fn of(path: &Path) -> Self {
            // Asked first: opening a pipe would wait for its other end.
            if !std::fs::metadata(path).is_ok_and(|found| found.is_file()) {
                return Self::Unknown;
            }
            File::open(path).map_or(Self::Unknown, Self::lock)
        }

        /// Asks for the turn to replace a file that may be there. While one waits, the name may be given to a new file; that
        /// one is then to be asked for.
        pub(in crate::io::store) fn turn(target: &Path) -> Self {
            let held = Self::of(target);
            if let Self::Here(hold) = &held
                && let (Ok(held), Ok(now)) = (hold._file.metadata(), std::fs::metadata(target))
                && (held.dev(), held.ino()) != (now.dev(), now.ino())
            {
                return Self::Elsewhere;
            }
            held
        }

        fn lock(file: File) -> Self {
            match file.try_lock() {
                Ok(()) => Self::Here(Hold { _file: Arc::new(file) }),
                Err(TryLockError::WouldBlock) => Self::Elsewhere,
                Err(TryLockError::Error(_)) => Self::Unknown,
            }
        }
    }

    impl Hold {
        /// Holds a file that is about to get this name, so that nobody ever sees it without. `before` is the hold on what
        /// has the name now, if that is ours.
        pub(in crate::io::store) fn on_new(
            under_way: &NamedTempFile,
            _name: &Path,
            _before: Option<&Self>,
        ) -> Option<Self> {
            HoldAsked::lock(under_way.as_file().try_clone().ok()?).here()
        }
    }
}

#[cfg(windows)]
mod system {
    use std::ffi::OsString;
    use std::fs::OpenOptions;
    use std::os::windows::fs::OpenOptionsExt as _;

    use super::{Arc, Hold, HoldAsked, NamedTempFile, OPEN, Path, SAVING};

    // Win32 constants (winnt.h, winbase.h, winerror.h).
    const GENERIC_WRITE: u32 = 0x4000_0000;
    const DELETE: u32 = 0x0001_0000;
    const FILE_ATTRIBUTE_HIDDEN: u32 = 0x2;
    const FILE_FLAG_DELETE_ON_CLOSE: u32 = 0x0400_0000;
    const ERROR_SHARING_VIOLATION: i32 = 32;

    impl HoldAsked {
        /// Asks for a file that is there.
        pub(in crate::io::store) fn of(path: &Path) -> Self {
            if !std::fs::metadata(path).is_ok_and(|found| found.is_file()) {
                return Self::Unknown;
            }
            Self::beside(path, OPEN)
        }

        /// Asks for the turn to replace a file that may be there.
        pub(in crate::io::store) fn turn(target: &Path) -> Self {
            Self::beside(target, SAVING)
        }

        fn beside(path: &Path, ending: &str) -> Self {
            let Some(name) = path.file_name() else { return Self::Unknown };
            let mut beside = OsString::from(".");
            beside.push(name);
            beside.push(ending);
            let opened = OpenOptions::new()
                .write(true)
                .create(true)
                .truncate(false)
                .access_mode(GENERIC_WRITE | DELETE)
                .share_mode(0)
                .attributes(FILE_ATTRIBUTE_HIDDEN)
                .custom_flags(FILE_FLAG_DELETE_ON_CLOSE)
                .open(path.with_file_name(beside));
            match opened {
                Ok(file) => Self::Here(Hold { _file: Arc::new(file) }),
                Err(e) if e.raw_os_error() == Some(ERROR_SHARING_VIOLATION) => Self::Elsewhere,
                Err(_) => Self::Unknown,
            }
        }
    }

    impl Hold {
        /// Holds a file that is about to get this name, so that nobody ever sees it without. `before` is the hold on what
        /// has the name now, if that is ours.
        pub(in crate::io::store) fn on_new(
            _under_way: &NamedTempFile,
            name: &Path,
            before: Option<&Self>,
        ) -> Option<Self> {
            before.cloned().or_else(|| HoldAsked::beside(name, OPEN).here())
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use super::*;

    fn new_file(folder: &Path, text: &str) -> NamedTempFile {
        let mut file = NamedTempFile::new_in(folder).unwrap();
        file.write_all(text.as_bytes()).unwrap();
        file
    }

    #[test]
    fn what_is_held_can_be_read_and_replaced_and_is_free_once_let_go() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.json");
        let mut held: Option<Hold> = None;
        // Again and again over what is held, as unsaved work is kept.
        for text in ["one", "two", "three"] {
            let under_way = new_file(folder.path(), text);
            let now = Hold::on_new(&under_way, &path, held.as_ref());
            put_in_place(under_way, &path).unwrap();
            held = now;
            assert!(held.is_some(), "{text}");
            assert!(matches!(HoldAsked::of(&path), HoldAsked::Elsewhere), "{text}");
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
        drop(held);
        let HoldAsked::Here(mine) = HoldAsked::of(&path) else { panic!("it was let go") };
        assert!(matches!(HoldAsked::of(&path), HoldAsked::Elsewhere));
        drop(mine);
        let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().flatten().collect();
        assert_eq!(names.len(), 1, "nothing is left beside it: {names:?}");
        assert!(matches!(HoldAsked::of(&folder.path().join("none")), HoldAsked::Unknown));
        assert!(matches!(HoldAsked::of(folder.path()), HoldAsked::Unknown));
        assert!(is_hold(Path::new("x/.a.json.open")) && is_hold(Path::new(".a.case.json.saving")));
        assert!(!is_hold(Path::new("a.json.open")) && !is_hold(Path::new(".autosave.1.part")));
    }

    #[test]
    fn a_file_that_somebody_reads_is_replaced_all_the_same() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.json");
        std::fs::write(&path, "old").unwrap();
        let reader = File::open(&path).unwrap();
        put_in_place(new_file(folder.path(), "new"), &path).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "new");
        drop(reader);
    }

    #[test]
    fn one_has_the_turn_at_a_time() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.json");
        std::fs::write(&path, "old").unwrap();
        let HoldAsked::Here(turn) = HoldAsked::turn(&path) else { panic!("nobody else has it") };
        assert!(matches!(HoldAsked::turn(&path), HoldAsked::Elsewhere));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "old");
        drop(turn);
        assert!(HoldAsked::turn(&path).here().is_some());
    }
}
