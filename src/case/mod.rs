//! The document: shots with their marks, every change to them, and what is read from them.
//!
//! Reading order: [`document`], [`extra`], [`facts`], [`frame`], [`cover`], [`label`], [`field`], [`burned_in`], [`offered_scale`], [`figure_spec`], [`edit`], [`history`],
//! [`pairing`], [`map`], [`readings`], [`record`],
//! [`standing`], [`plan`], [`rows`], [`rereading`], [`carry`], [`duplicate`], [`taken`].

pub mod burned_in;
pub mod carry;
pub mod cover;
pub mod document;
pub mod duplicate;
pub mod edit;
pub mod extra;
pub mod facts;
pub mod field;
pub mod figure_spec;
pub mod frame;
pub mod history;
pub mod label;
pub mod map;
pub mod offered_scale;
pub mod pairing;
pub mod plan;
pub mod readings;
pub mod record;
pub mod rereading;
pub mod rows;
pub mod runs;
pub mod standing;
pub mod taken;
