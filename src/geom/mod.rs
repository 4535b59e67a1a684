//! Plane geometry on `f64`; it knows nothing of bodies, pictures or files.
//!
//! Reading order: [`point`], [`segment`], [`linear`], [`similarity`], [`affine`], [`spline`], [`curve`], [`response`], [`circle`], [`ellipse`], [`arc`], [`slab`].

pub mod affine;
pub mod arc;
pub mod circle;
pub mod curve;
pub mod ellipse;
pub mod enclosed;
pub mod linear;
pub mod point;
pub mod projective;
pub mod response;
pub mod segment;
pub mod similarity;
pub mod slab;
pub mod spline;
