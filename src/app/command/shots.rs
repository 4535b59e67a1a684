//! Going from shot to shot, selecting, labeling and ordering them, and looking through the frames of a file.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_SHOT, Refusal, unless};
use crate::app::session::editor::Editor;
use crate::app::shots::pairing::pair_with;
use crate::app::shots::select;
use crate::app::shots::selection::{Pick, Scope};
use crate::app::shots::{frames, navigation};
use crate::case::document::duplicate::{duplicate, for_other_side};
use crate::case::document::edit::Description;
use crate::measure::mark::{Stage, View};

/// Where a shot is named that is not there.
const GONE: &str = "That shot is no longer in the case.";

/// What can be asked for about the shots of the open case.
#[derive(Clone, Debug, PartialEq)]
pub enum ShotsCommand {
    /// Show the next shot.
    Next,
    /// Show the shot before.
    Previous,
    /// Show the first shot that is listed.
    First,
    /// Show the last shot that is listed.
    Last,
    /// Show the next shot that has not been marked completely.
    NextUnmarked,
    /// Show this shot.
    Show(String),
    /// List these shots below the picture.
    List(Scope),
    /// Choose a shot beside the shown one.
    Select(String, Pick),
    /// Choose one more of the listed shots, towards the last.
    SelectNext,
    /// Choose one more of the listed shots, towards the first.
    SelectPrevious,
    /// Choose every listed shot.
    SelectAll,
    /// Begin or end to say by keys what the chosen shots show.
    Label,
    /// Say this of every chosen shot.
    Describe(Description),
    /// Say of every chosen shot that it is the final one of this view.
    Final(View),
    /// Put all shots into the order of the time they were taken.
    OrderByTime,
    /// Put a copy of the shown shot, marks included, behind it.
    Duplicate,
    /// Make a second shot of the shown picture for the probe from the other side.
    DuplicateOtherSide,
    /// Look at the next frame of the shot's file.
    NextFrame,
    /// Look at the frame before.
    PreviousFrame,
    /// Look at this frame of the shot's file, counted from 0.
    ShowFrame(u32),
    /// Show one frame after the other, or stop that.
    Play,
    /// While playing: time for the next frame.
    Tick,
    /// Make the frame that is looked at the shot's own.
    UseFrame,
    /// Make a shot of the frame that is looked at.
    FrameAsShot,
    /// Take the chosen shots out of the case.
    Remove,
    /// Move the chosen shots one place earlier in the case.
    Earlier,
    /// Move the chosen shots one place later in the case.
    Later,
    /// Pair the shown shot with this one, or leave it to the order.
    PairWith(Option<String>),
}

