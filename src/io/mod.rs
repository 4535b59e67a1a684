//! The edge: bytes in, bytes out.

pub mod export;
