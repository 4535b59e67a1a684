//! Opening, adding, saving, exporting and leaving: images that become shots
//! ([`add_images`]), a copy in a new folder ([`export`]), where and over what a case is saved ([`saving`]),
//! what becomes of unsaved work ([`leaving`]), and what is asked before ([`questions`]).

pub mod add_images;
pub mod export;
pub mod leaving;
pub mod questions;
pub mod saving;
