//! Simulated shots with known truth: a lumbar spine in three dimensions, instruments in it, and a cone beam
//! that looks at it. The same seed gives the same shots, bit for bit, on every machine.
//!
//! Lengths are in millimetres. A vertebra's own axes: x forward, y to the patient's left, z up, with the
//! origin in the middle of its body.
//!
//! Reading order: `several`, [`draw`], [`size`], [`body`], [`instrument`], [`beam`], [`contour`], [`marks`], [`truth`],
//! [`scenario`], [`spine`], [`anatomy`], [`imaging`], [`picture`], [`look`], [`series`], [`exercise`], [`demonstration`].

pub mod anatomy;
pub mod beam;
pub mod body;
pub mod contour;
pub mod demonstration;
pub mod draw;
pub mod exercise;
pub mod imaging;
pub mod instrument;
pub mod look;
pub mod marks;
pub mod picture;
pub mod scenario;
pub mod series;
mod several;
pub mod size;
pub mod spine;
pub mod truth;
