//! The page of blinded re-reading has no work of its own.

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum RereadingWork {}

/// What came of that.
#[derive(Clone, Debug)]
pub enum RereadingDone {}
