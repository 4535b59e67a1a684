//! The questions that come before something could be lost.

use std::path::PathBuf;

use egui::{Context, Id, Key, Label, Modal, RichText, TextEdit, Ui};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::files::export_form::DicomChoice;
use crate::app::files::leaving::leftover_name;
use crate::app::files::questions::{Answer, Leave, Purpose, WindowQuestion};
use crate::app::pages::PathKind;
use crate::app::session::state::State;
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;
use crate::ui::look::{colour, pt};
use crate::ui::panels::dicom::dicom_ui;
use crate::ui::panels::film::{FilmFields, film_ui};
use crate::ui::widgets::{Asked, dialog_frame};

/// How many signs of a name stand in a question.
const NAME: usize = 44;

/// How many folders a question names.
const FOLDERS: usize = 4;

/// What is being typed.
#[derive(Debug, Default)]
pub struct TypedPath {
    /// The question it belongs to.
    of: Option<(Purpose, String)>,
    text: String,
    /// What is chosen for DICOM.
    dicom: Option<DicomChoice>,
    /// Which frames are chosen.
    film: Option<FilmFields>,
}

/// Shows the open question, if there is one.
pub fn question_ui(ctx: &Context, state: &State, typed: &mut TypedPath, asked: &mut Asked) {
    let Some(question) = &state.question else {
        (typed.of, typed.dicom, typed.film) = (None, None, None);
        return;
    };
    let theme = Theme::of(state.display.mode);
    let modal =
        Modal::new(Id::unique("question")).frame(dialog_frame(ctx)).backdrop_color(colour(theme.veil));
    let shown = modal.show(ctx, |ui| {
        ui.set_max_width(460.0);
        let (title, text) = words(question, state);
        ui.label(RichText::new(title).strong());
        ui.add_space(pt(space::S1));
        ui.add(Label::new(text).wrap());
        ui.add_space(pt(space::S3));
        match question {
            WindowQuestion::Path { purpose, suggestion, .. } => path(ui, purpose, suggestion, typed, asked),
            WindowQuestion::Dicom => dicom_ui(ui, &mut typed.dicom, asked),
            WindowQuestion::Frames { frames } => film_ui(ui, *frames, &mut typed.film, asked),
            _ => buttons(ui, question, asked),
        }
    });
    if shown.should_close() {
        asked.push(Command::File(FileCommand::Answer(Answer::KeepEditing)));
    }
}

fn words(question: &WindowQuestion, state: &State) -> (String, String) {
    let name =
        state.editor.document.as_ref().map(crate::app::session::document::Document::name).unwrap_or_default();
    let name = format::shortened(&name, NAME);
    match question {
        WindowQuestion::Unsaved(leave) => {
            let before = match leave {
                Leave::Quit => "before quitting",
                Leave::Stay | Leave::Start => "before closing",
                Leave::Open(_) | Leave::Demonstration | Leave::Recover(_) | Leave::Arrived(_) => {
                    "before opening another case"
                }
            };
            (format!("Save changes to “{name}” {before}?"), "The case has unsaved changes.".to_owned())
        }
        WindowQuestion::Changed { file, text, .. } => {
            let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            (format!("“{}” has changed", format::shortened(&name, NAME)), text.clone())
        }
        WindowQuestion::InDoubt { sentences, .. } => {
            let mut text = sentences.iter().take(6).cloned().collect::<Vec<_>>().join("\n");
            if sentences.len() > 6 {
                text.push_str(&format!("\nand {} more shots.", sentences.len() - 6));
            }
            ("The shared copy may contain readable text".to_owned(), text)
        }
        WindowQuestion::Dicom => (
            "Save as DICOM".to_owned(),
            "Files for an image archive are written to a new folder, for every shot that has marks."
                .to_owned(),
        ),
        WindowQuestion::Frames { frames } => (
            format!("Add frames of a file with {frames} frames"),
            "Each frame becomes a shot without marks, with the labels of the shown one. Frames that are shots already are left out.".to_owned(),
        ),
        WindowQuestion::Recovered(leftover) => (
            "Unsaved changes to this case were found".to_owned(),
            format!(
                "{}. They were autosaved when the program last ended without saving. Restore them, or open the file as saved?",
                leftover_name(leftover, state.found)
            ),
        ),
        WindowQuestion::Outside { folders, .. } => {
            let named: Vec<String> =
                folders.iter().take(FOLDERS).map(|folder| format!("“{}”", folder.display())).collect();
            let more = match folders.len().saturating_sub(FOLDERS) {
                0 => String::new(),
                n => format!(" and {}", format::count(n, "more folder", "more folders")),
            };
            (
                "Open images from outside the case folder?".to_owned(),
                format!(
                    "This case takes images from {}{more}. Open them only if you know the source of the case. The answer applies to this case on this computer.",
                    named.join(", ")
                ),
            )
        }
        WindowQuestion::Path { purpose, .. } => {
            let what = match purpose {
                Purpose::Open => "Type the path of a case file or an image, or drop it on the window.",
                Purpose::Folder => "Type the path of a folder, or drop it on the window.",
                Purpose::Add | Purpose::Relink(_) => "Type the path of an image, or drop it on the window.",
                Purpose::Export(_) => "Type the path of a new folder for the export.",
                Purpose::Received(_) => "Type the path of a file for the image.",
                Purpose::Keypoints => "Type the path of a table of keypoints (CSV or JSON).",
                Purpose::Page(wish) => wish.typed,
                Purpose::Save => "Type the path of the case file.",
            };
            ("No system file dialog is available. Type the path.".to_owned(), what.to_owned())
        }
    }
}

