//! Behavior without a window: what is open, what a user can ask for, and what follows.
//!
//! Reading order: [`session`] (everything the window knows, and how a command changes it), [`command`] (what can be
//! asked for, with its key), [`marking`] (placing, moving and copying marks), [`shots`] (selecting, labeling and
//! matching shots, their frames), [`files`] (opening, adding, saving, leaving), [`display`] (zoom, orientation, window
//! and level, reading lines), [`annotation`] (annotations, redaction, scale), [`pages`] (what fills the middle instead
//! of the image), [`work`] (what is done away from the drawing thread).

pub mod annotation;
pub mod command;
pub mod display;
pub mod files;
pub mod marking;
pub mod pages;
pub mod session;
pub mod shots;
pub mod work;
