//! What takes a while just now, each kind of work for itself: that one is over says nothing of another.

use std::collections::{BTreeMap, BTreeSet};

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
    /// An image that came without a file is being saved.
    Receiving,
    /// Shots of the open case are being read.
    Reading,
}

/// What is said of a work that was told to stop, until it has.
const STOPPING: &str = "Stopping";

/// What is under way, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnderWay {
    words: BTreeMap<Activity, String>,
    /// What goes on step by step, so that its rest may be left undone.
    can_stop: BTreeSet<Activity>,
}

impl UnderWay {
    /// A work begins.
    pub fn begin(&mut self, activity: Activity, words: impl Into<String>) {
        self.words.insert(activity, words.into());
    }

    /// A work has come so far that its rest could be left undone.
    pub fn goes_on(&mut self, activity: Activity, words: impl Into<String>) {
        // One that has been told to stop may still say how far it has come.
        if self.words.get(&activity).is_none_or(|words| words != STOPPING) {
            self.begin(activity, words);
            self.can_stop.insert(activity);
        }
    }

    /// A work has been told to stop, and cannot be told again.
    pub fn stops(&mut self, activity: Activity) {
        if self.can_stop.remove(&activity) {
            self.begin(activity, STOPPING);
        }
    }

    /// A work is over, whatever came of it.
    pub fn end(&mut self, activity: Activity) {
        self.words.remove(&activity);
        self.can_stop.remove(&activity);
    }

    /// Whether a work can be told to leave its rest undone.
    #[must_use]
    pub fn can_stop(&self, activity: Activity) -> bool {
        self.can_stop.contains(&activity)
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
        under_way.goes_on(Activity::Opening, "Reading image 2 of 9");
        under_way.begin(Activity::Saving, "Saving");
        assert_eq!(under_way.line().as_deref(), Some("Reading image 2 of 9 · Saving…"));
        under_way.end(Activity::Saving);
        assert!(under_way.can_stop(Activity::Opening) && under_way.is(Activity::Opening));
        assert_eq!(under_way.line().as_deref(), Some("Reading image 2 of 9…"));
        under_way.end(Activity::Opening);
        assert!(!under_way.can_stop(Activity::Opening));
        assert_eq!(under_way.line(), None);
        // A work that was told to stop is not told again, whatever it still says.
        under_way.goes_on(Activity::Exporting, "Writing, 1 of 3");
        under_way.stops(Activity::Exporting);
        under_way.goes_on(Activity::Exporting, "Writing, 2 of 3");
        assert!(!under_way.can_stop(Activity::Exporting));
        assert_eq!(under_way.line().as_deref(), Some("Stopping…"));
        under_way.end(Activity::Exporting);
        under_way.goes_on(Activity::Exporting, "Writing, 1 of 3");
        assert!(under_way.can_stop(Activity::Exporting));
    }
}
