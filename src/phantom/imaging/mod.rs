//! How a picture comes about: ways through materials, attenuation, the detector, greys, lettering.
//!
//! Reading order: [`attenuation`], [`spectrum`], [`grain`], [`shadow`], [`plane`], [`detector`], [`greys`],
//! [`lettering`].

pub mod attenuation;
pub mod detector;
pub mod grain;
pub mod greys;
pub mod lettering;
pub mod plane;
pub mod shadow;
pub mod spectrum;
