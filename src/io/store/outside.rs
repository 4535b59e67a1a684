//! Images outside the folder of their case: by an absolute path, on another computer, or up and out with `..`. A case file may
//! come from anybody, and opening what it names can reach into places that its writer only guesses, or to another computer.
//! So such an image is opened only where the user of this computer has said so, for this case and that folder.
//!
//! What was allowed is kept as digests of the case's path and the folder, so that the list holds no name.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{PoisonError, RwLock};

use crate::case::document::Case;
use crate::io::files;
use crate::io::store::digest_list::DigestList;
use crate::io::store::home::{ALLOWED, ALLOWED_LOCK};

/// What was allowed, by digest; `None` until the list has been read.
static KNOWN: RwLock<Option<BTreeSet<String>>> = RwLock::new(None);
/// Digests that were made already, by case and folder: the window asks for every shot on every frame.
static KEYS: RwLock<BTreeMap<PathBuf, BTreeMap<PathBuf, String>>> = RwLock::new(BTreeMap::new());
/// Whether all is allowed, for this run of the command line.
static EVERYTHING: AtomicBool = AtomicBool::new(false);
/// Where it is kept. Older answers are asked for again.
const LIST: DigestList = DigestList { file: ALLOWED, lock: ALLOWED_LOCK, most: 5_000 };

/// Where the image of a shot lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum ImagePlace {
    /// In the case's folder or below, or wherever the user chose it for a case that has no file yet.
    Inside(PathBuf),
    /// Elsewhere; the path holds no `..` any more.
    Outside(PathBuf),
    /// At no place that can be told.
    Nowhere,
}

/// Where the image lies that a case file names so. Only the names are looked at, not the disk: a link inside the folder was
/// made by whoever owns the disk.
pub(super) fn place(case_file: &Path, image: &Path) -> ImagePlace {
    let without_file = case_file.as_os_str().is_empty();
    let folder = case_file.parent().unwrap_or_else(|| Path::new(""));
    if image.is_absolute() {
        let plain = plain(image);
        return if without_file || plain.starts_with(self::plain(folder)) {
            ImagePlace::Inside(plain)
        } else {
            ImagePlace::Outside(plain)
        };
    }
    let mut depth = 0_usize;
    for part in image.components() {
        match part {
            Component::Normal(_) => depth += 1,
            Component::CurDir => {}
            Component::ParentDir if depth > 0 => depth -= 1,
            Component::ParentDir if without_file => return ImagePlace::Nowhere,
            Component::ParentDir => return ImagePlace::Outside(plain(&folder.join(image))),
            // A drive without its root, or a root without its drive.
            Component::RootDir | Component::Prefix(_) => return ImagePlace::Nowhere,
        }
    }
    ImagePlace::Inside(folder.join(image))
}

/// The absolute path without `.` and `..`, by its names alone.
fn plain(path: &Path) -> PathBuf {
    let here = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    let absolute = std::path::absolute(here).unwrap_or_else(|_| here.to_path_buf());
    let mut plain = PathBuf::new();
    for part in absolute.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            Component::Normal(_) | Component::RootDir | Component::Prefix(_) => plain.push(part),
        }
    }
    plain
}

/// The digest that stands for a case and a folder.
fn key(case_file: &Path, folder: &Path) -> String {
    let parts = [plain(case_file), plain(folder)].map(|path| path.as_os_str().as_encoded_bytes().to_vec());
    files::digest(&parts.join(&0))
}

/// Whether this image outside the case's folder may be opened.
pub(super) fn is_allowed(case_file: &Path, picture: &Path) -> bool {
    if EVERYTHING.load(Ordering::Relaxed) {
        return true;
    }
    let Some(folder) = picture.parent() else { return false };
    let keys = KEYS.read().unwrap_or_else(PoisonError::into_inner);
    if let Some(key) = keys.get(case_file).and_then(|of_case| of_case.get(folder)) {
        return is_known(key);
    }
    drop(keys);
    let key = key(case_file, folder);
    let known = is_known(&key);
    let mut keys = KEYS.write().unwrap_or_else(PoisonError::into_inner);
    keys.entry(case_file.to_path_buf()).or_default().insert(folder.to_path_buf(), key);
    known
}

/// Whether a case and a folder stand in the list.
fn is_known(key: &str) -> bool {
    if let Some(known) = KNOWN.read().unwrap_or_else(PoisonError::into_inner).as_ref() {
        return known.contains(key);
    }
    let mut known = KNOWN.write().unwrap_or_else(PoisonError::into_inner);
    known.get_or_insert_with(|| LIST.stored().into_iter().collect()).contains(key)
}

