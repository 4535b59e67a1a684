//! What pointer and keys are about in an open case: its mode, and the change that is under way in it.

use crate::app::annotation::screen_clicks::ScreenClicks;
use crate::app::marking::next_mark::required_done;
use crate::app::session::document::Document;
use crate::app::session::mode::{Grabbed, Hand, MarkCopy, Mode, Tool, WallClicks};
use crate::measure::mark::MarkRef;

impl Document {
    /// What pointer and keys are about.
    #[must_use]
    pub const fn mode(&self) -> &Mode {
        &self.mode
    }

    /// What the next click is about.
    #[must_use]
    pub const fn hand(&self) -> Hand {
        self.mode.hand()
    }

    /// What a press on the image draws or takes hold of.
    #[must_use]
    pub const fn tool(&self) -> Tool {
        self.mode.tool()
    }

    /// The point that is being dragged.
    #[must_use]
    pub const fn grabbed(&self) -> Option<&Grabbed> {
        if let Mode::Dragging(grabbed) = &self.mode { Some(grabbed) } else { None }
    }

    /// The mark that is being moved by keys.
    #[must_use]
    pub const fn nudged(&self) -> Option<MarkRef> {
        if let Mode::Nudging(hand) = &self.mode { hand.mark() } else { None }
    }

    /// Marks on their way from another shot.
    #[must_use]
    pub const fn copying(&self) -> Option<&MarkCopy> {
        if let Mode::Copying(copy) = &self.mode { Some(copy) } else { None }
    }

    /// Clicks on both walls, while an outline is asked for by them.
    #[must_use]
    pub const fn pointing(&self) -> Option<&WallClicks> {
        if let Mode::Pointing(walls) = &self.mode { Some(walls) } else { None }
    }

    /// What is clicked of the screen in a photo, while the photo is straightened.
    #[must_use]
    pub const fn straightening(&self) -> Option<&ScreenClicks> {
        if let Mode::Straightening(clicks) = &self.mode { Some(clicks) } else { None }
    }

    /// Whether keys label the selected shots.
    #[must_use]
    pub const fn is_labeling(&self) -> bool {
        matches!(self.mode, Mode::Labeling)
    }

    /// Whether an annotation is being moved or its text written, as one step back.
    #[must_use]
    pub const fn is_changing_label(&self) -> bool {
        matches!(self.mode, Mode::Annotating(Some(_)))
    }

    /// Enters a mode; a change that is under way ends.
    pub(crate) fn enter(&mut self, mode: Mode) {
        self.end_change();
        self.mode = mode;
    }

    /// Takes what the next click is about in hand; whatever else was drawn ends with it.
    pub(crate) fn take(&mut self, hand: Hand) {
        self.enter(Mode::Marking(hand));
    }

    /// Enters a mode in which everything that follows is one step back, until it ends.
    pub(crate) fn begin_change(&mut self, mode: Mode) {
        self.end_change();
        self.history.begin_gesture();
        self.mode = mode;
    }

    /// Ends the change that is under way, if there is one.
    pub(crate) fn end_change(&mut self) {
        if let Some(settled) = self.mode.settled() {
            self.history.end_gesture();
            self.stale |= self.grabbed().is_some();
            self.mode = settled;
        }
    }

    /// Goes back to marking: the guide goes on while something needed is missing, else nothing is in hand.
    pub(crate) fn back_to_marking(&mut self) {
        self.take(Hand::Nothing);
        if self.shot().is_some_and(|shot| !required_done(shot)) {
            self.resume(None);
        }
    }
}
