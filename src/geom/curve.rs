//! Curves by normalised arc length.