/// The folders outside the case's own that hold images of the case and have not been allowed, in order.
#[must_use]
pub fn unasked(case_file: &Path, case: &Case) -> Vec<PathBuf> {
    let folder = |image: &str| match place(case_file, Path::new(image)) {
        ImagePlace::Outside(path) if !is_allowed(case_file, &path) => path.parent().map(Path::to_path_buf),
        ImagePlace::Outside(_) | ImagePlace::Inside(_) | ImagePlace::Nowhere => None,
    };
    let folders: BTreeSet<PathBuf> = case.shots.iter().filter_map(|shot| folder(&shot.image)).collect();
    folders.into_iter().collect()
}

/// The folder of an image, if it lies outside the folder of this case file.
pub(super) fn folder_outside(case_file: &Path, picture: &Path) -> Option<PathBuf> {
    match place(case_file, &plain(picture)) {
        ImagePlace::Outside(path) => path.parent().map(Path::to_path_buf),
        ImagePlace::Inside(_) | ImagePlace::Nowhere => None,
    }
}

/// Allows images in these folders for a case, until the program ends.
pub fn allow_now(case_file: &Path, folders: &[PathBuf]) {
    let mut known = KNOWN.write().unwrap_or_else(PoisonError::into_inner);
    let known = known.get_or_insert_with(|| LIST.stored().into_iter().collect());
    known.extend(folders.iter().map(|folder| key(case_file, folder)));
}

/// Allows images in these folders for a case, and remembers it on this computer. A list that cannot be written costs a
/// question the next time.
pub fn allow(case_file: &Path, folders: &[PathBuf]) {
    if folders.is_empty() {
        return;
    }
    allow_now(case_file, folders);
    let keys: Vec<String> = folders.iter().map(|folder| key(case_file, folder)).collect();
    LIST.add(&keys);
}

/// Allows every image of every case until the program ends: the user of the command line has said so.
pub fn allow_everything() {
    EVERYTHING.store(true, Ordering::Relaxed);
}

/// Forgets what was allowed; the list itself is deleted with the other files that are kept.
pub(super) fn forget() {
    *KNOWN.write().unwrap_or_else(PoisonError::into_inner) = Some(BTreeSet::new());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Shot;
    use crate::measure::mark::View;

    fn placed(image: &str) -> ImagePlace {
        place(Path::new("/cases/one/a.case.json"), Path::new(image))
    }

    #[cfg(unix)]
    #[test]
    fn names_alone_tell_where_an_image_lies() {
        let inside = |path: &str| ImagePlace::Inside(PathBuf::from(path));
        let outside = |path: &str| ImagePlace::Outside(PathBuf::from(path));
        assert_eq!(placed("b.png"), inside("/cases/one/b.png"));
        assert_eq!(placed("x/../b.png"), inside("/cases/one/x/../b.png"));
        assert_eq!(placed("/cases/one/x/b.png"), inside("/cases/one/x/b.png"));
        assert_eq!(placed("../b.png"), outside("/cases/b.png"));
        assert_eq!(placed("x/../../two/b.png"), outside("/cases/two/b.png"));
        assert_eq!(placed("/cases/one/../two/b.png"), outside("/cases/two/b.png"));
        assert_eq!(placed("/cases/oneself/b.png"), outside("/cases/oneself/b.png"));
        assert_eq!(placed("../../../../../etc/b.png"), outside("/etc/b.png"));
        // Without a file the user has chosen every image.
        assert_eq!(place(Path::new(""), Path::new("/x/b.png")), inside("/x/b.png"));
        assert_eq!(place(Path::new(""), Path::new("../b.png")), ImagePlace::Nowhere);
    }

    #[cfg(windows)]
    #[test]
    fn drives_and_other_computers_are_outside() {
        let case = Path::new(r"C:\cases\one\a.case.json");
        for far in [r"\\server\share\b.png", r"D:\b.png", r"C:\cases\two\b.png", r"\\.\pipe\b.png"] {
            assert!(matches!(place(case, Path::new(far)), ImagePlace::Outside(_)), "{far}");
        }
        for nowhere in [r"C:b.png", r"\b.png"] {
            assert_eq!(place(case, Path::new(nowhere)), ImagePlace::Nowhere, "{nowhere}");
        }
    }

    #[test]
    fn what_is_allowed_holds_for_one_case_and_one_folder() {
        let at = |name: &str| std::path::absolute(Path::new("/outside-test")).unwrap().join(name);
        let (case_file, other) = (at("one/a.case.json"), at("one/b.case.json"));
        let mut case = Case::default();
        for (id, image) in [("a", at("far/a.png")), ("b", at("far/deep/b.png")), ("c", at("one/c.png"))] {
            case.shots.push(Shot::new(id, image.to_str().unwrap(), View::Lateral));
        }
        assert_eq!(unasked(&case_file, &case), [at("far"), at("far/deep")]);
        allow_now(&case_file, &[at("far")]);
        assert_eq!(unasked(&case_file, &case), [at("far/deep")]);
        assert!(is_allowed(&case_file, &at("far/x.png")) && !is_allowed(&other, &at("far/x.png")));
    }
}
