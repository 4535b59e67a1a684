//! The keypoints of a case in a new folder: as a table and as JSON.

use std::path::{Path, PathBuf};

use crate::case::document::Case;
use crate::io::error::Error;
use crate::io::export::case_folder::{NotExported, free_parent};
use crate::io::keypoints::of_cases::of_cases;
use crate::io::keypoints::{coco, table};

/// Name of the table in the folder.
const TABLE: &str = "keypoints.csv";
/// Name of the JSON in the folder.
const JSON: &str = "keypoints.json";

/// Writes both into `folder`, which must not exist yet or be empty and appears whole or not at all.
///
/// # Errors
/// What stands in the way; nothing is left behind.
pub fn export_folder(case_file: &Path, case: &Case, folder: &Path) -> Result<(), NotExported> {
    let impossible = |error: Error| NotExported::Impossible(vec![error.to_string()]);
    let writing = |e: &std::io::Error| impossible(Error::writing(folder, e));
    let parent = free_parent(folder).map_err(impossible)?;
    let shots = of_cases(&[(PathBuf::from(case_file), case)]);
    if shots.is_empty() {
        let text = "no shot has marks that count, so there are no keypoints; mark a shot first";
        return Err(NotExported::Impossible(vec![text.to_owned()]));
    }
    let under_way =
        tempfile::Builder::new().prefix(".export-").tempdir_in(parent).map_err(|e| writing(&e))?;
    let inside = under_way.path().join("keypoints");
    std::fs::create_dir(&inside).map_err(|e| writing(&e))?;
    std::fs::write(inside.join(TABLE), table::text(&shots)).map_err(|e| writing(&e))?;
    std::fs::write(inside.join(JSON), coco::text(&shots)).map_err(|e| writing(&e))?;
    let _ = std::fs::remove_dir(folder);
    std::fs::rename(&inside, folder).map_err(|e| writing(&e))
}
