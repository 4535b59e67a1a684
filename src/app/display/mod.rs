//! How the open case is shown; none of it is part of the case: which part of an image and which way up
//! ([`viewport`], [`zoom`]), what is drawn over it ([`drawn_over`]), which place of it is looked at closely ([`looked_at`]), window and level ([`appearance`], [`adjust`]), how a shot opens ([`opening`]) and a case ([`first_shot`]), the
//! numbers that are read first ([`first_numbers`]) with what shot they are of ([`final_shot`]), the smaller lines of a reading ([`reading_details`]), and the window's own settings ([`preferences`]).

pub mod adjust;
pub mod appearance;
pub mod drawn_over;
pub mod final_shot;
pub mod first_numbers;
pub mod first_shot;
pub mod looked_at;
pub mod opening;
pub mod preferences;
pub mod reading_details;
pub mod viewport;
pub mod zoom;
