//! The method, free of files, windows, clocks and randomness of its own.
//!
//! Reading order: [`mark`], [`settings`], [`issue`], [`quantity`], [`length`],
//! [`calibration`], [`verdict`], [`reading`] say what there is;
//! [`border_line`] puts a border in order; [`typical`] sizes stand in for a scale; [`mod@mark_error`] says which marks are less certain than the settings; [`body`] is the body map, from an `outline` over
//! the patch in `coons`; `marked`, `body_response`, `gradient`, `placement`, `view_part` and `instruments` carry
//! uncertainty through it; [`lateral`], [`ap`] (with `orientation`) and [`pedicle`] read a shot, [`pair`] two that belong together; `judging` gives the verdicts of a shot; [`mod@true_view`] says what a true view would show; [`link`] lays two shots on
//! each other, [`mod@compare`] (with [`unknown_view`]) says how far a tip moved between them and [`mod@run`] what a row of pairs shows;
//! [`mod@ahead`] draws a curved stylet's course;
//! `simulate` checks by simulation.

pub mod ahead;
pub mod ap;
pub mod body;
mod body_response;
pub mod border_line;
pub mod calibration;
pub mod compare;
mod coons;
mod gradient;
mod instruments;
pub mod issue;
mod judging;
pub mod lateral;
pub mod length;
pub mod link;
pub mod mark;
pub mod mark_error;
pub mod marked;
mod orientation;
mod outline;
pub mod pair;
pub mod pedicle;
mod placement;
pub mod quantity;
pub mod reading;
pub mod run;
pub mod settings;
mod simulate;
pub mod true_view;
pub mod typical;
pub mod unknown_view;
pub mod verdict;
mod view_part;
mod weighted;
mod withheld;
