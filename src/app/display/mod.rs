//! How the open case is shown; none of it is part of the case: which part of an image and which way up
//! ([`viewport`], [`zoom`]), window and level ([`appearance`]), the smaller lines of a reading ([`reading_details`]).

pub mod appearance;
pub mod reading_details;
pub mod viewport;
pub mod zoom;
