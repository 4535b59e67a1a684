//! The steps by which a file is replaced, as a disk takes them: each may fail, and what was written but not synced may be lost, in
//! any order, when the power goes. The tests of saving put a disk in the place of the real one that does just that.

use std::fs::{File, Permissions};
use std::io::{self, Write as _};
use std::path::Path;

use tempfile::{Builder, NamedTempFile};

use crate::io::store::hold::put_in_place;

/// A disk, as far as saving needs one.
pub(super) trait Disk {
    /// A file under way beside the one that it will replace. Dropped, it is taken away.
    type UnderWay;

    /// Makes an empty file in the folder, named by what the name begins and ends with; readable by its owner only if `hidden`.
    fn begin(&self, folder: &Path, name: (&str, &str), hidden: bool) -> io::Result<Self::UnderWay>;
    /// Writes at the end of the file, and says how much.
    fn write(&self, file: &mut Self::UnderWay, bytes: &[u8]) -> io::Result<usize>;
    /// Gives the file these permissions.
    fn permit(&self, file: &Self::UnderWay, permissions: Permissions) -> io::Result<()>;
    /// Returns once what was written lies on the disk.
    fn sync(&self, file: &Self::UnderWay) -> io::Result<()>;
    /// Gives the file the name, in one step; fails if the name is taken and `over` is not set.
    fn place(&self, file: Self::UnderWay, name: &Path, over: bool) -> io::Result<()>;
    /// Returns once the folder's names lie on the disk, where the file system can do that.
    fn sync_folder(&self, folder: &Path);
}

/// The disk of this computer.
#[derive(Clone, Copy, Debug)]
pub(super) struct RealDisk;

impl Disk for RealDisk {
    type UnderWay = NamedTempFile;

    fn begin(&self, folder: &Path, name: (&str, &str), hidden: bool) -> io::Result<NamedTempFile> {
        let mut builder = Builder::new();
        builder.prefix(name.0).suffix(name.1);
        // A new file gets what the user's mask leaves; the maker's own default would hide it from everyone else.
        #[cfg(unix)]
        if !hidden {
            builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        }
        #[cfg(not(unix))]
        let _ = hidden;
        builder.tempfile_in(folder)
    }

    fn write(&self, file: &mut NamedTempFile, bytes: &[u8]) -> io::Result<usize> {
        file.write(bytes)
    }

    fn permit(&self, file: &NamedTempFile, permissions: Permissions) -> io::Result<()> {
        file.as_file().set_permissions(permissions)
    }

    fn sync(&self, file: &NamedTempFile) -> io::Result<()> {
        file.as_file().sync_all()
    }

    fn place(&self, file: NamedTempFile, name: &Path, over: bool) -> io::Result<()> {
        if over {
            put_in_place(file, name)
        } else {
            file.persist_noclobber(name).map(drop).map_err(|e| e.error)
        }
    }

    /// The content is in place by now; a file system that cannot sync a folder has its own way, so a refusal is not
    /// reported as a failed save.
    fn sync_folder(&self, folder: &Path) {
        if cfg!(unix)
            && let Ok(folder) = File::open(folder)
        {
            let _ = folder.sync_all();
        }
    }
}
