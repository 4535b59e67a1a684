//! The edge: bytes in, bytes out. Everything that touches a file is here, and every failure is one sentence.
//!
//! Reading order: [`error`], [`files`], [`names`], [`import`] (pictures), [`case_file`] (text ↔ case), [`store`] (saving so
//! that nothing is lost), [`export`] (results as files), [`separated`] and [`readings_table`] (tables of repeated
//! readings), [`series`] (many case files), [`simulated`] (simulated series as files), [`keypoints`] (marks as open tables), [`clock`], [`dicom_codes`] (codes of objects for an archive).

pub mod case_file;
pub mod clock;
mod dicom_codes;
pub mod error;
pub mod export;
pub mod files;
pub mod import;
pub mod keypoints;
pub mod names;
pub mod readings_table;
mod separated;
pub mod series;
pub mod simulated;
pub mod store;
