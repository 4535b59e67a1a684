//! What presenting can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_CASE, NO_SHOT, Refusal, unless};
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::page::Page;
use crate::app::pages::presenting::deck;
use crate::app::session::state::State;

/// What presenting is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum PresentCommand {
    /// Begin with questions about all shots of the case.
    Questions,
    /// The answer, or the next slide.
    Next,
    /// Back to the question, or the slide before.
    Back,
    /// Show the answer, or hide it again.
    Reveal,
    /// Go back to where it began.
    End,
    /// So many pixels wide and high is the room for a slide.
    Room(u32, u32),
}

impl PresentCommand {
    /// Its keys.
    #[must_use]
    pub(super) const fn keys(&self) -> &'static [Shortcut] {
        match self {
            Self::Questions => key_bindings::presenting::QUESTIONS,
            Self::Next => key_bindings::presenting::NEXT,
            Self::Back => key_bindings::presenting::BACK,
            Self::Reveal => key_bindings::presenting::REVEAL,
            Self::End => key_bindings::presenting::END,
            Self::Room(..) => &[],
        }
    }
}

impl CommandOfPage for PresentCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Questions => (
                "Present questions",
                "Full screen: every shot of the case as a question, then with its answer.",
            ),
            Self::Next => ("Next slide", "Show the answer, or the next slide."),
            Self::Back => ("Previous slide", "Hide the answer, or show the slide before."),
            Self::Reveal => ("Answer", "Show or hide the answer to this question."),
            Self::End => ("End presentation", "Go back to where the presentation began."),
            Self::Room(..) => return None,
        };
        Some(Entry { label, tip, group: Group::Pages, keys: self.keys() })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let presenting = &state.pages.presenting;
        let shown = state.pages.shown == Page::Presenting;
        match self {
            Self::Questions => questions_refused(state),
            _ if !shown => unless(false, "Nothing is being presented."),
            Self::Next => unless(presenting.next().is_some(), "This is the last slide."),
            Self::Back => unless(presenting.back().is_some(), "This is the first slide."),
            Self::Reveal => unless(presenting.asks(), "This slide is not a question, so it has no answer."),
            Self::End => None,
            Self::Room(width, height) => {
                unless(presenting.room != Some((*width, *height)), "The room for a slide has not changed.")
            }
        }
    }
}

/// Why what the shown page shows cannot be presented at present.
pub(in crate::app::pages) fn refusal(state: &State) -> Option<Refusal> {
    if state.editor.shot().is_none() {
        return unless(false, NO_SHOT);
    }
    match state.pages.shown {
        Page::Picture | Page::Presenting => None,
        Page::Figure => {
            let figure = &state.pages.figure;
            let fault = figure.spec.kind.fault(figure.shots.len());
            unless(fault.is_none(), "There is no figure yet. Select the shots it shows.")
        }
        Page::Compare => unless(
            matches!(&state.pages.compare.registered, Some(Ok(_))),
            "There is no comparison to present: select two shots that can be compared.",
        ),
        Page::Overview | Page::TipPath | Page::Series | Page::Rereading | Page::Practice => {
            unless(false, "An image, a figure or a comparison can be presented. Open one of these first.")
        }
    }
}

fn questions_refused(state: &State) -> Option<Refusal> {
    let Some(document) = &state.editor.document else { return unless(false, NO_CASE) };
    match state.pages.shown {
        Page::Picture | Page::Overview | Page::Figure | Page::Compare | Page::TipPath => unless(
            !deck::of_questions(document).is_empty(),
            "No shot of the case has a reading to ask about.",
        ),
        Page::Presenting => {
            unless(false, "Slides are being presented already. End the presentation with Esc first.")
        }
        Page::Series | Page::Rereading | Page::Practice => {
            unless(false, "This page does not show the open case. Go back to the image with Esc first.")
        }
    }
}