impl ShotsCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![
            Self::Next,
            Self::Previous,
            Self::First,
            Self::Last,
            Self::NextUnmarked,
            Self::SelectNext,
            Self::SelectPrevious,
            Self::SelectAll,
            Self::Label,
            Self::Earlier,
            Self::Later,
            Self::Duplicate,
            Self::DuplicateOtherSide,
            Self::Remove,
            Self::NextFrame,
            Self::PreviousFrame,
            Self::Play,
        ]
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Next => ("Next shot", "Show the next shot of the case.", key_bindings::shots::NEXT),
            Self::Previous => {
                ("Previous shot", "Show the previous shot of the case.", key_bindings::shots::PREVIOUS)
            }
            Self::First => ("First shot", "Show the first listed shot.", key_bindings::shots::FIRST),
            Self::Last => ("Last shot", "Show the last listed shot.", key_bindings::shots::LAST),
            Self::NextUnmarked => (
                "Next unmarked shot",
                "Show the next shot with missing marks.",
                key_bindings::shots::NEXT_UNMARKED,
            ),
            Self::SelectNext => (
                "Extend selection forward",
                "Add the next listed shot to the selection; labeling, moving and removing apply to the whole selection.",
                key_bindings::shots::SELECT_NEXT,
            ),
            Self::SelectPrevious => (
                "Extend selection back",
                "Add the previous listed shot to the selection.",
                key_bindings::shots::SELECT_PREVIOUS,
            ),
            Self::SelectAll => ("Select all", "Select every listed shot.", key_bindings::shots::SELECT_ALL),
            Self::Label => (
                "Label shots",
                "Set level, side, view and stage of the selected shots, one key each.",
                key_bindings::shots::LABEL,
            ),
            Self::OrderByTime => (
                "Order by time",
                "Sort all shots by acquisition time, or by file time where an image has none.",
                &[],
            ),
            Self::Duplicate => (
                "Duplicate",
                "Insert a copy of this shot with its marks after it.",
                key_bindings::shots::DUPLICATE,
            ),
            Self::DuplicateOtherSide => (
                "Duplicate for other side",
                "When both probes are visible, make a second shot of this image for the other side. Bone marks are kept; mark the other tip. Set the side first.",
                key_bindings::shots::DUPLICATE_OTHER_SIDE,
            ),
            Self::NextFrame => {
                ("Next frame", "Show the next frame of this file.", key_bindings::shots::NEXT_FRAME)
            }
            Self::PreviousFrame => (
                "Previous frame",
                "Show the previous frame of this file.",
                key_bindings::shots::PREVIOUS_FRAME,
            ),
            Self::Play => {
                ("Play or stop", "Play the frames of this file, or stop.", key_bindings::shots::PLAY)
            }
            Self::UseFrame => (
                "Use this frame",
                "Use this frame for the shot; marks placed on another frame are kept.",
                &[],
            ),
            Self::FrameAsShot => {
                ("New shot from frame", "Add a shot of this frame after the current one, without marks.", &[])
            }
            Self::Remove => (
                "Remove",
                "Remove the selected shots from the case. The image files are kept, and Undo restores the shots.",
                key_bindings::shots::REMOVE,
            ),
            Self::Earlier => (
                "Move earlier",
                "Move the selected shots one position earlier in the case.",
                key_bindings::shots::EARLIER,
            ),
            Self::Later => (
                "Move later",
                "Move the selected shots one position later in the case.",
                key_bindings::shots::LATER,
            ),
            Self::Describe(Description::View(view)) => return Some(view_entry(*view)),
            Self::Show(..)
            | Self::List(..)
            | Self::Select(..)
            | Self::Describe(..)
            | Self::Final(..)
            | Self::ShowFrame(..)
            | Self::Tick
            | Self::PairWith(..) => return None,
        };
        Some(Entry { label, tip, group: Group::Shots, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        let Some((document, shot)) = editor.document.as_ref().and_then(|d| Some((d, d.shot()?))) else {
            return unless(false, NO_SHOT);
        };
        let case = document.case();
        let frames = frames::place(editor);
        let others_too = !document.choice.also.is_empty();
        match self {
            Self::Next => unless(document.neighbour(1).is_some(), "This is the last shot."),
            Self::Previous => unless(document.neighbour(-1).is_some(), "This is the first shot."),
            Self::First => unless(navigation::at_end(document, false).is_some(), "This is the first shot."),
            Self::Last => unless(navigation::at_end(document, true).is_some(), "This is the last shot."),
            Self::NextUnmarked => {
                unless(navigation::next_unmarked(document).is_some(), "No other shot is missing marks.")
            }
            Self::Show(id) | Self::Select(id, _) if case.shot(id).is_none() => unless(false, GONE),
            Self::Show(id) => unless(*id != shot.id || others_too, "That shot is shown already."),
            Self::Select(id, Pick::Toggle) => {
                unless(*id != shot.id, "That shot is shown, so it is selected already.")
            }
            Self::Select(_, Pick::Through) => None,
            Self::List(_)
            | Self::SelectAll
            | Self::Label
            | Self::Describe(_)
            | Self::Final(_)
            | Self::Duplicate
            | Self::Remove => None,
            Self::SelectNext => unless(select::reached(document, 1).is_some(), "No further shot is listed."),
            Self::SelectPrevious => {
                unless(select::reached(document, -1).is_some(), "No earlier shot is listed.")
            }
            Self::OrderByTime => unless(case.shots.len() > 1, "The case has only one shot."),
            Self::DuplicateOtherSide => unless(
                for_other_side(case, &shot.id).is_some(),
                "Set the side of this shot first: the copy is for the other side.",
            ),
            Self::NextFrame => unless(
                frames.is_some_and(|at| at.shown + 1 < at.count),
                "There is no further frame in this shot's file.",
            ),
            Self::PreviousFrame => unless(
                frames.is_some_and(|at| at.shown > 0),
                "There is no earlier frame in this shot's file.",
            ),
            Self::ShowFrame(_) | Self::Play => unless(frames.is_some(), "This shot's file has one frame."),
            Self::Tick => unless(frames::is_playing(editor), "No frames are being played."),
            Self::UseFrame | Self::FrameAsShot => unless(
                frames.is_some_and(|at| at.shown != at.own),
                "Go to another frame of this shot's file first.",
            ),
            Self::Earlier => unless(document.index().is_some_and(|i| i > 0), "This is the first shot."),
            Self::Later => {
                unless(document.index().is_some_and(|i| i + 1 < case.shots.len()), "This is the last shot.")
            }
            Self::PairWith(Some(id)) if case.shot(id).is_none() => unless(false, GONE),
            Self::PairWith(id) => {
                let named = case.shots.iter().any(|other| other.pair_with.as_ref() == Some(&shot.id));
                unless(shot.pair_with != *id || named, "The shot is matched that way already.")
            }
        }
    }

    /// Carries it out.
    pub(crate) fn apply(self, editor: &mut Editor) {
        match self {
            Self::Next => navigation::step(editor, 1),
            Self::Previous => navigation::step(editor, -1),
            Self::First => navigation::go_to_end(editor, false),
            Self::Last => navigation::go_to_end(editor, true),
            Self::NextUnmarked => navigation::go_to_unmarked(editor),
            Self::Show(id) => navigation::go_to(editor, &id),
            Self::List(scope) => select::show_rows(editor, scope),
            Self::Select(id, pick) => select::choose(editor, &id, pick),
            Self::SelectNext => select::reach(editor, 1),
            Self::SelectPrevious => select::reach(editor, -1),
            Self::SelectAll => select::choose_all(editor),
            Self::Label => select::sort(editor),
            Self::Describe(what) => select::say(editor, &[what]),
            Self::Final(view) => {
                select::say(editor, &[Description::View(view), Description::Stage(Some(Stage::Final))])
            }
            Self::OrderByTime => select::order_by_time(editor),
            Self::Duplicate => select::copy(editor, duplicate),
            Self::DuplicateOtherSide => select::copy(editor, for_other_side),
            Self::NextFrame => frames::step(editor, |at| at.shown.saturating_add(1).min(at.count - 1)),
            Self::PreviousFrame => frames::step(editor, |at| at.shown.saturating_sub(1)),
            Self::ShowFrame(frame) => frames::step(editor, |at| frame.min(at.count - 1)),
            Self::Play => frames::play_or_stop(editor),
            Self::Tick => frames::tick(editor),
            Self::UseFrame => frames::use_frame(editor),
            Self::FrameAsShot => frames::as_shot(editor),
            Self::Remove => select::remove(editor),
            Self::Earlier => select::move_chosen(editor, false),
            Self::Later => select::move_chosen(editor, true),
            Self::PairWith(wanted) => pair_with(editor, wanted.as_deref()),
        }
    }
}

/// How an answer to the question for a shot's view presents itself; its key holds only while the view is asked for.
fn view_entry(view: View) -> Entry {
    let (label, tip) = match view {
        View::Lateral => ("Lateral", "A view from the side: depth and height are read."),
        View::Ap => ("AP", "A frontal view: height and mediolateral position are read."),
        View::Pedicle => {
            ("En face pedicle", "The view runs along the pedicle: the docking position is read.")
        }
    };
    Entry { label, tip, group: Group::Shots, keys: &[] }
}
