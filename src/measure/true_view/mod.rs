//! What a true view would show (method, section 9): what one view cannot know, the other view and the second contours tell.
//!
//! The readings of [`mod@crate::measure::lateral`] and [`mod@crate::measure::ap`] stay as they are and are called *direct*;
//! what is worked out here stands beside them, each value with an interval of its own. Everything is closed form.
//!
//! [`mod@known`] is what was said of a shot beside its marks, [`mod@view`] what comes out; `normal` solves normal equations,
//! `turn` finds the turn of an AP view and `tilt` the tilt of either; `of_ap`, `of_lateral` and [`mod@of_pair`] put
//! them to a reading; `left_open` says what all that leaves open; [`mod@choice`] says which of the two values a verdict uses.

pub mod choice;
pub mod known;
mod left_open;
mod levers;
mod normal;
mod of_ap;
mod of_lateral;
pub mod of_pair;
mod tilt;
mod turn;
pub mod view;
