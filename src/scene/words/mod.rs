//! Results in words, the same for the window, the command line, figures and paper: a reading ([`reading`]), the tip
//! path of a level ([`tip_path`]), what a true view would show ([`true_view`]), the plan ([`plan`]), what was written down of a body ([`record`]), which marks are as proposed ([`proposed`]), the case series
//! ([`series_table`], [`audit`]), and the caution that stands wherever a number is shown ([`caution`]).

pub mod audit;
pub mod caution;
pub mod plan;
pub mod proposed;
pub mod reading;
pub mod record;
pub mod series_table;
pub mod tip_path;
pub mod true_view;
pub mod version;
