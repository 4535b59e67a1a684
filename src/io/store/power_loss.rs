//! Saving on a disk that fails: every step fails in turn, writes are shortened, and the power goes at every point, when of what
//! was not synced any part may be on the disk, in any order. After each the name holds the whole old content or the whole new
//! one.
//!
//! The disk here is harsher than a real one: names and contents reach it independently of each other, whatever came first.

#[cfg(test)]
mod tests {
    use std::cell::{Cell, RefCell};
    use std::collections::BTreeMap;
    use std::fs::Permissions;
    use std::io;
    use std::path::Path;

    use crate::io::error::{Error, ErrorKind};
    use crate::io::store::disk::Disk;
    use crate::io::store::save::{Over, WriteMode, replace};

    const OLD: &[u8] = b"the old content, which is somewhat longer than the new one";
    const NEW: &[u8] = b"the new content, in several writes";
    /// The name that is saved under, in a folder of the disk.
    const NAME: &str = "a.case.json";
    /// How many bytes a write takes at most.
    const PIECE: usize = 13;

    /// A change that was asked for and has not reached the disk for certain.
    #[derive(Clone, Debug, PartialEq)]
    enum Pending {
        Made { name: String, file: usize },
        Wrote { file: usize, at: usize, bytes: Vec<u8> },
        Named { from: String, to: String, file: usize },
        Removed { name: String },
    }

    /// What is on the disk.
    #[derive(Clone, Debug, Default, PartialEq)]
    struct DiskContent {
        names: BTreeMap<String, usize>,
        files: BTreeMap<usize, Vec<u8>>,
    }

    impl DiskContent {
        fn take(&mut self, change: &Pending) {
            match change {
                Pending::Made { name, file } => {
                    self.names.insert(name.clone(), *file);
                    self.files.entry(*file).or_default();
                }
                Pending::Wrote { file, at, bytes } => {
                    let content = self.files.entry(*file).or_default();
                    // A hole before what was written reads as zeros.
                    if content.len() < at + bytes.len() {
                        content.resize(at + bytes.len(), 0);
                    }
                    content[*at..at + bytes.len()].copy_from_slice(bytes);
                }
                Pending::Named { from, to, file } => {
                    if self.names.get(from) == Some(file) {
                        self.names.remove(from);
                    }
                    self.names.insert(to.clone(), *file);
                    self.files.entry(*file).or_default();
                }
                Pending::Removed { name } => drop(self.names.remove(name)),
            }
        }

        fn read(&self, name: &str) -> Option<&[u8]> {
            self.names.get(name).and_then(|file| self.files.get(file)).map(Vec::as_slice)
        }
    }

    /// What a step does instead of what it should.
    #[derive(Clone, Copy, Debug, PartialEq)]
    enum DiskFault {
        None,
        /// The step with this number fails.
        Fails(usize, io::ErrorKind),
        /// Every write takes a single byte.
        ShortWrites,
        /// The sync of the file returns at once and does nothing: a disk that lies.
        SyncLies,
    }

    #[derive(Debug)]
    struct FaultyDisk {
        fault: DiskFault,
        /// As it looks to a program.
        seen: RefCell<DiskContent>,
        /// As it is for certain.
        certain: RefCell<DiskContent>,
        pending: RefCell<Vec<Pending>>,
        step: Cell<usize>,
        /// What the power may leave at each point that was passed: what is certain, and what may be there beside it.
        points: RefCell<Vec<(DiskContent, Vec<Pending>)>>,
    }

