//! Marks proposed from the image in the window: two clicks for the outline of a lateral, none for a further shot of the
//! body. What is proposed is shown and waits; it becomes marks of the case when a person takes hold of it or accepts it.
//!
//! Reading order: [`memory`] (how far each shot's proposal has come), [`order`] (what is computed away from the drawing
//! thread), [`follow`] (when it is asked for, and what came of it), [`change`] (clicks, accepting, dropping, fitting again),
//! [`words`] (what the next line says), [`drawn`].

pub mod change;
pub mod drawn;
pub mod follow;
pub mod memory;
pub mod order;
pub mod words;
