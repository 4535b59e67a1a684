//! The method, free of files, windows, clocks and randomness of its own.
//!
//! Reading order: [`mark`], [`settings`], [`issue`], [`quantity`], [`verdict`], [`reading`] say what there is;
//! [`body`] is the body map; `marked`, `gradient` and `view_part` carry uncertainty through it; [`lateral`]
//! reads a shot; `simulate` checks by simulation.

pub mod body;
mod gradient;
pub mod issue;
pub mod lateral;
pub mod mark;
pub mod marked;
pub mod quantity;
pub mod reading;
pub mod settings;
mod simulate;
pub mod verdict;
mod view_part;
