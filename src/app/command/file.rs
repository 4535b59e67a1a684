//! Opening, adding, saving and leaving.

use std::path::PathBuf;

use crate::app::annotation::straighten::straightened_photo;
use crate::app::command::entry::{Entry, Group};
use crate::app::command::key::Shortcut;
use crate::app::command::key_bindings;
use crate::app::command::refusal::{NO_CASE, NO_SHOT, Refusal, unless};
use crate::app::files::add_images::{add, for_place};
use crate::app::files::dropped;
use crate::app::files::export_form::ExportForm;
use crate::app::files::leaving::leave;
use crate::app::files::questions::{Answer, Leave, Purpose, WindowQuestion};
use crate::app::files::received;
use crate::app::files::received_image::ReceivedImage;
use crate::app::files::saving::{folder_of, save, save_as};
use crate::app::session::outcome::answer;
use crate::app::session::state::State;
use crate::app::shots::frames;
use crate::app::shots::selection::FreePlace;
use crate::app::work::effect::{Effect, Stoppable};
use crate::app::work::under_way::Activity;
use crate::io::export::dicom::is_reported;

/// What can be asked for about case files, images and folders.
#[derive(Clone, Debug, PartialEq)]
pub enum FileCommand {
    /// Ask for a case file, pictures or a folder, and open it.
    Open,
    /// Ask for a folder of pictures and open it.
    OpenFolder,
    /// Open these files or folders.
    OpenPaths(Vec<PathBuf>),
    /// Open the demonstration.
    OpenDemonstration,
    /// Ask for pictures to add to the case.
    AddImages,
    /// Ask for pictures for this place of the plan.
    AddHere(FreePlace),
    /// Add these pictures to the case.
    AddPaths(Vec<PathBuf>),
    /// Ask for another picture for the shown shot.
    Relink,
    /// Files were dropped on the window: a case file opens, pictures are added to the case.
    Drop(Vec<PathBuf>),
    /// An image came without a file, pasted or dropped.
    TakeIn(ReceivedImage),
    /// Save the photo of a screen straightened by what was clicked; with the screen's width over its height, if known.
    SaveStraightened(Option<f64>),
    /// Ask which frames of the shown shot's file become shots.
    ChooseFrames,
    /// Leave the rest of the pictures unread that are being opened.
    StopReading,
    /// Leave the rest of the DICOM objects unwritten.
    StopExporting,
    /// Save the case.
    Save,
    /// Ask for a new place and save the case there.
    SaveAs,
    /// Close the case and go back to the start.
    Close,
    /// End the program.
    Quit,
    /// Answer the question that is open.
    Answer(Answer),
    /// Take back unsaved work that was found at the start.
    Recover(usize),
    /// Throw unsaved work away that was found at the start.
    DiscardRecovery(usize),
    /// Ask for a folder and export the case into it.
    Export,
    /// Ask what of the case is to be written as DICOM, and whose it is.
    SaveAsDicom,
    /// Ask for a folder and write the marks into it as keypoints.
    ExportKeypoints,
    /// Ask for a table of keypoints and take its marks into the case.
    ImportKeypoints,
    /// Delete what the program keeps for itself, but for unsaved work.
    ForgetKept,
}

impl FileCommand {
    /// Those with a key of their own, in the order of the list of keys.
    #[must_use]
    pub fn listed() -> Vec<Self> {
        vec![Self::Open, Self::AddImages, Self::Save, Self::SaveAs, Self::Close, Self::Quit, Self::Export]
    }

