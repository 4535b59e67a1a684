//! Overlays, columns, text size, and what lies on top of the window.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::overlays;
use crate::app::command::refusal::{NO_CASE, Refusal, unless};
use crate::app::display::preferences::{Display, MEMORIES_MIB, SidePanel, TEXT_SCALES};
use crate::app::session::notice::Notice;
use crate::app::session::state::State;
use crate::scene::drawing::theme::Mode;
use crate::scene::overlay::Layer;

/// What can be asked for about the window itself.
#[derive(Clone, Debug, PartialEq)]
pub enum WindowCommand {
    /// Show or hide a layer.
    Toggle(Layer),
    /// Hide everything drawn as long as this is true.
    HideDrawing(bool),
    /// Dark or light.
    SwitchMode,
    /// Show images with local contrast where nobody has chosen otherwise, or as they are.
    LocalContrastByDefault,
    /// Propose marks without being asked, or only when asked.
    ProposeMarks,
    /// Take the next larger memory for pictures, or the smallest again.
    MoreMemory,
    /// Larger text.
    LargerText,
    /// Smaller text.
    SmallerText,
    /// Text as it was.
    NormalText,
    /// Fold a column away or bring it back.
    Fold(SidePanel),
    /// Show what a number's certainty is made of, or hide it.
    ShowBudget,
    /// Show or hide the settings of the case.
    CaseSettings,
    /// Show or hide the list of keys.
    Help,
    /// Show or hide what the program is and keeps.
    About,
    /// Close what lies on top.
    Dismiss,
}

