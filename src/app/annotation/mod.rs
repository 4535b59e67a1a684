//! What is drawn on an image beside its marks: annotations for teaching ([`label`]), redaction of burned-in text and
//! a known length for the scale ([`redaction`]).

pub mod label;
pub mod redaction;
