//! The page with the tip path has no work of its own.

/// What is done for the page at the edge.
#[derive(Clone, Debug, PartialEq)]
pub enum TipPathWork {}

/// What came of that.
#[derive(Clone, Debug)]
pub enum TipPathDone {}
