//! Opening, adding, saving, exporting and leaving: images that become shots
//! ([`add_images`]), what is dropped on the window (`dropped`), images that come without a file (`received`, [`received_image`]), a copy in a new folder ([`export`], [`export_form`]), marks out of a table (`keypoints`), where and over what a case is saved ([`saving`]), unsaved work kept beside it (`autosave`),
//! what becomes of unsaved work ([`leaving`]), images outside a case's folder (`outside_images`), and what is asked before ([`questions`]).

pub mod add_images;
pub(crate) mod autosave;
pub(crate) mod dropped;
pub mod export;
pub mod export_form;
pub(crate) mod keypoints;
pub mod leaving;
pub(crate) mod outside_images;
pub mod own_folder;
pub mod questions;
pub(crate) mod received;
pub mod received_image;
pub mod saving;
