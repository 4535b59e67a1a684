//! From a shot to its picture and back.
//!
//! A shot names its picture relative to the case file, `/` between parts, inside the case's folder. Where the user chooses a
//! picture elsewhere, its absolute path is kept. One outside the folder is opened only where the user of this computer has
//! said so ([`super::outside`]); on another computer, also where the case file lies there.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::align::softness::soft_marks;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::case::image::frame::Frame;
use crate::case::readings::{CaseReadings, Picture, read_case};
use crate::io::error::Error;
use crate::io::import::source::Source;
use crate::io::names;
use crate::io::store::outside::{self, ImagePlace};
use crate::measure::reading::MonteCarlo;

/// Where a shot's picture is.
///
/// # Errors
/// A sentence, if the name is empty, or lies outside the case's folder and has not been allowed.
pub fn picture_path(case_file: &Path, image: &str) -> Result<PathBuf, String> {
    if image.trim().is_empty() {
        return Err("The shot has no image file.".to_owned());
    }
    let named = Path::new(image);
    if names::is_device_here(named) {
        return Err(format!(
            "The image “{image}” has a name that Windows keeps for a device; rename the file, and locate it again."
        ));
    }
    let name = named.file_name().unwrap_or_default().to_string_lossy();
    // Without a case file the images are those that the user has just chosen.
    let there = names::server(image).filter(|_| !case_file.as_os_str().is_empty());
    let case_is_there = there.is_some() && names::server(&case_file.to_string_lossy()) == there;
    if let Some(there) = there
        && (there.is_empty() || !(case_is_there || outside::is_allowed(case_file, named)))
    {
        return Err(format!(
            "The image “{name}” is on another computer and is not opened, because a case file must not contact one; copy it into the case folder and locate it again."
        ));
    }
    match outside::place(case_file, named) {
        ImagePlace::Inside(path) => Ok(path),
        ImagePlace::Outside(path) if case_is_there || outside::is_allowed(case_file, &path) => Ok(path),
        ImagePlace::Outside(_) | ImagePlace::Nowhere => Err(format!(
            "The image “{name}” is outside the case folder and is not opened; copy it into the folder, locate it again, or open the case again in the window, which asks about it (on the command line: --outside-images)."
        )),
    }
}

/// Where the pictures of a case are, as far as their names can be followed.
#[must_use]
pub fn picture_paths(case_file: &Path, case: &Case) -> Vec<PathBuf> {
    case.shots.iter().filter_map(|shot| picture_path(case_file, &shot.image).ok()).collect()
}

/// How a case file names a picture: relative with `/` if it lies in the case's folder or below, else by its
/// absolute path. Without a case file yet, always absolute.
#[must_use]
pub fn picture_name(case_file: Option<&Path>, picture: &Path) -> String {
    let full = |path: &Path| {
        std::fs::canonicalize(path)
            .map(names::as_written)
            .or_else(|_| std::path::absolute(path))
            .unwrap_or_else(|_| path.to_path_buf())
    };
    let picture = full(picture);
    let folder = case_file.map(|file| match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => full(folder),
        _ => full(Path::new(".")),
    });
    let inside = folder.and_then(|folder| picture.strip_prefix(folder).ok().map(Path::to_path_buf));
    match inside {
        Some(inside) => {
            let parts: Vec<_> = inside.components().map(|c| c.as_os_str().to_string_lossy()).collect();
            parts.join("/")
        }
        None => picture.to_string_lossy().into_owned(),
    }
}

/// The edits that keep every shot's picture the same when a case moves from one file to another, or gets its
/// first file.
#[must_use]
pub fn renamed_pictures(case: &Case, from: Option<&Path>, to: &Path) -> Vec<Edit> {
    let base = from.unwrap_or_else(|| Path::new(""));
    let mut edits = Vec::new();
    for shot in &case.shots {
        let Ok(path) = picture_path(base, &shot.image) else { continue };
        let image = picture_name(Some(to), &path);
        if image != shot.image {
            edits.push(Edit::Describe { shot: shot.id.clone(), what: Description::Image(image) });
        }
    }
    edits
}

