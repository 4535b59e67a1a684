//! Undo and redo: one step for each gesture.

use crate::case::document::Case;
use crate::case::document::edit::{Edit, EditError};

/// How many steps back are kept.
const DEPTH: usize = 500;

/// A case with the way back and forth through its changes.
#[derive(Clone, Debug, Default)]
pub struct History {
    present: Case,
    past: Vec<Case>,
    future: Vec<Case>,
    gesture: Gesture,
}

/// Whether changes are gathered into one step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Gesture {
    /// Each change is a step.
    #[default]
    None,
    /// A gesture has begun and changed nothing yet.
    Begun,
    /// A gesture has its step; further changes join it.
    Recorded,
}

impl History {
    /// A case that has not been changed yet.
    #[must_use]
    pub fn new(case: Case) -> Self {
        Self { present: case, ..Self::default() }
    }

    /// The case as it is now.
    #[must_use]
    pub const fn case(&self) -> &Case {
        &self.present
    }

    /// Applies a change as a step of its own, or as part of the gesture that is under way.
    ///
    /// # Errors
    /// Says why the change is impossible; nothing is recorded then.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        let mut next = self.present.clone();
        next.apply(edit)?;
        if next == self.present {
            return Ok(());
        }
        let before = std::mem::replace(&mut self.present, next);
        if self.gesture != Gesture::Recorded {
            self.record(before);
        }
        if self.gesture == Gesture::Begun {
            self.gesture = Gesture::Recorded;
        }
        Ok(())
    }

    /// Applies a change to every state, past and future ones too, without a step: for what is no decision of the
    /// user's, such as where the pictures lie seen from a new place of the file. States that it does not fit
    /// stay as they are.
    pub fn apply_throughout(&mut self, edit: &Edit) {
        let all = self.past.iter_mut().chain(std::iter::once(&mut self.present)).chain(&mut self.future);
        for case in all {
            let _ = case.apply(edit);
        }
    }

    /// From here to [`Self::end_gesture`] all changes are one step; a gesture that changes nothing leaves none.
    pub const fn begin_gesture(&mut self) {
        self.gesture = Gesture::Begun;
    }

    /// Ends the gesture.
    pub const fn end_gesture(&mut self) {
        self.gesture = Gesture::None;
    }

    /// One step back; false when there is none.
    pub fn undo(&mut self) -> bool {
        self.end_gesture();
        let Some(before) = self.past.pop() else { return false };
        self.future.push(std::mem::replace(&mut self.present, before));
        true
    }

    /// One step forth; false when there is none.
    pub fn redo(&mut self) -> bool {
        self.end_gesture();
        let Some(after) = self.future.pop() else { return false };
        self.past.push(std::mem::replace(&mut self.present, after));
        true
    }

    /// Whether there is a step back.
    #[must_use]
    pub const fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is a step forth.
    #[must_use]
    pub const fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    fn record(&mut self, before: Case) {
        self.future.clear();
        self.past.push(before);
        if self.past.len() > DEPTH {
            self.past.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn title(text: &str) -> Edit {
        Edit::SetTitle(Some(text.to_owned()))
    }

    #[test]
    fn undo_returns_the_case_and_redo_the_change() {
        let mut history = History::new(Case::default());
        history.apply(&title("one")).unwrap();
        history.apply(&title("two")).unwrap();
        assert!(history.undo());
        assert_eq!(history.case().title.as_deref(), Some("one"));
        assert!(history.redo() && !history.redo());
        assert_eq!(history.case().title.as_deref(), Some("two"));
    }

    #[test]
    fn a_change_throughout_is_no_step_and_outlives_undo() {
        let mut history = History::new(Case::default());
        history.apply(&title("one")).unwrap();
        history.apply_throughout(&Edit::SetOperator(Some("R1".to_owned())));
        assert!(history.undo());
        assert_eq!(history.case().operator.as_deref(), Some("R1"));
        assert!(!history.undo());
    }

    #[test]
    fn a_gesture_is_one_step_and_an_empty_one_none() {
        let mut history = History::new(Case::default());
        history.begin_gesture();
        history.apply(&title("a")).unwrap();
        history.apply(&title("b")).unwrap();
        history.end_gesture();
        history.begin_gesture();
        history.end_gesture();
        assert!(history.undo() && !history.undo());
        assert_eq!(history.case(), &Case::default());
    }
}
