//! Lists of digests among the program's own files: what is remembered without keeping a name.

use crate::io::files;
use crate::io::store::home::{data_dir, own_file, write_own};

/// A list, and the lock that writers of it take turns by.
#[derive(Clone, Copy, Debug)]
pub(super) struct DigestList {
    /// Its file, by name.
    pub(super) file: &'static str,
    /// The lock's file, by name.
    pub(super) lock: &'static str,
    /// How many are remembered; the oldest go first.
    pub(super) most: usize,
}

impl DigestList {
    /// The digests, the oldest first; a list that cannot be read is an empty one.
    pub(super) fn stored(&self) -> Vec<String> {
        let Some(folder) = data_dir() else { return Vec::new() };
        let bytes = files::read(&folder.join(self.file), 1_000_000).unwrap_or_default();
        String::from_utf8_lossy(&bytes).lines().map(str::to_owned).collect()
    }

    /// Adds digests at the end. A list that cannot be written costs a question in the next run, nothing else.
    pub(super) fn add(&self, digests: &[String]) {
        let Some(folder) = data_dir() else { return };
        // Two programs that write at the same time must not lose each other's line. Without a lock it is tried all the same.
        let turn = own_file(&folder.join(self.lock));
        if let Ok(turn) = &turn {
            let _ = turn.lock();
        }
        let mut all = self.stored();
        all.retain(|one| !digests.contains(one));
        all.extend_from_slice(digests);
        let from = all.len().saturating_sub(self.most);
        let _ = write_own(&folder.join(self.file), (all[from..].join("\n") + "\n").as_bytes());
    }
}
