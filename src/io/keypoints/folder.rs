//! The keypoints of a case in a new folder: as a table and as JSON.

use std::path::Path;

use crate::case::document::Case;
use crate::io::export::case_folder::{NotExported, free_parent};
use crate::io::export::new_folder::write_folder;
use crate::io::keypoints::of_cases::{NamedCase, of_cases, own_names};
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
    // Said before images are opened for nothing.
    free_parent(folder).map_err(|error| NotExported::Impossible(vec![error.to_string()]))?;
    let name = own_names(&[case_file]).concat();
    let shots = of_cases(&[NamedCase { name, path: case_file, case }]);
    if shots.is_empty() {
        let text = "no shot has marks that count, so there are no keypoints; mark a shot first";
        return Err(NotExported::Impossible(vec![text.to_owned()]));
    }
    let files = [(TABLE, table::text(&shots)), (JSON, coco::text(&shots))];
    write_folder(folder, &files.map(|(name, text)| (name.to_owned(), text.into_bytes())))
}
