//! Behaviour without a window.
