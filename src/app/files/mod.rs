//! Opening, adding, saving, exporting and leaving: commands on files and what comes of file work
//! ([`file_commands`]), images that become shots ([`add_images`]), where and over what a case is saved ([`saving`]),
//! and what becomes of unsaved work ([`leaving`]).

pub mod add_images;
pub mod file_commands;
pub mod leaving;
pub mod saving;
