//! What takes a while just now, each kind of work for itself: that one is over says nothing of another.

use std::collections::BTreeMap;

/// A kind of work that the window says is under way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Activity {
    /// A case or images are being opened.
    Opening,
    /// The case is being saved.
    Saving,
    /// The case is being exported.
    Exporting,
    /// A result is being written.
    Writing,
    /// Shots of the open case are being read.
    Reading,
}

/// What is under way, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnderWay {
    words: BTreeMap<Activity, String>,
    /// Images are being read one after the other, and the rest may be left unread.
    can_stop: bool,
}

impl UnderWay {
    /// A work begins.
    pub fn begin(&mut self, activity: Activity, words: impl Into<String>) {
        self.words.insert(activity, words.into());
    }

    /// Opening has come so far that its rest could be left undone.
    pub fn opening_goes_on(&mut self, words: impl Into<String>) {
        self.begin(Activity::Opening, words);
        self.can_stop = true;
    }

    /// Opening has been told to stop, and cannot be told again.
    pub fn opening_stops(&mut self) {
        self.can_stop = false;
    }

    /// A work is over, whatever came of it.
    pub fn end(&mut self, activity: Activity) {
        self.words.remove(&activity);
        if activity == Activity::Opening {
            self.can_stop = false;
        }
    }

    /// Whether opening can be told to leave the rest unread.
    #[must_use]
    pub const fn can_stop(&self) -> bool {
        self.can_stop
    }

    /// Whether such work is under way.
    #[must_use]
    pub fn is(&self, activity: Activity) -> bool {
        self.words.contains_key(&activity)
    }

    /// All that is under way in one line, ending in an ellipsis; `None` where nothing is.
    #[must_use]
    pub fn line(&self) -> Option<String> {
        let all: Vec<&str> = self.words.values().map(String::as_str).collect();
        (!all.is_empty()).then(|| format!("{}…", all.join(" · ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_end_of_one_work_leaves_the_others_standing() {
        let mut under_way = UnderWay::default();
        under_way.opening_goes_on("Reading image 2 of 9");
        under_way.begin(Activity::Saving, "Saving");
        assert_eq!(under_way.line().as_deref(), Some("Reading image 2 of 9 · Saving…"));
        under_way.end(Activity::Saving);
        assert!(under_way.can_stop() && under_way.is(Activity::Opening));
        assert_eq!(under_way.line().as_deref(), Some("Reading image 2 of 9…"));
        under_way.end(Activity::Opening);
        assert!(!under_way.can_stop());
        assert_eq!(under_way.line(), None);
    }
}
