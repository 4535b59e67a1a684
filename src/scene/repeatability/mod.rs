//! How well marks are placed, in words and plots: blinded re-reading ([`rereading`]), practice against known truth
//! ([`practice`]), what one's own marking error would change ([`adopting`]), and the lines under a table of repeated readings ([`reliability`]).

pub mod adopting;
pub mod practice;
pub mod reliability;
pub mod rereading;
