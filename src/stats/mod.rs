//! Pure functions over numbers; each cites its source.
//!
//! Reading order: [`normal`], [`summary`].

pub mod normal;
pub mod summary;
