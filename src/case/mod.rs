//! The document: shots with their marks, and every change to them.
//!
//! Reading order: [`document`], [`frame`], [`edit`], [`history`].

pub mod document;
pub mod edit;
pub mod frame;
pub mod history;
