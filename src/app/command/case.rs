//! Changing the case and going back and forth through its changes.

use crate::app::annotation::last_scale;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_CASE, Refusal, unless};
use crate::app::marking::issue_actions::asks_for_right;
use crate::app::marking::marks;
use crate::app::marking::view_questions::ViewAnswer;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::edits::{apply, describe};
use crate::app::session::mode::Tool;
use crate::app::shots::select;
use crate::case::document::edit::{Description, Edit};
use crate::measure::mark::{Level, PatientRight};

/// What can be asked for about the open case as a whole.
#[derive(Clone, Debug, PartialEq)]
pub enum CaseCommand {
    /// One step back.
    Undo,
    /// One step forth.
    Redo,
    /// Change the case otherwise.
    Edit(Edit),
    /// Say that the disc below this body is degenerated, or take it back.
    SwitchDisc(Level),
    /// Say which side of the AP pictures is the patient's right, while it is asked.
    SetPatientRight(PatientRight),
    /// Answer what is asked of the shown view.
    AnswerView(ViewAnswer),
}

impl CaseCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![
            Self::Undo,
            Self::Redo,
            Self::SetPatientRight(PatientRight::ImageLeft),
            Self::SetPatientRight(PatientRight::ImageRight),
            Self::AnswerView(ViewAnswer::ShowsOnce),
            Self::AnswerView(ViewAnswer::CannotTell),
        ]
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Undo => (
                "Undo",
                "Undo the last change; consecutive arrow presses count as one change.",
                key_bindings::case::UNDO,
            ),
            Self::Redo => ("Redo", "Redo the change that was undone.", key_bindings::case::REDO),
            Self::SetPatientRight(PatientRight::ImageLeft) => (
                "Patient's right is on image left",
                "In the AP images of this case, the patient's right is on image left.",
                key_bindings::case::SET_PATIENT_RIGHT_IMAGE_LEFT,
            ),
            Self::SetPatientRight(PatientRight::ImageRight) => (
                "Patient's right is on image right",
                "In the AP images of this case, the patient's right is on image right.",
                key_bindings::case::SET_PATIENT_RIGHT_IMAGE_RIGHT,
            ),
            Self::AnswerView(answer) => return Some(answer_entry(*answer)),
            Self::Edit(..) | Self::SwitchDisc(..) => return None,
        };
        Some(Entry { label, tip, group: Group::Marks, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, editor: &Editor) -> Option<Refusal> {
        let Some(document) = &editor.document else { return unless(false, NO_CASE) };
        match self {
            Self::Undo => {
                unless(is_placing(document) || document.history.can_undo(), "There is nothing to undo.")
            }
            Self::Redo => unless(document.history.can_redo(), "There is nothing to redo."),
            Self::Edit(_) | Self::SwitchDisc(_) => None,
            Self::SetPatientRight(_) => unless(
                asks_for_right(document),
                "This is asked only while an AP shot is marked and nothing tells which side is the patient's right.",
            ),
            Self::AnswerView(answer) => unless(
                answer.fits(document),
                "This is asked only once the marks of a shot are placed, until it is answered.",
            ),
        }
    }

    /// Carries it out.
    pub(crate) fn apply(self, editor: &mut Editor) {
        match self {
            Self::Undo => match editor.document.as_mut().filter(|document| is_placing(document)) {
                // The last point of the annotation under way, before anything that is finished.
                Some(document) => {
                    document.labelling.placed.pop();
                }
                None => step(editor, false),
            },
            Self::Redo => step(editor, true),
            Self::Edit(edit) => {
                let scaled = matches!(&edit, Edit::Describe { what: Description::Scale(Some(_)), .. });
                match select::for_all(editor, edit) {
                    Ok(what) => select::say(editor, &[what]),
                    Err(edit) => describe(editor, edit),
                }
                if scaled {
                    last_scale::note(editor);
                }
            }
            Self::SwitchDisc(above) => select::switch_disc(editor, above),
            Self::SetPatientRight(right) => {
                apply(editor, &[Edit::SetPatientRight(Some(right))]);
            }
            Self::AnswerView(answer) => answer_view(editor, answer),
        }
    }
}

/// Whether an annotation is under way that has points already.
fn is_placing(document: &Document) -> bool {
    document.tool() == Tool::Annotations && !document.labelling.placed.is_empty()
}

fn answer_view(editor: &mut Editor, answer: ViewAnswer) {
    let Some(document) = &mut editor.document else { return };
    let Some(shot) = document.shot() else { return };
    match answer.edit(document.case(), shot) {
        Some(edit) => {
            apply(editor, &[edit]);
        }
        None => {
            let view = shot.view;
            document.tube_not_known.insert(view);
        }
    }
}

/// What an answer for the side of entry does.
const ENTERED: &str = "Sets the side of this shot; it can be changed below the marks.";

/// Label, tooltip and keys of an answer about the view.
fn answer_entry(answer: ViewAnswer) -> Entry {
    let nearer = "Structures closer to the tube appear larger. Case settings can change this later.";
    let (label, tip, keys): (_, _, &'static [Shortcut]) = match answer {
        ViewAnswer::EnteredRight => ("Patient’s right", ENTERED, &[]),
        ViewAnswer::EnteredLeft => ("Patient’s left", ENTERED, &[]),
        ViewAnswer::ShowsOnce => {
            ("Shows once", "You looked, and every border shows as one line.", key_bindings::case::SHOWS_ONCE)
        }
        ViewAnswer::CannotTell => (
            "Cannot tell",
            "A rotation or tilt of up to 8° is then allowed for, and the reading is less certain.",
            key_bindings::case::CANNOT_TELL,
        ),
        ViewAnswer::TubeLeft => ("Patient’s left", nearer, &[]),
        ViewAnswer::TubeRight => ("Patient’s right", nearer, &[]),
        ViewAnswer::TubeAnterior => ("Anterior", nearer, &[]),
        ViewAnswer::TubePosterior => ("Posterior", nearer, &[]),
        ViewAnswer::TubeNotKnown => ("Not known", "The readings allow for either side of the tube.", &[]),
    };
    Entry { label, tip, group: Group::Marks, keys }
}

fn step(editor: &mut Editor, forward: bool) {
    if let Some(document) = &mut editor.document {
        marks::step_in_time(document, forward);
    }
}
