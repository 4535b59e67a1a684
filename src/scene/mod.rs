//! What to draw, as data: shapes in a named space, and the words and colors they are given.
//!
//! The window and the figures draw the same scenes, so they cannot disagree. Reading order: [`drawing`] (shapes,
//! colors, type), [`window_level`] (stored values to gray levels), [`mod@format`] and [`words`] (numbers and results in
//! words), [`overlay`] (what lies on an image), [`annotation`], [`body_map`] (the small drawings of a body),
//! [`comparison`], [`tip_path`], [`view_sketch`] (how the C-arm stood), [`plot`], [`page`] (pages on paper), [`figure`], [`report`], [`repeatability`],
//! [`lesson`] (the manual's drawings).

pub mod annotation;
pub mod body_map;
pub mod comparison;
pub mod drawing;
pub mod figure;
pub mod format;
pub mod lesson;
pub mod overlay;
pub mod page;
pub mod plot;
pub mod repeatability;
pub mod report;
pub mod tip_path;
pub mod view_sketch;
pub mod window_level;
pub mod words;
