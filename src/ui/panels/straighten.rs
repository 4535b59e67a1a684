//! What straightening a photo of a screen needs: by which part of the screen, its width over its height, and saving.

use egui::Ui;

use crate::app::annotation::screen_clicks::ScreenPart;
use crate::app::annotation::straighten::{StraightenCommand, sentence, straightened_photo};
use crate::app::command::Command;
use crate::app::command::annotations::AnnotationsCommand;
use crate::app::command::file::FileCommand;
use crate::app::command::marks::MarksCommand;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::ui::panels::redaction_and_scale::{number, parsed};
use crate::ui::widgets::{Asked, command_button, labelled_button, toggle_button, weak};

/// Shows it while a photo is straightened.
pub(super) fn straighten_ui(
    ui: &mut Ui,
    state: &State,
    document: &Document,
    aspect: &mut String,
    asked: &mut Asked,
) {
    let Some(clicks) = document.straightening() else { return };
    let command = |command| Command::Annotations(AnnotationsCommand::Straighten(command));
    ui.horizontal_wrapped(|ui| {
        for part in [ScreenPart::Corners, ScreenPart::Field] {
            toggle_button(ui, state, command(StraightenCommand::By(part)), clicks.by == part, asked);
        }
        if clicks.by == ScreenPart::Field {
            toggle_button(ui, state, command(StraightenCommand::CentreNext), clicks.centre_next, asked);
        }
    });
    ui.label(sentence(document));
    let typed = match clicks.by {
        ScreenPart::Corners => {
            ui.horizontal_wrapped(|ui| {
                number(ui, "Screen width over height", aspect, 56.0);
                weak(ui, "such as 1.333; empty: as the sides in the photo");
            });
            parsed(aspect).filter(|ratio| *ratio > 0.0)
        }
        ScreenPart::Field => {
            weak(
                ui,
                "Without its center the field is stretched to a circle; what perspective does within it stays.",
            );
            None
        }
    };
    ui.horizontal_wrapped(|ui| {
        let wrong = clicks.by == ScreenPart::Corners && typed.is_none() && !aspect.trim().is_empty();
        ui.add_enabled_ui(!wrong, |ui| {
            command_button(ui, state, Command::File(FileCommand::SaveStraightened(typed)), asked);
        });
        command_button(ui, state, command(StraightenCommand::Back), asked);
        labelled_button(ui, state, Command::Marks(MarksCommand::PutDown), "Done", asked);
        if wrong {
            weak(ui, "Enter the width over the height as a number, such as 1.333.");
        }
    });
    // With enough points, what is still wrong with them is said.
    if clicks.edge.len() >= 5
        && let Err(why) = straightened_photo(&state.editor, typed)
    {
        weak(ui, why.into_owned());
    }
}