/// The folders of images that can be opened now and lie outside the folder of `to`: they are to be allowed there too when the
/// case goes from one file to another, or gets its first file.
#[must_use]
pub fn taken_along(case: &Case, from: Option<&Path>, to: &Path) -> Vec<PathBuf> {
    let from = from.unwrap_or_else(|| Path::new(""));
    let folder = |shot: &Shot| outside::folder_outside(to, &picture_path(from, &shot.image).ok()?);
    let folders: BTreeSet<PathBuf> = case.shots.iter().filter_map(folder).collect();
    folders.into_iter().collect()
}

/// A shot's picture as it was found, and what there is to say about its file.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundPicture {
    /// What a reading needs to know.
    pub picture: Picture,
    /// Why it cannot be opened, or warnings such as that it is cut short; whole sentences.
    pub said: Vec<String>,
}

/// Opens a shot's picture.
///
/// # Errors
/// A sentence that says why it cannot be opened.
pub fn open_picture(case_file: &Path, shot: &Shot) -> Result<Frame, String> {
    let path = picture_path(case_file, &shot.image)?;
    let sentence = |error: Error| format!("The image “{}” cannot be opened ({}).", shot.image, error.text);
    Source::open(&path).and_then(|source| source.frame(shot.frame)).map_err(sentence)
}

/// Looks at a shot's picture.
#[must_use]
pub fn picture_of(case_file: &Path, shot: &Shot) -> FoundPicture {
    let missing = || FoundPicture { picture: Picture::Missing, said: Vec::new() };
    found_of(case_file, &[shot]).pop().unwrap_or_else(missing)
}

/// Looks at the one picture that all of these shots show.
fn found_of(case_file: &Path, shots: &[&Shot]) -> Vec<FoundPicture> {
    let Some(shot) = shots.first() else { return Vec::new() };
    let missing = |sentence: String| {
        let found = FoundPicture { picture: Picture::Missing, said: vec![sentence] };
        vec![found; shots.len()]
    };
    let path = match picture_path(case_file, &shot.image) {
        Ok(path) => path,
        Err(sentence) => return missing(sentence),
    };
    match Source::open(&path).and_then(|source| source.frame(shot.frame)) {
        Ok(frame) => {
            let found = |shot: &&Shot| FoundPicture {
                picture: Picture::of(&frame, soft_marks(&frame, shot)),
                said: frame.warnings.clone(),
            };
            shots.iter().map(found).collect()
        }
        Err(error) => missing(format!(
            "The image “{}” cannot be opened ({}); the marks are still read.",
            shot.image, error.text
        )),
    }
}

/// The same for all shots of a case, in their order; each picture is opened once, for all shots that show it.
#[must_use]
pub fn pictures_of(case_file: &Path, case: &Case) -> Vec<FoundPicture> {
    let mut shown: BTreeMap<(&str, u32), Vec<usize>> = BTreeMap::new();
    for (index, shot) in case.shots.iter().enumerate() {
        shown.entry((&shot.image, shot.frame)).or_default().push(index);
    }
    let mut found: BTreeMap<usize, FoundPicture> = BTreeMap::new();
    for indices in shown.into_values() {
        let shots: Vec<&Shot> = indices.iter().map(|&index| &case.shots[index]).collect();
        found.extend(indices.into_iter().zip(found_of(case_file, &shots)));
    }
    found.into_values().collect()
}

