//! The window: egui and nothing else. It shows the state, and turns what the user does into commands.
//!
//! Reading order: [`window`], [`key_events`], [`dialogs`], [`look`], [`paint`], [`textures`], [`canvas`],
//! [`mod@pointer`], [`magnifier`], [`closeups`], [`widgets`], [`icons`], [`chart`], [`panels`].

mod annotations;
pub mod canvas;
pub mod canvas_floats;
pub mod chart;
pub mod closeups;
pub mod dialogs;
pub mod directions;
mod handed_over;
pub mod icons;
pub mod key_events;
pub mod look;
pub mod magnifier;
pub mod needs;
pub mod pages;
pub mod paint;
pub mod panels;
mod pointer;
mod redaction;
mod straighten;
pub mod textures;
pub mod widgets;
pub mod window;