impl WindowCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        let mut all = vec![Self::HideDrawing(true)];
        all.extend(overlays::KEYED.map(Self::Toggle));
        all.extend([
            Self::CaseSettings,
            Self::ShowBudget,
            Self::Fold(SidePanel::Ladder),
            Self::Fold(SidePanel::Reading),
            Self::Fold(SidePanel::Rows),
            Self::SwitchMode,
            Self::LocalContrastByDefault,
            Self::ProposeMarks,
            Self::LargerText,
            Self::SmallerText,
            Self::NormalText,
            Self::Help,
            Self::About,
        ]);
        all
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Toggle(layer) => return Some(overlays::entry(*layer)),
            Self::HideDrawing(_) => (
                "Hide overlays",
                "Hide all overlays while the key is held.",
                key_bindings::window::HIDE_DRAWING,
            ),
            Self::SwitchMode => (
                "Dark or light mode",
                "Switch between dark and light mode.",
                key_bindings::window::SWITCH_MODE,
            ),
            Self::LocalContrastByDefault => (
                "Local contrast by default",
                "Open every image with local contrast. Y still switches it for a single shot.",
                key_bindings::window::LOCAL_CONTRAST_BY_DEFAULT,
            ),
            Self::ProposeMarks => (
                "Propose marks automatically",
                "Ask for both walls of a lateral and copy marks to further shots without being asked. Off: marking starts with the first corner, and Shift K asks for a proposal.",
                key_bindings::window::PROPOSE_MARKS,
            ),
            Self::MoreMemory => (
                "Image memory",
                "Switch to the next size: more keeps more images ready, less uses less memory.",
                &[],
            ),
            Self::LargerText => ("Larger text", "Make all text larger.", key_bindings::window::LARGER_TEXT),
            Self::SmallerText => {
                ("Smaller text", "Make all text smaller.", key_bindings::window::SMALLER_TEXT)
            }
            Self::NormalText => ("Normal text", "Reset the text size.", key_bindings::window::NORMAL_TEXT),
            Self::Fold(SidePanel::Rows) => {
                ("Shots", "Show or hide the shots below the image.", key_bindings::window::FOLD_ROWS)
            }
            Self::Fold(SidePanel::Ladder) => {
                ("Levels", "Show or hide the levels.", key_bindings::window::FOLD_LADDER)
            }
            Self::Fold(SidePanel::Reading) => {
                ("Reading", "Show or hide the reading.", key_bindings::window::FOLD_READING)
            }
            Self::ShowBudget => (
                "Uncertainty",
                "Show the sources of uncertainty and the marks that contribute most.",
                key_bindings::window::SHOW_BUDGET,
            ),
            Self::CaseSettings => (
                "Case settings",
                "Title, operator, date, patient's right, marking error and targets.",
                key_bindings::window::CASE_SETTINGS,
            ),
            Self::Help => {
                ("Keyboard shortcuts", "List every action with its key.", key_bindings::window::HELP)
            }
            Self::About => (
                "About Stillmark",
                "Version, caution, licenses, and what the program keeps on this computer.",
                key_bindings::window::ABOUT,
            ),
            Self::Dismiss => return None,
        };
        Some(Entry { label, tip, group: Group::Window, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, state: &State) -> Option<Refusal> {
        let display = &state.display;
        match self {
            Self::Toggle(_) | Self::Fold(_) | Self::ShowBudget | Self::CaseSettings => {
                unless(state.editor.document.is_some(), NO_CASE)
            }
            Self::HideDrawing(_)
            | Self::SwitchMode
            | Self::LocalContrastByDefault
            | Self::ProposeMarks
            | Self::MoreMemory
            | Self::Help
            | Self::About => None,
            Self::NormalText => {
                unless((display.text_scale - 1.0).abs() > 1e-6, "The text has its usual size already.")
            }
            Self::LargerText => {
                unless(next_scale(display.text_scale, true).is_some(), "This is the largest text.")
            }
            Self::SmallerText => {
                unless(next_scale(display.text_scale, false).is_some(), "This is the smallest text.")
            }
            Self::Dismiss => unless(state.has_something_on_top(), "Nothing is open that could be closed."),
        }
    }

    /// Carries it out: changes how the window shows things, and nothing else.
    pub(crate) fn apply(self, display: &mut Display, notices: &mut Vec<Notice>) {
        match self {
            Self::Toggle(layer) => display.layers = display.layers.toggled(layer),
            Self::HideDrawing(hidden) => display.drawing_hidden = hidden,
            Self::SwitchMode => {
                display.mode = match display.mode {
                    Mode::Dark => Mode::Light,
                    Mode::Light => Mode::Dark,
                };
            }
            Self::LocalContrastByDefault => display.local_contrast = !display.local_contrast,
            Self::ProposeMarks => display.proposes = !display.proposes,
            Self::MoreMemory => {
                let at = MEMORIES_MIB.iter().position(|memory| *memory == display.memory_mib).unwrap_or(0);
                display.memory_mib = MEMORIES_MIB[(at + 1) % MEMORIES_MIB.len()];
            }
            Self::LargerText => {
                display.text_scale = next_scale(display.text_scale, true).unwrap_or(display.text_scale)
            }
            Self::SmallerText => {
                display.text_scale = next_scale(display.text_scale, false).unwrap_or(display.text_scale)
            }
            Self::NormalText => display.text_scale = 1.0,
            Self::Fold(column) => {
                let there = display.has(column);
                display.columns.insert(column, !there);
            }
            Self::ShowBudget => display.budget = !display.budget,
            Self::CaseSettings => display.settings = !display.settings,
            Self::Help => display.help = !display.help,
            Self::About => (display.about, display.help) = (!display.about, false),
            Self::Dismiss => dismiss(display, notices),
        }
    }
}

/// Takes away what lies on top of everything else.
pub(crate) fn dismiss(display: &mut Display, notices: &mut Vec<Notice>) {
    if display.about {
        display.about = false;
    } else if display.help {
        display.help = false;
    } else if display.settings {
        display.settings = false;
    } else {
        notices.clear();
    }
}

fn next_scale(now: f64, larger: bool) -> Option<f64> {
    if larger {
        TEXT_SCALES.into_iter().find(|scale| *scale > now + 1e-6)
    } else {
        TEXT_SCALES.into_iter().rev().find(|scale| *scale < now - 1e-6)
    }
}
