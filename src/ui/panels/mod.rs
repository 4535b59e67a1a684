//! One file for each part of the window; each shows the state and says what was asked for.

pub mod budget;
pub mod help;
pub mod marks;
pub mod next;
pub mod notices;
pub mod question;
pub mod reading;
pub mod shot_line;
pub mod shots;
pub mod start;
pub mod toolbar;
