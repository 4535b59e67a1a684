//! What to draw, as data.
