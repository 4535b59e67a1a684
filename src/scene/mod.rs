//! What to draw, as data: shapes in a named space, and the words and colours they are given.
//!
//! The window and the figures draw the same scenes, so they cannot disagree. Reading order: [`shape`], [`theme`],
//! [`primitive`], [`window_level`], [`voi`], [`look`], [`local_contrast`], [`mod@format`], [`caution`],
//! [`type_metrics`], [`body_lines`], [`overlay`], [`preview`], [`both_sides`], [`label`], [`body_map`],
//! [`reading_lines`], [`run_lines`], [`comparison`], [`way`], [`plan_words`], [`record_words`], [`reliability`],
//! [`audit_lines`], [`series_table`], [`plot`], [`page`], [`sheet`], [`paper`], [`figure`], [`figure_style`],
//! [`report`], [`series_pages`], [`lesson`], [`questions`], [`agreement_plot`], [`rereading`], [`practice`].

pub mod agreement_plot;
pub mod audit_lines;
pub mod body_lines;
pub mod body_map;
pub mod both_sides;
pub mod caution;
pub mod comparison;
pub mod figure;
mod figure_legend;
pub mod figure_style;
pub mod format;
pub mod label;
pub mod lesson;
pub mod local_contrast;
pub mod look;
pub mod overlay;
pub mod page;
pub mod paper;
pub mod plan_words;
pub mod plot;
pub mod practice;
pub mod preview;
pub mod primitive;
pub mod questions;
pub mod reading_lines;
pub mod record_words;
pub mod reliability;
pub mod report;
pub mod rereading;
pub mod run_lines;
pub mod series_pages;
pub mod series_table;
pub mod shape;
pub mod sheet;
pub mod theme;
pub mod type_metrics;
pub mod voi;
pub mod way;
pub mod window_level;