    /// Label, tooltip and keys; `None` for what only the pointer or another command can ask for.
    #[must_use]
    pub fn entry(&self) -> Option<Entry> {
        let (label, tip, keys): (_, _, &'static [Shortcut]) = match self {
            Self::Open => ("Open", "Open a case file or images.", key_bindings::file::OPEN),
            Self::OpenFolder => ("Open folder", "Open a folder of images, or the case in it.", &[]),
            Self::OpenDemonstration => {
                ("Open demonstration", "Open a simulated case of L4 and L5 with every view and stage.", &[])
            }
            Self::AddImages => (
                "Add images",
                "Add images to this case. You can also drop them on the window.",
                key_bindings::file::ADD_IMAGES,
            ),
            Self::Relink => ("Locate image", "Use another file for this shot; its marks are kept.", &[]),
            Self::SaveStraightened(_) => (
                "Save straightened image",
                "Save the straightened image beside the photo and add it to the case.",
                &[],
            ),
            Self::ChooseFrames => {
                ("Add frames", "Make shots of all frames of this file, of a range, or of every nth.", &[])
            }
            Self::StopReading => ("Stop", "Stop reading; the images already read are added.", &[]),
            Self::StopExporting => ("Stop", "Stop exporting; nothing is written.", &[]),
            Self::Save => ("Save", "Save the case file.", key_bindings::file::SAVE),
            Self::SaveAs => ("Save as", "Save the case as a new file.", key_bindings::file::SAVE_AS),
            Self::Close => {
                ("Close case", "Close this case and return to the start page.", key_bindings::file::CLOSE)
            }
            Self::Quit => ("Quit", "Quit the program.", key_bindings::file::QUIT),
            Self::Recover(_) => ("Restore", "Open the case with the unsaved changes.", &[]),
            Self::DiscardRecovery(_) => {
                ("Discard", "Delete the unsaved changes; the case file is not touched.", &[])
            }
            Self::Export => (
                "Export de-identified copy",
                "Write this case to a new folder: redactions in the pixels, neutral names, no free text.",
                key_bindings::file::EXPORT,
            ),
            Self::SaveAsDicom => (
                "Save as DICOM",
                "Write figures, all readings and overlays as DICOM files for an image archive.",
                &[],
            ),
            Self::ExportKeypoints => (
                "Export keypoints",
                "Write all marks of this case as a table (CSV) and as keypoints (JSON) to a new folder.",
                &[],
            ),
            Self::ImportKeypoints => (
                "Import keypoints",
                "Read the marks for this case’s images from a table (CSV) or keypoints (JSON).",
                &[],
            ),
            Self::ForgetKept => (
                "Delete what is kept",
                "Delete recent cases, where each was left, scales, practice exercises and caches. Unsaved changes, your \
                 cases and your images stay. How the window looks is kept again when you quit.",
                &[],
            ),
            Self::OpenPaths(..)
            | Self::AddHere(..)
            | Self::AddPaths(..)
            | Self::Drop(..)
            | Self::TakeIn(..)
            | Self::Answer(..) => return None,
        };
        Some(Entry { label, tip, group: Group::File, keys })
    }

    /// Why it would do nothing at present; `None` where it would.
    #[must_use]
    pub fn refusal(&self, state: &State) -> Option<Refusal> {
        let document = state.editor.document.as_ref();
        match self {
            Self::Open
            | Self::OpenFolder
            | Self::OpenPaths(_)
            | Self::OpenDemonstration
            | Self::AddPaths(_)
            | Self::Drop(_)
            | Self::TakeIn(_)
            | Self::ForgetKept
            | Self::Quit => None,
            Self::StopReading => unless(
                state.under_way.can_stop(Activity::Opening),
                "No images are being read that could be left unread.",
            ),
            Self::StopExporting => unless(
                state.under_way.can_stop(Activity::Exporting),
                "Nothing is being exported that could be stopped.",
            ),
            Self::ChooseFrames => {
                unless(frames::place(&state.editor).is_some(), "This shot's file has one frame.")
            }
            Self::SaveStraightened(_) if state.under_way.is(Activity::Receiving) => {
                unless(false, "The image is being saved.")
            }
            Self::SaveStraightened(aspect) => straightened_photo(&state.editor, *aspect).err(),
            Self::Answer(_) => unless(state.question.is_some(), "No question is open."),
            Self::Recover(index) | Self::DiscardRecovery(index) => {
                unless(*index < state.leftovers.len(), "That unsaved work is no longer there.")
            }
            Self::AddImages | Self::AddHere(_) | Self::SaveAs | Self::Close => {
                unless(document.is_some(), NO_CASE)
            }
            Self::Save => match document {
                Some(document) => {
                    unless(document.unsaved() || document.file.is_none(), "Everything in this case is saved.")
                }
                None => unless(false, NO_CASE),
            },
            Self::Relink => unless(document.is_some_and(|document| document.shot().is_some()), NO_SHOT),
            Self::SaveAsDicom | Self::ExportKeypoints => unless(
                document.is_some_and(|document| document.case().shots.iter().any(is_reported)),
                "No shot of this case has marks.",
            ),
            Self::Export | Self::ImportKeypoints => {
                unless(document.is_some_and(|document| !document.case().shots.is_empty()), NO_SHOT)
            }
        }
    }

