//! The marks of many cases as keypoints, and marks out of keypoints: one open table (CSV), or JSON laid out as in the COCO
//! data set, which training tools read.
//!
//! Reading order: [`point`] (what a keypoint is), [`of_cases`](mod@of_cases) (out of cases), [`columns`] and [`table`] (as CSV), [`coco`] (as JSON),
//! [`mapping`] (how others name things), [`mod@read`] (a file of either kind), [`found`] (into a case), [`folder`] (both files
//! in a new folder).

mod coco;
mod columns;
mod folder;
mod found;
mod mapping;
mod of_cases;
mod point;
mod read;
mod table;

pub use crate::io::keypoints::coco::text as coco_text;
pub use crate::io::keypoints::columns::COLUMNS;
pub use crate::io::keypoints::folder::export_folder;
pub use crate::io::keypoints::found::{FoundMarks, case_of, found_for};
pub use crate::io::keypoints::of_cases::{NamedCase, of_cases, own_names};
pub use crate::io::keypoints::point::{Keypoint, KeypointShot};
pub use crate::io::keypoints::table::text as table_text;
