//! What is done away from the drawing thread: file work as values ([`effect`]), its lanes ([`jobs`]), how each is
//! carried out ([`performer`]), and which images are decoded and kept ([`pictures`]).

pub mod effect;
pub mod jobs;
pub mod performer;
pub mod pictures;
