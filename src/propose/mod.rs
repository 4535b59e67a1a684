//! Marks proposed from the picture: from two clicks the outline of a body in a lateral view and the tip in it; from a
//! marked shot the outline in a further one. And above all, when not to propose.
//!
//! No weights and nothing learned: borders are looked for where a body of usual shape would have them. Every number is
//! told with its uncertainty, every refusal with a reason and, where one border is at fault, its name.
//!
//! Reading order: [`lateral`] (from clicks), `still` (a frame made ready), `field`, `metal`, `patch`; `model`, `edge`,
//! `fit`, `five`; [`trust`] (what is refused), `level` (where exactly a border lies), [`outline`] (the marks); `shaft`,
//! [`tip`]; `pair` (two pictures registered), `treated` (which level the instrument is in), [`further`] (from a marked
//! shot).

mod edge;
mod field;
mod fit;
mod five;
pub mod further;
pub mod lateral;
mod level;
mod local;
mod metal;
mod model;
pub mod outline;
mod pair;
mod patch;
mod raster;
mod shaft;
mod small;
mod still;
pub mod tip;
mod treated;
pub mod trust;

pub use metal::Polarity;
pub use model::{Edge, Target};
