//! Pure functions over numbers; each cites its source.
