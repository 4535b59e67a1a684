//! The document: shots with their marks, every change to them, and what is read from them.
//!
//! Reading order: [`document`], [`frame`], [`edit`], [`history`], [`pairing`], [`readings`].

pub mod document;
pub mod edit;
pub mod frame;
pub mod history;
pub mod pairing;
pub mod readings;
