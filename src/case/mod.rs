//! The case: shots with their marks, every change to them, and what is read from them.
//!
//! Reading order: [`document`] (what a case file holds, and every change of it), [`annotation`] (teaching
//! annotations), [`image`] (what is read off pixels and file headers), [`plan`] (what is to be treated and which shots
//! belong together), [`readings`] (from a case to its readings).

pub mod annotation;
pub mod document;
pub mod image;
pub mod plan;
pub mod readings;
