//! Simulated shots with known truth.
