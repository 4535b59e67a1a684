//! A table or JSON of keypoints, checked, by its content.

use std::path::{Path, PathBuf};

use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::keypoints::mapping::Mapping;
use crate::io::keypoints::point::KeypointShot;
use crate::io::keypoints::{coco, table};

/// The largest table that is opened, in bytes.
const MAX_BYTES: u64 = 64_000_000;

/// Reads a table or JSON of keypoints, by its content; `mapping` says how others name things. Without one, a file of the
/// same name that ends in `.mapping.json` is used where it lies beside the table.
///
/// # Errors
/// One sentence that names the file, the place in it and what to do.
pub(super) fn read(path: &Path, mapping: Option<&Path>) -> Result<Vec<KeypointShot>, Error> {
    let bytes = files::read(path, MAX_BYTES)?;
    let damaged = |text: String| Error::new(ErrorKind::Damaged, path, text);
    let text = std::str::from_utf8(&bytes)
        .map_err(|_not_text| damaged("it is not text in UTF-8; save the table as CSV in UTF-8".to_owned()))?;
    let text = text.trim_start_matches('\u{feff}');
    let beside = path.with_extension("mapping.json");
    let mapping: Option<PathBuf> =
        mapping.map(Path::to_path_buf).or_else(|| beside.is_file().then_some(beside));
    let mapping = mapping.map_or_else(|| Ok(Mapping::default()), |file| Mapping::open(&file))?;
    let shots = if text.trim_start().starts_with('{') {
        coco::parse(text, &mapping)
    } else {
        table::parse(text, &mapping)
    };
    let mut shots = shots.map_err(damaged)?;
    if shots.iter().all(|shot| shot.points.is_empty()) {
        return Err(damaged("it holds no keypoints; check that it is the right file".to_owned()));
    }
    for shot in &mut shots {
        mapping.fill(shot).map_err(damaged)?;
        if shot.view.is_none() {
            let text = format!(
                "nothing says which view “{}” is; add a column “view” (lateral, ap or pedicle), or name it in the mapping",
                shot.image
            );
            return Err(damaged(text));
        }
        shot.points.sort_by_key(|point| point.at);
    }
    Ok(shots)
}