    /// A file under way; taken away when it is dropped, as the real one is.
    struct FileOnTrial<'a> {
        disk: &'a FaultyDisk,
        name: String,
        file: usize,
        length: usize,
        placed: bool,
    }

    impl Drop for FileOnTrial<'_> {
        fn drop(&mut self) {
            if !self.placed {
                self.disk.ask(Pending::Removed { name: self.name.clone() });
            }
        }
    }

    impl FaultyDisk {
        fn new(fault: DiskFault, old: Option<&[u8]>) -> Self {
            let mut content = DiskContent::default();
            if let Some(old) = old {
                content.names.insert(NAME.to_owned(), 1);
                content.files.insert(1, old.to_vec());
            }
            Self {
                fault,
                seen: RefCell::new(content.clone()),
                certain: RefCell::new(content),
                pending: RefCell::default(),
                step: Cell::new(0),
                points: RefCell::default(),
            }
        }

        /// Passes a point at which the power may go, and fails if it is this step's turn.
        fn step(&self) -> io::Result<()> {
            self.points.borrow_mut().push((self.certain.borrow().clone(), self.pending.borrow().clone()));
            let now = self.step.get();
            self.step.set(now + 1);
            match self.fault {
                DiskFault::Fails(at, kind) if at == now => Err(kind.into()),
                _ => Ok(()),
            }
        }

        fn ask(&self, change: Pending) {
            self.seen.borrow_mut().take(&change);
            self.pending.borrow_mut().push(change);
        }

        /// What is pending and concerned by a sync lies on the disk now.
        fn settle(&self, concerned: impl Fn(&Pending) -> bool) {
            let (now, later): (Vec<_>, Vec<_>) = self.pending.borrow_mut().drain(..).partition(concerned);
            now.iter().for_each(|change| self.certain.borrow_mut().take(change));
            *self.pending.borrow_mut() = later;
        }

        /// Everything that may be found after the power has gone at a point: of the pending changes any, and of writes also half.
        fn after_power_loss(&self) -> Vec<DiskContent> {
            let mut found = Vec::new();
            for (certain, pending) in self.points.borrow().iter() {
                let choices = |change: &Pending| if matches!(change, Pending::Wrote { .. }) { 3 } else { 2 };
                let all: usize = pending.iter().map(choices).product();
                for mut choice in 0..all {
                    let mut content = certain.clone();
                    for change in pending {
                        let way = choice % choices(change);
                        choice /= choices(change);
                        match (way, change) {
                            (0, _) => {}
                            (2, Pending::Wrote { file, at, bytes }) => {
                                let half = bytes[..bytes.len() / 2].to_vec();
                                content.take(&Pending::Wrote { file: *file, at: *at, bytes: half });
                            }
                            _ => content.take(change),
                        }
                    }
                    found.push(content);
                }
            }
            found
        }

        fn save(&self, over: &Over) -> Result<(), Error> {
            let path = Path::new("folder").join(NAME);
            let done = replace(&self, &path, &path, NEW, (WriteMode::AsTheUserHasIt, over));
            // The power may go when all is done, too.
            let _ = self.step();
            done
        }
    }

    impl<'a> Disk for &'a FaultyDisk {
        type UnderWay = FileOnTrial<'a>;

        fn begin(&self, _folder: &Path, name: (&str, &str), _hidden: bool) -> io::Result<FileOnTrial<'a>> {
            self.step()?;
            let name = format!("{}x{}", name.0, name.1);
            self.ask(Pending::Made { name: name.clone(), file: 2 });
            Ok(FileOnTrial { disk: self, name, file: 2, length: 0, placed: false })
        }

        fn write(&self, file: &mut FileOnTrial<'a>, bytes: &[u8]) -> io::Result<usize> {
            self.step()?;
            let most = if self.fault == DiskFault::ShortWrites { 1 } else { PIECE };
            let bytes = bytes[..bytes.len().min(most)].to_vec();
            let written = bytes.len();
            // With many pending pieces there are too many ways to lose them: what is written byte by byte is one piece.
            if self.fault == DiskFault::ShortWrites {
                self.settle(|change| matches!(change, Pending::Wrote { .. }));
            }
            self.ask(Pending::Wrote { file: file.file, at: file.length, bytes });
            file.length += written;
            Ok(written)
        }

        fn permit(&self, _file: &FileOnTrial<'a>, _permissions: Permissions) -> io::Result<()> {
            self.step()
        }

        fn sync(&self, file: &FileOnTrial<'a>) -> io::Result<()> {
            self.step()?;
            if self.fault != DiskFault::SyncLies {
                self.settle(|change| matches!(change, Pending::Wrote { file: of, .. } if *of == file.file));
            }
            Ok(())
        }

        fn place(&self, mut file: FileOnTrial<'a>, name: &Path, over: bool) -> io::Result<()> {
            self.step()?;
            let to = name.file_name().unwrap_or_default().to_string_lossy().into_owned();
            if !over && self.seen.borrow().names.contains_key(&to) {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            file.placed = true;
            self.ask(Pending::Named { from: file.name.clone(), to, file: file.file });
            Ok(())
        }

        fn sync_folder(&self, _folder: &Path) {
            if self.step().is_ok() {
                self.settle(|change| !matches!(change, Pending::Wrote { .. }));
            }
        }
    }

    /// How many of the contents that the power may leave hold neither the whole old nor the whole new one.
    fn torn(disk: &FaultyDisk, old: Option<&[u8]>) -> (usize, usize) {
        let found = disk.after_power_loss();
        let torn = found.iter().filter(|content| {
            let now = content.read(NAME);
            now != old && now != Some(NEW)
        });
        (found.len(), torn.count())
    }

    #[test]
    fn when_the_power_goes_the_file_is_whole_old_or_new() {
        for (old, over) in [(Some(OLD), Over::Anything), (None, Over::Nothing)] {
            for fault in [DiskFault::None, DiskFault::ShortWrites] {
                let disk = FaultyDisk::new(fault, old);
                disk.save(&over).unwrap();
                let (tried, torn) = torn(&disk, old);
                assert!(tried > 50, "{tried} ways for the power to go");
                assert_eq!(torn, 0, "of {tried}, {fault:?}");
                // Once the save has returned, the new content is there whatever happens.
                let (certain, pending) = disk.points.borrow().last().cloned().unwrap();
                assert_eq!((certain.read(NAME), pending), (Some(NEW), Vec::new()));
            }
        }
    }

    /// Shows that the check above can fail: a disk whose sync does nothing tears files, and nothing can be done about it.
    #[test]
    fn a_disk_that_lies_about_syncing_is_found_out() {
        let disk = FaultyDisk::new(DiskFault::SyncLies, Some(OLD));
        disk.save(&Over::Anything).unwrap();
        assert!(torn(&disk, Some(OLD)).1 > 0);
    }

    #[test]
    fn when_a_step_fails_it_is_told_and_the_old_file_is_whole() {
        let steps = {
            let disk = FaultyDisk::new(DiskFault::None, Some(OLD));
            disk.save(&Over::Anything).unwrap();
            disk.step.get() - 1
        };
        assert!(steps >= 7, "{steps} steps: beginning, three writes, syncing, placing, syncing the folder");
        for kind in [io::ErrorKind::Other, io::ErrorKind::StorageFull, io::ErrorKind::PermissionDenied] {
            for at in 0..steps {
                let disk = FaultyDisk::new(DiskFault::Fails(at, kind), Some(OLD));
                let done = disk.save(&Over::Anything);
                let now = disk.seen.borrow().read(NAME).map(<[u8]>::to_vec);
                if at == steps - 1 {
                    // A folder that cannot be synced is no failed save: the content is in place.
                    assert!(done.is_ok() && now.as_deref() == Some(NEW));
                } else {
                    let error = done.unwrap_err();
                    assert!(error.text.starts_with("not saved, because "), "{error}");
                    if kind == io::ErrorKind::StorageFull {
                        assert_eq!(error.kind, ErrorKind::Full);
                    }
                    assert_eq!(now.as_deref(), Some(OLD), "step {at}");
                    assert_eq!(disk.seen.borrow().names.len(), 1, "step {at}: nothing is left under way");
                }
                assert_eq!(torn(&disk, Some(OLD)).1, 0, "step {at}, {kind:?}, and then the power");
            }
        }
        // A name that somebody has just taken is left to them.
        let disk = FaultyDisk::new(DiskFault::None, Some(OLD));
        assert_eq!(disk.save(&Over::Nothing).unwrap_err().kind, ErrorKind::Conflict);
        assert_eq!(disk.seen.borrow().read(NAME), Some(OLD));
    }
}
