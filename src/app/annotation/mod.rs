//! What is drawn on an image beside its marks: annotations for teaching ([`label`]), redaction of burned-in text
//! ([`redaction`]), what is being drawn or moved just now ([`being_drawn`]), and a known length for the scale ([`scale`]),
//! or the one entered last ([`last_scale`]), and the screen in a photo that is straightened ([`straighten`]).

pub mod being_drawn;
pub mod label;
pub mod last_scale;
pub mod last_scales;
pub mod redaction;
pub mod scale;
pub mod screen_clicks;
pub mod straighten;
