//! Questions across many readings and many cases; no files, no windows.
//!
//! Reading order: [`repeatability`] (how much of the scatter is the clicking), [`series`] (every body treated, with its
//! final reading), [`audit`] (what a series of them says).

pub mod audit;
pub mod repeatability;
pub mod series;
