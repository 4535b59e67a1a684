//! What the window needs of the system on Linux, and a sentence that names what is missing.
//!
//! The libraries are loaded by name once the window opens, so no loader tells of them before; each is looked for where
//! the system keeps libraries, and the package that brings it is named. The same packages stand in README.md and in the
//! package that is installed (`.ci/package.sh`); a test holds the three together.

use std::path::{Path, PathBuf};

/// Libraries by file name, each with the Debian package that brings it.
pub const LIBRARIES: [(&str, &str); 5] = [
    ("libGL.so.1", "libgl1"),
    ("libEGL.so.1", "libegl1"),
    ("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
    ("libXcursor.so.1", "libxcursor1"),
    ("libXi.so.6", "libxi6"),
];

/// A sentence that says which packages to install, if a library of [`LIBRARIES`] is not there.
#[must_use]
pub fn missing(there: impl Fn(&str) -> bool) -> Option<String> {
    let packages: Vec<&str> =
        LIBRARIES.iter().filter(|(file, _)| !there(file)).map(|(_, package)| *package).collect();
    (!packages.is_empty()).then(|| {
        format!(
            "a library of the system is missing; on Debian or Ubuntu install it with: sudo apt install {}",
            packages.join(" ")
        )
    })
}

/// Whether a library of this file name is in one of these folders.
#[must_use]
pub fn found_in(folders: &[PathBuf], file: &str) -> bool {
    folders.iter().any(|folder| folder.join(file).exists())
}

/// Where this system keeps libraries: the usual folders, and one level below them for the machine's own.
#[must_use]
pub fn library_folders() -> Vec<PathBuf> {
    let usual = ["/lib", "/lib64", "/usr/lib", "/usr/lib64", "/usr/local/lib"].map(PathBuf::from);
    let named = std::env::var_os("LD_LIBRARY_PATH").unwrap_or_default();
    let mut folders: Vec<PathBuf> = std::env::split_paths(&named).collect();
    for folder in usual {
        folders.extend(below(&folder));
        folders.push(folder);
    }
    folders
}

fn below(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.map(|entry| entry.path()).filter(|path| path.is_dir()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_packages_of_missing_libraries_are_named() {
        let all = missing(|_| false).expect("a sentence");
        assert!(LIBRARIES.iter().all(|(_, package)| all.contains(package)), "{all}");
        let one = missing(|file| file != "libGL.so.1").expect("a sentence");
        assert!(one.ends_with("sudo apt install libgl1"), "{one}");
        assert_eq!(missing(|_| true), None);
    }

    #[test]
    fn nothing_is_found_in_no_folder() {
        assert!(!found_in(&[], "libGL.so.1"));
    }
}
