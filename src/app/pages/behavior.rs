//! What a page is to the program: how it presents itself, when it can come up, what the keys of the image mean on it, what it
//! shows and follows. A page says only what differs from the defaults.

use std::path::PathBuf;

use crate::app::command::editing::EditorCommand;
use crate::app::command::entry::Entry;
use crate::app::command::refusal::Refusal;
use crate::app::pages::command::PageCommand;
use crate::app::pages::page::{Page, Wish};
use crate::app::session::editor::Editor;
use crate::app::session::state::{Pages, State};
use crate::app::work::effect::Effect;
use crate::app::work::picture_store::PictureKey;

/// On pages without an image of their own.
pub(crate) const NO_IMAGE: &str = "This page does not show the image. Go back to it with Esc first.";
/// On pages that do not show the case.
pub(crate) const CASE_UNSEEN: &str =
    "Undo would change the open case, which this page does not show. Go back to the image with Esc first.";
/// While one image is marked apart from the case.
pub(crate) const ONE_IMAGE: &str =
    "Only this one image is marked here: its marks and how it is seen can be changed, nothing else.";

/// What is meant by a key or the pointer while a page is shown.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// It is carried out on the open case.
    Case(EditorCommand),
    /// It is carried out on the image that is marked on the page, apart from the open case.
    Own(EditorCommand),
    /// It is something that the page can be asked for.
    Page(PageCommand),
    /// Nothing, for this reason.
    Nothing(Refusal),
}

impl Meaning {
    /// Nothing is meant, for this reason.
    pub(crate) fn nothing(why: &'static str) -> Self {
        Self::Nothing(why.into())
    }
}

/// A page.
pub(crate) trait PageBehavior {
    /// Its label, tooltip and key.
    fn entry(&self) -> Entry;

    /// Whether it can come up as things are: as a rule, once there is a shot.
    fn can_open(&self, state: &State) -> bool {
        state.editor.shot().is_some()
    }

    /// The page that is gone back to from it, and found there as it was left; none where that is the image.
    fn came_from(&self, _pages: &Pages) -> Option<Page> {
        None
    }

    /// It comes up.
    fn opened(&self, _state: &mut State, _effects: &mut Vec<Effect>) {}

    /// Something else comes up instead.
    fn left(&self, _state: &mut State) {}

    /// What a key or the pointer means while it is shown. As a rule a page shows neither the image nor all that a step
    /// back would change.
    fn meaning(&self, _state: &State, command: EditorCommand) -> Meaning {
        Meaning::nothing(if matches!(command, EditorCommand::Case(_)) { CASE_UNSEEN } else { NO_IMAGE })
    }

    /// Whether it shows this shot of the open case, so that a step back or forth that changes it is seen.
    fn shows(&self, _pages: &Pages, _shot: &str) -> bool {
        false
    }

    /// The editor of the image that is marked on it, apart from the open case.
    fn editor<'a>(&self, _pages: &'a Pages) -> Option<&'a Editor> {
        None
    }

    /// The same, to be changed.
    fn editor_mut<'a>(&self, _pages: &'a mut Pages) -> Option<&'a mut Editor> {
        None
    }

    /// What was marked on that image is taken in where the page keeps it.
    fn marked(&self, _state: &mut State) {}

    /// What follows every change, whether it is shown or not.
    fn tidy(&self, _state: &mut State) {}

    /// What follows every change while it is shown.
    fn follow(&self, _state: &mut State, _effects: &mut Vec<Effect>) {}

    /// The images that it needs beside the shown shot's.
    fn pictures(&self, _state: &State) -> Vec<PictureKey> {
        Vec::new()
    }

    /// The user has chosen paths for a wish of this page.
    fn chosen(&self, _state: &mut State, _wish: Wish, _paths: Vec<PathBuf>, _effects: &mut Vec<Effect>) {}
}
