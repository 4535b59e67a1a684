//! The digest of a file's bytes, which may still be under way while its picture is shown.

use std::fmt;
use std::ops::Deref;
use std::sync::{Arc, LazyLock};

/// A digest, `sha256:` and 64 hexadecimal digits; empty for a picture of no file. Whoever reads it first makes it, or waits for
/// whoever is making it.
#[derive(Clone)]
pub struct FileDigest(Arc<LazyLock<String, Making>>);

type Making = Box<dyn FnOnce() -> String + Send>;

impl FileDigest {
    /// A digest that `make` makes when it is first read.
    #[must_use]
    pub fn made_by(make: impl FnOnce() -> String + Send + 'static) -> Self {
        Self(Arc::new(LazyLock::new(Box::new(make))))
    }

    /// The digest.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Deref for FileDigest {
    type Target = str;

    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl From<String> for FileDigest {
    fn from(text: String) -> Self {
        let digest = Self::made_by(move || text);
        let _ = digest.as_str();
        digest
    }
}

impl From<&str> for FileDigest {
    fn from(text: &str) -> Self {
        Self::from(text.to_owned())
    }
}

impl Default for FileDigest {
    fn default() -> Self {
        Self::from("")
    }
}

impl PartialEq for FileDigest {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.as_str() == other.as_str()
    }
}

impl Eq for FileDigest {}

impl PartialEq<String> for FileDigest {
    fn eq(&self, other: &String) -> bool {
        self.as_str() == other
    }
}

impl fmt::Debug for FileDigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    #[test]
    fn it_is_made_once_and_only_when_read() {
        let made = Arc::new(AtomicU32::new(0));
        let count = Arc::clone(&made);
        let digest = FileDigest::made_by(move || {
            count.fetch_add(1, Ordering::Relaxed);
            "sha256:0".to_owned()
        });
        let other = digest.clone();
        assert_eq!((made.load(Ordering::Relaxed), digest == other), (0, true));
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| assert_eq!(digest.as_str(), "sha256:0"));
            }
        });
        assert_eq!((made.load(Ordering::Relaxed), &*other), (1, "sha256:0"));
        assert_eq!(FileDigest::default(), FileDigest::from(String::new()));
    }
}
