//! How well marks are placed, in words and plots: blinded re-reading ([`rereading`]), practice against known truth
//! ([`practice`]), and the lines under a table of repeated readings ([`reliability`]).

pub mod practice;
pub mod reliability;
pub mod rereading;
