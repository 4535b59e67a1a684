//! Placing marks: the order in which they are asked for ([`guide`]), the sentence that asks ([`prompt`]), where a new
//! point belongs ([`placement`]), which mark is asked for next ([`next_mark`]), what a command changes ([`marks`]), marks copied from another shot
//! ([`copied_marks`]), marks proposed from the image ([`proposal`]), what can be done about an issue at once ([`issue_actions`]), and what is asked about the view ([`view_questions`]).

pub mod copied_marks;
pub mod guide;
pub mod issue_actions;
pub mod marks;
pub mod next_mark;
pub mod placement;
pub mod prompt;
pub mod proposal;
pub mod view_questions;
