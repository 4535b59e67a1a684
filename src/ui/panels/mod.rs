//! One file for each part of the window; each shows the state and says what was asked for.

pub mod about;
mod annotations;
pub mod budget;
pub mod detail;
mod dicom;
pub mod drawings;
mod film;
pub mod frames;
pub mod help;
pub mod label_shots;
pub mod levels;
pub mod levels_strip;
pub mod marks;
pub mod next;
pub mod notices;
pub mod pair;
pub mod question;
pub mod reading;
pub mod redaction_and_scale;
pub mod rows;
pub mod settings;
pub mod shot_line;
pub mod start;
mod straighten;
pub mod toolbar;
mod true_view;
