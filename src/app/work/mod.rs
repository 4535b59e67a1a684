//! What is done away from the drawing thread: work as values ([`effect`]) with a sign to stop by ([`cancel`]), how each
//! is carried out ([`performer`]), what is said where the program fails at one ([`failure`]), what waits for its turn
//! (`lane`) beside work of another kind (`kind`) in lanes of their own ([`jobs`]), what the window says is under way
//! ([`under_way`]), all images ([`picture_store`]), and which of them are decoded and kept
//! ([`pictures`]).

pub mod cancel;
pub mod effect;
pub mod failure;
pub mod found;
pub mod jobs;
mod kind;
mod lane;
pub mod performer;
pub mod picture_store;
pub mod pictures;
pub mod soft;
pub mod under_way;
