//! Keeping the user's work: opening, saving so that nothing is lost, autosave and what a crash left behind.
//!
//! Reading order: [`save`] (atomic, durable, never over someone else's change) on a [`disk`], [`autosave`] (unsaved work beside
//! the case), [`hold`] (who works on a file), [`pictures`] (from a shot to its picture and back), [`outside`] (images outside the
//! case's folder), [`home`] (the application's own folder and the recent cases), [`practice`] (exercises with known truth),
//! [`written`] (which results may be replaced) with [`digest_list`], [`kept`] (all of it listed, and forgotten).

pub mod autosave;
mod digest_list;
mod disk;
mod hold;
pub mod home;
pub mod kept;
pub mod outside;
pub mod pictures;
#[cfg(test)]
mod power_loss;
pub mod practice;
pub mod received;
pub mod save;
pub mod written;
