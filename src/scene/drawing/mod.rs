//! The means of every drawing: shapes in one named space ([`shape`]), the only colors, widths and sizes ([`theme`]),
//! the typeface ([`type_metrics`]), and flat primitives for every back end ([`primitive`]).

pub mod primitive;
pub mod shape;
pub mod theme;
pub mod type_metrics;
