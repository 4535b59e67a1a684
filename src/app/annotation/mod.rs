//! What is drawn on an image beside its marks: annotations for teaching ([`label`]), redaction of burned-in text
//! ([`redaction`]), and a known length for the scale ([`scale`]).

pub mod label;
pub mod redaction;
pub mod scale;
