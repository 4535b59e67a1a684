//! The document: shots with their marks, every change to them, and what is read from them.
//!
//! Reading order: [`document`], [`facts`], [`frame`], [`field`], [`edit`], [`history`], [`pairing`], [`readings`],
//! [`standing`], [`plan`], [`carry`].

pub mod carry;
pub mod document;
pub mod edit;
pub mod facts;
pub mod field;
pub mod frame;
pub mod history;
pub mod pairing;
pub mod plan;
pub mod readings;
pub mod standing;
