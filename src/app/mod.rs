//! Behaviour without a window: what is open, what a user can ask for, and what follows.
//!
//! Reading order: [`state`], [`document`], [`guide`], [`glance`], [`key`], [`command`], [`entries`],
//! [`update`], [`marking`], [`tool`], [`viewport`], [`filing`], [`adding`], [`pictures`], [`prompt`], [`effect`],
//! [`perform`], [`jobs`].

pub mod adding;
pub mod command;
pub mod document;
pub mod effect;
pub mod entries;
pub mod filing;
pub mod glance;
pub mod guide;
pub mod jobs;
pub mod key;
pub mod marking;
pub mod perform;
pub mod pictures;
pub mod prompt;
pub mod state;
pub mod tool;
pub mod update;
pub mod viewport;
