//! One file for each part of the window; each shows the state and says what was asked for.

pub mod aside;
pub mod budget;
pub mod detail;
pub mod drawings;
pub mod frames;
pub mod help;
mod labels;
pub mod ladder;
pub mod marks;
pub mod next;
pub mod notices;
pub mod pair;
pub mod question;
pub mod reading;
pub mod rows;
pub mod settings;
pub mod shot_line;
pub mod sort;
pub mod start;
pub mod toolbar;
