//! The edge: bytes in, bytes out.
