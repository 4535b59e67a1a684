//! All tests that use the library from outside, in one binary.

mod architecture;
mod coverage;
mod drawings;
mod properties;
mod reference;
mod samples;
mod uncertainty;
