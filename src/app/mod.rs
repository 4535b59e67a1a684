//! Behaviour without a window: what is open, what a user can ask for, and what follows.
//!
//! Reading order: [`state`], [`document`], [`guide`], [`glance`], [`details`], [`key`], [`command`], [`entries`],
//! [`update`], [`choosing`], [`sorting`], [`marking`], [`labelling`], [`carrying`], [`partner`], [`remedy`], [`fields`],
//! [`tool`], [`viewport`], [`filing`], [`leaving`], [`saving`], [`adding`], [`pictures`], [`browsing`], [`prompt`], [`desk`], [`effect`],
//! [`perform`], [`jobs`].

pub mod adding;
pub mod aside;
pub mod aspect;
pub mod browsing;
pub mod carrying;
pub mod choosing;
pub mod command;
pub mod desk;
pub mod details;
pub mod document;
pub mod effect;
pub mod entries;
pub mod fields;
pub mod filing;
pub mod glance;
pub mod guide;
pub mod jobs;
pub mod key;
pub mod labelling;
pub mod leaving;
pub mod marking;
pub mod pages;
pub mod partner;
pub mod perform;
pub mod pictures;
pub mod prompt;
pub mod remedy;
pub mod saving;
pub mod sorting;
pub mod state;
pub mod tool;
pub mod update;
pub mod viewport;
