//! Opening, adding, saving, exporting and leaving: images that become shots
//! ([`add_images`]), a copy in a new folder ([`export`]), where and over what a case is saved ([`saving`]),
//! and what becomes of unsaved work ([`leaving`]).

pub mod add_images;
pub mod export;
pub mod leaving;
pub mod saving;
