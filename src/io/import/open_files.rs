//! Files of pictures that are open, shared by all that read pictures: each is read and hashed once, however many of
//! its frames are asked for at the same time, and what was decoded on opening is not decoded again.
//!
//! What stays open is held to a limit in bytes, and whoever keeps the memory for pictures is told how much it is.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError, Weak};
use std::time::SystemTime;

use crate::case::image::frame::Frame;
use crate::io::error::Error;
use crate::io::files;
use crate::io::import::source::Source;

/// What may stay open until somebody says otherwise, in bytes: a quarter of the usual memory for pictures.
pub const USUAL_LIMIT: usize = 256 << 20;

/// The open files.
#[derive(Debug)]
pub struct OpenFiles {
    inner: Mutex<Inner>,
    opened: Condvar,
}

#[derive(Debug)]
struct Inner {
    /// The one used last at the end.
    files: Vec<Open>,
    /// Files that somebody is reading just now.
    reading: BTreeSet<PathBuf>,
    limit: usize,
    told: usize,
}

#[derive(Debug)]
struct Open {
    path: PathBuf,
    seen: (u64, SystemTime),
    /// Whoever works with it has it, even where there is no room to keep it.
    source: Weak<Source>,
    kept: Option<Arc<Source>>,
    /// Its first frame, where it has been decoded and nobody has taken it yet.
    first: Option<Frame>,
}

impl Default for OpenFiles {
    fn default() -> Self {
        let inner = Inner { files: Vec::new(), reading: BTreeSet::new(), limit: USUAL_LIMIT, told: 0 };
        Self { inner: Mutex::new(inner), opened: Condvar::new() }
    }
}

impl Open {
    fn bytes(&self) -> usize {
        self.kept.as_ref().map_or(0, |source| source.bytes()) + self.first.as_ref().map_or(0, Frame::bytes)
    }
}

impl Inner {
    fn bytes(&self) -> usize {
        self.files.iter().map(Open::bytes).sum()
    }

    /// Lets go of what was used longest ago until the rest fits.
    fn spare(&mut self) {
        while self.bytes() > self.limit && !self.files.is_empty() {
            self.files.remove(0);
        }
        self.files.retain(|open| open.kept.is_some() || open.source.strong_count() > 0);
    }
}

/// Takes a path off the list of those being read, also where reading fails.
struct PathUnderRead<'a>(&'a OpenFiles, &'a Path);

impl Drop for PathUnderRead<'_> {
    fn drop(&mut self) {
        self.0.lock().reading.remove(self.1);
        self.0.opened.notify_all();
    }
}

impl OpenFiles {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Up to so many bytes may stay open.
    pub fn limit(&self, bytes: usize) {
        let mut inner = self.lock();
        inner.limit = bytes;
        inner.spare();
    }

    /// How many bytes are kept open, if that has changed since it was last told.
    pub fn news(&self) -> Option<usize> {
        let mut inner = self.lock();
        let bytes = inner.bytes();
        let changed = inner.told != bytes;
        inner.told = bytes;
        changed.then_some(bytes)
    }

    /// Opens a file to look at it before its pictures are asked for, and decodes its first frame where that is wanted.
    /// It stays open until then, as far as there is room.
    ///
    /// # Errors
    /// One sentence that names the file and says why it cannot be opened.
    pub fn look(&self, path: &Path, decoded: bool) -> Result<Arc<Source>, Error> {
        let source = self.source(path)?;
        let first = if decoded { Some(source.frame(0)?) } else { None };
        let mut inner = self.lock();
        let bytes = source.bytes() + first.as_ref().map_or(0, Frame::bytes);
        let room = inner.limit.saturating_sub(inner.bytes());
        if let Some(open) = inner.files.iter_mut().find(|open| open.path == path)
            && bytes <= room
        {
            open.kept = Some(Arc::clone(&source));
            open.first = first;
        }
        Ok(source)
    }