fn buttons(ui: &mut Ui, question: &WindowQuestion, asked: &mut Asked) {
    let choices: &[(&str, Answer)] = match question {
        WindowQuestion::Unsaved(_) => {
            &[("Save", Answer::Save), ("Discard", Answer::Discard), ("Cancel", Answer::KeepEditing)]
        }
        WindowQuestion::Changed { .. } => {
            &[("Save as", Answer::SaveAs), ("Overwrite", Answer::Overwrite), ("Cancel", Answer::KeepEditing)]
        }
        WindowQuestion::InDoubt { .. } => {
            &[("Check the images first", Answer::KeepEditing), ("Export anyway", Answer::AsIs)]
        }
        WindowQuestion::Recovered(_) => {
            &[("Restore", Answer::TakeBack), ("Discard", Answer::ThrowAway), ("Later", Answer::KeepEditing)]
        }
        WindowQuestion::Outside { .. } => {
            &[("Leave them closed", Answer::KeepEditing), ("Open them", Answer::OpenOutside)]
        }
        WindowQuestion::Path { .. } | WindowQuestion::Dicom | WindowQuestion::Frames { .. } => &[],
    };
    ui.horizontal_wrapped(|ui| {
        for (i, (label, answer)) in choices.iter().enumerate() {
            let response = ui.button(*label);
            // The first answer loses nothing, so it may be given by Enter.
            if i == 0 && ui.memory(|memory| memory.focused().is_none()) {
                response.request_focus();
            }
            if response.clicked() {
                asked.push(Command::File(FileCommand::Answer(answer.clone())));
            }
        }
    });
}

fn path(ui: &mut Ui, purpose: &Purpose, suggestion: &str, typed: &mut TypedPath, asked: &mut Asked) {
    let this = Some((purpose.clone(), suggestion.to_owned()));
    let fresh = typed.of != this;
    if fresh {
        typed.of = this;
        suggestion.clone_into(&mut typed.text);
    }
    let label = ui.label(RichText::new("Path").small().weak());
    let mut output = TextEdit::singleline(&mut typed.text).desired_width(440.0).show(ui);
    let response = output.response.response.clone().labelled_by(label.id);
    if fresh {
        response.request_focus();
        // Typing replaces what is proposed; an arrow key keeps it.
        let all = egui::text::CCursorRange::two(
            egui::text::CCursor::default(),
            egui::text::CCursor::new(typed.text.chars().count()),
        );
        output.state.cursor.set_char_range(Some(all));
        output.state.store(ui.ctx(), response.id);
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    ui.add_space(pt(space::S2));
    ui.horizontal(|ui| {
        let word = match purpose {
            Purpose::Save | Purpose::Received(_) => "Save",
            Purpose::Page(wish) => match wish.what {
                PathKind::File(_) => "Save",
                PathKind::Folder => "Open",
            },
            Purpose::Export(_) => "Export",
            Purpose::Keypoints => "Import",
            Purpose::Open | Purpose::Folder | Purpose::Add | Purpose::Relink(_) => "Open",
        };
        let ready = !typed.text.trim().is_empty();
        if (ui.add_enabled(ready, egui::Button::new(word)).clicked() || entered) && ready {
            asked.push(Command::File(FileCommand::Answer(Answer::Path(PathBuf::from(typed.text.trim())))));
        }
        if ui.button("Cancel").clicked() {
            asked.push(Command::File(FileCommand::Answer(Answer::KeepEditing)));
        }
    });
}
