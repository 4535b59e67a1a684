//! Questions across many readings and many cases; no files, no windows.
//!
//! Reading order: [`repeatability`] (how much of the scatter is the clicking).

pub mod repeatability;