/// Reads a case with the pictures that its file names, and says what there is to say of each picture, in the order of the
/// shots.
#[must_use]
pub fn read_with_pictures(
    case_file: &Path,
    case: &Case,
    monte_carlo: Option<MonteCarlo>,
) -> (CaseReadings, Vec<FoundPicture>) {
    let found = pictures_of(case_file, case);
    let known: BTreeMap<&str, &Picture> =
        case.shots.iter().zip(&found).map(|(shot, found)| (shot.id.as_str(), &found.picture)).collect();
    let picture = |shot: &Shot| known.get(shot.id.as_str()).copied().cloned().unwrap_or(Picture::NotLookedAt);
    let readings = read_case(case, picture, monte_carlo);
    (readings, found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn images_outside_the_folder_are_opened_only_where_that_was_allowed() {
        let case = Path::new("folder/a.case.json");
        assert_eq!(picture_path(case, "images/a.png").unwrap(), Path::new("folder/images/a.png"));
        assert!(picture_path(case, "images/../a.png").is_ok());
        let far = std::path::absolute("folder-of-somebody/a.png").unwrap();
        for bad in ["../folder-of-somebody/a.png", "images/../../a.png", "", " ", far.to_str().unwrap()] {
            let said = picture_path(case, bad).unwrap_err();
            assert!(!said.contains("somebody"), "the file's name alone is told: {said}");
        }
        outside::allow_now(case, &[far.parent().unwrap().to_path_buf()]);
        assert_eq!(picture_path(case, far.to_str().unwrap()).unwrap(), far);
        assert_eq!(picture_path(case, "../folder-of-somebody/a.png").unwrap(), far);
        assert!(picture_path(case, "../b.png").is_err());
        // Without a case file there is nobody else's.
        assert_eq!(picture_path(Path::new(""), far.to_str().unwrap()).unwrap(), far);
    }

    #[test]
    fn a_case_that_moves_takes_along_what_could_be_opened() {
        let at = |name: &str| std::path::absolute(Path::new("moving-case")).unwrap().join(name);
        let (from, to) = (at("one/a.case.json"), at("two/a.case.json"));
        let mut case = Case::default();
        for (id, image) in [("a", at("far/a.png")), ("b", at("deep/b.png")), ("c", at("one/c.png"))] {
            case.shots.push(Shot::new(id, image.to_str().unwrap(), crate::measure::mark::View::Lateral));
        }
        outside::allow_now(&from, &[at("far")]);
        assert_eq!(taken_along(&case, Some(&from), &to), [at("far"), at("one")]);
        assert_eq!(taken_along(&case, None, &to), [at("deep"), at("far"), at("one")]);
    }

    #[test]
    fn no_case_file_makes_this_computer_contact_another() {
        let case = Path::new("folder/a.case.json");
        for bad in
            [r"\\server\share\a.png", "//server/share/a.png", r"\\?\UNC\server\share\a.png", r"\\.\pipe\a"]
        {
            let said = picture_path(case, bad).unwrap_err();
            assert!(said.contains("another computer") && said.contains("locate it again"), "{said}");
        }
        // A case that lies on that computer has contacted it already; one without a file names what the user chose.
        let there = Path::new(r"\\Server\share\a.case.json");
        assert!(picture_path(there, r"\\server\other\a.png").is_ok());
        assert!(picture_path(there, r"\\elsewhere\other\a.png").is_err());
        assert!(picture_path(there, r"\\.\pipe\a").is_err());
        assert!(picture_path(Path::new(""), r"\\server\share\a.png").is_ok());
    }

    #[test]
    fn a_device_is_no_image_on_windows() {
        let said = picture_path(Path::new("folder/a.case.json"), "images/NUL.png");
        assert_eq!(said.is_err(), cfg!(windows), "{said:?}");
    }

    #[test]
    fn names_are_relative_inside_the_folder_only() {
        let folder = tempfile::tempdir().unwrap();
        let inside = folder.path().join("images/a.png");
        std::fs::create_dir(folder.path().join("images")).unwrap();
        std::fs::write(&inside, b"").unwrap();
        assert_eq!(picture_name(Some(&folder.path().join("a.case.json")), &inside), "images/a.png");
        let elsewhere = picture_name(Some(&folder.path().join("images/b/c.json")), &inside);
        assert!(Path::new(&elsewhere).is_absolute());
        assert!(Path::new(&picture_name(None, &inside)).is_absolute());
    }
}
