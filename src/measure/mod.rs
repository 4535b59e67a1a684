//! The method, free of files, windows, clocks and randomness of its own.
//!
//! Reading order: [`mark`], [`settings`], [`issue`], [`quantity`], [`verdict`], [`reading`],
//! [`body`].

pub mod body;
pub mod issue;
pub mod mark;
pub mod quantity;
pub mod reading;
pub mod settings;
pub mod verdict;
