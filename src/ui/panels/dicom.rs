//! What is written as DICOM, and whose it is: nobody's, or by explicit choice that of the source images.

use egui::{RichText, TextEdit, Ui};

use crate::app::command::Command;
use crate::app::command::file::FileCommand;
use crate::app::files::export_form::DicomChoice;
use crate::app::files::questions::Answer;
use crate::scene::drawing::theme::space;
use crate::ui::look::pt;
use crate::ui::widgets::{Asked, weak};

/// Shows the choices; the folder is asked for afterwards.
pub(crate) fn dicom_ui(ui: &mut Ui, chosen: &mut Option<DicomChoice>, asked: &mut Asked) {
    let choice = chosen.get_or_insert_default();
    ui.checkbox(&mut choice.figures, "Figures (secondary captures)");
    ui.checkbox(&mut choice.report, "All readings (structured report)");
    ui.checkbox(&mut choice.overlays, "Overlays (presentation states)");
    ui.add_space(pt(space::S2));
    ui.radio_value(&mut choice.beside_source, false, "Without identity");
    weak(
        ui,
        "No name, ID, date or identifier of the source images is in the files. The stills are written again beside them, with their redactions in the pixels.",
    );
    ui.horizontal(|ui| {
        let label = ui.label(RichText::new("Code in place of name and ID").small().weak());
        let field = TextEdit::singleline(&mut choice.code).desired_width(180.0);
        ui.add_enabled(!choice.beside_source, field).labelled_by(label.id);
    });
    ui.add_space(pt(space::S1));
    ui.radio_value(&mut choice.beside_source, true, "Beside the source images");
    weak(
        ui,
        "Patient and study of the marked DICOM images (name, ID, birth date, sex, study and its date) are copied into every file, so that an archive files them with that patient. They are not shown, kept or logged. Every marked image must be DICOM, of one patient and study.",
    );
    ui.add_space(pt(space::S3));
    let fault = choice.fault();
    if let Some(fault) = fault {
        weak(ui, format!("To continue, {fault}."));
    }
    ui.horizontal(|ui| {
        if ui.add_enabled(fault.is_none(), egui::Button::new("Select folder")).clicked() {
            asked.push(Command::File(FileCommand::Answer(Answer::Dicom(choice.clone()))));
        }
        if ui.button("Cancel").clicked() {
            asked.push(Command::File(FileCommand::Answer(Answer::KeepEditing)));
        }
    });
}
