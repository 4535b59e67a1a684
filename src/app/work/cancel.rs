//! A sign by which one work is told to stop. Each work has its own, so that stopping one stops no other.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Told once and for all; every copy hears it.
#[derive(Clone, Debug, Default)]
pub struct Cancel(Arc<AtomicBool>);

impl Cancel {
    /// Tells the work to stop as soon as it looks.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the work has been told to stop.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// Whether nobody else holds a copy any more: the work is over.
    #[must_use]
    pub fn is_alone(&self) -> bool {
        Arc::strong_count(&self.0) == 1
    }
}
