//! Questions across many readings and many cases; no files, no windows.
//!
//! Reading order: [`repeatability`] (how much of the scatter is the clicking), [`places`] and [`mark_spread`] (how far
//! the marks themselves scatter), [`own_error`] (that in place of the settings), [`rereading`] (both, from blind readings), [`practice`] (marks against known truth), [`series`] (every body treated, with its
//! final reading), [`selection`] (which of them are looked at), [`audit`] (what a series of them says).

pub mod audit;
pub mod mark_spread;
pub mod own_error;
pub mod places;
pub mod practice;
pub mod repeatability;
pub mod rereading;
pub mod selection;
pub mod series;
