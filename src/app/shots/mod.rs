//! The shots of a case: going from one to the next ([`navigation`]), which are listed and selected ([`selection`], [`select`]), the keys that label them ([`label_shots`]),
//! the partner in a matched pair ([`pairing`]), the frames of a file ([`frames`]), and how far a shot has come
//! ([`shot_summary`]).

pub mod frame_preview;
pub mod frames;
pub mod label_shots;
pub mod navigation;
pub mod pairing;
pub mod select;
pub mod selection;
pub mod shot_summary;