    /// A frame of a file. A file of several frames stays open for the next of them, so that looking through frames
    /// does not read it again and again; a still does not.
    ///
    /// # Errors
    /// One sentence that names the file and says why it, or this frame of it, cannot be opened.
    pub fn frame(&self, path: &Path, frame: u32) -> Result<Frame, Error> {
        let source = self.source(path)?;
        let mut inner = self.lock();
        let mut ready = None;
        if let Some(at) = inner.files.iter().position(|open| open.path == path) {
            let mut open = inner.files.remove(at);
            if frame == 0 {
                ready = open.first.take();
            }
            let film = source.frames() > 1 && source.bytes() <= inner.limit;
            open.kept = film.then(|| Arc::clone(&source));
            inner.files.push(open);
            inner.spare();
        }
        drop(inner);
        ready.map_or_else(|| source.frame(frame), Ok)
    }

    /// The file as it is on the disk now, read by one while all others wait for it.
    fn source(&self, path: &Path) -> Result<Arc<Source>, Error> {
        let mut inner = self.lock();
        while inner.reading.contains(path) {
            inner = self.opened.wait(inner).unwrap_or_else(PoisonError::into_inner);
        }
        let seen = files::size_and_time(path);
        if let Some(at) = inner.files.iter().position(|open| open.path == path) {
            let open = &inner.files[at];
            if Some(open.seen) == seen
                && let Some(source) = open.source.upgrade()
            {
                return Ok(source);
            }
            inner.files.remove(at);
        }
        inner.reading.insert(path.to_path_buf());
        drop(inner);
        let reading = PathUnderRead(self, path);
        let source = Arc::new(Source::open(path)?);
        // One that changed while it was read is read again the next time.
        if let Some(seen) = seen.filter(|seen| files::size_and_time(path) == Some(*seen)) {
            let open = Open {
                path: path.to_path_buf(),
                seen,
                source: Arc::downgrade(&source),
                kept: None,
                first: None,
            };
            self.lock().files.push(open);
        }
        drop(reading);
        Ok(source)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(folder: &Path, name: &str, side: u32) -> PathBuf {
        let path = folder.join(name);
        image::GrayImage::new(side, side).save(&path).unwrap();
        path
    }

    #[test]
    fn what_was_looked_at_is_not_read_or_decoded_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = picture(folder.path(), "a.png", 64);
        let files = OpenFiles::default();
        let digest = files.look(&path, true).unwrap().digest().to_owned();
        assert!(files.news().unwrap() >= 64 * 64);
        // The file's bytes are damaged, but not its size and time: whoever reads it again would fail.
        let written = std::fs::metadata(&path).unwrap().modified().unwrap();
        let bytes = std::fs::read(&path).unwrap();
        std::fs::write(&path, vec![0; bytes.len()]).unwrap();
        std::fs::File::options().write(true).open(&path).unwrap().set_modified(written).unwrap();
        let frame = files.frame(&path, 0).unwrap();
        assert_eq!((frame.width, frame.digest.to_string()), (64, digest));
        assert_eq!(files.news(), Some(0), "a still is let go once it is decoded");
        assert!(files.frame(&path, 0).is_err(), "now it is read again");
    }

    #[test]
    fn a_changed_file_is_read_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = picture(folder.path(), "a.png", 64);
        let files = OpenFiles::default();
        files.look(&path, true).unwrap();
        picture(folder.path(), "a.png", 65);
        assert_eq!(files.frame(&path, 0).unwrap().width, 65);
    }

    #[test]
    fn no_more_stays_open_than_there_is_room_for() {
        let folder = tempfile::tempdir().unwrap();
        let files = OpenFiles::default();
        files.limit(200 * 200 + 5000);
        for name in ["a.png", "b.png", "c.png"] {
            files.look(&picture(folder.path(), name, 200), true).unwrap();
        }
        let held = files.news().unwrap();
        assert!((200 * 200..200 * 200 + 5000).contains(&held), "one of three fits: {held}");
        files.limit(1000);
        assert_eq!(files.news(), Some(0));
    }

    #[test]
    fn a_file_that_cannot_be_read_keeps_nobody_waiting() {
        let files = OpenFiles::default();
        for _ in 0..2 {
            assert!(files.frame(Path::new("/no/such/picture.png"), 0).is_err());
        }
    }
}