    /// Carries it out: asks for a path, or for file work.
    pub(crate) fn apply(self, state: &mut State, effects: &mut Vec<Effect>) {
        match self {
            Self::Open => effects.push(ask(Purpose::Open, None)),
            Self::OpenFolder => effects.push(ask(Purpose::Folder, None)),
            Self::OpenPaths(paths) => leave(state, Leave::Open(paths), effects),
            Self::OpenDemonstration => leave(state, Leave::Demonstration, effects),
            Self::Export => {
                let folder = folder_of(state).unwrap_or_default().join("exported");
                effects.push(ask(Purpose::Export(ExportForm::Copy), Some(folder)));
            }
            Self::SaveAsDicom => state.question = Some(WindowQuestion::Dicom),
            Self::ExportKeypoints => {
                let folder = folder_of(state).unwrap_or_default().join("keypoints");
                effects.push(ask(Purpose::Export(ExportForm::Keypoints), Some(folder)));
            }
            Self::ImportKeypoints => effects.push(ask(Purpose::Keypoints, folder_of(state))),
            Self::AddImages => {
                for_place(state, None);
                effects.push(ask(Purpose::Add, folder_of(state)));
            }
            Self::AddHere(place) => {
                for_place(state, Some(place));
                effects.push(ask(Purpose::Add, folder_of(state)));
            }
            Self::Relink => {
                if let Some(shot) = state.editor.document.as_ref().and_then(|document| document.shown.clone())
                {
                    effects.push(ask(Purpose::Relink(shot), folder_of(state)));
                }
            }
            Self::AddPaths(paths) => {
                for_place(state, None);
                add(state, paths, effects);
            }
            Self::Drop(paths) => dropped::take_in(state, paths, effects),
            Self::TakeIn(image) => received::take_in(state, image, effects),
            Self::ChooseFrames => {
                let frames = frames::place(&state.editor).map(|place| place.count);
                state.question = frames.map(|frames| WindowQuestion::Frames { frames });
            }
            Self::SaveStraightened(aspect) => received::straighten(state, aspect, effects),
            Self::StopReading => {
                state.under_way.stops(Activity::Opening);
                effects.push(Effect::Stop(Stoppable::Opening));
            }
            Self::StopExporting => {
                state.under_way.stops(Activity::Exporting);
                effects.push(Effect::Stop(Stoppable::Exporting));
            }
            Self::Save => save(state, Leave::Stay, effects),
            Self::SaveAs => save_as(state, Leave::Stay, effects),
            Self::Close => leave(state, Leave::Start, effects),
            Self::Quit => leave(state, Leave::Quit, effects),
            Self::Recover(index) => leave(state, Leave::Recover(index), effects),
            Self::DiscardRecovery(index) => {
                if index < state.leftovers.len() {
                    effects.push(Effect::Forget(Box::new(state.leftovers.remove(index))));
                }
            }
            Self::ForgetKept => {
                state.forget_remembered();
                effects.extend([Effect::ForgetKept, Effect::LookAround]);
            }
            Self::Answer(given) => answer(state, given, effects),
        }
    }
}

const fn ask(purpose: Purpose, suggestion: Option<PathBuf>) -> Effect {
    Effect::Ask { purpose, suggestion, leave: Leave::Stay }
}
