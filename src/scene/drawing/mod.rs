//! The means of every drawing: shapes in one named space ([`shape`]), the only colors and sizes ([`theme`]),
//! lines ([`line_styles`]),
//! the contrast of its pairs ([`contrast`]), the typeface ([`type_metrics`]), where a line of words stands
//! ([`set_line`]), flat primitives for every back end
//! ([`primitive`]), what touches what ([`touch`]), and small pictures for empty pages ([`emblem`]).

pub mod contrast;
pub mod emblem;
pub mod line_styles;
pub mod pointer;
pub mod primitive;
pub mod set_line;
pub mod shape;
pub mod theme;
pub mod touch;
pub mod type_metrics;
