//! Plane geometry on `f64`; it knows nothing of bodies, pictures or files.
//!
//! Reading order: [`point`], [`similarity`], [`spline`], [`curve`], [`circle`], [`arc`].

pub mod arc;
pub mod circle;
pub mod curve;
pub mod point;
pub mod similarity;
pub mod spline;
